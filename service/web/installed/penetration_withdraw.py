"""Withdraw a penetration placed by mistake, or a seal that was taken off, each with its reason."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.installed.penetrations import (
    allow_unsealing,
    allow_withdrawing,
    penetration_view,
    withdraw_penetration,
    withdraw_seal,
)
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.installed.penetration_words import tags_words, what
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html

router = APIRouter(include_in_schema=False)


@router.get("/penetrations/{penetration_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, penetration_id: str) -> Response:
    return _withdraw(desk, person, penetration_id)


@router.post("/penetrations/{penetration_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, penetration_id: str) -> Response:
    def act(reason: str) -> str:
        gone = withdraw_penetration(desk, person.id, penetration_id, reason)
        return f"/zones/{gone.zone_id}/penetrations?said=withdrawn"

    shown = partial(_withdraw, desk, person, penetration_id)
    return take_back(request, desk, person, form, tr("Say why the penetration is withdrawn."), act, shown)


def _withdraw(
    desk: Desk, person: Person, penetration_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, pipe = penetration_view(desk, person.id, penetration_id)
    allow_withdrawing(view.seen, person.id, pipe)
    told = Withdrawing(
        title=tr("Withdraw {tag}", tag=pipe.tag),
        words=tr(
            "{what}. Only for one placed by mistake, or taken out: what passes through the film is sealed, "
            "not withdrawn. It stays in the history with your reason.",
            what=what(pipe, view.seen.project.units),
        ),
        gone=pipe.withdrawn,
        action=f"/penetrations/{pipe.id}/withdraw",
        back=f"/penetrations/{pipe.id}",
        back_words=tr("Back to {tag}", tag=pipe.tag),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)


@router.get("/penetrations/{penetration_id}/unseal")
def unseal_page(desk: TheDesk, person: Signed, penetration_id: str) -> Response:
    return _unseal(desk, person, penetration_id)


@router.post("/penetrations/{penetration_id}/unseal")
def unseal(request: Request, desk: TheDesk, person: Signed, form: Typed, penetration_id: str) -> Response:
    def act(reason: str) -> str:
        withdraw_seal(desk, person.id, penetration_id, reason)
        return f"/penetrations/{penetration_id}?said=seal-withdrawn"

    shown = partial(_unseal, desk, person, penetration_id)
    return take_back(request, desk, person, form, tr("Say why the seal is withdrawn."), act, shown)


def _unseal(
    desk: Desk, person: Person, penetration_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, pipe = penetration_view(desk, person.id, penetration_id)
    allow(view.seen, "withdraw a seal")
    gone = ""
    if pipe.seal is None:  # where a form was refused for it, in the words of the refusal
        refused = form.errors.get("", "") if form else ""
        gone = refused or tr("No seal is logged on {tag}.", tag=pipe.tag)
    else:
        allow_unsealing(view.seen, person.id, pipe.seal)
    pipes = view.site.penetrations
    others = [pipes[id].tag for id in (pipe.seal.together if pipe.seal else ()) if id in pipes]
    told = [
        tr(
            "For a seal that was taken off, or logged by mistake. It stays on record with your reason and no "
            "longer counts."
        )
    ]
    if len(others) > 1:
        told.append(tr("It goes round {tags}: all of them.", tags=tags_words(others)))
    withdrawing = Withdrawing(
        title=tr("Withdraw the seal of {tag}", tag=pipe.tag),
        words=" ".join(told),
        gone=gone,
        action=f"/penetrations/{pipe.id}/unseal",
        back=f"/penetrations/{pipe.id}",
        back_words=tr("Back to {tag}", tag=pipe.tag),
    )
    return withdraw_html(withdrawing, view.seen.project, view.seen.role, person, form, status)
