"""What waited on a phone and is sent at last: answered by a receipt, never by a page.

A form of the crew sent with `Accept: application/vnd.laptight.receipt+json` gets 201 with the entry that it
became, or why not, as JSON: `{"error": {"code", "message", "fields"}}`, and `theirs` beside it where others
have recorded something meanwhile. `Laptight-Outbox` says that it waited, and in which form it was kept.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.domain.words import refusals as r
from service.domain.words.speech import later, tr
from service.history.facts.entries import FromPhone
from service.web.serving.errors import WORDS, status_of

RECEIPT = "application/vnd.laptight.receipt+json"
OUTBOX, PERSON, KNOWN, DEVICE_AT = (
    "laptight-outbox",
    "laptight-person",
    "laptight-known",
    "laptight-device-at",
)
KEY = "idempotency-key"
FORMATS = ("1",)  # the newest and the one before it
MOST_KNOWN = 1 << 53

# What a phone may keep and send later. Everything else is decided on what stands at that moment: a release,
# a pull-back, the rule sheet, who is on the project.
_QUEUED = re.compile(
    r"/blobs/[0-9a-f]{64}"
    r"|/zones/[^/]+/(mark|walks|hold|hold-points|edges|none-here|seams/draw|penetrations/place)"
    r"|/zones/[^/]+/(film|film/received)"
    r"|/zones/[^/]+/film/[^/]+/withdraw"
    r"|/zones/[^/]+/(readings|thickness)"
    r"|/(readings|thickness)/[^/]+/withdraw"
    r"|/defects/[^/]+/(patch|repair|photos|cause|withdraw)"
    r"|/defects/[^/]+/repairs/[^/]+/(look|withdraw)"
    r"|/patches/[^/]+/(look|photos|withdraw)"
    r"|/holds/[^/]+/lift"
    r"|/(edges|penetrations|seams)/[^/]+/(seal|unseal|walk|withdraw)"
    r"|/layouts/[^/]+/(laid|withdraw)|/layouts/[^/]+/laid/[^/]+/withdraw"
)
NOT_QUEUED = later(
    "This is decided on what stands at that moment, so it is never kept on a phone to be sent later. Open "
    "its page with signal."
)


def wanted(request: Request) -> bool:
    """Whether a receipt is asked for and no page; a photo has none."""
    blob = request.url.path.startswith("/blobs/")
    return blob or RECEIPT in request.headers.get("accept", "") or waited(request)


def waited(request: Request) -> bool:
    """Whether the request waited in an outbox."""
    return OUTBOX in request.headers


def phone_of(request: Request) -> FromPhone | None:
    """What the phone says of a request that waited on it. A time that cannot be read is left out."""
    if not waited(request):
        return None
    known = request.headers.get(KNOWN, "")
    whole = int(known) if known.isascii() and known.isdigit() and len(known) < 16 else 0
    return FromPhone(whole, _clock(request.headers.get(DEVICE_AT, "")))


def _clock(text: str) -> datetime | None:
    try:
        told = datetime.fromisoformat(text)
        return told.astimezone(UTC) if told.tzinfo and 1970 <= told.year < 9999 else None
    except ValueError:
        return None


class NoKey(r.BadInput):
    """The request lacks what lets it land once and as its author's."""

    code = "key-missing"


def key_of(request: Request, form_key: str) -> str:
    """The request's key: of the form's own field or of the header. NoKey (400) where it needs one."""
    header = request.headers.get(KEY, "")
    if wanted(request) and not (form_key or header):
        raise NoKey(tr("What waits on a phone is sent with a key, so that it lands once."))
    if form_key and header and form_key != header:
        raise NoKey(tr("The form and its Idempotency-Key name two keys."), code="key-differs")
    return form_key or header


