"""The end of a shift: every phone of a month's sites sends what it kept, while offices read.

`python -m tests.bench.bench_shift_end [--sites 40] [--phones 200] [--items 30] [--offices 50]`

The service runs as processes of its own: PostgreSQL with 1, 2 and 4 workers, then SQLite with one, each on
data filled alike (sites of ten zones with marks and patches). Each phone sends its items in order, one at a
time, a fifth of them twice as after a lost reply; each office reads the gate as long as phones send. All on
127.0.0.1 and on the cores of the service, so that figures say how the shapes compare, not what a server can
do. It ends by itself. Afterwards every history is replayed, and each item is counted in it: lost and
doubled must be 0.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import httpx

from service.actions import accounts, moving, zones
from service.actions.checking import check_histories
from service.actions.desk import Desk
from service.app import make_desk
from service.domain.roles import CREW_LEAD, PROJECT_MANAGER
from service.domain.rules import ready_made
from service.domain.site import Scale, Site, Zone
from service.history.every_fact import Fact
from service.history.facts import PersonJoined, ProjectStarted, ScaleSet, SketchAdded
from service.settings import Settings
from service.storage import books, ledger, people
from service.storage.database import Database
from service.storage.people import Person
from tests import postgres
from tests.bench.filling import mark_many

ROOT = Path(__file__).parents[2]
FOOT_NM = 304_800_000
LONGEST_S = 900
BROKEN = 0  # stands for a status where no answer came


@dataclass
class Filled:
    """A month's data: its crew leads' tokens with a zone each, and the offices' with their zones."""

    phones: list[tuple[str, str, tuple[float, float]]] = field(default_factory=list)
    offices: list[tuple[str, list[str]]] = field(default_factory=list)


@dataclass
class Seen:
    """What came of one run. Seconds are of one request, as its sender waited."""

    sent: list[float] = field(default_factory=list)
    read: list[float] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)
    seconds: float = 0.0


