"""The zone's page of many defects through the real app, beside what it costs with no database behind it.

`python -m tests.bench.bench_zone_page [--marks 200] [--rounds 9] [--each 12] [--profile]`

One process, no socket. Seconds are the processor's, of all threads, because the machine is shared. Measured
twice: with nothing kept (what it remembers of bodies read, overlaps judged and zones drawn is emptied
before each request), and as served (it is kept, as for a zone that nobody changed). Three ways, in turns:

  whole     the route as served: sign-in, permission, every row read from SQLite, gate, drawing, template
  in memory the same route on the same facts held in memory: gate, drawing and template, no database
  template  the finished page object through the template alone, in the same app with the same middleware

Figures to hold with nothing kept: `whole` at least 0.80 of `in memory`; at most 6 statements at any count.
"""

from __future__ import annotations

import argparse
import asyncio
import cProfile
import gc
import pstats
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest import mock

from fastapi import FastAPI
from sqlalchemy import event
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView, zone_view
from service.app import make_app
from service.domain.nouns.site import Zone
from service.history.replay.standing import standing_of
from service.settings import Settings
from service.web.crew import zone as crew_zone
from service.web.serving import unchanged
from service.web.serving.guards import PLAIN_COOKIE, visitor
from service.web.serving.render import render
from tests.bench.filling import mark_many
from tests.builders import a_walk, a_zone
from tests.cast import Cast, assemble

# Kept for as long as the process lives, and nothing of any zone.
OF_NO_ZONE = {"_of_zone", "_readers", "_reader", "_common", "nobodys_hash", "environment", "time_zones"}
MEMO = type(lru_cache(len))  # what `cache` and `lru_cache` make of a function
STATEMENTS_AT = (10, 200, 1000)


def forget() -> None:
    """Empty whatever the service remembers of facts it has seen."""
    for name, module in list(sys.modules.items()):
        if name.startswith("service."):
            for kept in vars(module).values():
                if isinstance(kept, MEMO) and kept.__name__ not in OF_NO_ZONE:
                    kept.cache_clear()


@dataclass
class Ground:
    """A served app with one zone on it."""

    app: FastAPI
    desk: Desk
    cast: Cast
    zone: Zone
    token: str

    def ask(self) -> bytes:
        """The page's bytes as the app sends them, uncompressed; AssertionError when it is not the page."""
        return asyncio.run(self.asked())

    async def asked(self) -> bytes:
        sent: list[dict[str, Any]] = []

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: Any) -> None:
            sent.append(message)

        headers = [
            (b"host", b"laptight.test"),
            (b"cookie", f"{PLAIN_COOKIE}={self.token}".encode()),
            (b"accept", b"text/html"),
        ]
        path = f"/zones/{self.zone.id}"
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET",
            "scheme": "http", "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "",
            "headers": headers, "client": ("10.0.0.1", 4000), "server": ("laptight.test", 80),
        }  # fmt: skip
        await self.app(scope, receive, send)
        assert sent[0]["status"] == 200, sent[0]
        return b"".join(message.get("body", b"") for message in sent[1:])


@contextmanager
def ground(marks: int) -> Iterator[Ground]:
    """A walked zone with this many marks, served by the real app over a SQLite file."""
    with tempfile.TemporaryDirectory() as folder:
        app = make_app(Settings.read(Path(folder), environ={"LAPTIGHT_MOST_REQUESTS": "0"}))
        desk: Desk = app.state.desk
        try:
            cast = assemble(desk)
            zone = a_zone(desk, cast)
            mark_many(desk, cast.lead.id, zone, marks)
            a_walk(desk, cast, zone)
            token, _ = accounts.open_sign_in(desk.fresh(), cast.lead.id, accounts.PAGE)
            yield Ground(app, desk, cast, zone, token)
        finally:
            desk.database.close()


@contextmanager
def in_memory(on: Ground) -> Iterator[None]:
    """The zone's facts and the person are held; only the database is left out."""
    held = zone_view(on.desk.fresh(), on.cast.lead.id, on.zone.id)

    def view(desk: Desk, by: str, zone_id: str) -> ZoneView:
        return ZoneView(held.seen, held.site, standing_of(held.site, zone_id), held.names)

    on.app.dependency_overrides[visitor] = lambda: on.cast.lead
    unseen = mock.patch.object(unchanged, "glance", lambda *_: None)
    with mock.patch.object(crew_zone, "zone_view", view), unseen:
        yield
    on.app.dependency_overrides.clear()


