"""Which routers can have a route for a path at all: the others are passed by without trying their routes.

The app has some 360 routes in routers within routers, and each would be tried in turn, twice over: that took
half as long as reading and writing a mark. What is answered is the same (`tests/whole/test_finding.py`).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fastapi import APIRouter
from starlette.routing import Match
from starlette.types import Scope

# A literal part of a path by its place, counted from the end: `/zones/{id}/defects` ends with (1, "defects"),
# `/zones/{id}` has (2, "zones"). Prefixes stand before, so a router has the same wherever it is included.
Part = tuple[int, str]
_PARTS = "laptight.parts"


def pass_by(routes: Iterable[Any]) -> None:
    """Let every router included here, and within these, be passed by where none of its routes can match."""
    for route in routes:
        router = getattr(route, "original_router", None)
        if isinstance(router, APIRouter):
            pass_by(router.routes)
            _guard(router)


def _guard(router: APIRouter) -> None:
    needed = _needed(router.routes)
    if needed is None:
        return
    parts, tried = frozenset(needed), type(router).matches.__get__(router)

    def matches(scope: Scope) -> tuple[Match, Scope]:
        if parts.isdisjoint(_parts_of(scope)):
            return Match.NONE, {}
        found: tuple[Match, Scope] = tried(scope)
        return found

    router.matches = matches  # type: ignore[method-assign]  # of this router alone


def _needed(routes: Iterable[Any]) -> set[Part] | None:
    """Of each route the last literal part: a path without any of them is none of theirs. None where that
    cannot be said of one of them."""
    found: set[Part] = set()
    for route in routes:
        router, path = getattr(route, "original_router", None), getattr(route, "path", None)
        if isinstance(router, APIRouter):
            within = _needed(router.routes)
            if within is None:
                return None
            found |= within
            continue
        # A parameter ends with its part, but for those that say otherwise.
        if not isinstance(path, str) or not path.startswith("/") or ":" in path:
            return None
        ends = [(place, part) for place, part in _from_the_end(path) if "{" not in part]
        if not ends:
            return None
        found.add(ends[0])
    return found


def _from_the_end(path: str) -> list[Part]:
    return list(enumerate(reversed(path.split("/")[1:]), start=1))


def _parts_of(scope: Scope) -> set[Part]:
    """Worked out once a request. A line end at the very end is no part of a path to whoever matches it."""
    path: str = scope.get("path", "")
    known: tuple[str, set[Part]] | None = scope.get(_PARTS)
    if known is None or known[0] != path:
        known = scope[_PARTS] = path, set(_from_the_end(path.removesuffix("\n")))
    return known[1]
