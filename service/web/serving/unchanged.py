"""Pages sent again as they were, while nothing that they are made from has changed.

These pages are worked out from one project's history, from who looks and from the request, and from nothing
else: no clock, no draft, nobody's sign-in. So a page is kept as it was sent, under what it was made from, and
sent again only to the same sign-in and the same request, after one statement has said that all of it stands.
Every entry of the history moves the head, so no page outlives one. The ETag names the same; a browser that
still has it is told so (304). A page given twice has the same key in its form: it is the same browser's.

Pure ASGI, and the outermost that looks at pages: what is kept has its headers and is compressed already.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.actions.entrance import accounts
from service.actions.entrance.counting import Counted
from service.actions.entrance.unchanged import Glance, glance, waits
from service.actions.frame.desk import Desk
from service.web.serving import guards

PAGES = re.compile(r"/(?:(zones)/([^/]+)|(releases)/([^/]+)|(projects)/([^/]+)/(?:crew|causes|closeout))")
MOST_BYTES = 16 * 1024 * 1024
# All that a page can learn of a request beside its address. Any other header leaves it as it is.
TOLD_BY = (b"cookie", b"accept", b"accept-language", b"accept-encoding", b"host")
EDITION = secrets.token_hex(8)  # another program, or another process, makes another page
Key = tuple[str | bytes, ...]


@dataclass(frozen=True, slots=True)
class KeptPage:
    """A page as it was sent. `told`: what it was made from; `token`: the sign-in it was sent to."""

    token: str
    told: tuple[str | int, ...]
    etag: bytes
    headers: list[tuple[bytes, bytes]]
    body: bytes
    route: Any


class Shelf:
    """Kept pages by the request that each answers; the one not asked for longest goes first."""

    def __init__(self, most: int = MOST_BYTES) -> None:
        self.most, self.bytes = most, 0
        self._pages: OrderedDict[Key, KeptPage] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Key) -> KeptPage | None:
        with self._lock:
            page = self._pages.get(key)
            if page is not None:
                self._pages.move_to_end(key)
            return page

    def put(self, key: Key, page: KeptPage) -> None:
        with self._lock:
            self._drop(key)
            self._pages[key] = page
            self.bytes += len(page.body)
            while self.bytes > self.most:
                self._drop(next(iter(self._pages)))  # the page itself, where it alone is too large

    def clear(self) -> None:
        with self._lock:
            self._pages.clear()
            self.bytes = 0

    def _drop(self, key: Key) -> None:
        if old := self._pages.pop(key, None):
            self.bytes -= len(old.body)


class Unchanged:
    """Answers from the shelf where it can; else what is answered is kept."""

    def __init__(self, app: ASGIApp, shelf: Shelf) -> None:
        self.app, self.shelf = app, shelf

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        found = (
            PAGES.fullmatch(scope["path"]) if scope["type"] == "http" and scope["method"] == "GET" else None
        )
        if found is None:
            await self.app(scope, receive, send)
            return
        key, had = _request_key(scope)
        page = self.shelf.get(key)
        token = page.token if page is not None else guards.page_token(Request(scope))
        seen = await _glance(scope, token, found) if token else None
        if token is None or seen is None:
            await self.app(scope, receive, send)
            return
        counted: Counted = scope["app"].state.counted
        if (
            page is not None
            and page.told == seen.told
            and counted.lightly(scope["app"].state.desk, seen.person.id)
        ):
            scope["route"] = page.route  # for whoever counts requests by their route
            await _send(page, had, send)
            return
        scope.setdefault("state", {})[guards.LOOKING] = token, seen.person
        await self.app(scope, receive, _Keeping(self.shelf, key, token, seen.told, scope, send).passed)


async def _glance(scope: Scope, token: str, found: re.Match[str]) -> Glance | None:
    """What stands now. None where it cannot be said: the page itself then says what is wrong."""
    desk: Desk = scope["app"].state.desk
    subject, id = filter(None, found.groups())
    try:
        if not waits(desk):
            seen = glance(desk, token, subject, id)
        else:
            seen = await run_in_threadpool(glance, desk, token, subject, id)
        if seen is not None and seen.to_note:
            await run_in_threadpool(accounts.note_use, desk.fresh(), token)
    except Exception:  # whatever it is: the page asks the same again, and its own guards tell of it
        return None
    return seen


def _request_key(scope: Scope) -> tuple[Key, bytes]:
    """All that a page can learn of its request, and the ETag that the browser has."""
    told, had = dict.fromkeys(TOLD_BY, b""), b""
    for name, value in scope["headers"]:
        if name in told:
            told[name] += value + b"\n"
        elif name == b"if-none-match":
            had = value
    return (scope["scheme"], scope["path"], scope["query_string"], *told.values()), had


async def _send(page: KeptPage, had: bytes, send: Send) -> None:
    if page.etag in had:
        left = [pair for pair in page.headers if not pair[0].startswith(b"content-")]
        left += [pair for pair in page.headers if pair[0] == b"content-security-policy"]
        await send({"type": "http.response.start", "status": 304, "headers": left})
        await send({"type": "http.response.body", "body": b""})
        return
    await send({"type": "http.response.start", "status": 200, "headers": page.headers})
    await send({"type": "http.response.body", "body": page.body})


class _Keeping:
    """One answer on its way out, kept where it is a whole page.

    `told` was read before the page was: the head only grows, so where it is still the same at some later
    glance, the page was made at that head, and the person was handed on from the same glance.
    """

    def __init__(
        self, shelf: Shelf, key: Key, token: str, told: tuple[str | int, ...], scope: Scope, send: Send
    ) -> None:
        self.shelf, self.key, self.token, self.told = shelf, key, token, told
        self.scope, self.send = scope, send
        self.start: Message | None = None

    async def passed(self, message: Message) -> None:
        if message["type"] == "http.response.start" and message["status"] == 200:
            self.start = message  # held until the body is here
            return
        start, self.start = self.start, None
        if start is not None:
            if message["type"] == "http.response.body" and not message.get("more_body", False):
                self._keep(start, message.get("body", b""))
            await self.send(start)
        await self.send(message)

    def _keep(self, start: Message, body: bytes) -> None:
        headers = MutableHeaders(raw=start["headers"])
        if "set-cookie" in headers or not headers.get("content-type", "").startswith("text/html"):
            return
        made = hashlib.sha256(repr((EDITION, self.key, self.told)).encode()).hexdigest()
        headers["ETag"] = f'W/"{made[:32]}"'
        start["headers"] = headers.raw
        page = KeptPage(
            self.token, self.told, headers["ETag"].encode(), list(headers.raw), body, self.scope.get("route")
        )
        self.shelf.put(self.key, page)
