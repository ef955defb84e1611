"""Rounds of a process killed while it writes, and what must be found in its database afterwards."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from service.actions.frame.desk import Desk
from service.actions.upkeep.checking import check_histories

ROOT = Path(__file__).parents[2]
SOON_S = 0.4  # how long after its first committed write a process is killed, at the most


@dataclass
class Told:
    """What the killed processes had said was committed."""

    marks: list[str] = field(default_factory=list)
    patches: list[str] = field(default_factory=list)

    @property
    def count(self) -> int:
        return len(self.marks) + len(self.patches)

    def take(self, said: str) -> None:
        for line in said.splitlines(keepends=True):
            kind, _, noun_id = line.rstrip("\n").partition(" ")
            if line.endswith("\n"):
                {"mark": self.marks, "patch": self.patches}[kind].append(noun_id)


def writer(
    data: Path, url: str, *words: str | int, under: Sequence[str] = (), **environment: str
) -> subprocess.Popen[str]:
    """A process of `tests.whole.crashing`, its words piped back. `under`: a command that runs it."""
    command = [*under, sys.executable, "-m", "tests.whole.crashing", str(data), *map(str, words)]
    environ = os.environ | {"LAPTIGHT_DATABASE_URL": url, **environment}
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=ROOT, env=environ
    )


def kill_while_writing(
    data: Path, url: str, person: str, zone: str, seed: int, pull: Callable[[], None] | None = None
) -> str:
    """Start a writer, kill it at a drawn moment after its first write, and return what it had said. `pull`:
    in place of the writer, what it writes to is ended, and the writer after it."""
    child = writer(data, url, person, zone, seed)
    assert child.stdout is not None
    try:
        first = child.stdout.readline()
        time.sleep(random.Random(seed).uniform(0, SOON_S))
        if pull is not None:
            pull()
    finally:
        child.kill()  # SIGKILL, to this child alone
    rest, _ = child.communicate(timeout=30)
    assert first, "the writer ended before it wrote anything"
    return first + rest


def faults_in(desk: Desk, told: Told) -> list[str]:
    """Everything that was said to be committed and is not there, and everything else that does not fit."""
    with desk.reading() as session:
        ask = session.connection().exec_driver_sql
        whole = ask("PRAGMA integrity_check").all() if desk.database.is_sqlite else [("ok",)]
        marks = {row[0] for row in ask("SELECT id FROM defect")}
        patches = {row[0] for row in ask("SELECT id FROM patch")}
        entries = {row[0] for row in ask("SELECT subject_id FROM entry")}
        seqs = ask("SELECT project_id, count(*), min(seq), max(seq) FROM entry GROUP BY 1")
        gaps = [tuple(row) for row in seqs if (row[1], row[2]) != (row[3], 1)]
    found = [] if whole == [("ok",)] else [f"integrity: {whole}"]
    found += [f"mark {one} is lost" for one in told.marks if one not in marks or one not in entries]
    found += [f"patch {one} is lost" for one in told.patches if one not in patches]
    found += [f"a gap in the history: {gap}" for gap in gaps]
    return found + list(check_histories(desk.fresh()).faults)
