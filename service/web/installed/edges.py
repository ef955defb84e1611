"""A zone's edge, side by side: what is described, what is not, and describing it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.doing import allow, standing_zone
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.installed.terminations import describe_edge
from service.domain.installed.terminations import ASKS
from service.domain.nouns import roles
from service.domain.nouns.installed import TERMINATION_KINDS
from service.domain.words.measures import Units, say_distance, say_run
from service.domain.words.refusals import BadInput, Conflict, NoScale
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import Choice, ScheduleRow
from service.web.drawings.edge_drawing import EdgeDrawing
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.installed import edge_words as words
from service.web.installed.edge_words import CAUTION_EDGE, SMALL, Bare
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK, starting

router = APIRouter(include_in_schema=False)

SAID = {
    "described": later("It is described. Log how it was sealed once it is."),
    "withdrawn": later(
        "The stretch is withdrawn. It stays in the history, and its part of the edge is open again."
    ),
}
RUN_UNIT: dict[Units, str] = {"us": "ft", "metric": "m"}
REST = "rest"  # all that is not described yet
PART = ("from_edge", "from_distance", "to_edge", "to_distance")
PLAIN = (*PART, "kind", "authority", "what", "note")
# The fields of this form where the action names its own.
NAMES = {"edges": "side", "from": "from_distance", "to": "to_distance"}


@dataclass(frozen=True, slots=True)
class EdgesPage:
    """`templates/crew/edges.html`. `sides`: what may be ticked, nothing where all is described or this person
    may not; `ticked`: what is. `corners`: every side, for a part of one or a run of several."""

    letter: str
    stands: tuple[str, str, str]
    not_asked: str
    drawing: EdgeDrawing
    rows: tuple[ScheduleRow, ...]
    withdrawn: tuple[ScheduleRow, ...]
    may: bool
    sides: tuple[Choice, ...]
    ticked: tuple[str, ...]
    corners: tuple[tuple[str, str], ...]
    part_open: bool
    unit: str
    kinds: tuple[Choice, ...]
    values: Mapping[str, str]
    action: str
    back: str
    key: str


@router.get("/zones/{zone_id}/edges")
def edges_page(desk: TheDesk, person: Signed, zone_id: str, side: str = "", said: str = "") -> Response:
    view = zone_view(desk, person.id, zone_id)
    return _shown(view, person, ticked=(side,), said=tr(SAID.get(said, "")))


@router.post("/zones/{zone_id}/edges")
def describe(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    view = zone_view(desk, person.id, zone_id)
    allow(view.seen, "describe an edge")
    given = _given(form)

    def act() -> str:
        describe_edge(desk, person.id, zone_id, given)
        return f"/zones/{zone_id}/edges?said=described"

    status = 422
    try:
        if not form.errors:
            return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        _note(form, refusal)
        status = 422 if isinstance(refusal, BadInput) else 409
        view = zone_view(desk, person.id, zone_id)
    return _shown(view, person, form, tuple(form.many("side")), status)


def _given(form: Form) -> dict[str, object]:
    """The form in the contract's forms: whole sides, a part, or what is left of the sides ticked."""
    # A word typed for another kind, or offered for one, is no word for the kind chosen.
    kind = form.value("kind")
    asked = [name for name in ("authority", "what") if name in ASKS.get(kind, ())]
    given: dict[str, object] = {name: form.value(name) for name in ("kind", "note", *asked)}
    sides = form.many("side")
    if REST in sides:
        given["bare"] = True
    elif sides:
        if not all(side.isdecimal() and len(side) < 6 for side in sides):
            form.wrong("side", tr("Tick sides of this zone."))
            return given
        given |= {"bare": True, "edges": [int(side) for side in sides]}
    if any(form.value(name).strip() for name in PART):
        for name in ("from", "to"):
            typed = form.value(f"{name}_edge")
            if not typed.isdecimal() or len(typed) > 5:
                form.wrong(f"{name}_edge", tr("Choose the side to measure on."))
                continue
            given[name] = {"edge": int(typed), "distance": form.with_unit(f"{name}_distance")}
    return given


def _note(form: Form, refusal: BadInput | Conflict) -> None:
    for name, told in (refusal.fields or {"": refusal.message}).items():
        form.wrong(NAMES.get(name, name), told)


def _shown(
    view: ZoneView,
    person: Person,
    form: Form | None = None,
    ticked: tuple[str, ...] = (),
    status: int = 200,
    said: str = "",
) -> Response:
    standing_zone(view.seen)
    if view.seen.sketch.scale is None:
        raise NoScale
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=form.errors if form else {},
        said=said,
        cautions=(tr(CAUTION_EDGE), tr(CAUTION_WALK)),
    )
    values = form.values if form else _offered(view)
    return HTMLResponse(render("crew/edges.html", edges_shown(view, values, ticked), **shell), status)


def edges_shown(view: ZoneView, values: Mapping[str, str], ticked: tuple[str, ...]) -> EdgesPage:
    """Everything the page of a zone's edge shows, decided."""
    units, told, bare = view.seen.project.units, words.stands(view), words.bare_parts(view)
    may = roles.may(view.seen.role, "describe an edge")
    against = words.summary(told, bare, units)
    return EdgesPage(
        letter=view.zone.letter,
        stands=against,
        not_asked=words.not_asked(view),
        drawing=words.drawing(
            view, told, tr("Edge of zone {letter}: {stand}", letter=view.zone.letter, stand=against[0])
        ),
        rows=words.rows(view, told, bare, may),
        withdrawn=words.withdrawn_rows(view, told),
        may=may and bool(bare),
        sides=_sides(bare, units),
        ticked=ticked,
        corners=_corners(view, units),
        part_open=any(values.get(name, "").strip() for name in PART),
        unit=RUN_UNIT[units],
        kinds=tuple(Choice(kind, starting(tr(kind)), tr(SMALL.get(kind, ""))) for kind in TERMINATION_KINDS),
        values={name: values.get(name, "") for name in PLAIN},
        action=f"/zones/{view.zone.id}/edges",
        back=f"/zones/{view.zone.id}",
        key=values.get("request_key") or new_key(),
    )


def _sides(bare: list[Bare], units: Units) -> tuple[Choice, ...]:
    """What is not described, to be ticked side by side; all of it at once where there is more than one."""
    each = tuple(
        Choice(str(part.side), tr("Side {number}", number=part.side), say_distance(part.long_nm, units))
        for part in bare
    )
    if len(each) < 2:
        return each
    whole = say_distance(sum(part.long_nm for part in bare), units)
    return (Choice(REST, tr("All not described"), whole), *each)


def _corners(view: ZoneView, units: Units) -> tuple[tuple[str, str], ...]:
    lengths = enumerate(words.side_lengths(view), 1)
    told = [(str(n), tr("side {number}, {length}", number=n, length=say_run(nm, units))) for n, nm in lengths]
    return (("", tr("side")), *told)


def _offered(view: ZoneView) -> dict[str, str]:
    """Whose word it is, as given last in this zone: all its footings have the same engineer."""
    given = [t.authority for t in view.terminations() if t.authority and t.withdrawn is None]
    return {"authority": given[-1]} if given else {}
