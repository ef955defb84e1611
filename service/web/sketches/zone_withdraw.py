"""Take a zone off the sketch, with a reason and a look at what goes with it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.sketches.zones import withdraw_zone
from service.domain.nouns import roles
from service.domain.words.refusals import Conflict, NotAllowed
from service.domain.words.speech import tr, trc, trn
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.sketch_answers import answer
from service.web.shared.withdrawing import take_back

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class WithdrawPage:
    """`templates/office/zone_withdraw.html`."""

    letter: str
    facts: tuple[tuple[str, str], ...]
    reason: str
    key: str
    action: str
    back: str


@router.get("/zones/{zone_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _show_withdraw(desk, person, zone_id)


@router.post("/zones/{zone_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    def act(reason: str) -> str:
        zone = withdraw_zone(desk, person.id, zone_id, reason)
        return f"/sketches/{zone.sketch_id}?said=withdrawn"

    shown = partial(_show_withdraw, desk, person, zone_id)
    return take_back(request, desk, person, form, tr("Say why the zone is taken off the sketch."), act, shown)


def _show_withdraw(
    desk: Desk, person: Person, zone_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view = standing_view(desk, person, zone_id)
    zone = view.zone
    standing = [mark for mark in view.defects() if mark.withdrawn is None]
    page = WithdrawPage(
        letter=zone.letter,
        facts=(
            (tr("Zone"), zone.name or zone.letter),
            (tr("Stands"), trc("zone", view.standing.state)),
            (tr("Marks on it"), trn("{n} mark", "{n} marks", len(standing)) if standing else tr("none")),
        ),
        reason=form.value("reason") if form else "",
        key=form_key(form),
        action=f"/zones/{zone.id}/withdraw",
        back=f"/sketches/{zone.sketch_id}",
    )
    project, role = view.seen.project, view.seen.role
    return answer("office/zone_withdraw.html", page, project, role, person, form, status=status)


def standing_view(desk: Desk, person: Person, zone_id: str) -> ZoneView:
    """A zone for somebody who may change it; Conflict when it is off the sketch already."""
    view = zone_view(desk, person.id, zone_id)
    if not roles.may(view.seen.role, "outline a zone"):
        raise NotAllowed(tr("Only a project manager changes a zone."))
    if view.zone.withdrawn is not None:
        raise Conflict(
            tr(
                "Zone {letter} was taken off the sketch: {withdrawn}.",
                letter=view.zone.letter,
                withdrawn=view.zone.withdrawn,
            )
        )
    return view
