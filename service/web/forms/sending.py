"""Forms that land once: the hidden `request_key` of a form, and the address its first sending led to."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from service.actions.frame.desk import Desk
from service.actions.frame.once import nothing, once, once_prepared
from service.actions.frame.receipts import Kept, kept, words_of
from service.domain.words.refusals import Conflict, KeyReused, Refusal
from service.domain.words.speech import tr
from service.web.forms.forms import Form
from service.web.serving import receipts

T = TypeVar("T")


def new_key() -> str:
    """A key for a form about to be shown (`fields.form_start(action, key)`)."""
    return secrets.token_urlsafe(12)


def form_key(form: Form | None) -> str:
    """The key of a form that is shown again, as it was sent; or a new one."""
    return (form.value("request_key") if form else "") or new_key()


@contextmanager
def sent_before(form: Form, to_phone: bool = False) -> Iterator[None]:
    """A form that landed, was gone back to and changed: told in words, and given a new key to be sent with.

    Its old key would be refused for ever, and somebody who means one more would be stuck. A phone keeps a key
    with what it sends, so to a phone the refusal itself is told.
    """
    try:
        yield
    except KeyReused:
        if to_phone:
            raise
        form.values["request_key"] = new_key()
        raise Conflict(
            tr(
                "This form was sent before, and what it said then is recorded. Is this one more? Send "
                "it again."
            ),
            code="sent-before",
        ) from None


def send_once(request: Request, desk: Desk, person_id: str, form: Form, act: Callable[[], str]) -> Response:
    """Run `act()` once for this form and go (303) to the address it returns; to a phone, the receipt (201).

    The same form sent again goes to the same address and does nothing more. Refusals pass through and nothing
    is kept, so the form, put right, may be sent under the same key. A form without a key is simply run.
    """
    return land_once(request, desk, person_id, form, nothing, lambda _: act())


def land_once(
    request: Request,
    desk: Desk,
    person_id: str,
    form: Form,
    prepare: Callable[[], T],
    act: Callable[[T], str],
) -> Response:
    """As `send_once`, with a slow part that runs before the transaction and hands `act` what it made."""
    with noted(form):
        key = receipts.key_of(request, form.value("request_key"))
        if not key:
            made = prepare()
            with desk.writing():
                return RedirectResponse(act(made), 303)

        def respond(made: T) -> tuple[int, str]:
            return 303, kept(desk, act(made)).text()

        sent = f"{request.method} {request.url.path}\n".encode() + form.sent()
        with sent_before(form, receipts.wanted(request)):
            _, text, again = once_prepared(desk, person_id, key, sent, prepare, respond)
        return answered(request, desk, person_id, Kept.read(text), again)


def address_once(
    request: Request, desk: Desk, person_id: str, form: Form, act: Callable[[], tuple[int, str]]
) -> str:
    """The address of a form that answers itself where it lands first, with what is shown that once: a secret
    must not be kept with the reply. Sent again it leads to the address alone."""
    key = form.value("request_key")
    if not key:
        return act()[1]
    sent = f"{request.method} {request.url.path}\n".encode() + form.sent()
    with sent_before(form):
        return once(desk, person_id, key, sent, act)[1]


@contextmanager
def noted(form: Form) -> Iterator[None]:
    """What the rules say to the form as it is sent stays with it, however its page words that."""
    try:
        yield
    except Refusal as refusal:
        form.refusal = refusal
        raise


def answered(request: Request, desk: Desk, person_id: str, landed: Kept, again: bool) -> Response:
    """The way to the page a form led to, or its receipt."""
    if not receipts.wanted(request):
        return RedirectResponse(landed.href, 303)
    words = words_of(desk, person_id, landed)
    told = {"href": landed.href, "seq": landed.seq, "leaf": landed.leaf, "again": again, "words": words}
    return JSONResponse(told, 201, media_type=receipts.RECEIPT, headers={"Cache-Control": "no-store"})
