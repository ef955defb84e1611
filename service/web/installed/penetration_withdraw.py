"""Withdraw a penetration placed by mistake, or a seal that was taken off, each with its reason."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.reading import ZoneView
from service.actions.installed.penetrations import (
    allow_unsealing,
    allow_withdrawing,
    penetration_view,
    withdraw_penetration,
    withdraw_seal,
)
from service.domain.words.refusals import BadInput, Conflict, Refusal
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.installed.penetration_words import tags_words, what
from service.web.marks.defect import WithdrawPage
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)


@router.get("/penetrations/{penetration_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, penetration_id: str) -> Response:
    return _withdraw(desk, person, penetration_id)


@router.post("/penetrations/{penetration_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, penetration_id: str) -> Response:
    reason = form.text("reason", needed=tr("Say why the penetration is withdrawn."))

    def act() -> str:
        gone = withdraw_penetration(desk, person.id, penetration_id, reason)
        return f"/zones/{gone.zone_id}/penetrations?said=withdrawn"

    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, act)
        except (BadInput, Conflict) as refusal:
            form.refused(refusal)
    return _withdraw(desk, person, penetration_id, form)


def _withdraw(desk: Desk, person: Person, penetration_id: str, form: Form | None = None) -> Response:
    view, pipe = penetration_view(desk, person.id, penetration_id)
    allow_withdrawing(view.seen, person.id, pipe)
    page = WithdrawPage(
        title=tr("Withdraw {tag}", tag=pipe.tag),
        words=tr(
            "{what}. Only for one placed by mistake, or taken out: what passes through the film is sealed, "
            "not withdrawn. It stays in the history with your reason.",
            what=what(pipe, view.seen.project.units),
        ),
        gone=pipe.withdrawn or "",
        reason=form.value("reason") if form else "",
        action=f"/penetrations/{pipe.id}/withdraw",
        back=f"/penetrations/{pipe.id}",
        back_words=tr("Back to {tag}", tag=pipe.tag),
        key=(form.value("request_key") if form else "") or new_key(),
    )
    return _withdraw_html(view, person, page, form)


@router.get("/penetrations/{penetration_id}/unseal")
def unseal_page(desk: TheDesk, person: Signed, penetration_id: str) -> Response:
    return _unseal(desk, person, penetration_id)


@router.post("/penetrations/{penetration_id}/unseal")
def unseal(request: Request, desk: TheDesk, person: Signed, form: Typed, penetration_id: str) -> Response:
    reason = form.text("reason", needed=tr("Say why the seal is withdrawn."))
    refused: Refusal | None = None

    def act() -> str:
        withdraw_seal(desk, person.id, penetration_id, reason)
        return f"/penetrations/{penetration_id}?said=seal-withdrawn"

    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, act)
        except (BadInput, Conflict) as refusal:
            refused = refusal
            form.refused(refusal)
    return _unseal(desk, person, penetration_id, form, refused)


def _unseal(
    desk: Desk,
    person: Person,
    penetration_id: str,
    form: Form | None = None,
    refused: Refusal | None = None,
) -> Response:
    view, pipe = penetration_view(desk, person.id, penetration_id)
    allow(view.seen, "withdraw a seal")
    gone = ""
    if pipe.seal is None:
        gone = refused.message if refused else tr("No seal is logged on {tag}.", tag=pipe.tag)
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
    page = WithdrawPage(
        title=tr("Withdraw the seal of {tag}", tag=pipe.tag),
        words=" ".join(told),
        gone=gone,
        reason=form.value("reason") if form else "",
        action=f"/penetrations/{pipe.id}/unseal",
        back=f"/penetrations/{pipe.id}",
        back_words=tr("Back to {tag}", tag=pipe.tag),
        key=(form.value("request_key") if form else "") or new_key(),
    )
    return _withdraw_html(view, person, page, form)


def _withdraw_html(view: ZoneView, person: Person, page: WithdrawPage, form: Form | None) -> Response:
    errors = form.errors if form else {}
    shell = shell_of(view.seen.project, view.seen.role, person, errors=errors)
    return HTMLResponse(render("crew/withdraw.html", page, **shell), 422 if errors else 200)
