"""How many rolls over the bound random projects are cut from, and how long cutting and the order list take.

`.venv/bin/python -m tests.bench.bench_order`. Projects are one to four seeded slabs laid out with rolls of
200 ft; then slabs of ever more area; then ever more pieces, all of different lengths. Times are
of the processor, also as ratios. Nothing here passes or fails.
"""

from __future__ import annotations

import math
import time
from random import Random

from service.domain.cutting.stock import Cutting, best_fit, cut
from service.domain.nouns.rules import ready_made
from service.domain.order.asked import (
    OrderAsked,
    PipeToSeal,
    RepairsExpected,
    SeamToTape,
    SheetToCut,
    ZoneAsked,
)
from service.domain.order.order_list import order_list
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle
from service.domain.sheets.layout import LayoutAsked, SheetLayout, lay_out
from tests.bench.bench_sheet_layout import asked
from tests.bench.bench_sheet_layout import slab as sized_slab
from tests.outside.random_slabs import FT, IN, slab

ROLL = 200 * FT
SPREADS = (("20 to 200 ft", 20, 200), ("20 to 80 ft", 20, 80), ("50 to 100 ft", 50, 100))
COUNTS = (60, 250, 500, 1000, 2000)


def project(seed: int) -> list[SheetLayout]:
    """One to four slabs laid out alike: along them, across them or askew."""
    random = Random(seed)
    width, degrees = random.choice((10, 12, 15, 20)), random.choice((0, 90, 90, 33.3))
    layouts = []
    for i in range(random.randint(1, 4)):
        outline, openings = slab(1000 * seed + i)
        udeg = round(degrees * 1e6)
        one = LayoutAsked((outline,), openings, (), width * FT, ROLL, 6 * IN, 6 * IN, udeg, "left", None)
        layouts.append(lay_out(one))
    return layouts


def timed(lengths: list[int]) -> tuple[Cutting, float]:
    begun = time.process_time()
    found = cut(lengths, ROLL)
    return found, time.process_time() - begun


def told(lengths: list[int], found: Cutting, seconds: float) -> str:
    rough = len(best_fit(sorted(lengths, reverse=True), ROLL))
    return (
        f"{len(lengths):6}  {len(set(lengths)):7}  {rough:8}  {len(found.rolls):5}  {found.bound:5}  "
        f"{len(found.rolls) - found.bound:4}  {'yes' if found.proved else 'no':6}  {seconds:6.3f} s"
    )


def order_of(layouts: list[SheetLayout]) -> OrderAsked:
    """An order of these slabs with a pipe for each 100 sq ft and two repairs for each 1,000."""
    numbers, zones = Numbers.of(ready_made("us")), []
    for i, layout in enumerate(layouts):
        sheets = tuple(SheetToCut(f"{i} {s.number}", s.cut_length_nm, s.width_nm) for s in layout.sheets)
        seams = tuple(SeamToTape(seam.kind, round(math.dist(*seam.path))) for seam in layout.seams)
        pipes = tuple(
            PipeToSeal(f"{i}-P{n}", Circle((1 + n % 5) * IN))
            for n in range(int(layout.area_m2 * 10.76 / 100))
        )
        area = round(layout.area_m2 * 1e6)
        zones.append(ZoneAsked(str(i), area, numbers, sheets, seams, pipes=pipes))
    width = layouts[0].asked.roll_width_nm
    repairs = RepairsExpected(2000, 18 * IN, 18 * IN)
    return OrderAsked(tuple(zones), width, ROLL, 4 * IN, 180 * FT, repairs)


def projects() -> None:
    print("project  pieces  lengths  best fit  rolls  bound  over  proved  cutting  order list  waste")
    over = []
    for seed in range(1, 21):
        layouts = project(seed)
        lengths = [sheet.cut_length_nm for layout in layouts for sheet in layout.sheets]
        found, seconds = timed(lengths)
        over.append(len(found.rolls) - found.bound)
        begun = time.process_time()
        film = order_list(order_of(layouts)).film
        whole = time.process_time() - begun
        print(f"{seed:7}  {told(lengths, found, seconds)}  {whole:8.3f} s  {film.waste_mpct / 1000:5.1f} %")
    print("rolls over the bound on 20 random projects: " + " ".join(map(str, over)))


def by_size() -> None:
    print("\nslab     way   pieces  lengths  best fit  rolls  bound  over  proved  cutting  order list")
    for degrees in (0.0, 90.0, 33.3):
        for m2 in (500, 5_000, 50_000):
            layout = lay_out(asked(*sized_slab(m2), 15, degrees))
            lengths = [sheet.cut_length_nm for sheet in layout.sheets]
            found, seconds = timed(lengths)
            begun = time.process_time()
            order_list(order_of([layout]))
            whole = time.process_time() - begun
            print(f"{m2:5} m2  {degrees:4}  {told(lengths, found, seconds)}  {whole:8.3f} s")


def by_count(name: str, low: int, high: int) -> None:
    print(f"\nlengths of {name}, all different")
    print("pieces  lengths  best fit  rolls  bound  over  proved  cutting")
    first = 0.0
    for count in COUNTS:
        random = Random(count)
        lengths = [random.randint(low * FT, high * FT) for _ in range(count)]
        found, seconds = timed(lengths)
        first = first or seconds
        print(f"{told(lengths, found, seconds)}  {seconds / first:8.1f} times the first")


if __name__ == "__main__":
    projects()
    by_size()
    for spread in SPREADS:
        by_count(*spread)
