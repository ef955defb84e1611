"""Place what passes through the film: press the place, or both ends of a row, and say what it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import TakenOff, allow, standing_zone
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.installed.penetrations import place_penetrations
from service.actions.marks.defects import OutsideZone
from service.domain.installed.trade_sizes import KINDS, MEASURED, say_size, sizes
from service.domain.nouns.installed import Penetration
from service.domain.nouns.site import Zone
from service.domain.words.measures import NM_PER_INCH
from service.domain.words.names import penetration_kind
from service.domain.words.refusals import BadInput, Conflict, NoScale, Refusal
from service.domain.words.speech import later, tr, trc
from service.web.drawings.drawing import Choice, SketchDrawing
from service.web.drawings.installed_shown import installed_shown
from service.web.drawings.shown import Shown
from service.web.forms.choosing import PAIR, POINT, Chosen, choose, ground_of
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.installed.penetration_words import CAUTION_PENETRATION
from service.web.marks.mark import OtherZone
from service.web.marks.shapes import angle_choices, degrees, offered
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK, FORM_UNIT, css, marks_shown, starting

router = APIRouter(include_in_schema=False)

ONE, ROW = "one", "row"
ENDS = (later("the first of the row"), later("the last of the row"))
SHAPES = (
    Choice("circle", later("Round"), later("by its diameter")),
    Choice("rectangle", later("Four-cornered"), later("length and width")),
)
VALUES = ("what", "shape", "diameter", "length", "width", "angle_deg", "count", "spacing", "note")
# Where the action's own names of fields stand in this form.
NAMES = {"at": "sketch", "from": "sketch", "to": "sketch", "kind": "what", "size": "what", "outline": "shape"}


@dataclass(frozen=True, slots=True)
class Size:
    """One size of a kind: what the form sends, its words, and whether it has to be measured."""

    value: str
    words: str
    measured: bool


@dataclass(frozen=True, slots=True)
class PlacePage:
    """`templates/crew/penetration_place.html`. `by`: one, or row. `sizes`: a kind's name and its sizes."""

    letter: str
    action: str
    back: str
    key: str
    by: str
    sketch: SketchDrawing
    chosen: Chosen
    units: str
    unit: str
    sizes: tuple[tuple[str, tuple[Size, ...]], ...]
    shapes: tuple[Choice, ...]
    angles: tuple[tuple[str, str], ...]
    values: Mapping[str, str]
    told: str
    other: OtherZone | None


@router.get("/zones/{zone_id}/penetrations/place")
def place_page(desk: TheDesk, person: Signed, zone_id: str, by: str = ONE) -> Response:
    view = _zone(desk, person, zone_id)
    standing_zone(view.seen)
    values = {**_offered(view, person), "by": by}
    return _shown(view, person, values, _chosen(view, values))


