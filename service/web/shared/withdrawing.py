"""Taking back what was logged, with a reason: the one page for it, and the one way its form is sent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.domain.nouns.site import Project
from service.web.forms.forms import Form
from service.web.forms.sending import form_key, send_once
from service.web.serving.errors import status_of
from service.web.shared.sketch_answers import TOLD, answer


@dataclass(frozen=True, slots=True)
class Withdrawing:
    """What is taken back, and where the form goes. `gone`: why it is withdrawn already, or nothing."""

    title: str
    words: str
    gone: str | None
    action: str
    back: str
    back_words: str


@dataclass(frozen=True, slots=True)
class WithdrawPage:
    """`templates/crew/withdraw.html`."""

    title: str
    words: str
    gone: str
    reason: str
    action: str
    key: str
    back: str
    back_words: str


def withdraw_html(
    told: Withdrawing, project: Project, role: str, person: Person, form: Form | None = None, status: int = 0
) -> Response:
    """The page that asks for the reason; with a form, what was typed and what is wrong with it."""
    page = WithdrawPage(
        title=told.title,
        words=told.words,
        gone=told.gone or "",
        reason=form.value("reason") if form else "",
        action=told.action,
        key=form_key(form),
        back=told.back,
        back_words=told.back_words,
    )
    return answer("crew/withdraw.html", page, project, role, person, form, status=status)


def take_back(
    request: Request,
    desk: Desk,
    person: Person,
    form: Form,
    needed: str,
    act: Callable[[str], str],
    show: Callable[[Form, int], Response],
) -> Response:
    """Hand `act` the reason, once, and go to the address it returns; or `show` the form again, with a status.

    `needed`: what to say to a form without a reason; empty where `act` says it.
    """
    reason, status = form.text("reason", needed=needed), 0
    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, lambda: act(reason))
        except TOLD as refusal:
            form.refused(refusal)
            status = status_of(refusal)
    return show(form, status)
