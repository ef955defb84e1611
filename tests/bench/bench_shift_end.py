"""The end of a shift: every phone of a month's sites sends what it kept, while offices read.

`python -m tests.bench.bench_shift_end [--sites 40] [--phones 200] [--items 30] [--offices 50]`
`    [--workers 1 2 4] [--longest 200] [--every 4]`

The service runs as processes of its own, over the month of `tests.bench.month`: PostgreSQL with 1, 2 and 4
workers, each on a copy of the same database, then SQLite with one. Each phone sends its items in order, one
at a time, a fifth of them twice as after a lost reply. Each office looks at something every so many seconds
as long as phones send: the gate of a zone as a program, then that zone's page, its release page, and the
page of the whole project. All on 127.0.0.1 and on the cores of the service, so that figures say how the
shapes compare, not what a server can do.

It ends by itself: a phone that has not sent everything after `--longest` seconds stops there, and that is
told. Afterwards every history is replayed, and each item is counted in it: of what was answered as recorded
none may be lost, and nothing may stand twice.
"""

from __future__ import annotations

import argparse
import asyncio
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import httpx

from service.actions.frame.desk import Desk
from service.actions.upkeep import moving
from service.actions.upkeep.checking import check_histories
from service.app import make_desk
from service.settings import Settings
from service.storage.doors.database import Database
from service.storage.history import books, ledger
from service.web.serving.guards import PLAIN_COOKIE
from tests import postgres
from tests.bench import month
from tests.bench.month import Office, Phone
from tests.bench.serving import Served, served

BROKEN = 0  # stands for a status where no answer came
RECORDED = 201
LOOKS = ("gate", "zone page", "release page", "project page")


@dataclass
class Seen:
    """What came of one run. Seconds are of one request, as its sender waited. `landed`: the notes of the
    items that were answered as recorded; `left`: how many items were not sent when the time was over."""

    sent: list[float] = field(default_factory=list)
    read: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    statuses: Counter[int] = field(default_factory=Counter)
    landed: set[str] = field(default_factory=set)
    left: int = 0
    seconds: float = 0.0


@dataclass(frozen=True)
class Shift:
    """Who sends and who looks; `items` a phone, a look `every` so many seconds, for `longest` at most."""

    phones: list[Phone]
    offices: list[Office]
    items: int
    every: float
    longest: float


async def burst(address: str, shift: Shift) -> Seen:
    seen, over = Seen(), asyncio.Event()
    limits = httpx.Limits(max_connections=None, max_keepalive_connections=None)
    async with httpx.AsyncClient(base_url=address, limits=limits, timeout=120) as client:
        began = time.perf_counter()
        ends = began + shift.longest
        looking = [
            asyncio.create_task(_office(client, seen, over, one, turn, shift.every))
            for turn, one in enumerate(shift.offices)
        ]
        await asyncio.gather(
            *(_phone(client, seen, turn, shift.items, one, ends) for turn, one in enumerate(shift.phones))
        )
        seen.seconds = time.perf_counter() - began
        over.set()
        await asyncio.gather(*looking)
    return seen


async def _phone(
    client: httpx.AsyncClient, seen: Seen, number: int, items: int, phone: Phone, ends: float
) -> None:
    for item in range(items):
        note = f"phone {number} item {item}"
        body = {
            "kind": "hole",
            "at": [phone.at[0], phone.at[1] + item * 4],
            "outline": {"shape": "circle", "diameter": "1/2 in"},
            "note": note,
        }
        headers = {"Authorization": f"Bearer {phone.token}", "Idempotency-Key": note.replace(" ", "-")}
        for _ in range(2 if item % 5 == 0 else 1):  # a reply was lost, and it is sent again
            path = f"/api/v1/zones/{phone.zone}/defects"
            if await _till_it_lands(client, seen, path, body, headers, ends):
                seen.landed.add(note)
        if time.perf_counter() > ends:
            seen.left += items - item - 1
            return


async def _till_it_lands(
    client: httpx.AsyncClient, seen: Seen, path: str, body: Mapping[str, object], headers: dict[str, str],
    ends: float,
) -> bool:  # fmt: skip
    """As the outbox does: busy or broken is tried again, anything else is an answer. Whether it landed."""
    attempt = 0
    while True:
        began = time.perf_counter()
        try:
            status = (await client.post(path, json=body, headers=headers)).status_code
        except httpx.TransportError:  # the line broke: what became of it is not known, so it is sent again
            status = BROKEN
        seen.sent.append(time.perf_counter() - began)
        seen.statuses[status] += 1
        if status not in (BROKEN, 409) and status < 500:
            return status == RECORDED
        if time.perf_counter() > ends:
            return False
        attempt += 1
        await asyncio.sleep(min(0.2 * attempt, 4))