def fill(desk: Desk, sites: int, phones: int, offices: int, marks: int) -> Filled:
    filled = Filled()
    for site in range(sites):
        manager, leads = _people(desk, site, -(-phones // sites))
        made = _site(desk, site, manager, leads, marks)
        for number, lead in enumerate(leads):
            zone = made[number % len(made)]
            if len(filled.phones) < phones:
                x, y = zone.outline[0]
                token, _ = accounts.open_sign_in(desk.fresh(), lead.id, accounts.PROGRAM)
                filled.phones.append((token, zone.id, (x / 1000 + 40 + 17 * (number % 8), y / 1000 + 40)))
        if len(filled.offices) < offices:
            token, _ = accounts.open_sign_in(desk.fresh(), manager.id, accounts.PROGRAM)
            filled.offices += [(token, [zone.id for zone in made])] * -(-offices // sites)
    return filled


def _people(desk: Desk, site: int, count: int) -> tuple[Person, list[Person]]:
    made = []
    with desk.writing() as session:
        for name in ("manager", *(f"lead-{number}" for number in range(count))):
            person = Person(desk.new_id(), f"{name}@site-{site}.example.com", f"{name} {site}")
            people.add(session, person, "!", desk.clock())
            made.append(person)
    return made[0], made[1:]


def _site(desk: Desk, number: int, manager: Person, leads: list[Person], marks: int) -> list[Zone]:
    """A project of ten zones, 200 by 200 px each at 10 px to the foot, with marks and a walk."""
    project, sketch = desk.new_id(), desk.new_id()
    with desk.writing() as session:
        site, now = Site(), desk.clock()
        books.start(session, project, now)
        started = ProjectStarted(f"Site {number}", "us", "UTC", ready_made("us"))
        scale = Scale((0, 0), (1_000_000, 0), 100 * FOOT_NM)
        joined = [PersonJoined(manager.id, PROJECT_MANAGER), *(PersonJoined(p.id, CREW_LEAD) for p in leads)]
        added = SketchAdded(sketch, "Slab", "0" * 64, None, 3000, 2000, 5)
        facts: list[Fact] = [started, *joined, added, ScaleSet(sketch, scale)]
        for fact in facts:
            books.append(session, site, project, now, manager.id, PROJECT_MANAGER, fact)
    made = []
    for place in range(10):
        x, y = 50 + place % 5 * 300, 50 + place // 5 * 300
        ring = [(x, y), (x + 200, y), (x + 200, y + 200), (x, y + 200)]
        zone = zones.outline_zone(desk.fresh(), manager.id, sketch, chr(65 + place), "Bay", ring)
        mark_many(desk.fresh(), manager.id, zone, marks, seed=number * 10 + place)
        made.append(zone)
    return made


async def burst(address: str, filled: Filled, items: int) -> Seen:
    seen, over = Seen(), asyncio.Event()
    limits = httpx.Limits(max_connections=None, max_keepalive_connections=None)
    async with httpx.AsyncClient(base_url=address, limits=limits, timeout=120) as client:
        began = time.perf_counter()
        readers = [asyncio.create_task(_office(client, seen, over, *one)) for one in filled.offices]
        await asyncio.gather(
            *(_phone(client, seen, number, items, *one) for number, one in enumerate(filled.phones))
        )
        seen.seconds = time.perf_counter() - began
        over.set()
        await asyncio.gather(*readers)
    return seen


async def _phone(
    client: httpx.AsyncClient,
    seen: Seen,
    number: int,
    items: int,
    token: str,
    zone: str,
    at: tuple[float, float],
) -> None:
    for item in range(items):
        body = {
            "kind": "hole",
            "at": [at[0], at[1] + item * 4],
            "outline": {"shape": "circle", "diameter": "1/2 in"},
            "note": f"phone {number} item {item}",
        }
        headers = {"Authorization": f"Bearer {token}", "Idempotency-Key": f"phone-{number}-item-{item}"}
        for _ in range(2 if item % 5 == 0 else 1):  # a reply was lost, and it is sent again
            await _till_it_lands(client, seen, f"/api/v1/zones/{zone}/defects", body, headers)


async def _till_it_lands(
    client: httpx.AsyncClient, seen: Seen, path: str, body: Mapping[str, object], headers: dict[str, str]
) -> None:
    """As the outbox does: busy or broken is tried again, anything else is an answer."""
    for attempt in range(20):
        began = time.perf_counter()
        try:
            status = (await client.post(path, json=body, headers=headers)).status_code
        except httpx.TransportError:  # the line broke: what became of it is not known, so it is sent again
            status = BROKEN
        seen.sent.append(time.perf_counter() - began)
        seen.statuses[status] += 1
        if status not in (BROKEN, 409) and status < 500:
            return
        await asyncio.sleep(0.2 * (attempt + 1))


async def _office(
    client: httpx.AsyncClient, seen: Seen, over: asyncio.Event, token: str, zone_ids: list[str]
) -> None:
    turn = 0
    while not over.is_set():
        began = time.perf_counter()
        try:
            asked = f"/api/v1/zones/{zone_ids[turn % len(zone_ids)]}/gate"
            status = (await client.get(asked, headers={"Authorization": f"Bearer {token}"})).status_code
        except httpx.TransportError:
            status = BROKEN
        seen.read.append(time.perf_counter() - began)
        seen.statuses[status] += 1
        turn += 1
        await asyncio.sleep(1)


@contextmanager
def served(data: Path, url: str, workers: int) -> Iterator[str]:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port = taken.getsockname()[1]
    words = [sys.executable, "-m", "service", "serve", "--data", str(data), "--port", str(port)]
    child = subprocess.Popen(
        [*words, "--workers", str(workers)],
        cwd=ROOT, env=os.environ | {"LAPTIGHT_DATABASE_URL": url}, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    try:
        for _ in range(600):
            try:
                if httpx.get(f"{address}/health/ready").status_code == 200:
                    break
            except httpx.TransportError:
                time.sleep(0.1)
        yield address
    finally:
        child.send_signal(signal.SIGTERM)
        child.wait(60)


def told(name: str, seen: Seen, desk: Desk, phones: int, items: int) -> str:
    """One row: how fast, how slow at worst, what was answered, and what the histories hold."""
    counts: Counter[str] = Counter()
    with desk.reading() as session:
        for project in ledger.project_ids(session):
            for entry in books.entries(session, project):
                note = getattr(entry.fact, "note", "")
                if note.startswith("phone "):
                    counts[note] += 1
    faults = check_histories(desk).faults
    lost, doubled = phones * items - len(counts), sum(count - 1 for count in counts.values())
    wrong = sum(n for status, n in seen.statuses.items() if status >= 500)
    return (
        f"{name}: {phones * items:,} items in {seen.seconds:.1f} s, "
        f"{len(seen.sent) / seen.seconds:.0f} requests/s, "
        f"p50 {_part(seen.sent, 0.5):.0f} ms, p99 {_part(seen.sent, 0.99):.0f} ms; gate p99 "
        f"{_part(seen.read, 0.99):.0f} ms of {len(seen.read):,}; lost {lost}, doubled {doubled}, "
        f"5xx {wrong}, faults of the replay {len(faults)}; {dict(sorted(seen.statuses.items()))}"
    )


def _part(values: list[float], part: float) -> float:
    ordered = sorted(values) or [0.0]
    return 1000 * ordered[min(len(ordered) - 1, int(part * len(ordered)))]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    for name, value in (("sites", 40), ("phones", 200), ("items", 30), ("offices", 50), ("marks", 50)):
        parser.add_argument(f"--{name}", type=int, default=value)
    parser.add_argument("--workers", type=int, nargs="*", default=[1, 2, 4])
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        desk = make_desk(Settings.read(data, environ={}))
        began = time.perf_counter()
        filled = fill(desk, asked.sites, asked.phones, asked.offices, asked.marks)
        print(f"filled {asked.sites} sites in {time.perf_counter() - began:.0f} s", flush=True)
        found = postgres.binaries()
        if found is not None:
            with postgres.running(found) as server:
                for workers in asked.workers:
                    url = server.url(server.create())
                    began = time.perf_counter()
                    moved = moving.move(desk.fresh(), url)
                    took = time.perf_counter() - began
                    print(
                        f"moved {moved.rows:,} rows in {took:.0f} s, faults {len(moved.faults)}", flush=True
                    )
                    on = Desk(Database(url, desk.database.keys), desk.blobs)
                    with served(data, url, workers) as address:
                        seen = asyncio.run(asyncio.wait_for(burst(address, filled, asked.items), LONGEST_S))
                    print(
                        told(f"PostgreSQL, {workers} workers", seen, on, asked.phones, asked.items),
                        flush=True,
                    )
                    on.database.close()
        url = f"sqlite:///{data / 'laptight.sqlite3'}"
        desk.database.close()
        with served(data, url, 1) as address:
            seen = asyncio.run(asyncio.wait_for(burst(address, filled, asked.items), LONGEST_S))
        desk = make_desk(Settings.read(data, environ={}))
        print(told("SQLite, 1 worker", seen, desk, asked.phones, asked.items), flush=True)
        desk.database.close()


if __name__ == "__main__":
    main()
