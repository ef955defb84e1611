"""A mark that is recorded for good, beside the least it could cost: a bare route, then a bare commit.

`python -m tests.bench.bench_writes [--clients 8] [--seconds 4] [--rounds 3] [--longest 150]`

Three things in turns, each asked by the same clients one request after another, over keep-alive connections
to one process on 127.0.0.1, on a disk that a restart keeps:

  bare route   FastAPI reads the same JSON and answers as much, and nothing is kept
  bare commit  one row of as many bytes in a SQLite transaction of its own, WAL and FULL, by as many threads
  the service  the mark: sign-in, permission, the head's lock, entry, tree, signature, rows, reply, commit

It ends by itself: no round begins that `--longest` seconds leave no time for, and no answer is waited for
longer than ANSWER_S. An answer that is not the expected one ends it with that answer told.

The ceiling is the first two in series. Held: the service at least 0.30 of it, p99 at most 50 ms at 8 clients.
The clients take their share of the same cores, most of all from the bare route, so the ceiling is told low.
"""

from __future__ import annotations

import argparse
import http.client
import itertools
import json
import os
import signal
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any

from pysqlite3 import dbapi2

from service.app import make_desk
from service.settings import Settings
from tests.bench import month
from tests.bench.bench_shift_end import RECORDED, part
from tests.bench.month import Phone
from tests.bench.serving import ROOT, served
from tests.on_disk import folder_on_disk

TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
ROW_BYTES = 1200  # an entry, its leaf and the mark's own row
ANSWER_S = 20  # the longest that one answer is waited for
WARM_S = 1.0
LEAST = 0.30
Send = Callable[[int, int], None]
Ways = dict[str, Callable[[str], Callable[[int], Send]]]


def many(clients: int, seconds: float, opened: Callable[[int], Send]) -> list[float]:
    """Seconds of each act, of so many threads that act one time after another for so long. What went wrong in
    a thread is raised here."""
    until = time.monotonic() + seconds

    def act(number: int) -> list[float]:
        took, send = [], opened(number)
        for turn in itertools.count():
            if time.monotonic() > until:
                break
            began = time.perf_counter()
            send(number, turn)
            took.append(time.perf_counter() - began)
        return took

    with ThreadPoolExecutor(clients) as threads:
        return [each for took in threads.map(act, range(clients)) for each in took]


def asker(port: int, path: Callable[[Phone], str], phones: list[Phone], run: str) -> Callable[[int], Send]:
    """Each client is a phone of its own, that marks up and down its zone."""

    def opened(number: int) -> Send:
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=ANSWER_S)
        phone = phones[number]

        def send(number: int, turn: int) -> None:
            at = [phone.at[0], phone.at[1] + turn * 7 % 340]
            body = json.dumps({"kind": "tear", "at": at, "outline": TEAR, "note": "by a bar chair"})
            headers = {
                "Content-Type": "application/json", "Authorization": f"Bearer {phone.token}",
                "Idempotency-Key": f"{run}-{number}-{turn}",
            }  # fmt: skip
            line.request("POST", path(phone), body, headers)
            answer = line.getresponse()
            told = answer.read()
            if answer.status != RECORDED:
                raise RuntimeError(f"{answer.status}: {told[:300]!r}")

        return send

    return opened


def committer(path: Path) -> Callable[[int], Send]:
    """One writer at a time behind a lock, as the service has it."""
    with closing(dbapi2.connect(str(path))) as first:
        first.execute("PRAGMA journal_mode=WAL")
        first.execute("CREATE TABLE IF NOT EXISTS kept (id INTEGER PRIMARY KEY, body BLOB)")
        first.commit()
    one, body = threading.Lock(), os.urandom(ROW_BYTES)

    def opened(_: int) -> Send:
        line = dbapi2.connect(str(path), isolation_level=None, timeout=30)
        line.execute("PRAGMA synchronous=FULL")

        def send(_: int, __: int) -> None:
            with one:
                line.execute("BEGIN IMMEDIATE")
                line.execute("INSERT INTO kept (body) VALUES (?)", (body,))
                line.execute("COMMIT")

        return send

    return opened


