"""Larger type: a switch at the foot of every page, kept on the phone, beside the browser's own zoom."""

from __future__ import annotations

from contextvars import ContextVar

from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.types import ASGIApp, Receive, Scope, Send

COOKIE = "laptight-type"
LARGER, USUAL = "larger", "usual"
_larger: ContextVar[bool] = ContextVar("larger", default=False)


def larger() -> bool:
    """Whether the page being made is for somebody who asked for larger type."""
    return _larger.get()


class TypeSize:
    """Keeps what the phone asked for at hand for the length of a request."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        cookies = cookie_parser(Headers(scope=scope).get("cookie", ""))
        before = _larger.set(cookies.get(COOKIE) == LARGER)
        try:
            await self.app(scope, receive, send)
        finally:
            _larger.reset(before)
