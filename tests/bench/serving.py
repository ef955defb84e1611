"""The service in processes of its own for the benches, and what these processes take while they serve."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import psutil

ROOT = Path(__file__).parents[2]
EVERY_S = 0.5
UNCOUNTED = {"LAPTIGHT_MOST_REQUESTS": "0"}  # one person of a bench asks for more than people do


@dataclass
class Taken:
    """What processes took: `cpu_s` of all together; `memory` the most bytes they held at once (resident)."""

    cpu_s: float = 0.0
    memory: int = 0


@dataclass
class Served:
    """`address` to ask at; `pid` of the command; `taken` is told when it has ended."""

    address: str
    pid: int
    taken: Taken = field(default_factory=Taken)


@contextmanager
def served(data: Path, url: str, workers: int = 1, keys: Path | None = None) -> Iterator[Served]:
    """`laptight serve` on a free port, until the block ends; then it is asked to stop, and waited for.

    `keys`: the folder of the signing key where it is not in `data`.
    """
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "-m", "service", "serve", "--data", str(data), "--port", str(port)]
    environ = os.environ | {"LAPTIGHT_DATABASE_URL": url, **UNCOUNTED}
    if keys is not None:
        environ["LAPTIGHT_KEYS"] = str(keys)
    child = subprocess.Popen(
        [*words, "--workers", str(workers)], cwd=ROOT, env=environ, stdout=subprocess.DEVNULL
    )
    told = Served(f"http://127.0.0.1:{port}", child.pid)
    try:
        _until_ready(told.address)
        with watched(child.pid, told.taken):
            yield told
    finally:
        child.send_signal(signal.SIGTERM)
        child.wait(60)


def _until_ready(address: str) -> None:
    for _ in range(600):
        with suppress(httpx.TransportError):
            if httpx.get(f"{address}/health/ready").status_code == 200:
                return
        time.sleep(0.1)
    raise TimeoutError("the service did not come up")


@contextmanager
def watched(pid: int, taken: Taken) -> Iterator[None]:
    """Looks at a process and all below it now and then while the block runs."""
    over = threading.Event()
    before = _now(pid).cpu_s

    def look() -> None:
        while not over.wait(EVERY_S):
            seen = _now(pid)
            taken.cpu_s = max(taken.cpu_s, seen.cpu_s - before)
            taken.memory = max(taken.memory, seen.memory)

    looking = threading.Thread(target=look)
    looking.start()
    try:
        yield
    finally:
        over.set()
        looking.join()


def _now(pid: int) -> Taken:
    told = Taken()
    with suppress(psutil.NoSuchProcess):
        top = psutil.Process(pid)
        for process in (top, *top.children(recursive=True)):
            with suppress(psutil.NoSuchProcess):
                used = process.cpu_times()
                told.cpu_s += used.user + used.system
                told.memory += process.memory_info().rss
    return told