def bare(port: int) -> None:
    """The bare route, served until the process is ended."""
    import uvicorn
    from fastapi import Body, FastAPI

    app = FastAPI()

    @app.post("/bare", status_code=201)
    def kept(told: dict[str, Any] = Body()) -> dict[str, Any]:  # noqa: B008 # FastAPI's own way
        return {"defect": told, "state": "open", "needs": {"cut_size": "16 in by 18 in"}, "note": "x" * 600}

    uvicorn.run(app, host="127.0.0.1", port=port, log_level="warning", access_log=False)


@contextmanager
def bare_served() -> Iterator[int]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    words = [sys.executable, "-m", "tests.bench.bench_writes", "--bare", str(port)]
    child = subprocess.Popen(words, cwd=ROOT)
    try:
        for _ in range(300):
            with suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
                break
            time.sleep(0.1)
        yield port
    finally:
        child.send_signal(signal.SIGTERM)
        child.wait(30)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--clients", type=int, default=8)
    parser.add_argument("--seconds", type=float, default=4)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--longest", type=float, default=150, help="seconds for all of it")
    parser.add_argument("--bare", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.bare:
        return bare(asked.bare)
    began = time.monotonic()
    with folder_on_disk() as folder:
        desk = make_desk(Settings.read(folder, environ={}))
        phones = month.fill(desk, month.Size(sites=1, marks=0)).phones(desk, asked.clients)
        desk.database.close()
        url = f"sqlite:///{folder / 'laptight.sqlite3'}"
        with bare_served() as port, served(folder, url) as service:
            print(f"  all is up after {time.monotonic() - began:.0f} s", flush=True)
            own = int(service.address.rpartition(":")[2])
            ways: Ways = {
                "bare route": lambda run: asker(port, lambda _: "/bare", phones, run),
                "bare commit": lambda _: committer(folder / "bare.sqlite3"),
                "the service": lambda run: asker(
                    own, lambda phone: f"/api/v1/zones/{phone.zone}/defects", phones, run
                ),
            }
            rounds(ways, asked.clients, asked.seconds, asked.rounds, began + asked.longest)


def rounds(ways: Ways, clients: int, seconds: float, times: int, ends: float) -> None:
    """The ways in turns, then what came of them. `ends`: on the clock of `time.monotonic`."""
    rates: dict[str, list[float]] = {name: [] for name in ways}
    slow: list[float] = []
    for turn in range(-1, times):  # the first round warms up
        if rates["the service"] and time.monotonic() + len(ways) * seconds > ends:
            print(f"  the time was over after {turn} of {times} rounds", flush=True)
            break
        for name, way in ways.items():
            began = time.monotonic()
            took = many(clients, seconds if turn >= 0 else WARM_S, way(f"r{turn}"))
            rate = len(took) / (time.monotonic() - began)
            half, slowest = part(took, 0.5), part(took, 0.99)
            print(
                f"  {name:<12}{rate:>9.1f} a second, p50 and p99 {half:.1f} and {slowest:.1f} ms"
                f"{', to warm up' if turn < 0 else ''}",
                flush=True,
            )
            if turn >= 0:
                rates[name].append(rate)
                slow += took if name == "the service" else []
    routes, commits, own = rates.values()
    ceiling = [1 / (1 / route + 1 / commit) for route, commit in zip(routes, commits, strict=True)]
    ratios = [one / high for one, high in zip(own, ceiling, strict=True)]
    most = statistics.median(ceiling)
    print(
        f"the service {statistics.median(own):.1f} a second of a ceiling of {most:.1f}: "
        f"{statistics.median(ratios):.2f} (rounds {min(ratios):.2f} to {max(ratios):.2f}; held: {LEAST}); "
        f"p50 {part(slow, 0.5):.1f} ms, p99 {part(slow, 0.99):.1f} ms at {clients} clients"
    )


if __name__ == "__main__":
    main()
