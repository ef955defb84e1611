"""The gate over a zone with everything installed in it, beside the first gate over its marks alone.

`python -m tests.bench.bench_all_kinds [--marks 1000] [--runs 7]`. A zone of 200 by 150 ft with so many marks
patched, 200 penetrations, 60 seams of 10 stations, 40 stretches of edge, nine hold points and four lots.
Medians of interleaved runs are told: facts gathered and decided, decided alone, the same of the first gate,
and what it costs to build the marks' shapes and ask one distance. Nothing here passes or fails.
"""

from __future__ import annotations

import argparse
import gc
import random
import statistics
import time
from collections.abc import Callable
from dataclasses import replace

from service.domain.earlier import gate_1, zone_facts_1
from service.domain.gate import gate, zone_facts
from service.domain.nouns.installed import SIDE_LAP, TO_WALL, Station
from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import Site
from service.domain.shapes.outlines import Circle, Outline
from service.history.facts import facts as f
from service.history.facts import installed as g
from service.history.replay.standing import digest_of
from service.settings import calm_collector
from tests.bench.bench_gate import facts as marks_alone
from tests.bench.bench_gate import forget, shapes_and_one_distance
from tests.history import story
from tests.history.story import INCH, Story, px, ring

WIDE, HIGH = 2000, 1500  # pixels; 10 px to the foot
RING = ring(((100, 100), (100 + WIDE, 100), (100 + WIDE, 100 + HIGH), (100, 100 + HIGH)))
LETTERS = tuple("ABCD")


def a_site(marks: int, mix: str, seed: int) -> Site:
    """The whole zone: `usual` marks have tape readings mostly, `shapes` have outlines only."""
    draw = random.Random(seed)
    told = Story().tell(
        f.ProjectStarted("Slab", "us", "UTC", ready_made("us")),
        f.SketchAdded("s", "Slab", "0" * 64, None, 3000, 2000, 5),
        f.ScaleSet("s", story.SCALE),
        f.ZoneOutlined("zb", "s", "B", "North bay", RING, None),
        story.film("m1"),
    )
    for n in range(4):
        told.tell(story.lot(f"l{n}", "m1", f"F-{n}"), story.laid(f"y{n}", f"l{n}", f"F-{n}"))
    _mark_all(told, marks, mix, draw)
    _pipes(told, draw)
    _seams(told)
    _edges(told)
    told.tell(*story.signed_all(), f.WalkFinished("zb", "B", ""))
    return told.site


def _mark_all(told: Story, marks: int, mix: str, draw: random.Random) -> None:
    like = marks_alone(marks, 7, mix).defects
    across = max(1, round((marks * WIDE / HIGH) ** 0.5))
    step = WIDE / across
    for n, one in enumerate(like):
        at = px(110 + step * (n % across) + draw.uniform(0, step / 2), 110 + step * (n // across))
        piece = one.patches[0].piece
        outline: Outline = one.outline
        told.tell(f.DefectMarked(one.id, "s", "zb", f"B-{n}", "hole", at, outline, ""))
        made = story.patch(f"p{n}", one.id, (0, 0), lot=f"F-{n % 4}")
        told.tell(replace(made, at=at, sides=piece.sides, outline=piece.outline, offset=piece.offset))


def _pipes(told: Story, draw: random.Random) -> None:
    for n in range(200):
        size = Circle(draw.choice([1, 2, 4, 6]) * INCH)
        at = draw.uniform(120, 80 + WIDE), draw.uniform(120, 80 + HIGH)
        told.tell(story.pipe(str(n), at, size), story.seal(f"c{n}", str(n), collar_length_nm=40 * INCH))


def _seams(told: Story) -> None:
    """60 of them, 100 ft long, with a reading every 10 ft."""
    for n in range(60):
        y = 110 + n * 24
        name = f"x{n}"
        told.tell(g.SeamDrawn(name, "s", "zb", f"B-S{n}", SIDE_LAP, ring(((100, y), (1100, y))), ""))
        stations = tuple(Station(px(150 + 100 * k, y), 6 * INCH) for k in range(10))
        told.tell(g.SeamWalked(f"w{n}", name, "zb", f"B-S{n}", stations, (), True, True, story.work()))


def _edges(told: Story) -> None:
    """Ten stretches on each of the four sides."""
    for side in range(4):
        (x0, y0), (x1, y1) = RING[side], RING[(side + 1) % 4]
        for k in range(10):
            a = x0 + (x1 - x0) * k // 10, y0 + (y1 - y0) * k // 10
            b = x0 + (x1 - x0) * (k + 1) // 10, y0 + (y1 - y0) * (k + 1) // 10
            name = f"{side}-{k}"
            told.tell(g.TerminationDescribed(name, "s", "zb", f"B-E{name}", TO_WALL, (a, b), "", "", ""))
            told.tell(story.edge_seal(f"es{name}", name))


def _timed(act: Callable[[], object]) -> float:
    gc.collect()
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def measure(marks: int, mix: str, runs: int) -> None:
    site = a_site(marks, mix, 7)
    facts, first, floor_zone = (
        zone_facts.zone_facts(site, "zb"), zone_facts_1.zone_facts(site, "zb"), marks_alone(marks, 7, mix)
    )  # fmt: skip
    acts: dict[str, Callable[[], object]] = {
        "gathered and decided": lambda: gate.decide(zone_facts.zone_facts(site, "zb")),
        "decided alone": lambda: gate.decide(facts),
        "first gate, gathered and decided": lambda: gate_1.decide(zone_facts_1.zone_facts(site, "zb")),
        "first gate, decided alone": lambda: gate_1.decide(first),
        "digest": lambda: digest_of(facts),
        "shapes and one distance": lambda: shapes_and_one_distance(floor_zone),
    }
    times: dict[str, list[float]] = {name: [] for name in acts}
    for _ in range(runs):
        for name, act in acts.items():
            forget()
            times[name].append(_timed(act))
    medians = {name: statistics.median(found) for name, found in times.items()}
    floor = medians["shapes and one distance"]
    codes = sorted({blocker.code for blocker in gate.decide(facts)[0]})
    print(f"{mix}: {marks} marks and everything else, held by {', '.join(codes) or 'nothing'}")
    for name, median in medians.items():
        print(f"  {name:<34} {median * 1e3:8.1f} ms, ratio to shapes and one distance {median / floor:.2f}")


def main() -> None:
    reader = argparse.ArgumentParser()
    reader.add_argument("--marks", type=int, default=1000)
    reader.add_argument("--runs", type=int, default=7)
    told = reader.parse_args()
    calm_collector()  # as the served process has it
    for mix in ("usual", "shapes"):
        measure(told.marks, mix, told.runs)


if __name__ == "__main__":
    main()
