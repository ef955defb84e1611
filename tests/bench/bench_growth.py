"""How pages grow with what they show, and with what they do not: ten times the marks, zones and sites.

`python -m tests.bench.bench_growth [--rounds 5] [--only marks zones sites sketch]`

One process, no socket, SQLite. Each case fills a small and a large database with `tests.bench.month`, asks
both for the same pages in turns, and tells the processor's time of each (medians of a page asked with nothing
kept and of one asked again), their ratio, and how many statements the large one took. Held: at most 6
statements, whatever the rows, and no growth with what a page does not show.
"""

from __future__ import annotations

import argparse
import asyncio
import gc
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fastapi import FastAPI

from service.actions.frame.desk import Desk
from service.app import make_app
from service.settings import Settings, calm_collector
from service.web.serving.guards import PLAIN_COOKIE
from tests.bench import month
from tests.bench.bench_zone_page import counting, forget
from tests.bench.month import Month, Office, Size

SMALL = Size(sites=1, zones=10, marks=50, photos=3, leads=1)
# What is ten times as much in the large one.
CASES: dict[str, tuple[str, Size, Size]] = {
    "marks": ("marks in every zone, 50 and 500", SMALL, replace(SMALL, marks=500, zones=3)),
    "zones": ("zones of the project, 10 a sketch, 10 and 100", SMALL, replace(SMALL, zones=100)),
    "sketch": ("zones of one sketch, 10 and 100", SMALL, replace(SMALL, zones=100, per_sketch=100)),
    "sites": ("sites in the database, 4 and 40", replace(SMALL, sites=4), replace(SMALL, sites=40)),
}
FIRST = {"marks": replace(SMALL, zones=3)}


@dataclass
class Ground:
    """A served app over a filled database, and the one who looks: in a zone that is half mended."""

    app: FastAPI
    desk: Desk
    who: Office
    filled: Month

    def pages(self) -> dict[str, str]:
        zone, project = self.who.zones[-1], self.who.project
        return {
            "gate": f"/api/v1/zones/{zone}/gate",
            "zone page": f"/zones/{zone}",
            "release page": f"/zones/{zone}/release",
            "project page": f"/projects/{project}/office",
            "zones list": f"/api/v1/projects/{project}/zones",
            "history page": f"/projects/{project}/history",
            "closeout": f"/projects/{project}/closeout",
        }

    async def asked(self, path: str) -> int:
        """The page through the whole app; how many bytes it has. AssertionError when it is not the page."""
        sent: list[dict[str, Any]] = []

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: Any) -> None:
            sent.append(message)

        who = (
            (b"authorization", f"Bearer {self.who.token}".encode())
            if path.startswith("/api/")
            else (b"cookie", f"{PLAIN_COOKIE}={self.who.cookie}".encode())
        )
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET",
            "scheme": "http", "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "",
            "headers": [(b"host", b"laptight.test"), (b"accept", b"text/html"), who],
            "client": ("10.0.0.1", 4000), "server": ("laptight.test", 80),
        }  # fmt: skip
        await self.app(scope, receive, send)
        assert sent[0]["status"] == 200, (path, sent[0])
        return sum(len(message.get("body", b"")) for message in sent[1:])


@contextmanager
def ground(size: Size) -> Iterator[Ground]:
    with tempfile.TemporaryDirectory() as folder:
        app = make_app(Settings.read(Path(folder), environ={}))
        desk: Desk = app.state.desk
        try:
            filled = month.fill(desk, size)
            (who,) = filled.offices(desk, 1)
            yield Ground(app, desk, who, filled)
        finally:
            desk.database.close()


def took(on: Ground, path: str, kept: bool) -> float:
    """Seconds of the processor, of all threads. The page is made each time."""
    on.app.state.shelf.clear()  # pages sent again as they were: `bench_kept_page`
    if not kept:
        forget()
    gc.collect()
    began = time.process_time()
    asyncio.run(on.asked(path))
    return time.process_time() - began


def compare(name: str, rounds: int) -> None:
    title, small, large = CASES[name]
    with ground(FIRST.get(name, small)) as few, ground(large) as many:
        print(f"\n{title}")
        print(f"  {'':<14}{'first look, ms':>20}{'':>8}{'asked again, ms':>20}{'':>8}{'statements':>12}")
        for page in few.pages():
            cells = [_cell(few, many, page, rounds, kept) for kept in (False, True)]
            many.app.state.shelf.clear()
            with counting(many.desk) as seen:
                asyncio.run(many.asked(many.pages()[page]))
            print(f"  {page:<14}{''.join(cells)}{seen['statements']:>12}", flush=True)


def _cell(few: Ground, many: Ground, page: str, rounds: int, kept: bool) -> str:
    pairs = [
        (took(few, few.pages()[page], kept), took(many, many.pages()[page], kept)) for _ in range(rounds + 1)
    ]
    small, large = (statistics.median(values) * 1000 for values in zip(*pairs[1:], strict=True))
    return f"{small:>9.1f} to {large:>7.1f}{'x' + format(large / small, '.1f'):>8}"


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--only", nargs="*", choices=CASES, default=list(CASES))
    told = asked.parse_args()
    calm_collector()  # as the served process has it
    for name in told.only:
        compare(name, told.rounds)


if __name__ == "__main__":
    main()
