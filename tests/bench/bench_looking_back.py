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
from pathlib import Path

from service.__main__ import calm_collector
from service.actions.audit import as_it_stood
from service.actions.comparing import compare_zone
from service.actions.desk import Desk
from service.actions.moved import moved_since
from service.actions.timeline import zone_life
from service.actions.who_did_what import who_did_what
from service.app import make_app
from service.history.replay import replay
from service.settings import Settings
from service.storage import books
from tests.bench.filling import mark_many
from tests.builders import a_release, a_sketch, a_walk, a_zone
from tests.cast import Cast, assemble


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
            measure(desk, told.entries, told.zones, told.rounds)
        finally:
            desk.database.close()


def measure(desk: Desk, wanted: int, zones: int, rounds: int) -> None:
    cast = assemble(desk)
    zone_id, released = fill(desk, cast, wanted, zones)
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


def fill(desk: Desk, cast: Cast, wanted: int, zones: int) -> tuple[str, int]:
    """Zones one below the other, the first released early; its id, and the number of its release."""
    sketch = a_sketch(desk, cast)
    tall = 1800 // zones
    made = [
        a_zone(desk, cast, sketch, chr(65 + n), [(0, tall * n), (2900, tall * n), (2900, tall * (n + 1)),
                                                 (0, tall * (n + 1))])
        for n in range(zones)
    ]  # fmt: skip
    first = made[0]
    a_walk(desk, cast, first)
    a_release(desk, cast, first)
    with desk.reading() as session:
        released = books.head(session, cast.project_id)
    for zone in made:
        mark_many(desk, cast.lead.id, zone, round((wanted - released) / zones / 1.6))
    return first.id, released


if __name__ == "__main__":
    main()
