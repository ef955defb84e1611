"""Rounds of a process killed while it writes, and what must be found in its database afterwards."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from pysqlite3 import dbapi2

from service.actions.checking import check_histories
from service.actions.desk import Desk

ROOT = Path(__file__).parents[2]
SOON_S = 0.4  # how long after its first committed write a process is killed, at the most


@dataclass
class Told:
    """What the killed processes had said was committed."""

    marks: list[str] = field(default_factory=list)
    patches: list[str] = field(default_factory=list)

    def take(self, said: str) -> None:
        for line in said.splitlines(keepends=True):
            kind, _, noun_id = line.rstrip("\n").partition(" ")
            if line.endswith("\n"):
                {"mark": self.marks, "patch": self.patches}[kind].append(noun_id)


def kill_while_writing(data: Path, person: str, zone: str, seed: int) -> str:
    """Start a writer, kill it at a drawn moment after its first write, and return what it had said."""
    draw = random.Random(seed)
    words = [sys.executable, "-m", "tests.whole.crashing", str(data), person, zone, str(seed)]
    child = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    assert child.stdout is not None
    try:
        first = child.stdout.readline()
        time.sleep(draw.uniform(0, SOON_S))
    finally:
        child.kill()  # SIGKILL, to this child alone
    rest, _ = child.communicate(timeout=30)
    assert first, "the writer ended before it wrote anything"
    return first + rest


def faults_in(data: Path, desk: Desk, told: Told) -> list[str]:
    """Everything that was said to be committed and is not there, and everything else that does not fit."""
    connection = dbapi2.connect(str(data / "laptight.sqlite3"))
    try:
        whole = connection.execute("PRAGMA integrity_check").fetchall()
        marks = {row[0] for row in connection.execute("SELECT id FROM defect")}
        patches = {row[0] for row in connection.execute("SELECT id FROM patch")}
        entries = {row[0] for row in connection.execute("SELECT subject_id FROM entry")}
        seqs = connection.execute("SELECT project_id, count(*), min(seq), max(seq) FROM entry GROUP BY 1")
        gaps = [row for row in seqs if (row[1], row[2]) != (row[3], 1)]
    finally:
        connection.close()
    found = [] if whole == [("ok",)] else [f"integrity: {whole}"]
    found += [f"mark {one} is lost" for one in told.marks if one not in marks or one not in entries]
    found += [f"patch {one} is lost" for one in told.patches if one not in patches]
    found += [f"a gap in the history: {gap}" for gap in gaps]
    return found + list(check_histories(desk.fresh()).faults)
