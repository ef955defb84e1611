"""What stands round every request, as pure ASGI: its number, safe headers, who sent it from where.

No BaseHTTPMiddleware: it runs the app in another task and breaks streaming and cancellation.
"""

from __future__ import annotations

import logging
import re
import secrets
from collections.abc import Callable
from urllib.parse import quote

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect, Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.web.serving.bodies import Answer, CutShort

logger = logging.getLogger("laptight")

CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'; object-src 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": CSP,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "private, no-cache",
}
HSTS = "max-age=31536000; includeSubDomains"

SAFE_METHODS = frozenset(("GET", "HEAD", "OPTIONS"))
# `charset=x`, and `charset*=utf-8''x` of RFC 2231, whose value here starts with its star.
_CHARSET = re.compile(r";\s*charset(?:\s*=\s*\"?)?([^\s\";]*)", re.IGNORECASE)
# What follows these in an address is the secret of a link.
_SECRET = re.compile(r"^(/(?:api/v\d+/)?(?:join|reset|ready|code|calendar)/)[^/]+")


class RequestNumber:
    """Gives every request a random number, in `scope["state"]` and on the answer: the log has it too."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        number = secrets.token_hex(6)
        scope.setdefault("state", {})["request_id"] = number

        async def numbered(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), (b"x-request-id", number.encode())]
            await send(message)

        await self.app(scope, receive, numbered)


class SafeHeaders:
    """Security headers on every answer; a route that sets its own, such as a picture's sandbox, keeps it."""

    def __init__(self, app: ASGIApp, https: bool) -> None:
        self.app, self.https = app, https

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                if self.https or scope["scheme"] == "https":
                    headers.setdefault("Strict-Transport-Security", HSTS)
            await send(message)

        await self.app(scope, receive, guarded)


class SameOrigin:
    """Refuses (403) what another site's page would have a signed-in browser do.

    By Sec-Fetch-Site, and by Origin where a browser does not send that (plain http away from localhost). With
    neither, a request that carries a sign-in cookie is refused; one with a bearer token alone is a program's.
    """

    def __init__(self, app: ASGIApp, answer: Answer, base_url: str, cookies: tuple[str, ...]) -> None:
        self.app, self.answer, self.base_url, self.cookies = app, answer, base_url, cookies

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] in SAFE_METHODS or self.may_pass(Request(scope)):
            await self.app(scope, receive, send)
            return
        answer = self.answer(Request(scope), 403)
        answer.headers.append("Vary", "Sec-Fetch-Site, Origin")
        await answer(scope, receive, send)

    def may_pass(self, request: Request) -> bool:
        carries_cookie = any(name in request.cookies for name in self.cookies)
        bearer = request.headers.get("authorization", "").lower().startswith("bearer ")
        if bearer and not carries_cookie:
            return True
        site = request.headers.get("sec-fetch-site")
        if site in ("same-origin", "none"):
            return True
        if site in ("same-site", "cross-site"):
            return False
        origin = request.headers.get("origin")
        if origin is None:
            return not carries_cookie
        own = f"{request.url.scheme}://{request.headers.get('host', '')}"
        return origin in {own, self.base_url} - {""}


class PlainLetters:
    """Answers 422 to a multipart form that says its letters are not UTF-8: browsers never do, and some of
    the names a request can give there decode into halves of characters, or break while decoding."""

    def __init__(self, app: ASGIApp, answer: Answer) -> None:
        self.app, self.answer = app, answer

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        kind = Headers(scope=scope).get("content-type", "") if scope["type"] == "http" else ""
        named = _CHARSET.findall(kind) if kind.lower().startswith("multipart/") else []
        if all(name.lower() in ("utf-8", "utf8") for name in named):
            await self.app(scope, receive, send)
            return
        await self.answer(Request(scope), 422)(scope, receive, send)


class LastResort:
    """Turns what nobody caught into 500, or 503 when `is_outage` says the database is out of reach, and logs
    it under the request's number. It stands inside the headers, so that a broken page has them too."""

    def __init__(self, app: ASGIApp, answer: Answer, is_outage: Callable[[BaseException], bool]) -> None:
        self.app, self.answer, self.is_outage = app, answer, is_outage

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self.app(scope, receive, watched)
        except CutShort:
            raise
        except ClientDisconnect:  # half a request came, and nobody is there to be answered
            number = scope.get("state", {}).get("request_id", "")
            logger.info("request %s %s was cut off", number, scope["method"])
        except Exception as trouble:
            outage = self.is_outage(trouble)
            number = scope.get("state", {}).get("request_id", "")
            path = quote(_SECRET.sub(r"\1...", scope["path"]))  # one line, whatever was asked for
            logger.error("request %s %s %s", number, scope["method"], path, exc_info=trouble)
            if started:
                raise
            answer = self.answer(Request(scope), 503 if outage else 500)
            if outage:
                answer.headers["Retry-After"] = "5"
            await answer(scope, receive, send)
