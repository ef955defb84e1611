"""Routers that are passed by change no answer: what each path finds is what trying every route finds."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI

from service import finding
from tests.whole.routes import routes_of

Found = tuple[int, bytes, str | None, str | None]
NO_SUCH_THING = "0" * 20
METHODS = ("GET", "POST", "PUT", "DELETE")


async def ask(app: FastAPI, method: str, path: str) -> Found:
    """Status, `Allow`, and the route and function that a request without a sign-in comes to."""
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        sent.append(message)

    scope: dict[str, Any] = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "", "headers": [],
        "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80),
    }  # fmt: skip
    await app(scope, receive, send)
    route, endpoint = scope.get("route"), scope.get("endpoint")
    allow = dict(sent[0]["headers"]).get(b"allow", b"")
    return sent[0]["status"], allow, getattr(route, "path", None), getattr(endpoint, "__qualname__", None)


def paths_of(app: FastAPI) -> list[str]:
    """Every route's address, and what is nearly one."""
    found: dict[str, None] = {}
    for _, route in sorted(routes_of(app)):
        path = re.sub(r"{[^}]*}", NO_SUCH_THING, route)
        head, _, last = path.rpartition("/")
        found |= dict.fromkeys((path, f"{path}/", f"{path}\n", f"/api/v1{path}", f"{path}x"))
        found |= dict.fromkeys((head or "/", f"{head}/x/{last}", path.removeprefix("/api/v1")))
    return [path for path in found if path.startswith("/")]


def routers_in(routes: Any) -> Iterator[Any]:
    for route in routes:
        if hasattr(route, "original_router"):
            yield route.original_router
            yield from routers_in(route.original_router.routes)


async def all_found(app: FastAPI, paths: list[str]) -> dict[tuple[str, str], Found]:
    return {(method, path): await ask(app, method, path) for path in paths for method in METHODS}


def test_every_path_finds_what_trying_every_route_finds(app: FastAPI) -> None:
    paths = paths_of(app)
    quick = asyncio.run(all_found(app, paths))
    assert {"matches" in vars(router) for router in routers_in(app.routes)} == {True}
    try:
        for router in routers_in(app.routes):
            vars(router).pop("matches", None)
        assert asyncio.run(all_found(app, paths)) == quick
    finally:
        finding.pass_by(app.routes)
    statuses = {status for status, *_ in quick.values()}
    assert {200, 401, 404, 405} <= statuses, "every kind of answer was among them"


@pytest.mark.parametrize(
    ("path", "needed"),
    [
        ("/zones/{id}/defects", {(1, "defects")}),
        ("/zones/{id}", {(2, "zones")}),
        ("/tiles/{level}/{x}_{y}.webp", {(3, "tiles")}),
        ("/", {(1, "")}),
        ("/{anything}", None),
        ("/files/{path:path}", None),
        ("", None),
    ],
)
def test_what_a_path_must_have_is_the_last_part_that_is_spelled_out(
    path: str, needed: set[tuple[int, str]] | None
) -> None:
    class Route:
        def __init__(self, path: str) -> None:
            self.path = path

    assert finding._needed([Route(path)]) == needed