async def _office(
    client: httpx.AsyncClient, seen: Seen, over: asyncio.Event, office: Office, turn: int, every: float
) -> None:
    await asyncio.sleep(turn % 10 * every / 10)  # nobody presses all at once
    while not over.is_set():
        what = LOOKS[turn % len(LOOKS)]
        zone = office.zones[turn // len(LOOKS) % len(office.zones)]
        path = {
            "gate": f"/api/v1/zones/{zone}/gate",
            "zone page": f"/zones/{zone}",
            "release page": f"/zones/{zone}/release",
            "project page": f"/projects/{office.project}/office",
        }[what]
        who = (
            {"Authorization": f"Bearer {office.token}"}
            if what == "gate"
            else {"Cookie": f"{PLAIN_COOKIE}={office.cookie}", "Accept": "text/html"}
        )
        began = time.perf_counter()
        try:
            status = (await client.get(path, headers=who)).status_code
        except httpx.TransportError:
            status = BROKEN
        seen.read[what].append(time.perf_counter() - began)
        seen.statuses[status] += 1
        turn += 1
        await asyncio.sleep(max(0.0, every - (time.perf_counter() - began)))


# --- told -------------------------------------------------------------------------------------------------

HEAD = (
    f"{'database':<12}{'workers':>8}{'items':>8}{'s':>7}{'sent/s':>8}{'p50 ms':>8}{'p99 ms':>8}"
    f"{'looks':>7}{'5xx':>5}{'none':>6}{'lost':>6}{'twice':>6}{'faults':>7}{'cpu s':>7}{'MB':>6}"
)


def told(name: str, workers: int, seen: Seen, served_by: Served, desk: Desk) -> str:
    """One row: how fast, how slow at worst, what was answered, and what the histories hold."""
    counts = notes_of(desk)
    faults = check_histories(desk).faults
    lost, twice = len(seen.landed - counts.keys()), sum(count - 1 for count in counts.values())
    wrong = sum(n for status, n in seen.statuses.items() if status >= 500)
    looks = sum(map(len, seen.read.values()))
    taken = served_by.taken
    rows = [
        f"{name:<12}{workers:>8}{len(seen.landed):>8,}{seen.seconds:>7.1f}"
        f"{len(seen.sent) / seen.seconds:>8.1f}{part(seen.sent, 0.5):>8.0f}{part(seen.sent, 0.99):>8.0f}"
        f"{looks:>7,}{wrong:>5}{seen.statuses[BROKEN]:>6}{lost:>6}{twice:>6}{len(faults):>7}"
        f"{taken.cpu_s:>7.0f}{taken.memory / 1e6:>6.0f}"
    ]
    rows.append("  looks, p50 and p99 in ms: " + "; ".join(
        f"{what} {part(took, 0.5):.0f} and {part(took, 0.99):.0f}" for what, took in seen.read.items()
    ))  # fmt: skip
    if seen.left:
        rows.append(f"  the time was over: {seen.left:,} items were not sent")
    others = {status: n for status, n in sorted(seen.statuses.items()) if status not in (200, RECORDED)}
    if others:
        rows.append(f"  other answers: {others}")
    return "\n".join(rows)


def notes_of(desk: Desk) -> Counter[str]:
    """How often each item that a phone sent stands in the histories."""
    counts: Counter[str] = Counter()
    with desk.reading() as session:
        for project in ledger.project_ids(session):
            for entry in books.of_types(session, project, ("defect-marked",)):
                note = getattr(entry.fact, "note", "")
                if note.startswith("phone "):
                    counts[note] += 1
    return counts


def part(values: list[float], share: float) -> float:
    """The value in ms that this share of the values lies below."""
    ordered = sorted(values) or [0.0]
    return 1000 * ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def run(name: str, url: str, workers: int, data: Path, shift: Shift, desk: Desk) -> None:
    """One burst on one database, and its row."""
    with served(data, url, workers) as service:
        seen = asyncio.run(burst(service.address, shift))
    print(told(name, workers, seen, service, desk), flush=True)


def on_postgres(server: postgres.Server, desk: Desk, shift: Shift, data: Path, workers: list[int]) -> None:
    """The month is moved once; each number of workers has a copy of what came."""
    first = server.create()
    began = time.perf_counter()
    moved = moving.move(desk.fresh(), server.url(first))
    took = time.perf_counter() - began
    print(
        f"moved {moved.rows:,} rows and replayed them in {took:.0f} s, faults {len(moved.faults)}", flush=True
    )
    for count in workers:
        name = server.create(first)
        on = Desk(Database(server.url(name), desk.database.keys), desk.blobs)
        run("PostgreSQL", server.url(name), count, data, shift, on)
        on.database.close()
        server.drop(name)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    for name, value in (
        ("sites", 40), ("zones", 10), ("marks", 50), ("photos", 3), ("phones", 200), ("items", 30),
        ("offices", 50),
    ):  # fmt: skip
        parser.add_argument(f"--{name}", type=int, default=value)
    parser.add_argument("--every", type=float, default=4.0, help="seconds between two looks of an office")
    parser.add_argument("--longest", type=float, default=200.0, help="seconds that phones may send")
    parser.add_argument("--workers", type=int, nargs="*", default=[1, 2, 4])
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        desk = make_desk(Settings.read(data, environ={}))
        began = time.perf_counter()
        filled = month.fill(desk, month.Size(asked.sites, asked.zones, asked.marks, asked.photos))
        shift = Shift(
            filled.phones(desk, asked.phones), filled.offices(desk, asked.offices), asked.items, asked.every,
            asked.longest,
        )  # fmt: skip
        size = (data / "laptight.sqlite3").stat().st_size / 1e6
        print(f"filled {asked.sites} sites in {time.perf_counter() - began:.0f} s, {size:.0f} MB", flush=True)
        print(HEAD, flush=True)
        found = postgres.binaries()
        if found is not None and asked.workers:
            with postgres.running(found) as server:
                on_postgres(server, desk, shift, data, asked.workers)
        run("SQLite", f"sqlite:///{data / 'laptight.sqlite3'}", 1, data, shift, desk.fresh())
        desk.database.close()


if __name__ == "__main__":
    main()
