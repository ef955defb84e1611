"""The gate over many defects, beside what it costs to build their shapes and ask one vectorised distance.

`python -m tests.bench.bench_gate [--counts 1000 10000 100000]`. Times are the processor's,
medians of interleaved runs in one process; nothing here passes or fails.
"""

from __future__ import annotations

import argparse
import gc
import math
import random
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely

from service.domain.gate.gate import Revisions, ZoneFacts, decide
from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import Scale
from service.domain.patches.overlap import Piece
from service.domain.patches.repair import DefectFacts, Numbers, PatchFacts
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle
from service.domain.shapes.sides import Sides
from service.settings import calm_collector

INCH = 25_400_000
NUMBERS = Numbers.of(replace(ready_made("us"), gate_demands=()))


def facts(count: int, seed: int, mix: str) -> ZoneFacts:
    """`count` patched defects. `mix`: `usual` (tape readings mostly) or `shapes` (outlines only)."""
    draw = random.Random(seed)
    defects = tuple(_defect(draw, number, mix) for number in range(count))
    scale = Scale((0, 0), (1000, 0), INCH)
    ring, once = ((0, 0), (9, 0), (0, 9)), Revisions(1, 1, 1, 1)
    return ZoneFacts("z", "B", ring, scale, None, NUMBERS, True, defects, (), (), once)


def _defect(draw: random.Random, number: int, mix: str) -> DefectFacts:
    outline = _outline(draw, mix)
    if mix == "usual" and draw.random() < 0.9:
        piece = Piece(sides=Sides(*(draw.randint(94, 128) * INCH // 16 for _ in range(4))))
    else:
        film = Rectangle(
            draw.randint(20, 30) * INCH, draw.randint(20, 30) * INCH, draw.randint(0, 179) * 1_000_000
        )
        piece = Piece(film, (draw.randint(-2, 2) * INCH, draw.randint(-2, 2) * INCH))
    patch = PatchFacts(f"p{number}", piece, True, True, True, 4 * INCH, "sheet patch", True)
    return DefectFacts(f"d{number}", f"B-{number}", "hole", (number, number), outline, (patch,))


def _outline(draw: random.Random, mix: str) -> Outline:
    kind = draw.random()
    if kind < 0.5 and mix == "usual":
        return Circle(draw.randint(4, 64) * INCH // 16)
    if kind < 0.8:
        size = draw.randint(16, 96) * INCH // 16, draw.randint(4, 32) * INCH // 16
        return Rectangle(*size, draw.randint(0, 179) * 1_000_000)
    around = sorted(draw.random() * math.tau for _ in range(draw.randint(4, 7)))
    reach = draw.randint(1, 3) * INCH
    return Polygon(tuple((round(reach * math.cos(a)), round(reach * math.sin(a))) for a in around))


def _corners(outline: Outline) -> list[tuple[float, float]]:
    if isinstance(outline, Circle):
        return [
            (
                outline.diameter_nm * math.cos(k / 8 * math.tau) / 2,
                outline.diameter_nm * math.sin(k / 8 * math.tau) / 2,
            )
            for k in range(8)
        ]
    if isinstance(outline, Polygon):
        return [(float(x), float(y)) for x, y in outline.points]
    assert isinstance(outline, Rectangle)
    u, v = outline.length_nm / 2, outline.width_nm / 2
    c, s = math.cos(math.radians(outline.angle_udeg / 1e6)), math.sin(math.radians(outline.angle_udeg / 1e6))
    return [(a * c - b * s, a * s + b * c) for a, b in ((-u, -v), (u, -v), (u, v), (-u, v))]


def shapes_and_one_distance(zone: ZoneFacts) -> float:
    """The floor: damages and patch edges as shapes from stored numbers, and one vectorised distance."""
    damage = [shapely.Polygon(_corners(defect.outline)) for defect in zone.defects]
    edges = []
    for defect in zone.defects:
        piece = defect.patches[0].piece
        film = piece.outline or Rectangle(20 * INCH, 18 * INCH)
        x, y = piece.offset
        edges.append(shapely.LinearRing([(a + x, b + y) for a, b in _corners(film)]))
    return float(np.min(shapely.distance(np.array(damage), np.array(edges))))


def _timed(act: Callable[[], object]) -> float:
    gc.collect()
    start = time.process_time()
    act()
    return time.process_time() - start


def forget() -> None:
    """Every memo of the geometry is emptied: a run is judged as the first look at a zone."""
    for module in [found for name, found in sys.modules.items() if name.startswith("service.domain.")]:
        for thing in vars(module).values():
            if callable(thing) and hasattr(thing, "cache_clear"):
                thing.cache_clear()


def main() -> None:
    reader = argparse.ArgumentParser()
    reader.add_argument("--counts", type=int, nargs="*", default=[1000, 10_000, 100_000])
    reader.add_argument("--runs", type=int, default=7)
    told = reader.parse_args()
    calm_collector()  # as the served process has it
    for mix in ("usual", "shapes"):
        per_defect = {}
        for count in told.counts:
            zone = facts(count, 7, mix)
            gate, floor = [], []
            for _ in range(told.runs if count <= 1000 else 3):
                forget()
                gate.append(_timed(lambda zone=zone: decide(zone)))  # type: ignore[misc]
                floor.append(_timed(lambda zone=zone: shapes_and_one_distance(zone)))  # type: ignore[misc]
            warm = _timed(lambda zone=zone: decide(zone))  # type: ignore[misc]
            ratio = statistics.median(g / f for g, f in zip(gate, floor, strict=True))
            per_defect[count] = statistics.median(gate) / count
            print(
                f"{mix:<7} {count:>7} defects: gate {statistics.median(gate) * 1e3:8.1f} ms, "
                f"shapes and one distance {statistics.median(floor) * 1e3:8.1f} ms, ratio {ratio:.2f}, "
                f"asked again {warm * 1e3:.1f} ms"
            )
        first, last = told.counts[0], told.counts[-1]
        growth = per_defect[last] / per_defect[first]
        n_log_n = math.log(last) / math.log(first)
        print(f"{mix:<7} per defect, {last:,} against {first:,}: {growth:.2f} (n log n allows {n_log_n:.2f})")


if __name__ == "__main__":
    main()
