"""The penetrations of a zone: what is not sealed first, which stand too close, and that there are none."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.doing import allow, standing_zone
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.installed.none_here import NONE_OF, PENETRATIONS, SEAMS, standing_there, state_none
from service.domain.gate.zone_facts import nm_per_px, penetrations_in_zone
from service.domain.nouns import roles
from service.domain.nouns.installed import Penetration
from service.domain.patches.repair import OPEN, SEALED, WITHDRAWN
from service.domain.words.refusals import BadInput, Conflict, NotFound
from service.domain.words.speech import later, tr, trn
from service.web.drawings.drawing import ScheduleRow
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.installed.penetration_words import (
    CAUTION_PENETRATION,
    CloseGroup,
    groups_of,
    pipe_row,
    state_of,
)
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK

router = APIRouter(include_in_schema=False)

SAID = {
    "none": later("It is stated that there are none."),
    "withdrawn": later("The penetration is withdrawn. It stays in the history with its reason."),
}


@dataclass(frozen=True, slots=True)
class GroupLine:
    """Several that stand too close. `seal_href`: empty where they are sealed, or for who may not."""

    words: str
    stands: str
    seal_href: str


@dataclass(frozen=True, slots=True)
class PenetrationsPage:
    """`templates/crew/penetrations.html`. Addresses are empty where this person may not do it."""

    letter: str
    stands: tuple[str, str, str]
    not_asked: str
    place_href: str
    none_href: str
    groups: tuple[GroupLine, ...]
    unsettled: tuple[ScheduleRow, ...]
    sealed: tuple[ScheduleRow, ...]
    neighbours: tuple[ScheduleRow, ...]
    withdrawn: tuple[ScheduleRow, ...]
    empty: str
    back: str


@router.get("/zones/{zone_id}/penetrations")
def penetrations(desk: TheDesk, person: Signed, zone_id: str, said: str = "") -> Response:
    view = zone_view(desk, person.id, zone_id)
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        said=tr(SAID.get(said, "")),
        cautions=(tr(CAUTION_PENETRATION), tr(CAUTION_WALK)),
    )
    return HTMLResponse(render("crew/penetrations.html", penetrations_page(view), **shell))


def penetrations_page(view: ZoneView) -> PenetrationsPage:
    """Everything the page shows, decided."""
    zone, role = view.zone, view.seen.role
    stands = zone.withdrawn is None
    by_state = {id: state_of(view, pipe) for id, pipe in view.site.penetrations.items()}
    own = view.penetrations()
    unsettled = [pipe for pipe in own if by_state[pipe.id] not in (SEALED, WITHDRAWN)]
    unsettled.sort(key=lambda pipe: by_state[pipe.id] != OPEN)  # in tag order otherwise
    sealed = [pipe for pipe in own if by_state[pipe.id] == SEALED]
    near = _reaching_in(view)
    asked = PENETRATIONS in view.standing.facts.numbers.gate_demands
    may_place = stands and view.seen.sketch.scale is not None and roles.may(role, "place a penetration")
    may_state = stands and not near and roles.may(role, "state that there are none")
    none_yet = not unsettled and not sealed and PENETRATIONS not in zone.none_here
    return PenetrationsPage(
        letter=zone.letter,
        stands=_stands(view, len(unsettled), len(sealed), len(near)),
        not_asked="" if asked else tr("The rule sheet of this project does not ask for penetrations."),
        place_href=f"/zones/{zone.id}/penetrations/place" if may_place else "",
        none_href=f"/zones/{zone.id}/none-here?what={PENETRATIONS}" if may_state and none_yet else "",
        groups=tuple(_group(view, group) for group in groups_of(view)),
        unsettled=_rows(view, unsettled),
        sealed=_rows(view, sealed),
        neighbours=_rows(view, near),
        withdrawn=_rows(view, (pipe for pipe in own if pipe.withdrawn is not None)),
        empty=_empty(view, may_place),
        back=f"/zones/{zone.id}",
    )


def _rows(view: ZoneView, pipes: Iterable[Penetration]) -> tuple[ScheduleRow, ...]:
    return tuple(pipe_row(view, pipe) for pipe in pipes)


def _reaching_in(view: ZoneView) -> list[Penetration]:
    scale = view.seen.sketch.scale
    if scale is None:
        return []
    here = penetrations_in_zone(view.site, view.zone, nm_per_px(scale))
    return [pipe for pipe in here if pipe.zone_id != view.zone.id and pipe.withdrawn is None]


def _stands(view: ZoneView, unsettled: int, sealed: int, near: int) -> tuple[str, str, str]:
    letter, whole = view.zone.letter, unsettled + sealed
    if view.zone.withdrawn is not None:
        return tr("Zone {letter} was taken off the sketch", letter=letter), view.zone.withdrawn, "stop"
    if unsettled:
        told = trn(
            "{left} of {n} penetration not sealed",
            "{left} of {n} penetrations not sealed",
            whole,
            left=unsettled,
        )
        return told, "", "short"
    if whole:
        return trn("{n} penetration, sealed", "{n} penetrations, sealed", whole), "", "holds"
    if near:
        return tr("None of this zone's own"), tr("A neighbour's reaches in."), ""
    if PENETRATIONS in view.zone.none_here:
        return tr("It is stated that zone {letter} has none", letter=letter), "", "holds"
    return tr("None placed"), tr("Nobody stated that there are none, either."), ""


def _empty(view: ZoneView, may_place: bool) -> str:
    if view.seen.sketch.scale is None:
        return tr("The sketch has no scale yet: nothing can be placed on it.")
    if not may_place:
        return tr("No penetration is placed in this zone.")
    return tr(
        "No penetration yet. Place every pipe, conduit, bar, stake and duct that passes through the film."
    )


def _group(view: ZoneView, group: CloseGroup) -> GroupLine:
    may = not group.settled and view.zone.withdrawn is None and roles.may(view.seen.role, "log a seal")
    own = next(pipe for pipe in group.pipes if pipe.zone_id == view.zone.id)
    href = f"/penetrations/{own.id}/seal?together=yes" if may else ""
    return GroupLine(f"{group.words}.", tr("All of them are sealed.") if group.settled else "", href)


# --- none here -------------------------------------------------------------------------------------------


LOOKED = {
    PENETRATIONS: later("I looked at all of zone {letter}, and it has no penetrations"),
    SEAMS: later("I looked at all of zone {letter}, and it has no seams"),
}


@dataclass(frozen=True, slots=True)
class NonePage:
    """`templates/crew/none_here.html`. `gone`: why it cannot be stated, or nothing."""

    letter: str
    what: str
    gone: str
    looked: str
    action: str
    back: str
    key: str


@router.get("/zones/{zone_id}/none-here")
def none_page(desk: TheDesk, person: Signed, zone_id: str, what: str = PENETRATIONS) -> Response:
    view = zone_view(desk, person.id, zone_id)
    standing_zone(view.seen)
    return _none_shown(view, person, what)


@router.post("/zones/{zone_id}/none-here")
def state(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    what = form.value("what")
    if not form.flag("looked"):
        form.wrong("looked", tr("Say that you looked at all of it."))

    def act() -> str:
        state_none(desk, person.id, zone_id, what)
        return f"/zones/{zone_id}/{what}?said=none"

    status = 422
    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, act)
        except (BadInput, Conflict) as refusal:
            status = 422 if isinstance(refusal, BadInput) else 409
            form.refused(refusal)
    return _none_shown(zone_view(desk, person.id, zone_id), person, what, form, status)


def _none_shown(
    view: ZoneView, person: Person, what: str, form: Form | None = None, status: int = 200
) -> Response:
    allow(view.seen, "state that there are none")
    if what not in NONE_OF:
        raise NotFound
    there = standing_there(view.site, view.zone, what)
    page = NonePage(
        letter=view.zone.letter,
        what=what,
        gone=tr("{tag} stands here.", tag=there[0]) if there else "",
        looked=tr(LOOKED[what], letter=view.zone.letter),
        action=f"/zones/{view.zone.id}/none-here",
        back=f"/zones/{view.zone.id}/{what}",
        key=form_key(form),
    )
    errors = form.errors if form else {}
    shell = shell_of(view.seen.project, view.seen.role, person, errors=errors, cautions=(tr(CAUTION_WALK),))
    return HTMLResponse(render("crew/none_here.html", page, **shell), status)
