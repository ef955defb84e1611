"""How an append and a proof grow with the history: at 1,000 and at 1,000,000 entries, side by side.

`python -m tests.bench.bench_history [--large 1000000] [--rounds 400]`. Told: the ratio of an append at the
larger to one at the smaller (held: 1.5), and what an inclusion and a consistency proof take at the larger
(held: 5 ms). An append is one transaction on disk with its tree and signed checkpoint; both databases take
turns. Nothing here passes or fails.
"""

from __future__ import annotations

import argparse
import random
import statistics
import tempfile
import time
from contextlib import closing
from pathlib import Path

from pysqlite3 import dbapi2

from service.actions.frame.desk import Desk
from service.domain.nouns.site import Site
from service.history.facts.facts import PersonInvited
from service.history.proofs.merkle import check_consistency, check_inclusion, grown, leaf_hash
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.history import books, ledger, slices, trees
from service.storage.tables.tables import EntryRow
from service.storage.upkeep.migrate import migrate
from tests.cast import Clock, enter, start

_ENTRY = (
    "INSERT INTO entry (project_id, seq, type, at, by, subject_kind, subject_id, content, leaf) "
    "VALUES (?, ?, 'person-invited', '2026-11-25 12:00:00.000000', ?, 'project', ?, ?, ?)"
)
_NODE = "INSERT INTO tree_node (project_id, level, place, hash) VALUES (?, ?, ?, ?)"


class Filled:
    """A database on disk whose one history has so many entries, and a desk on it."""

    def __init__(self, folder: Path, size: int) -> None:
        self.database = Database.at(folder / "laptight.sqlite3")
        migrate(self.database)
        self.desk = Desk(self.database, Blobs(folder), Clock())
        self.person = enter(self.desk, "Max Manager")
        self.project = start(self.desk, "A slab", {self.person: "project manager"})
        with self.database.reading() as session:
            known = [leaf for _, _, leaf in ledger.leaves(session, self.project)]
            self.site: Site = slices.project_site(session, self.project)
        _fill(folder / "laptight.sqlite3", self.project, self.person.id, known, size)

    def append(self) -> float:
        """Seconds of one append, from taking the lock to the commit on disk."""
        begun = time.perf_counter()
        with self.desk.writing() as session:
            fact = PersonInvited(self.desk.new_id(), "inspector")
            now = self.desk.clock()
            books.append(session, self.site, self.project, now, self.person.id, "project manager", fact)
        return time.perf_counter() - begun


def _fill(path: Path, project: str, by: str, known: list[bytes], size: int) -> None:
    """The rows of the entries up to `size`, and the tree over all of them."""
    peaks: list[bytes] = []
    entries, nodes = [], []
    for count in range(size):
        content = b'{"project":"%s","seq":%d,"type":"person-invited"}' % (project.encode(), count + 1)
        leaf = known[count] if count < len(known) else leaf_hash(content)
        peaks, made = grown(peaks, count, leaf)
        if count >= len(known):
            entries.append((project, count + 1, by, project, content, leaf))
            nodes += [(project, level, place, here) for (level, place), here in made]
    with closing(dbapi2.connect(str(path))) as straight:
        straight.executemany(_ENTRY, entries)
        straight.executemany(_NODE, nodes)
        straight.execute("UPDATE project SET seq = ?, peaks = ?", (size, b"".join(peaks)))
        straight.commit()
        straight.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _proofs(large: Filled, rounds: int) -> tuple[list[float], list[float]]:
    """Seconds of inclusion and of consistency proofs at the head, each checked after the clock is stopped."""
    draw, inclusions, consistencies = random.Random(20261125), [], []
    with large.database.reading() as session:
        size = books.head(session, large.project)
        root = trees.root_at(session, large.project, size)
    for _ in range(rounds):
        seq, old = draw.randint(1, size), draw.randint(1, size)
        with large.database.reading() as session:
            begun = time.perf_counter()
            proof = trees.inclusion(session, large.project, seq, size)
            inclusions.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            grew = trees.consistency(session, large.project, old, size)
            consistencies.append(time.perf_counter() - begun)
            leaf = session.get_one(EntryRow, (large.project, seq)).leaf
            was = trees.root_at(session, large.project, old)
        check_inclusion(seq - 1, size, leaf, proof, root)
        check_consistency(old, size, was, root, grew)
    return inclusions, consistencies


def _told(name: str, seconds: list[float]) -> str:
    middle, most = statistics.median(seconds), sorted(seconds)[int(len(seconds) * 0.99)]
    return f"{name}: median {middle * 1000:.2f} ms, 99th of a hundred {most * 1000:.2f} ms"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", type=int, default=1_000)
    parser.add_argument("--large", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=400)
    told = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for name in ("small", "large"):
            (Path(folder) / name).mkdir()
        small = Filled(Path(folder) / "small", told.small)
        large = Filled(Path(folder) / "large", told.large)
        for one in (small, large):
            [one.append() for _ in range(20)]
        pairs = [(small.append(), large.append()) for _ in range(told.rounds)]
        ratio = statistics.median(b for _, b in pairs) / statistics.median(a for a, _ in pairs)
        print(_told(f"append at {told.small:,}", [a for a, _ in pairs]))
        print(_told(f"append at {told.large:,}", [b for _, b in pairs]))
        print(f"ratio of the medians: {ratio:.2f}")
        inclusions, consistencies = _proofs(large, told.rounds)
        print(_told(f"inclusion proof at {told.large:,}", inclusions))
        print(_told(f"consistency proof at {told.large:,}", consistencies))
        for one in (small, large):
            one.database.close()


if __name__ == "__main__":
    main()