def check_person(request: Request, person_id: str) -> None:
    """Conflict where what waited is somebody else's: it is never sent under another sign-in."""
    author = request.headers.get(PERSON)
    if author is None and waited(request):
        raise NoKey(tr("What waits on a phone is sent with its author's id."), code="person-missing")
    if author is not None and author != person_id:
        told = tr("This was made by somebody else on this phone. It is sent when they sign in again.")
        raise r.Conflict(told, code="another-person")


# --- answers ----------------------------------------------------------------------------------------------


def error(
    status: int,
    code: str,
    message: str,
    fields: Mapping[str, str] | None = None,
    theirs: Mapping[str, Any] | None = None,
) -> JSONResponse:
    """Why not, as JSON."""
    body: dict[str, Any] = {"error": {"code": code, "message": message, "fields": dict(fields or {})}}
    if theirs is not None:
        body["theirs"] = dict(theirs)
    return JSONResponse(body, status, headers={"Cache-Control": "no-store"})


def refused(request: Request, refusal: r.Refusal, fields: Mapping[str, str] | None = None) -> Response:
    """A refusal as JSON: of 401 the code is `sign-in`, and nothing is sent elsewhere."""
    if isinstance(refusal, r.NotSignedIn):
        return error(401, "sign-in", tr("Sign in to send this."))
    status = 400 if isinstance(refusal, NoKey) else status_of(refusal)
    theirs = refusal.theirs.told() if isinstance(refusal, r.MovedSince) else None
    answer = error(status, refusal.code, refusal.message, fields or refusal.fields, theirs)
    if isinstance(refusal, r.SlowDown):
        answer.headers["Retry-After"] = str(refusal.after_s)
    return answer


# Codes of trouble that no refusal stands behind, for pages' scripts and for programs.
CODES = {
    400: "bad-request", 403: "cross-site", 404: "not-found", 405: "method", 408: "too-slow",
    413: "too-large", 422: "bad-input", 503: "busy", 507: "no-room",
}  # fmt: skip


def trouble(status: int) -> Response:
    """What no refusal stands behind."""
    message = WORDS.get(status, later("That did not work. Nothing was recorded."))
    return error(status, CODES.get(status, "broken" if status >= 500 else "refused"), tr(message))


class Receipts:
    """Holds back what waited and may not be sent so, and answers JSON where a page would have come."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] in ("GET", "HEAD", "OPTIONS"):
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        if not wanted(request):
            await self.app(scope, receive, send)
            return
        stopped = _stopped(request)
        if stopped is not None:
            await stopped(scope, receive, send)
            return
        page = _Page(send)
        await self.app(scope, receive, page.take)
        if page.status:
            await _instead(request, page)(scope, receive, send)


def _stopped(request: Request) -> Response | None:
    if not waited(request):
        return None
    if request.headers[OUTBOX] not in FORMATS:
        return error(409, "format", tr("This was kept by a newer page than is served here. It stays kept."))
    if not _QUEUED.fullmatch(request.url.path):
        return error(409, "not-from-outbox", tr(NOT_QUEUED))
    return None


class _Page:
    """Lets JSON pass and keeps a page back, of which only `status` and `location` are wanted."""

    def __init__(self, send: Send) -> None:
        self.send, self.status, self.location = send, 0, ""

    async def take(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            headers, status = Headers(raw=message["headers"]), message["status"]
            if 300 <= status < 400 or headers.get("content-type", "").startswith("text/html"):
                self.status, self.location = status, headers.get("location", "")
        if not self.status:
            await self.send(message)


def _instead(request: Request, page: _Page) -> Response:
    """The JSON for a page: what the form has to be put right in, or that nothing came of it."""
    form = request.scope.get("state", {}).get("form")
    if form is not None and form.refusal is not None:
        return refused(request, form.refusal, form.errors)
    if form is not None and form.errors:
        return error(422, "bad-input", next(iter(form.errors.values())), form.errors)
    if page.location.startswith("/sign-in"):
        return refused(request, r.NotSignedIn(""))
    if page.status >= 400:
        return trouble(page.status)
    return error(409, "nothing-recorded", tr("Nothing was recorded by this. Open the page again and look."))