@router.post("/zones/{zone_id}/penetrations/place")
def place(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    view = _zone(desk, person, zone_id)
    if form.has("turn_to"):  # one place or a row: the form again, everything typed given back
        form.values["by"] = form.value("turn_to")
        return _shown(view, person, form.values, _chosen(view, form.values))
    chosen = _chosen(view, form.values)
    if chosen.pressed:
        return _shown(view, person, form.values, chosen)
    given = _given(form, chosen)
    into, other, status = form.value("zone") or zone_id, None, 422

    def act() -> str:
        made = place_penetrations(desk, person.id, into, given)
        return f"/penetrations/{made[0].id}?said=placed"

    try:
        if not form.errors:
            return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        status = 422 if isinstance(refusal, BadInput) else 409
        other = refusal.right_zone if isinstance(refusal, OutsideZone | TakenOff) else None
        _note(form, refusal)
    return _shown(_zone(desk, person, zone_id), person, form.values, chosen, form, other, status)


def _zone(desk: Desk, person: Person, zone_id: str) -> ZoneView:
    """The zone to place in, for who may, on a sketch that has a scale; it may be off the sketch by now."""
    view = zone_view(desk, person.id, zone_id)
    allow(view.seen, "place a penetration")
    if view.seen.sketch.scale is None:
        raise NoScale
    return view


def _chosen(view: ZoneView, sent: Mapping[str, str]) -> Chosen:
    """What was pressed on the still picture, where no script runs."""
    zone, walls = view.zone, view.site.walls.values()
    ground = ground_of(
        view.seen.sketch,
        home=zone.outline,
        rings=[zone.outline],
        walls=[(w.a, w.b) for w in walls if w.withdrawn is None],
        words=[(p.tag, p.at) for p in view.penetrations() if p.withdrawn is None][-60:],
    )
    mode = PAIR if sent.get("by") == ROW else POINT
    return choose(sent, ground, mode, units=view.seen.project.units, words=(tr(ENDS[0]), tr(ENDS[1])))


def _offered(view: ZoneView, person: Person) -> dict[str, str]:
    """Kind and size of what this person placed last here: the next is often like it."""
    own = [p for p in view.penetrations() if p.signed.by == person.id and p.withdrawn is None]
    last = max(own, key=lambda p: (p.signed.seq, p.tag), default=None)
    if last is None:
        return {}
    return {"what": f"{last.kind}|{last.size}", **_measured(last, view)}


def _measured(pipe: Penetration, view: ZoneView) -> dict[str, str]:
    outline = Shown(view.seen.sketch).outline(pipe.outline)
    return {} if pipe.size else offered(outline, view.seen.project.units)


# --- reading the form ------------------------------------------------------------------------------------


def _given(form: Form, chosen: Chosen) -> dict[str, object]:
    """The form in the contract's forms. What is missing is noted on the form."""
    kind, _, size = form.value("what").partition("|")
    given: dict[str, object] = {"kind": kind, "note": form.value("note")}
    if kind not in KINDS:
        form.wrong("what", tr("Say what passes through the film."))
    elif size:
        given["size"] = size
    else:
        given["outline"] = _outline(form)
    if form.value("by") != ROW:
        if chosen.places[0] is None:
            form.wrong("sketch", tr("Press the place on the sketch: where is it?"))
        return {**given, "at": chosen.places[0]}
    first, last = chosen.places
    if first is None or last is None:
        form.wrong("sketch", tr("Press the first of the row on the sketch, and the last."))
    return {**given, "from": first, "to": last, **_how_many(form)}


def _outline(form: Form) -> dict[str, object]:
    shape = form.value("shape")
    if shape == "rectangle":
        sides = {name: form.with_unit(name) for name in ("length", "width")}
        return {"shape": shape, **sides, "angle_deg": degrees(form.value("angle_deg"))}
    if shape != "circle":
        form.wrong("shape", tr("Say what shape its outside is."))
    return {"shape": "circle", "diameter": form.with_unit("diameter")}


def _how_many(form: Form) -> dict[str, object]:
    count, spacing = form.value("count").strip(), form.with_unit("spacing").strip()
    found: dict[str, object] = {}
    if count:
        found["count"] = int(count) if count.isdecimal() and len(count) < 6 else count
    if spacing:
        found["spacing"] = spacing
    return found


def _note(form: Form, refusal: Refusal) -> None:
    for name, words in (refusal.fields or {"": refusal.message}).items():
        form.wrong(NAMES.get(name, name), words)


# --- showing ---------------------------------------------------------------------------------------------


def _shown(
    view: ZoneView,
    person: Person,
    values: Mapping[str, str],
    chosen: Chosen,
    form: Form | None = None,
    other: Zone | None = None,
    status: int = 200,
) -> Response:
    errors = form.errors if form else {}
    zone, units, shown = view.zone, view.seen.project.units, Shown(view.seen.sketch)
    page = PlacePage(
        letter=zone.letter,
        action=f"/zones/{zone.id}/penetrations/place",
        back=f"/zones/{zone.id}/penetrations",
        key=values.get("request_key") or new_key(),
        by=ROW if values.get("by") == ROW else ONE,
        sketch=shown.viewer(
            "sketch",
            tr("Zone {letter} on the sketch: press where it passes through the film", letter=zone.letter),
            ring=zone.outline,
            zones=[(zone.letter, zone.outline, css(view.standing.state))],
            walls=view.site.walls.values(),
            marks=marks_shown(view, shown),
            installed=installed_shown(view, shown),
        ),
        chosen=chosen,
        units=units,
        unit=FORM_UNIT[units],
        sizes=tuple((starting(penetration_kind(kind)), _sizes(kind)) for kind in KINDS),
        shapes=tuple(Choice(one.value, tr(one.words), tr(one.small)) for one in SHAPES),
        angles=_angles(values.get("angle_deg", "")),
        values={name: values.get(name, "") for name in VALUES},
        told=_told(zone),
        other=OtherZone(other.id, other.letter) if other else None,
    )
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=errors,
        cautions=(tr(CAUTION_PENETRATION), tr(CAUTION_WALK)),
    )
    return HTMLResponse(render("crew/penetration_place.html", page, **shell), status)


def _sizes(kind: str) -> tuple[Size, ...]:
    """A kind's sizes with their outside, and the way to give one that is measured."""
    named, inch = starting(penetration_kind(kind)), trc("unit", "in")
    made = [
        Size(
            f"{kind}|{size.name}",
            f"{named}, {say_size(size.name)} ({size.od_nm / NM_PER_INCH:.3f} {inch})",
            False,
        )
        for size in sizes(kind)
    ]
    measured = tr("{kind}: measured", kind=named)
    if kind not in MEASURED:
        measured = tr("{kind}, another size: measured", kind=named)
    return (*made, Size(f"{kind}|", measured, True))


def _angles(chosen: str) -> tuple[tuple[str, str], ...]:
    return angle_choices(chosen)


def _told(zone: Zone) -> str:
    if zone.placement is None:
        return ""
    return tr("Concrete is in zone {letter}. What is placed now is kept all the same.", letter=zone.letter)
