"""Grouping 200 marks in a zone: film saved, the gap to the exact optimum where known, and the time it takes.

`python -m tests.bench.bench_grouping [--seeds 20] [--marks 200]`. Two zones of 60 by 40 ft: marks all over,
and in rows and bunches, as stakes and bar supports leave them. Times are of the processor, caches empty.
Nothing here passes or fails.
"""

from __future__ import annotations

import argparse
import gc
import math
import random
import statistics
import time
from collections.abc import Callable, Sequence

from service.domain.patches.least_patch import Field
from service.domain.patches.patch_groups import components, exact_groups, near_groups
from service.domain.patches.patch_plan import Plan, PlanMark, plan
from service.domain.shapes.outlines import Circle, Outline, Rectangle
from tests.bench.bench_gate import forget
from tests.outside.grouping_oracle import Mark, box, films, least_total

INCH = 25_400_000
OVERLAP_IN, ROLL_IN = 6, 180
LENGTH_IN, WIDTH_IN = 720.0, 480.0
NM_PER_PX = 1_000.0
MOST_SWEPT = 9  # the sweep of the slow oracle over all sets of more marks takes minutes


def places(draw: random.Random, count: int, mix: str) -> list[tuple[float, float]]:
    """Inches: `all over`, or `in bunches`: rows 8 to 24 in apart, and bunches 30 in across."""
    if mix == "all over":
        return [(draw.uniform(0, LENGTH_IN), draw.uniform(0, WIDTH_IN)) for _ in range(count)]
    found: list[tuple[float, float]] = []
    while len(found) < count:
        x, y, turn = draw.uniform(0, LENGTH_IN), draw.uniform(0, WIDTH_IN), draw.choice([0, math.pi / 2])
        if draw.random() < 0.4:
            step = draw.uniform(8, 24)
            row = range(draw.randint(3, 8))
            found += [(x + k * step * math.cos(turn), y + k * step * math.sin(turn)) for k in row]
        else:
            found += [(x + draw.gauss(0, 15), y + draw.gauss(0, 15)) for _ in range(draw.randint(1, 6))]
    return found[:count]


def zone(seed: int, count: int, mix: str) -> tuple[list[PlanMark], list[Mark]]:
    """The marks of a zone, as the service reads them and as the oracle does."""
    draw = random.Random(seed)
    ours, theirs = [], []
    for k, (x, y) in enumerate(places(draw, count, mix)):
        at = (round(x * INCH), round(y * INCH))
        size, other = draw.randint(4, 96) / 16, draw.randint(4, 32) / 16
        turn = draw.choice([0, 0, 90, 30, -45])
        if draw.random() < 0.5:
            outline: Outline = Circle(round(size / 2 * INCH))
            theirs.append(Mark(((x, y),), size / 4))
        else:
            outline = Rectangle(round(size * INCH), round(other * INCH), turn * 1_000_000)
            theirs.append(box(x, y, size, other, turn))
        ours.append(PlanMark(f"m{k}", f"B-{k:03d}", outline, at))
    return ours, theirs


def planned(marks: Sequence[PlanMark]) -> Plan:
    overlap, rolls = OVERLAP_IN * INCH, (ROLL_IN * INCH,)
    return plan(marks, nm_per_px=NM_PER_PX, overlap_nm=overlap, roll_widths_nm=rolls)


def field_of(marks: Sequence[PlanMark]) -> Field:
    at = [(float(mark.at[0]), float(mark.at[1])) for mark in marks]
    return Field.of([mark.outline for mark in marks], at, OVERLAP_IN * INCH, 0, ROLL_IN * INCH)


def timed(act: Callable[[], object]) -> float:
    forget()
    gc.collect()
    start = time.process_time()
    act()
    return time.process_time() - start


def gap_near(marks: Sequence[PlanMark], about: int) -> float:
    """How much more film than the exact plan the way for many marks takes, on the 12 marks nearest one."""
    x, y = marks[about].at
    nearest = sorted(marks, key=lambda mark: (mark.at[0] - x) ** 2 + (mark.at[1] - y) ** 2)[:12]
    field = field_of(nearest)
    exact, near = exact_groups(field, range(12)), near_groups(field, range(12))
    total = [sum(field.cost(group)[0] for group in groups) for groups in (exact, near)]
    return total[1] / total[0] - 1


def gap_swept(
    marks: Sequence[PlanMark], theirs: Sequence[Mark], clusters: Sequence[Sequence[int]]
) -> list[float]:
    """How much more film than the oracle's optimum the plan takes, cluster by cluster."""
    gaps = []
    for cluster in clusters:
        found = planned([marks[k] for k in cluster]).film_nm2 / INCH**2
        gaps.append(found / least_total(films([theirs[k] for k in cluster], OVERLAP_IN, ROLL_IN)) - 1)
    return gaps


def told(name: str, values: Sequence[float], unit: float = 1, form: str = ".2f") -> None:
    mean, least, most = statistics.fmean(values), min(values), max(values)
    print(f"  {name}: mean {mean * unit:{form}}, least {least * unit:{form}}, greatest {most * unit:{form}}")


def main() -> None:
    reader = argparse.ArgumentParser()
    reader.add_argument("--seeds", type=int, default=20)
    reader.add_argument("--marks", type=int, default=200)
    given = reader.parse_args()
    twelve = field_of(zone(1, 12, "all over")[0]).outlines
    at = [(k % 4 * 11.0 * INCH, k // 4 * 11.0 * INCH) for k in range(12)]
    solver = statistics.median(
        timed(lambda: exact_groups(Field.of(twelve, at, OVERLAP_IN * INCH, 0, ROLL_IN * INCH), range(12)))
        for _ in range(9)
    )
    print(f"exact solver on 12 marks: {solver * 1e3:.0f} ms")
    for mix in ("all over", "in bunches"):
        saved, tape, times, near, swept, exact, sizes = [], [], [], [], [], 0, []
        for seed in range(given.seeds):
            marks, theirs = zone(seed, given.marks, mix)
            found = planned(marks)
            times.append(timed(lambda marks=marks: planned(marks)))  # type: ignore[misc]
            saved.append(found.film_saved_nm2 / found.single_film_nm2)
            tape.append(found.tape_saved_nm / found.single_tape_nm)
            exact += found.exact
            near += [gap_near(marks, about) for about in range(0, given.marks, 40)]
            clusters = components(field_of(marks), range(given.marks))
            sizes.append(max(map(len, clusters)))
            swept += gap_swept(marks, theirs, [c for c in clusters if 1 < len(c) <= MOST_SWEPT][:6])
        print(f"{given.marks} marks {mix}, {given.seeds} zones; {exact} planned exactly throughout")
        told("film saved, %", saved, 100)
        told("tape saved, %", tape, 100)
        told("largest cluster kept together, marks", sizes, 1, ".0f")
        told(f"plan over the oracle's, {len(swept)} clusters of 2 to {MOST_SWEPT}, millionths", swept, 1e6)
        told(f"the way for many over the exact plan, {len(near)} dozens, %", near, 100, ".3f")
        print(f"  of these the same: {sum(gap == 0 for gap in near)}")
        told("time, s", times)
        told("time, times the exact solver on 12", times, 1 / solver, ".1f")


if __name__ == "__main__":
    main()
