"""How large a body may be, and how slowly it may come: pure ASGI, round everything that reads one.

No body of a sender who dribbles holds a connection, a file and a worker's memory for as long as it likes.
"""

from __future__ import annotations

import asyncio
import re
import time
from collections.abc import Callable
from contextlib import suppress

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

Answer = Callable[[Request, int], Response]  # the page or the JSON for a status

MIB = 1024 * 1024
MOST_SKETCH, MOST_PHOTO, MOST_ELSE = 101 * MIB, 16 * MIB, 1 * MIB
MOST_BLOB = 15 * MIB  # a photo with nothing round it
_BLOB = re.compile(r"/blobs/[^/]+$")
_LARGE = re.compile(r"/sketches(/|$)|/checkpoints/check$")  # a whole record may come to be checked against
_ENTRANCE = re.compile(r"^/(sign-in|sign-out|join|forgot|reset|account|code)(/|$)")

# A first wait, a rate from then on, and an end: the way of Apache's mod_reqtimeout, whose own default is
# body=20,MinRate=500. Ours is a minute, for a phone that goes behind a wall while it sends.
FIRST_S = 60.0
LEAST_RATE = 500  # bytes a second
LONGEST_S = 1800.0  # our own figure: a sketch of 100 MB at 0.45 Mbit/s

TOO_LARGE, TOO_SLOW = 413, 408


class CutShort(Exception):
    """A body is read no further. Whoever raised it answers; in between it is passed on as it is."""


class BodyLimit:
    """Answers 413 to a body larger than its route takes, counted as it comes, whatever its length says, and
    408 to one that comes too slowly (`patience`). `clock` tells seconds."""

    def __init__(self, app: ASGIApp, answer: Answer, clock: Callable[[], float] = time.monotonic) -> None:
        self.app, self.answer, self.clock = app, answer, clock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        most = most_bytes(scope["path"], headers.get("content-type", ""))
        told = headers.get("content-length", "")
        if told.isdigit() and int(told) > most:
            await self.answer(Request(scope), TOO_LARGE)(scope, receive, send)
            return
        await _Body(self, most).run(scope, receive, send)


class _Body:
    """One request whose body is counted and waited for. Once it is cut short whatever the app answers is
    replaced: the app may take the cut body for a client's fault and say so in its own words."""

    def __init__(self, limit: BodyLimit, most: int) -> None:
        self.limit, self.most = limit, most
        self.came, self.waited = 0, 0.0
        self.whole, self.started, self.cut = False, False, 0

    async def run(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def next_piece() -> Message:
            # After the body the app waits here for the sender to go away: that may take as long as it takes.
            message = await (receive() if self.whole else self._in_time(receive))
            self.came += len(message.get("body", b""))
            self.whole = not message.get("more_body", False)
            if self.came > self.most:
                self.cut = TOO_LARGE
                raise CutShort
            return message

        async def unless_cut(message: Message) -> None:
            if self.cut and not self.started:
                return
            self.started = True
            await send(message)

        with suppress(CutShort):
            await self.limit.app(scope, next_piece, unless_cut)
        if self.cut and not self.started:
            answer = self.limit.answer(Request(scope), self.cut)
            if self.cut == TOO_SLOW:  # RFC 9110, 15.5.9; what is still to come would be waited for again
                answer.headers["Connection"] = "close"
            await answer(scope, receive, send)

    async def _in_time(self, receive: Receive) -> Message:
        """The next piece. Only waiting counts: how long the app takes over a piece is not the sender's."""
        left, began = patience(self.came) - self.waited, self.limit.clock()
        if left > 0:
            with suppress(TimeoutError):
                async with asyncio.timeout(left):
                    message = await receive()
                self.waited += self.limit.clock() - began
                return message
        self.cut = TOO_SLOW
        raise CutShort


def patience(came: int) -> float:
    """Seconds that a body may be waited for in all, when so many bytes of it have come."""
    return min(FIRST_S + came / LEAST_RATE, LONGEST_S)


def most_bytes(path: str, content_type: str) -> int:
    """How large a body this path takes. Only a photo, or a form with files, may be larger than 1 MiB."""
    if _BLOB.match(path):
        return MOST_BLOB
    if not content_type.lower().startswith("multipart/form-data") or _ENTRANCE.match(path):
        return MOST_ELSE
    return MOST_SKETCH if _LARGE.search(path) else MOST_PHOTO
