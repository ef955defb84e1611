"""What the served process holds after ten thousand requests, beside what it held after the first thousand.

`python -m tests.bench.bench_memory [--requests 11000] [--first 1000] [--clients 4] [--sites 2]`
`    [--looks-only]`

One process over SQLite, on 127.0.0.1. Clients look at every zone, its marks, its gate, its release page, the
project, its history and a mark of it in turn; one request in ten writes: a walk, and now and then a mark.
Resident memory (VmRSS of /proc/PID/status) is told after every thousand. The first thousand fill kept pages
and compiled statements. What was read of a body is kept for 20,000 of them (`storage/history/rows.py`), and
every write makes further ones, so that a run as short as this grows with its writes; `--looks-only` writes
nothing, and tells what looking alone leaves behind.
"""

from __future__ import annotations

import argparse
import itertools
import tempfile
import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import httpx

from service.actions.frame.desk import Desk
from service.app import make_desk
from service.settings import Settings
from service.web.serving.guards import PLAIN_COOKIE
from tests.bench.month import Month, Office, Size, fill
from tests.bench.serving import served

ANSWER_S = 120
TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
PAGES = (
    "/zones/{zone}", "/zones/{zone}/release", "/projects/{project}/office", "/defects/{mark}",
    "/projects/{project}/history", "/zones/{zone}/marks.json", "/projects/{project}/crew",
    "/zones/{zone}/together", "/api/v1/zones/{zone}/gate",
)  # fmt: skip
MARK_EVERY = 5  # of the writes; the others are walks


@dataclass
class Asked:
    """`statuses` of all requests; `held`: KiB resident after each thousand."""

    statuses: Counter[int] = field(default_factory=Counter)
    held: list[int] = field(default_factory=list)


def resident_kib(pid: int) -> int:
    """VmRSS of a process (proc(5))."""
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS:"))


def ask(
    address: str, pid: int, offices: list[Office], marks: dict[str, str], told: argparse.Namespace
) -> Asked:
    """So many requests by so many clients at once, each an office of its own, in turn over all its zones."""
    asked, turns, guard = Asked(), itertools.count(), threading.Lock()

    def look(number: int) -> None:
        office = offices[number % len(offices)]
        zones = itertools.cycle(office.zones)
        cookies, headers = {PLAIN_COOKIE: office.cookie}, {"Authorization": f"Bearer {office.token}"}
        headers["Sec-Fetch-Site"] = "same-origin"
        with httpx.Client(base_url=address, cookies=cookies, headers=headers, timeout=ANSWER_S) as client:
            zone = next(zones)
            while (turn := next(turns)) < told.requests:
                kind = turn % (len(PAGES) + 1)
                if kind == len(PAGES):
                    zone = next(zones)
                    status = write(client, zone, turn) if not told.looks_only else client.get("/").status_code
                else:
                    where = PAGES[kind].format(zone=zone, project=office.project, mark=marks[zone])
                    status = client.get(where).status_code
                if status not in (200, 201):
                    raise RuntimeError(f"request {turn} was answered {status}")
                with guard:
                    asked.statuses[status] += 1
                    if asked.statuses.total() % 1000 == 0:
                        asked.held.append(resident_kib(pid))
                        print(
                            f"{asked.statuses.total():>7,} requests: {asked.held[-1] / 1024:.1f} MiB",
                            flush=True,
                        )

    with ThreadPoolExecutor(told.clients) as threads:
        list(threads.map(look, range(told.clients)))
    return asked


def write(client: httpx.Client, zone: str, turn: int) -> int:
    """A walk, or a mark beside those that are there."""
    headers = {"Idempotency-Key": f"m-{turn}"}
    if turn // (len(PAGES) + 1) % MARK_EVERY:
        return client.post(f"/api/v1/zones/{zone}/walks", json={"note": ""}, headers=headers).status_code
    outline = client.get(f"/api/v1/zones/{zone}").json()["outline"]
    at = [outline[0][0] + 20 + turn % 300, outline[0][1] + 20 + turn % 200]
    body = {"kind": "tear", "at": at, "outline": TEAR}
    return client.post(f"/api/v1/zones/{zone}/defects", json=body, headers=headers).status_code


def first_marks(desk: Desk, month: Month) -> dict[str, str]:
    """A mark of each zone, by the zone's id."""
    with desk.reading() as session:
        found = session.connection().exec_driver_sql("SELECT zone_id, min(id) FROM defect GROUP BY 1")
        return {zone: mark for zone, mark in found}


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--requests", type=int, default=11_000)
    asked.add_argument("--first", type=int, default=1_000)
    asked.add_argument("--clients", type=int, default=4)
    asked.add_argument("--sites", type=int, default=2)
    asked.add_argument("--looks-only", action="store_true", help="write nothing")
    told = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="laptight-") as folder:
        data = Path(folder) / "data"
        settings = Settings.read(data, environ={})
        desk = make_desk(settings)
        month = fill(desk.fresh(), Size(sites=told.sites, zones=4, marks=10, photos=1))
        offices, marks = month.offices(desk, told.clients), first_marks(desk.fresh(), month)
        desk.database.close()
        with served(data, settings.database_url) as service:
            seen = ask(service.address, service.pid, offices, marks, told)
    before, after = seen.held[told.first // 1000 - 1], seen.held[-1]
    print(f"answers: {dict(seen.statuses)}")
    print(
        f"from request {told.first:,} to {told.requests:,}: {(after - before) / 1024:+.1f} MiB "
        f"on {before / 1024:.1f} MiB ({after / before:.2f} times)"
    )


if __name__ == "__main__":
    main()