@contextmanager
def template_alone(on: Ground) -> Iterator[None]:
    """The page object is finished before; the request only renders it."""
    held = zone_view(on.desk.fresh(), on.cast.lead.id, on.zone.id)
    finished: list[tuple[str, Any, Any]] = []

    def keep(template: str, page: object, **shell: Any) -> str:
        finished.append((template, page, shell))
        return ""

    with mock.patch.object(crew_zone, "render", keep):
        crew_zone._shown(held, on.cast.lead)
    ((template, page, shell),) = finished

    def shown(*_: Any, **__: Any) -> Response:
        return HTMLResponse(render(template, page, **shell))

    on.app.dependency_overrides[visitor] = lambda: on.cast.lead
    unseen = mock.patch.object(unchanged, "glance", lambda *_: None)
    with mock.patch.multiple(crew_zone, zone_view=lambda *_: held, _shown=shown), unseen:
        yield
    on.app.dependency_overrides.clear()


@contextmanager
def whole(on: Ground) -> Iterator[None]:
    yield


Way = Callable[[Ground], Any]
WAYS: dict[str, Way] = {"whole": whole, "in memory": in_memory, "template": template_alone}


def measure(on: Ground, rounds: int, each: int, kept: bool) -> dict[str, list[float]]:
    """Seconds a request, one number a round and way; the ways take turns."""
    told: dict[str, list[float]] = {name: [] for name in WAYS}
    for number in range(-1, rounds):  # the first round warms up
        for name, way in WAYS.items():
            with way(on):
                took = asyncio.run(_timed(on, each, kept))
            if number >= 0:
                told[name].append(took)
    return told


async def _timed(on: Ground, each: int, kept: bool) -> float:
    gc.collect()
    took = 0.0
    for _ in range(each):
        on.app.state.shelf.clear()  # pages sent again as they were: `bench_kept_page`
        if not kept:
            forget()
        start = time.process_time()
        await on.asked()
        took += time.process_time() - start
    return took / each


@contextmanager
def counting(desk: Desk) -> Iterator[dict[str, int]]:
    """Statements sent to the database while this is open, BEGIN counted apart."""
    told = {"statements": 0, "begins": 0}

    def note(*given: Any) -> None:
        told["begins" if given[2].startswith("BEGIN") else "statements"] += 1

    event.listen(desk.database.engine, "before_cursor_execute", note)
    yield told
    event.remove(desk.database.engine, "before_cursor_execute", note)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--marks", type=int, default=200)
    asked.add_argument("--rounds", type=int, default=9)
    asked.add_argument("--each", type=int, default=12)
    asked.add_argument("--profile", action="store_true", help="print where the time of `whole` goes")
    told = asked.parse_args()
    with ground(told.marks) as on:
        if told.profile:
            return profile(on)
        print(f"zone page of {told.marks} marks: {len(on.ask()) / 1000:.0f} KB of HTML, uncompressed")
        for kept in (False, True):
            print("as served" if kept else "nothing kept")
            tell(measure(on, told.rounds, told.each, kept))
    for marks in STATEMENTS_AT:
        with ground(marks) as on:
            on.ask()
            on.app.state.shelf.clear()
            with counting(on.desk) as seen:
                on.ask()
            print(f"  {marks} marks: {seen['statements']} statements, {seen['begins']} BEGIN, and the glance")


def tell(took: dict[str, list[float]]) -> None:
    """Medians, and the ratio of each round's pair."""
    middle = {name: statistics.median(values) for name, values in took.items()}
    for name, value in middle.items():
        print(f"  {name:<10} {value * 1000:7.2f} ms a request, {1 / value:6.1f} a second")
    for name in ("in memory", "template"):
        ratios = [other / own for own, other in zip(took["whole"], took[name], strict=True)]
        spread = f"rounds {min(ratios):.2f} to {max(ratios):.2f}"
        print(f"  whole against {name}: {statistics.median(ratios):.2f} ({spread})")


def profile(on: Ground) -> None:
    """Where the processor's time of the page goes, in this thread: the request's own threads stay unseen."""

    def page() -> None:
        forget()
        asked = Request({"type": "http", "headers": [], "query_string": b"", "path": "/"})
        crew_zone.zone(asked, on.desk.fresh(), on.cast.lead, on.zone.id)

    for _ in range(3):
        page()
    profiler = cProfile.Profile()
    for _ in range(20):
        profiler.runcall(page)
    for order in ("tottime", "cumtime"):
        pstats.Stats(profiler).sort_stats(order).print_stats(45)


if __name__ == "__main__":
    main()
