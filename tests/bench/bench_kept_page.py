"""A zone's page sent again from the shelf, beside a bare Starlette that sends the same bytes, over sockets.

`python -m tests.bench.bench_kept_page [--marks 100] [--rounds 5] [--seconds 3]`

The service and the bare app run in two processes of their own (uvicorn with uvloop and httptools, one worker
each); `wrk -t1 -c8` (Debian's package) asks them in turns, on 127.0.0.1. Told for each: requests a second by
the clock, and the processor's time of the serving process for a request, which a busy machine moves less.
Figure to hold: at least 0.40 of the bare app. `made anew` asks another address each time, so that every page
is made; `not changed` sends the ETag, and gets 304.
"""

from __future__ import annotations

import argparse
import os
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx
import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.app import make_app
from service.settings import Settings
from service.web.serving.guards import PLAIN_COOKIE
from tests.bench.filling import mark_many
from tests.builders import a_walk, a_zone
from tests.cast import assemble

ROOT = Path(__file__).parents[2]
TICKS = os.sysconf("SC_CLK_TCK")
NEW_ADDRESS = (
    'local n = 0\nrequest = function() n = n + 1 return wrk.format(nil, wrk.path .. "?n=" .. n) end\n'
)


@dataclass(frozen=True)
class Way:
    name: str
    process: subprocess.Popen[bytes]
    address: str
    headers: tuple[str, ...]
    script: Path | None = None

    def ask(self, seconds: int) -> tuple[float, float]:
        """Requests a second, and microseconds of the serving process for a request."""
        words = ["wrk", "-t1", "-c8", f"-d{seconds}s", *(part for h in self.headers for part in ("-H", h))]
        words += ["-s", str(self.script)] if self.script else []
        before = _cpu_s(self.process.pid)
        told = subprocess.run([*words, self.address], capture_output=True, text=True, check=True).stdout
        spent = _cpu_s(self.process.pid) - before
        assert "Non-2xx" not in told or "304" in self.name, told
        (asked,) = re.findall(r"(\d+) requests in", told)
        (rate,) = re.findall(r"Requests/sec:\s+([\d.]+)", told)
        return float(rate), spent / int(asked) * 1e6


def _cpu_s(pid: int) -> float:
    """Seconds of the processor a process has had, of all its threads."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def serve_bare(page: Path, port: int) -> None:
    """The same bytes and nothing else."""
    body = page.read_bytes()

    async def sent(_: Request) -> Response:
        return HTMLResponse(body)

    app = Starlette(routes=[Route("/zones/{zone_id}", sent)])
    uvicorn.run(app, host="127.0.0.1", port=port, log_level="warning", access_log=False, server_header=False)


def _port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@contextmanager
def child(port: int, *words: str) -> Iterator[subprocess.Popen[bytes]]:
    uncounted = {**os.environ, "LAPTIGHT_MOST_REQUESTS": "0"}  # one person asks for more than people do
    process = subprocess.Popen([sys.executable, "-m", *words], cwd=ROOT, env=uncounted)
    try:
        for _ in range(300):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.1)
        yield process
    finally:
        process.terminate()
        process.wait(30)


def fill(data: Path, marks: int) -> tuple[str, str]:
    """A walked zone with this many marks: its path, and a sign-in of its crew lead."""
    desk: Desk = make_app(Settings.read(data, environ={})).state.desk
    cast = assemble(desk)
    zone = a_zone(desk, cast)
    mark_many(desk, cast.lead.id, zone, marks)
    a_walk(desk, cast, zone)
    token, _ = accounts.open_sign_in(desk.fresh(), cast.lead.id, accounts.PAGE)
    desk.database.close()
    return f"/zones/{zone.id}", token


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--marks", type=int, default=100)
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--seconds", type=int, default=3)
    asked.add_argument("--bare", nargs=2, metavar=("PAGE", "PORT"), help=argparse.SUPPRESS)
    told = asked.parse_args()
    if told.bare:
        return serve_bare(Path(told.bare[0]), int(told.bare[1]))
    with tempfile.TemporaryDirectory() as folder:
        compare(Path(folder), told.marks, told.rounds, told.seconds)


def compare(folder: Path, marks: int, rounds: int, seconds: int) -> None:
    path, token = fill(folder / "data", marks)
    ours, bare = _port(), _port()
    page, script = folder / "page.html", folder / "new.lua"
    script.write_text(NEW_ADDRESS)
    cookie = f"Cookie: {PLAIN_COOKIE}={token}"
    served = ("service", "serve", "--data", str(folder / "data"), "--port", str(ours))
    with child(ours, *served) as service:
        address = f"http://127.0.0.1:{ours}{path}"
        first = httpx.get(
            address, headers={"Cookie": f"{PLAIN_COOKIE}={token}", "Accept-Encoding": "identity"}
        )
        page.write_bytes(first.raise_for_status().content)
        print(f"zone page of {marks} marks, {len(first.content) / 1000:.0f} KB; wrk -t1 -c8 -d{seconds}s")
        with child(bare, "tests.bench.bench_kept_page", "--bare", str(page), str(bare)) as other:
            ways = (
                Way("bare", other, f"http://127.0.0.1:{bare}{path}", (cookie,)),
                Way("kept", service, address, (cookie,)),
                Way(
                    "not changed (304)", service, address, (cookie, f"If-None-Match: {_etag(address, token)}")
                ),
                Way("made anew", service, address, (cookie,), script),
            )
            tell(ways, rounds, seconds)


def _etag(address: str, token: str) -> str:
    """As wrk will ask: with the same headers, or it is another page."""
    with httpx.Client() as client:
        client.headers.clear()
        told = client.get(address, headers={"Cookie": f"{PLAIN_COOKIE}={token}"})
    return told.headers["etag"]


def tell(ways: tuple[Way, ...], rounds: int, seconds: int) -> None:
    rates: dict[str, list[float]] = {way.name: [] for way in ways}
    spent: dict[str, list[float]] = {way.name: [] for way in ways}
    for number in range(-1, rounds):  # the first round warms up
        for way in ways:
            rate, cpu = way.ask(seconds)
            if number >= 0:
                rates[way.name].append(rate)
                spent[way.name].append(cpu)
    for way in ways:
        rate, cpu = statistics.median(rates[way.name]), statistics.median(spent[way.name])
        of_rate = statistics.median(a / b for a, b in zip(rates[way.name], rates["bare"], strict=True))
        of_cpu = statistics.median(b / a for a, b in zip(spent[way.name], spent["bare"], strict=True))
        print(
            f"  {way.name:<18} {rate:8.0f} a second, {of_rate:.2f} of bare; "
            f"{cpu:7.0f} us of the processor each, {of_cpu:.2f} of bare"
        )


if __name__ == "__main__":
    main()
