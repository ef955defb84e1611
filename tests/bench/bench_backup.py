"""A backup of the month while a shift sends, and the restore of it: how long, and equal by replay.

`python -m tests.bench.bench_backup [--sites 40] [--phones 100] [--longest 120]`

On PostgreSQL and on SQLite: the service is served, phones send, `laptight backup` runs beside it. Then the
backup is served itself, and a phone that signed in before asks it; it is checked with `laptight check`, and
moved into an empty PostgreSQL with `laptight move`, which replays it there. Told as it goes: seconds of each,
and that every history of the backup is a beginning of the live one and that of the restored database the
same, by size and root.

It ends by itself: phones send for `--longest` seconds at most, and a command that takes longer than COMMAND_S
is ended.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx

from service.actions.frame.desk import Desk
from service.actions.upkeep import moving
from service.app import make_desk
from service.settings import Settings
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.history import books, ledger, trees
from tests import postgres
from tests.bench import month
from tests.bench.bench_shift_end import Seen, Shift, burst
from tests.bench.month import Phone
from tests.bench.serving import ROOT, served

BEFORE_S = 3  # phones send for so long before the backup begins
COMMAND_S = 1800
Roots = dict[str, tuple[int, bytes]]


def command(keys: Path, *words: str | Path, url: str = "") -> None:
    """One `laptight` command: its seconds and what it said are printed. CalledProcessError when it failed, as
    it does where a replay finds a fault."""
    environ = os.environ | {"LAPTIGHT_KEYS": str(keys)}
    environ.pop("LAPTIGHT_DATABASE_URL", None)
    if url:
        environ["LAPTIGHT_DATABASE_URL"] = url
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "service", *words],
        cwd=ROOT,
        env=environ,
        check=True,
        capture_output=True,
        text=True,
        timeout=COMMAND_S,
    )
    took = time.perf_counter() - began
    print(f"  laptight {words[0]}: {took:.1f} s. {done.stdout.splitlines()[0]}", flush=True)


@contextmanager
def step(words: str) -> Iterator[None]:
    began = time.perf_counter()
    yield
    print(f"  {words}: {time.perf_counter() - began:.1f} s", flush=True)


def _answers_from(folder: Path, keys: Path, phone: Phone) -> None:
    """A phone that signed in before the backup reads its zone from it. HTTPStatusError where it cannot."""
    with served(folder, f"sqlite:///{folder / 'laptight.sqlite3'}", keys=keys) as service:
        headers = {"Authorization": f"Bearer {phone.token}"}
        address = f"{service.address}/api/v1/zones/{phone.zone}/gate"
        httpx.get(address, headers=headers, timeout=60).raise_for_status()


def roots(desk: Desk, of: Roots | None = None) -> Roots:
    """Size and root of every history: as it is now, or as it was at the sizes of `of`."""
    told: Roots = {}
    with desk.reading() as session:
        for project in ledger.project_ids(session):
            size = of[project][0] if of else books.head(session, project)
            told[project] = size, trees.root_at(session, project, size)
    return told


def round_trip(name: str, url: str, data: Path, shift: Shift, server: postgres.Server, desk: Desk) -> None:
    print(name, flush=True)
    keys, folder = data / "keys", data.parent / f"backup of {name}"
    live, seen = Desk(Database(url, desk.database.keys), desk.blobs), Seen()
    with served(data, url) as service:

        def send() -> None:
            nonlocal seen
            seen = asyncio.run(burst(service.address, shift))

        sending = threading.Thread(target=send)
        before = roots(live)
        sending.start()
        time.sleep(BEFORE_S)
        command(keys, "backup", "--data", data, "--to", folder, url=url)
        still = sending.is_alive()
        sending.join()
    with step("served from the backup, a phone is answered"):
        _answers_from(folder, keys, shift.phones[0])
    command(keys, "check", "--data", folder)
    size = sum(file.stat().st_size for file in folder.rglob("*") if file.is_file()) / 1e6
    empty = server.url(server.create())
    command(keys, "move", "--data", folder, "--to", empty)
    kept = Desk(Database(f"sqlite:///{folder / 'laptight.sqlite3'}", desk.database.keys), Blobs(folder))
    there = Desk(Database(empty, desk.database.keys), kept.blobs)
    told = roots(kept)
    wrong = sum(n for status, n in seen.statuses.items() if status >= 500 or status == 0)
    begins, alike = roots(live, told) == told, roots(there) == told
    print(
        f"  {size:.0f} MB; a beginning of the live histories: {begins}; restored alike: {alike}; "
        f"entries sent before the backup {_entries(told) - _entries(before):,}, after "
        f"it {_entries(roots(live)) - _entries(told):,}; phones sent to the end of it: {still}; of "
        f"{len(seen.sent):,} requests {wrong} went wrong",
        flush=True,
    )
    for one in (live, kept, there):
        one.database.close()


def _entries(told: Roots) -> int:
    return sum(size for size, _ in told.values())


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    for name, value in (("sites", 40), ("phones", 100), ("items", 200)):
        parser.add_argument(f"--{name}", type=int, default=value)
    parser.add_argument("--longest", type=float, default=120.0, help="seconds that phones send")
    asked = parser.parse_args()
    found = postgres.binaries()
    assert found is not None, "PostgreSQL is not here: install Debian's postgresql"
    with tempfile.TemporaryDirectory() as folder, postgres.running(found) as server:
        data = Path(folder) / "data"
        desk = make_desk(Settings.read(data, environ={}))
        print(f"{asked.sites} sites", flush=True)
        with step("the month is filled"):
            filled = month.fill(desk, month.Size(sites=asked.sites))
        shift = Shift(filled.phones(desk, asked.phones), [], asked.items, 1.0, asked.longest)
        there = server.url(server.create())
        with step("moved to PostgreSQL, and replayed there"):
            moving.move(desk.fresh(), there)
        round_trip("PostgreSQL", there, data, shift, server, desk)
        round_trip("SQLite", f"sqlite:///{data / 'laptight.sqlite3'}", data, shift, server, desk)
        desk.database.close()


if __name__ == "__main__":
    main()
