"""Take back a stretch of edge, or what was logged of its seal, with a reason."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.installed.terminations import allow_withdrawing, edge_view, unseal_edge, withdraw_edge
from service.domain.nouns.installed import Termination
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html

router = APIRouter(include_in_schema=False)


@router.get("/edges/{termination_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, termination_id: str) -> Response:
    return _withdraw(desk, person, termination_id)


@router.post("/edges/{termination_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, termination_id: str) -> Response:
    def act(reason: str) -> str:
        gone = withdraw_edge(desk, person.id, termination_id, reason)
        return f"/zones/{gone.zone_id}/edges?said=withdrawn"

    shown = partial(_withdraw, desk, person, termination_id)
    return take_back(request, desk, person, form, tr("Say why the stretch is withdrawn."), act, shown)


@router.get("/edges/{termination_id}/unseal")
def unseal_page(desk: TheDesk, person: Signed, termination_id: str) -> Response:
    return _unseal(desk, person, termination_id)


@router.post("/edges/{termination_id}/unseal")
def unseal(request: Request, desk: TheDesk, person: Signed, form: Typed, termination_id: str) -> Response:
    def act(reason: str) -> str:
        unseal_edge(desk, person.id, termination_id, reason)
        return f"/edges/{termination_id}?said=unsealed"

    shown = partial(_unseal, desk, person, termination_id)
    return take_back(request, desk, person, form, tr("Say why the seal is withdrawn."), act, shown)


def _withdraw(
    desk: Desk, person: Person, termination_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, stretch = edge_view(desk, person.id, termination_id)
    allow_withdrawing(view.seen, person.id, stretch.signed)
    told = Withdrawing(
        title=tr("Withdraw {tag}", tag=stretch.tag),
        words=tr(
            "For a stretch described by mistake. It stays in the history with your reason, its tag is "
            "never used again, and its part of the edge holds the zone until it is described anew."
        ),
        gone=stretch.withdrawn,
        action=f"/edges/{stretch.id}/withdraw",
        back=f"/edges/{stretch.id}",
        back_words=tr("Back to {tag}", tag=stretch.tag),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)


def _unseal(
    desk: Desk, person: Person, termination_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, stretch = edge_view(desk, person.id, termination_id)
    allow_withdrawing(view.seen, person.id, (stretch.seal or stretch).signed)
    told = Withdrawing(
        title=tr("Withdraw the seal of {tag}", tag=stretch.tag),
        words=tr(
            "For a seal that came loose, or was logged by mistake. It stays on record with your reason and "
            "no longer counts, so {tag} is open again.",
            tag=stretch.tag,
        ),
        gone=_no_seal(stretch),
        action=f"/edges/{stretch.id}/unseal",
        back=f"/edges/{stretch.id}",
        back_words=tr("Back to {tag}", tag=stretch.tag),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)


def _no_seal(stretch: Termination) -> str:
    if stretch.withdrawn is not None:
        return stretch.withdrawn
    return "" if stretch.seal else tr("no seal is logged on {tag} now.", tag=stretch.tag)
