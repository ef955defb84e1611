"""Take back a stretch of edge, or what was logged of its seal, with a reason."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView
from service.actions.installed.terminations import allow_withdrawing, edge_view, unseal_edge, withdraw_edge
from service.domain.nouns.installed import Termination
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.marks.defect import WithdrawPage
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)


@router.get("/edges/{termination_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, termination_id: str) -> Response:
    return _withdraw(desk, person, termination_id)


@router.post("/edges/{termination_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, termination_id: str) -> Response:
    reason = form.text("reason", needed=tr("Say why the stretch is withdrawn."))

    def act() -> str:
        gone = withdraw_edge(desk, person.id, termination_id, reason)
        return f"/zones/{gone.zone_id}/edges?said=withdrawn"

    return _sent(request, desk, person, form, act) or _withdraw(desk, person, termination_id, form)


@router.get("/edges/{termination_id}/unseal")
def unseal_page(desk: TheDesk, person: Signed, termination_id: str) -> Response:
    return _unseal(desk, person, termination_id)


@router.post("/edges/{termination_id}/unseal")
def unseal(request: Request, desk: TheDesk, person: Signed, form: Typed, termination_id: str) -> Response:
    reason = form.text("reason", needed=tr("Say why the seal is withdrawn."))

    def act() -> str:
        unseal_edge(desk, person.id, termination_id, reason)
        return f"/edges/{termination_id}?said=unsealed"

    return _sent(request, desk, person, form, act) or _unseal(desk, person, termination_id, form)


def _sent(
    request: Request, desk: Desk, person: Person, form: Form, act: Callable[[], str]
) -> Response | None:
    """The way on, or None where the form has to be put right."""
    if form.errors:
        return None
    try:
        return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        return None


def _withdraw(desk: Desk, person: Person, termination_id: str, form: Form | None = None) -> Response:
    view, stretch = edge_view(desk, person.id, termination_id)
    allow_withdrawing(view.seen, person.id, stretch.signed)
    tag = stretch.tag
    page = WithdrawPage(
        title=tr("Withdraw {tag}", tag=tag),
        words=tr(
            "For a stretch described by mistake. It stays in the history with your reason, its tag is "
            "never used again, and its part of the edge holds the zone until it is described anew."
        ),
        gone=stretch.withdrawn or "",
        reason=form.value("reason") if form else "",
        action=f"/edges/{stretch.id}/withdraw",
        back=f"/edges/{stretch.id}",
        back_words=tr("Back to {tag}", tag=tag),
        key=form.value("request_key") if form else new_key(),
    )
    return _html(view, person, page, form)


def _unseal(desk: Desk, person: Person, termination_id: str, form: Form | None = None) -> Response:
    view, stretch = edge_view(desk, person.id, termination_id)
    allow_withdrawing(view.seen, person.id, (stretch.seal or stretch).signed)
    page = WithdrawPage(
        title=tr("Withdraw the seal of {tag}", tag=stretch.tag),
        words=tr(
            "For a seal that came loose, or was logged by mistake. It stays on record with your reason and "
            "no longer counts, so {tag} is open again.",
            tag=stretch.tag,
        ),
        gone=_no_seal(stretch),
        reason=form.value("reason") if form else "",
        action=f"/edges/{stretch.id}/unseal",
        back=f"/edges/{stretch.id}",
        back_words=tr("Back to {tag}", tag=stretch.tag),
        key=form.value("request_key") if form else new_key(),
    )
    return _html(view, person, page, form)


def _no_seal(stretch: Termination) -> str:
    if stretch.withdrawn is not None:
        return stretch.withdrawn
    return "" if stretch.seal else tr("no seal is logged on {tag} now.", tag=stretch.tag)


def _html(view: ZoneView, person: Person, page: WithdrawPage, form: Form | None) -> Response:
    errors = form.errors if form else {}
    shell = shell_of(view.seen.project, view.seen.role, person, errors=errors)
    return HTMLResponse(render("crew/withdraw.html", page, **shell), 422 if errors else 200)
