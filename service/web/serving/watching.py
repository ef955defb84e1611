"""What is seen of requests as they pass: for logs and counts, by the route's spelling and never by address.

No name, id, address of a person or secret of a link can get into either: they are not looked at.
"""

from __future__ import annotations

import json
import logging
import re
import time
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from datetime import UTC, datetime

from starlette.types import ASGIApp, Message, Receive, Scope, Send

NO_ROUTE = "(no route)"
_CALLS = re.compile(r"/api/v\d+(?=/)")
requests = logging.getLogger("laptight.requests")


@dataclass(frozen=True, slots=True)
class Passed:
    """One request, answered. `route`: as the app spells it; `status` 0 where the sender went away first."""

    method: str
    route: str
    status: int
    seconds: float
    number: str


Tell = Callable[[Passed], None]


def _untold(_: Passed) -> None:
    pass


class Watched:
    """Tells each request that passed to `tell`, whatever came of it, and to what `follow` yields round it."""

    def __init__(
        self,
        app: ASGIApp,
        tell: Sequence[Tell],
        follow: Callable[[Scope], AbstractContextManager[Tell]] = lambda scope: nullcontext(_untold),
    ) -> None:
        self.app, self.tell, self.follow = app, tell, follow

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        with self.follow(scope) as also:
            await self._watch(scope, receive, send, (*self.tell, also))

    async def _watch(self, scope: Scope, receive: Receive, send: Send, told: Sequence[Tell]) -> None:
        began, status = time.perf_counter(), 0

        async def noted(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, noted)
        finally:
            route = _route_of(scope)
            number = scope.get("state", {}).get("request_id", "")
            passed = Passed(scope["method"], route, status, time.perf_counter() - began, number)
            for tell in told:
                tell(passed)


def _route_of(scope: Scope) -> str:
    """A call of the API spells its route without what all of them begin with: `/projects` is a page's too."""
    route: str | None = getattr(scope.get("route"), "path", None)
    if route is None:
        return "/static" if scope["path"].startswith("/static/") else NO_ROUTE
    prefix = _CALLS.match(scope["path"])
    return route if prefix is None or route.startswith(prefix[0]) else prefix[0] + route


def log(passed: Passed) -> None:
    """A line of the log for it."""
    told = {"method": passed.method, "route": passed.route, "status": passed.status}
    requests.info(
        "request", extra={"told": {**told, "ms": round(passed.seconds * 1000, 1), "request": passed.number}}
    )


class OneLine(logging.Formatter):
    """A record as one line of JSON: when, how grave, from where, what; and where something broke, how."""

    def format(self, record: logging.LogRecord) -> str:
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        line = {"at": at, "level": record.levelname.lower(), "from": record.name, "what": record.getMessage()}
        line |= getattr(record, "told", {})
        if record.exc_info:
            line["trouble"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False)


def log_as_json() -> None:
    """From now on this process logs lines of JSON to standard error."""
    handler = logging.StreamHandler()
    handler.setFormatter(OneLine())
    logging.basicConfig(handlers=[handler], level=logging.INFO, force=True)
    for noisy in ("httpx", "httpcore", "botocore", "boto3", "alembic", "fontTools"):
        logging.getLogger(noisy).setLevel(logging.WARNING)
