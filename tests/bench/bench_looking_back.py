"""What is worked out from the history at each view, beside a bare replay of the same entries.

`python -m tests.bench.bench_looking_back [--entries 10000] [--zones 5] [--rounds 5]`

One process, no socket; seconds are the processor's. A bare replay folds entries that are read already, so the
first row, reading them, is what everything else pays before it starts. Nothing passes or fails here.
"""

from __future__ import annotations

import argparse
import gc
import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from pysqlite3 import dbapi2

from service.actions.evidence.audit import as_it_stood
from service.actions.evidence.comparing import compare_zone
from service.actions.evidence.timeline import zone_life
from service.actions.evidence.who_did_what import who_did_what
from service.actions.frame.desk import Desk
from service.actions.frame.moved import moved_since
from service.app import make_app
from service.history.facts.entries import Entry, leaf_hash
from service.history.replay.replay import replay
from service.settings import Settings, calm_collector
from service.storage.history import books
from tests.bench.filling import marks_and_patches
from tests.builders import a_release, a_sketch, a_walk, a_zone
from tests.cast import Cast, assemble

ENTRY = (
    "INSERT INTO entry "
    "(project_id, seq, type, at, by, zone_id, tag, subject_kind, subject_id, content, leaf) VALUES "
    "(?, ?, ?, '2026-11-25 12:00:00.000000', ?, ?, ?, ?, ?, ?, ?)"
)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--entries", type=int, default=10_000)
    asked.add_argument("--zones", type=int, default=5)
    asked.add_argument("--rounds", type=int, default=5)
    told = asked.parse_args()
    calm_collector()
    with tempfile.TemporaryDirectory() as folder:
        desk: Desk = make_app(Settings.read(Path(folder), environ={})).state.desk
        try:
            measure(desk, Path(folder), told.entries, told.zones, told.rounds)
        finally:
            desk.database.close()


def measure(desk: Desk, data: Path, wanted: int, zones: int, rounds: int) -> None:
    cast = assemble(desk)
    zone_id, released = fill(desk, cast, data, wanted, zones)
    with desk.reading() as session:
        entries = books.entries(session, cast.project_id)

    def read() -> None:
        with desk.reading() as session:
            books.entries(session, cast.project_id)

    eye, count = cast.inspector.id, len(entries)
    views: dict[str, Callable[[], object]] = {
        "bare replay": lambda: replay(entries),
        "reading the entries": read,
        "as it stood": lambda: as_it_stood(desk.fresh(), eye, zone_id, count),
        "compare": lambda: compare_zone(desk.fresh(), eye, zone_id, count // 2, count),
        "moved since the release": lambda: moved_since(desk.fresh(), eye, zone_id, released),
        "timeline": lambda: zone_life(desk.fresh(), eye, zone_id),
        "who did what": lambda: who_did_what(desk.fresh(), eye, cast.project_id),
    }
    took: dict[str, list[float]] = {name: [] for name in views}
    for _ in range(rounds):
        for name, view in views.items():
            gc.collect()
            start = time.process_time()
            view()
            took[name].append(time.process_time() - start)
    bare = statistics.median(took["bare replay"])
    print(f"{count:,} entries, {zones} zones")
    for name, seconds in took.items():
        middle = statistics.median(seconds)
        print(f"  {name:<24} {middle * 1000:8.0f} ms, {middle / bare:6.1f} times the bare replay")


def fill(desk: Desk, cast: Cast, data: Path, wanted: int, zones: int) -> tuple[str, int]:
    """Zones one below the other, the first released early, and marks and patches in all of them, in turns.

    The first zone's id, and the number of its release. Only entries are written: views of the history read
    nothing else of marks.
    """
    sketch, tall = a_sketch(desk, cast), 1800 // zones
    made = [a_zone(desk, cast, sketch, chr(65 + n), _across(tall * n, tall * (n + 1))) for n in range(zones)]
    a_walk(desk, cast, made[0])
    a_release(desk, cast, made[0])
    with desk.reading() as session:
        released = books.head(session, cast.project_id)
    told = [marks_and_patches(desk, zone, wanted) for zone in made]
    entries = [
        Entry(cast.project_id, seq, desk.clock(), cast.lead.id, "crew lead", next(told[seq % zones]))
        for seq in range(released + 1, wanted + 1)
    ]
    rows = [
        (e.project, e.seq, e.type, e.by, e.zone, e.tag, *e.subject, e.content(), leaf_hash(e.content()))
        for e in entries
    ]
    with closing(dbapi2.connect(str(data / "laptight.sqlite3"))) as straight:
        straight.executemany(ENTRY, rows)
        straight.execute("UPDATE project SET seq = ? WHERE id = ?", (wanted, cast.project_id))
        straight.commit()
    return made[0].id, released


def _across(top: int, bottom: int) -> list[tuple[int, int]]:
    return [(0, top), (2900, top), (2900, bottom), (0, bottom)]


if __name__ == "__main__":
    main()
