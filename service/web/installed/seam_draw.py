"""Draw a seam: press its ends and bends; side laps that lie alike beside it go in the same go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, standing_zone
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.installed.seam_entry import LEFT, RIGHT
from service.actions.installed.seams import draw_seams
from service.domain.nouns.installed import END_LAP, SIDE_LAP
from service.domain.rule_sheet.effective import films_laid
from service.domain.words.measures import Units
from service.domain.words.refusals import BadInput, Conflict, NoScale
from service.domain.words.speech import later, tr, trc
from service.web.drawings.drawing import Choice, SketchDrawing
from service.web.drawings.installed_shown import installed_shown
from service.web.drawings.shown import Shown
from service.web.forms.choosing import LINE, Chosen, choose, ground_of
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.installed.seam_words import RUN_UNIT, say_way
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK, css, starting

router = APIRouter(include_in_schema=False)

KINDS = (
    Choice(SIDE_LAP, SIDE_LAP, later("along the rolls")),
    Choice(END_LAP, END_LAP, later("across, where a roll ends")),
)
SIDES = (
    Choice(RIGHT, later("To the right"), later("going from its start")),
    Choice(LEFT, later("To the left"), later("going from its start")),
)
VALUES = ("kind", "count", "spacing", "side", "note")
# Where the action's own names of fields stand in this form.
NAMES = {"path": "sketch", "copies": "count", "copies.count": "count", "copies.spacing": "spacing",
         "copies.side": "side"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class DrawPage:
    """`templates/crew/seam_draw.html`. `more_open`: something was typed about seams beside it."""

    letter: str
    sketch: SketchDrawing
    chosen: Chosen
    units: str
    kinds: tuple[Choice, ...]
    sides: tuple[Choice, ...]
    spacing_hint: str
    values: Mapping[str, str]
    more_open: bool
    told: str
    action: str
    back: str
    key: str


@router.get("/zones/{zone_id}/seams/draw")
def draw_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    view = _zone(desk, person, zone_id)
    standing_zone(view.seen)
    return _shown(
        view, person, {"kind": SIDE_LAP, "side": RIGHT, "spacing": _spacing(view)}, _chosen(view, {})
    )


@router.post("/zones/{zone_id}/seams/draw")
def draw(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    view = _zone(desk, person, zone_id)
    chosen = _chosen(view, form.values)
    if chosen.pressed:
        return _shown(view, person, form.values, chosen)
    given = _given(form, chosen, RUN_UNIT[view.seen.project.units])

    def act() -> str:
        drawn = draw_seams(desk, person.id, zone_id, given)
        if len(drawn) > 1:
            return f"/zones/{zone_id}/seams?said=drawn"
        return f"/seams/{drawn[0].id}?said=drawn"

    status = 422
    try:
        if not form.errors:
            return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        status = 422 if isinstance(refusal, BadInput) else 409
        for name, told in (refusal.fields or {"": refusal.message}).items():
            form.wrong(NAMES.get(name, name), told)
    return _shown(_zone(desk, person, zone_id), person, form.values, chosen, form, status)


def _zone(desk: Desk, person: Person, zone_id: str) -> ZoneView:
    """The zone to draw in, for who may, on a sketch that has a scale."""
    view = zone_view(desk, person.id, zone_id)
    allow(view.seen, "draw a seam")
    if view.seen.sketch.scale is None:
        raise NoScale
    return view


def _chosen(view: ZoneView, sent: Mapping[str, str]) -> Chosen:
    """What was pressed on the still picture, where no script runs; the seams drawn before lie under it."""
    zone, standing = view.zone, [seam for seam in view.seams() if seam.withdrawn is None]
    ground = ground_of(
        view.seen.sketch,
        home=zone.outline,
        # A line as a ring that comes back the way it went.
        rings=[zone.outline, *((*seam.path, *seam.path[-2:0:-1]) for seam in standing)],
        words=[(seam.tag, seam.path[0]) for seam in standing][-60:],
    )
    return choose(sent, ground, LINE, units=view.seen.project.units)


def _spacing(view: ZoneView) -> str:
    """The width of the roll laid here less the lap, where one roll's width is known; else nothing."""
    widths = {film.roll_width_nm for film in films_laid(view.site, view.zone)} - {None}
    known = [nm for nm in widths if nm is not None]
    apart = known[0] - view.seen.project.sheet.lap.nm if len(known) == 1 else 0
    return say_way(apart, view.seen.project.units) if apart > 0 else ""


def _given(form: Form, chosen: Chosen, unit: str) -> dict[str, object]:
    """The form in the contract's forms. What is missing is noted on the form."""
    given: dict[str, object] = {"kind": form.value("kind"), "note": form.value("note")}
    if len(chosen.settled) < 2:
        form.wrong("sketch", tr("Press the seam's start on the sketch, and its end."))
    given["path"] = [list(place) for place in chosen.settled]
    count = form.value("count").strip()
    if count and count != "0":
        form.values["spacing_unit"] = unit
        whole = int(count) if count.isdecimal() and len(count) < 6 else count
        given["copies"] = {"count": whole, "spacing": form.with_unit("spacing"), "side": form.value("side")}
    return given


def _shown(
    view: ZoneView,
    person: Person,
    values: Mapping[str, str],
    chosen: Chosen,
    form: Form | None = None,
    status: int = 200,
) -> Response:
    zone, project, shown = view.zone, view.seen.project, Shown(view.seen.sketch)
    errors = form.errors if form else {}
    page = DrawPage(
        letter=zone.letter,
        sketch=shown.viewer(
            "sketch",
            tr("Zone {letter} on the sketch: press the start of the seam and its end", letter=zone.letter),
            ring=zone.outline,
            zones=[(zone.letter, zone.outline, css(view.standing.state))],
            walls=view.site.walls.values(),
            installed=installed_shown(view, shown),
        ),
        chosen=chosen,
        units=project.units,
        kinds=tuple(Choice(one.value, starting(tr(one.words)), tr(one.small)) for one in KINDS),
        sides=tuple(Choice(one.value, tr(one.words), tr(one.small)) for one in SIDES),
        spacing_hint=_spacing_hint(project.units),
        values={name: values.get(name, "") for name in VALUES},
        more_open=bool(values.get("count", "").strip())
        or any(name in errors for name in ("spacing", "side")),
        told=_told(view),
        action=f"/zones/{zone.id}/seams/draw",
        back=f"/zones/{zone.id}/seams",
        key=values.get("request_key") or new_key(),
    )
    shell = shell_of(project, view.seen.role, person, errors=errors, cautions=(tr(CAUTION_WALK),))
    return HTMLResponse(render("crew/seam_draw.html", page, **shell), status)


def _told(view: ZoneView) -> str:
    if view.zone.placement is None:
        return ""
    told = later("Concrete is in zone {letter}. What is drawn now is kept all the same.")
    return tr(told, letter=view.zone.letter)


def _spacing_hint(units: Units) -> str:
    """What is asked, and which unit a bare number is in."""
    unit = trc("unit", "ft") if units == "us" else "m"
    return tr("The roll's width less the lap. In {unit} where no unit is written.", unit=unit)
