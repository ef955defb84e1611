"""A PostgreSQL server of the tests' own: Debian's, as a user that is not root, on a socket of its own.

It waits for no disk (`fsync=off`) unless it is told to: what is about the disk asks for one of its own.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import partial
from itertools import count
from pathlib import Path
from typing import Any

import psycopg

LONGEST_S = 60  # to start or to stop
USER = "postgres"


def binaries() -> Path | None:
    """The folder of the newest PostgreSQL of Debian's packages, or `PG_BIN`; None without any."""
    if named := os.environ.get("PG_BIN"):
        return Path(named)
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"), key=lambda path: int(path.parts[4]))
    return found[-1].parent if found else None


@dataclass
class Server:
    """A running server. `template`: a database to copy; each copy is another database. `control`: asks
    `pg_ctl` for something."""

    socket: Path
    control: Callable[..., None]
    _numbers: Iterator[int] = field(default_factory=count)

    def url(self, name: str) -> str:
        return f"postgresql+psycopg://{USER}@/{name}?host={self.socket}"

    def create(self, template: str = "template0") -> str:
        """A new database, a copy of another one that nobody is connected to; its name."""
        name = f"t{next(self._numbers)}"
        self._say(f'CREATE DATABASE "{name}" TEMPLATE "{template}" STRATEGY file_copy')
        return name

    def drop(self, name: str) -> None:
        self._say(f'DROP DATABASE "{name}" WITH (FORCE)')

    def pull_the_plug(self) -> None:
        """Every process ended at once, with nothing written that was not: it recovers as it starts again."""
        self.control("-m", "immediate", "stop")

    def start_again(self) -> None:
        self.control("start")

    def _say(self, words: str) -> None:
        with psycopg.connect(
            host=str(self.socket), user=USER, dbname="postgres", autocommit=True
        ) as connection:
            connection.execute(words)


@contextmanager
def _ended_in_order() -> Iterator[None]:
    """SIGTERM raises here, as SIGINT does: a server stands in a session of its own and would outlive us.

    Left alone where somebody else minds it, and off the main thread, which no signal reaches.
    """
    ours = threading.current_thread() is threading.main_thread()
    if not ours or signal.getsignal(signal.SIGTERM) is not signal.SIG_DFL:
        yield
        return

    def end(number: int, _: object) -> None:
        raise SystemExit(128 + number)

    signal.signal(signal.SIGTERM, end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)


@contextmanager
def running(bin_folder: Path, fsync: str = "off") -> Iterator[Server]:
    """A server in a folder of its own, which goes with it."""
    folder = Path(tempfile.mkdtemp(prefix="laptight-pg-", dir="/tmp"))
    who: dict[str, Any] = {}
    if os.geteuid() == 0:  # it refuses to run as root
        shutil.chown(folder, USER, USER)
        who = {"user": USER, "group": USER, "extra_groups": []}
    environ = {"PATH": os.environ["PATH"], "HOME": str(folder), "LC_ALL": "C.UTF-8"}

    def run(*words: Path | str) -> None:
        subprocess.run(words, env=environ, cwd="/", check=True, capture_output=True, timeout=LONGEST_S, **who)

    with _ended_in_order():
        yield from _served(bin_folder, folder, run, fsync)


def _served(bin_folder: Path, folder: Path, run: Callable[..., None], fsync: str) -> Iterator[Server]:
    data = folder / "data"
    try:
        run(bin_folder / "initdb", "-D", data, "-U", USER, "-A", "trust", "-E", "UTF8", "--no-sync")
        asked = ("listen_addresses=''", f"unix_socket_directories={folder}", f"fsync={fsync}")
        settings = " ".join(f"-c {each}" for each in (*asked, "max_connections=200"))
        control = partial(run, bin_folder / "pg_ctl", "-D", data, "-w", "-l", folder / "log", "-o", settings)
        try:
            control("start")
            yield Server(folder, control)
        finally:
            control("-m", "immediate", "stop")
    finally:
        with suppress(OSError):
            shutil.rmtree(folder)
