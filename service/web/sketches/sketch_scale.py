"""Set a sketch's scale: two points, the distance between, and a look at what follows first."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import SketchView, sketch_view
from service.actions.sketches.sketches import NEAREST_POINTS_PX, set_scale
from service.domain.nouns import roles
from service.domain.sketch.places import from_base
from service.domain.sketch.zones import area_m2
from service.domain.words.measures import NM_PER_FOOT, Units, say_area, say_distance, say_length
from service.domain.words.refusals import NotAllowed
from service.domain.words.speech import later, tr, trn
from service.web.drawings.drawing import SketchDrawing
from service.web.drawings.shown import Shown
from service.web.forms.choosing import PAIR, Chosen, choose
from service.web.forms.forms import Form, Typed
from service.web.forms.placed import texts_of
from service.web.forms.sending import form_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.sketch_answers import PLAN, TOLD, answer, plan_drawing, plan_ground, refused

router = APIRouter(include_in_schema=False)

WORDS = (later("the first point"), later("the second point"))
NAMES = {"from": PLAN, "to": PLAN}


@dataclass(frozen=True, slots=True)
class Sure:
    """What follows from the scale about to be set. zones: pairs (zone, its size then)."""

    across: str
    zones: tuple[tuple[str, str], ...]
    warning: str


@dataclass(frozen=True, slots=True)
class ScalePage:
    """`templates/office/sketch_scale.html`. sure: shown in place of the picture once both points stand."""

    name: str
    drawing: SketchDrawing
    chosen: Chosen
    units: Units
    distance: str
    example: str
    warning: str
    sure: Sure | None
    key: str
    action: str
    back: str


@router.get("/sketches/{sketch_id}/scale")
def scale_page(desk: TheDesk, person: Signed, sketch_id: str) -> Response:
    view = _view(desk, person, sketch_id)
    scale = view.seen.sketch.scale
    sent: dict[str, str] = {}
    distance = ""
    if scale is not None:
        ends = [from_base(view.seen.sketch, end) for end in (scale.a, scale.b)]
        sent = dict(zip(("x1", "y1", "x2", "y2"), texts_of(ends, PAIR), strict=True))
        distance = _as_typed(scale.distance_nm, view.seen.project.units)
    return _show(view, person, _chosen(view, sent), distance)


@router.post("/sketches/{sketch_id}/scale")
def set_it(request: Request, desk: TheDesk, person: Signed, form: Typed, sketch_id: str) -> Response:
    view = _view(desk, person, sketch_id)
    chosen = _chosen(view, form.values)
    typed = form.value("distance")
    if chosen.pressed or form.has("again"):
        return _show(view, person, chosen, typed, form)
    nm = form.length("distance")
    a, b = chosen.places
    if a is None or b is None:
        form.wrong(PLAN, tr("Press the two points on the sketch first."))
    elif math.dist(a, b) < NEAREST_POINTS_PX:
        form.wrong(PLAN, tr("The two points are too close together. Choose points far apart."))
    if form.errors or a is None or b is None:
        return _show(view, person, chosen, typed, form)
    if not form.flag("confirm"):
        return _show(view, person, chosen, typed, form, _sure(view, nm / math.dist(a, b)))

    def act() -> str:
        set_scale(desk, person.id, sketch_id, a, b, typed)
        return f"/sketches/{sketch_id}?said=scale"

    try:
        return send_once(request, desk, person.id, form, act)
    except TOLD as refusal:
        status = refused(form, refusal, NAMES)
        return _show(_view(desk, person, sketch_id), person, chosen, typed, form, status=status)


def _as_typed(nm: int, units: Units) -> str:
    """A distance as it would be typed, rounded no further than to the sixteenth or the millimetre."""
    feet, rest = divmod(nm, NM_PER_FOOT)
    if units == "us" and feet:
        inches = say_length(rest, "us")
        return (
            f"{feet} ft"
            if inches == "0 in"
            else say_length(nm, units)
            if inches == "12 in"
            else f"{feet} ft {inches}"
        )
    return say_length(nm, units).replace(",", "")


def _view(desk: Desk, person: Person, sketch_id: str) -> SketchView:
    view = sketch_view(desk, person.id, sketch_id)
    if not roles.may(view.seen.role, "set the scale"):
        raise NotAllowed(tr("Only a project manager sets the scale."))
    return view


def _chosen(view: SketchView, sent: dict[str, str]) -> Chosen:
    # As fine as the picture goes: the scale is no better than its two points.
    return choose(
        sent,
        plan_ground(view),
        PAIR,
        by_dots=True,
        units=view.seen.project.units,
        words=tuple(map(tr, WORDS)),
    )


def _sure(view: SketchView, nm_per_px: float) -> Sure:
    sketch, units = view.seen.sketch, view.seen.project.units
    wide, high = (say_distance(round(px * nm_per_px), units) for px in (sketch.width_px, sketch.height_px))
    shown = Shown(sketch)
    zones = tuple(
        (
            tr("Zone {letter}", letter=s.zone.letter),
            tr("then {area}", area=say_area(area_m2(shown.ring(s.zone.outline), nm_per_px), units)),
        )
        for s in view.standings
    )
    return Sure(
        tr("The picture is then {wide} wide and {high} high.", wide=wide, high=high), zones, _warning(view)
    )


def _warning(view: SketchView) -> str:
    """What setting the scale does to the zones that are on the sketch."""
    count = len(view.standings)
    if not count or view.seen.sketch.scale is None:
        return ""
    return trn(
        "{n} zone on this sketch: a new scale changes the size of everything on it. Every punch walk "
        "finished so far is void and has to be walked again. A released zone needs a new release.",
        "{n} zones on this sketch: a new scale changes the size of everything on it. Every punch walk "
        "finished so far is void and has to be walked again. A released zone needs a new release.",
        count,
    )


def _show(
    view: SketchView,
    person: Person,
    chosen: Chosen,
    distance: str,
    form: Form | None = None,
    sure: Sure | None = None,
    status: int = 0,
) -> Response:
    sketch, project = view.seen.sketch, view.seen.project
    page = ScalePage(
        name=sketch.name,
        drawing=plan_drawing(view),
        chosen=chosen,
        units=project.units,
        distance=distance,
        example=tr("Like 20 ft or 12'-6\".") if project.units == "us" else tr("Like 6 m or 6250 mm."),
        warning=_warning(view),
        sure=sure,
        key=form_key(form),
        action=f"/sketches/{sketch.id}/scale",
        back=f"/sketches/{sketch.id}",
    )
    return answer("office/sketch_scale.html", page, project, view.seen.role, person, form, status=status)
