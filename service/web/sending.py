"""Forms that land once: the hidden `request_key` of a form, and the address its first sending led to."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from service.actions.desk import Desk
from service.actions.once import once
from service.domain.refusals import Conflict, KeyReused
from service.web.forms import Form


def new_key() -> str:
    """A key for a form about to be shown (`fields.form_start(action, key)`)."""
    return secrets.token_urlsafe(12)


@contextmanager
def sent_before(form: Form) -> Iterator[None]:
    """A form that landed, was gone back to and changed: told in words, and given a new key to be sent with.

    Its old key would be refused for ever, and somebody who means one more would be stuck.
    """
    try:
        yield
    except KeyReused:
        form.values["request_key"] = new_key()
        raise Conflict(
            "This form was sent before, and what it said then is recorded. Is this one more? Send it again.",
            code="sent-before",
        ) from None


def send_once(request: Request, desk: Desk, person_id: str, form: Form, act: Callable[[], str]) -> Response:
    """Run `act()` once for this form and go (303) to the address it returns.

    The same form sent again goes to the same address and does nothing more. Refusals pass through and nothing
    is kept, so the form, put right, may be sent under the same key. A form without a key is simply run.
    """
    key = form.value("request_key")
    if not key:
        return RedirectResponse(act(), 303)
    sent = f"{request.method} {request.url.path}\n".encode() + form.sent()
    with sent_before(form):
        status, address, _ = once(desk, person_id, key, sent, lambda: (303, act()))
    return RedirectResponse(address, status)
