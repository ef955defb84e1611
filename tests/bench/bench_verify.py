"""Verifying a record of 100,000 entries offline, beside only hashing the same bytes.

`python -m tests.bench.bench_verify [--entries 100000] [--runs 3] [--keep FILE.zip]`. Told: seconds and the
multiple of hashing every byte of the record once, for `laptight verify` with and without working out every
judgement again, and for the bundled verify.py in a process of its own. Medians; nothing here passes or fails.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from service.actions.record.verifying import verify_record
from service.domain.nouns.roles import CREW_LEAD, PROJECT_MANAGER
from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import Px, Site
from service.domain.shapes.outlines import Circle, Rectangle
from service.domain.shapes.sides import Sides
from service.history.facts import facts as f
from service.history.facts.every_fact import Fact
from service.history.replay.replay import apply
from service.history.replay.standing import standing_of
from service.history.verifying.whole import check
from service.papers.record import verify_alone
from service.settings import calm_collector
from service.storage.blobs.containers import opened
from tests.bench.bench_gate import forget
from tests.history.story import INCH, SCALE
from tests.record.making import Log, bundle, name_hash, unzipped, zipped
from tests.record.spoiling import PHOTOS, SKETCH, picture_files, sha256, table_files

# A zone of 80 by 60 ft with a mark every 4 ft, 10 px to the foot; nine zones a sketch.
WIDE, HIGH, STEP = 800, 600, 40
MANAGER = {"by": "max", "role": PROJECT_MANAGER}


class Building:
    """A history that grows zone by zone: marked, patched, walked, released, placed."""

    def __init__(self) -> None:
        self.log, self.site = Log(), Site()
        sheet = replace(ready_made("us"), gate_demands=())
        roles = {"max": PROJECT_MANAGER, "lou": CREW_LEAD}
        people = (f.PersonJoined(who, role, name_hash(who)) for who, role in roles.items())
        self.tell(f.ProjectStarted("Slab", "us", "UTC", sheet), *people, **MANAGER)

    def tell(self, *facts: Fact, by: str = "lou", role: str = CREW_LEAD) -> None:
        for fact in facts:
            self.log.tell(fact, by=by, role=role)
            apply(self.site, self.log.entries[-1])

    def zone(self, number: int) -> None:
        sketch, place = f"s{number // 9}", number % 9
        if place == 0:
            added = f.SketchAdded(sketch, "Slab", sha256(SKETCH), None, 3000, 2000, 5)
            self.tell(added, f.ScaleSet(sketch, SCALE), **MANAGER)
        x, y = 50 + place % 3 * (WIDE + 50), 50 + place // 3 * (HIGH + 25)
        letter, zone = f"Z{number}", f"z{number}"
        corners = ((0, 0), (WIDE, 0), (WIDE, HIGH), (0, HIGH))
        ring = tuple((1000 * (x + dx), 1000 * (y + dy)) for dx, dy in corners)
        self.tell(f.ZoneOutlined(zone, sketch, letter, "", ring, None), **MANAGER)
        for count, at in enumerate(_places(x, y)):
            self.tell(*_mended(sketch, zone, letter, count, at))
        self.tell(f.WalkFinished(zone, letter, ""))
        digest = standing_of(self.site, zone).digest
        told = f.ZoneReleased(f"r{number}", zone, letter, digest, 2, "Seen.", _UNASKED, ())
        self.tell(told, **MANAGER)
        self.log.give("certificate")
        apply(self.site, self.log.entries[-1])
        then = self.log.entries[-1].at
        self.tell(f.ZonePlaced(zone, letter, then, "60 cu yd", False, ()), **MANAGER)


_UNASKED = ("penetrations", "seams", "terminations", "hold points", "film")


def _places(x: int, y: int) -> Iterator[Px]:
    for dy in range(STEP, HIGH, STEP):
        for dx in range(STEP, WIDE, STEP):
            yield 1000 * (x + dx), 1000 * (y + dy)


def _mended(sketch: str, zone: str, letter: str, count: int, at: Px) -> tuple[Fact, Fact]:
    """A mark, and the patch that seals it: none like the one before it, so that no answer is remembered."""
    shape = (
        Circle((8 + count % 40) * INCH // 16) if count % 2 else Rectangle((3 + count % 3) * INCH, 2 * INCH)
    )
    name, tag = f"{zone}-{count}", f"{letter}-{count:02d}"
    least = 6 * INCH + count % 7 * INCH // 16
    sides = Sides(least + count * 1000, least + INCH, least, least + 2 * INCH)
    mark = f.DefectMarked(
        name, sketch, zone, tag, "hole", at, shape, "by a bar chair" if count % 9 == 0 else ""
    )
    patch = f.PatchLogged(
        f"p{name}", name, zone, tag, at, (), sides, None, (0, 0), True, True, True, 4 * INCH, "sheet patch",
        "F-2207", "", "", least, 6 * INCH, True,
    )  # fmt: skip
    return mark, patch


def large_record(entries: int) -> bytes:
    """The ZIP of a record of about so many entries, its tables with it."""
    building, number = Building(), 0
    building.tell(f.SketchAdded("s", "Slab", sha256(SKETCH), None, 3000, 2000, 5), **MANAGER)
    while len(building.log.lines) < entries:
        building.zone(number)
        number += 1
    for count, photo in enumerate(PHOTOS):
        building.tell(f.PhotoAdded(f"f{count}", "z0-0", "z0", "Z0-00", sha256(photo), "0" * 64, 640, 480))
    return zipped(bundle(building.log, picture_files() | table_files(building.log)))


# --- measuring ---------------------------------------------------------------------------------------------


def timed(runs: int, act: Callable[[], object]) -> tuple[float, float]:
    """Seconds by the clock and of the processor, this process's and its children's: medians."""
    took = []
    for _ in range(runs):
        forget()
        start, used = time.perf_counter(), sum(os.times()[:4])
        act()
        took.append((time.perf_counter() - start, sum(os.times()[:4]) - used))
    return statistics.median(clock for clock, _ in took), statistics.median(used for _, used in took)


def hash_all(contents: list[bytes]) -> None:
    for content in contents:
        hashlib.sha256(content).digest()


def structure_alone(path: Path) -> None:
    with opened(path) as container:
        assert all(finding.holds for finding in check(container, judge=False).findings)


def all_of_it(path: Path) -> None:
    found = verify_record(path)
    assert found.whole, found.faults[:3]


def the_script(path: Path) -> None:
    words = [sys.executable, "-I", str(Path(verify_alone.__file__)), str(path)]
    subprocess.run(words, check=True, capture_output=True)


def main() -> None:
    reader = argparse.ArgumentParser()
    reader.add_argument("--entries", type=int, default=100_000)
    reader.add_argument("--runs", type=int, default=3)
    reader.add_argument("--keep", type=Path, help="where the record is written, or is already")
    told = reader.parse_args()
    calm_collector()
    with tempfile.TemporaryDirectory() as folder:
        path = told.keep or Path(folder) / "record.zip"
        if not path.exists():
            path.write_bytes(large_record(told.entries))
        files = unzipped(path.read_bytes())
        size, lines = sum(map(len, files.values())), files["entries.jsonl"].count(b"\n")
        contents = list(files.values())
        floor, _ = timed(told.runs, lambda: hash_all(contents))
        print(f"{lines:,} entries, {size / 1e6:.1f} MB in {len(files):,} files; hashing it {floor:.2f} s")
        for name, act in (
            ("laptight verify, nothing judged again", structure_alone),
            ("laptight verify", all_of_it),
            ("verify.py, a process of its own", the_script),
        ):
            took, used = timed(told.runs, lambda act=act: act(path))  # type: ignore[misc]
            print(f"{name:<40} {took:6.2f} s ({used:.2f} s used), {took / floor:6.1f} times hashing")


if __name__ == "__main__":
    main()
