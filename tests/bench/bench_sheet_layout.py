"""Film over the floor's area, how far it is from the least any layout could take, and the time it takes.

`.venv/bin/python -m tests.bench.bench_sheet_layout`. Both real plans (where they are beside the project) at
usual rolls of 200 ft that lap 6 in, along and across the sketch; slabs of 20 openings and 40 corners with
their sides along the placing direction, and askew. Times are of the processor. Nothing here passes or fails.
"""

from __future__ import annotations

import math
import time
from random import Random

from service.domain.sheets.layout import LayoutAsked, Ring, SheetLayout, costs, lay_out
from tests.outside.random_slabs import FT, IN, rectangle
from tests.outside.test_plans import plans

WIDTHS = (10, 12, 15, 20)  # ft; common practice, no source
SIZES = (500, 5_000, 50_000)  # m2


def asked(
    outline: Ring, openings: tuple[Ring, ...], width: int, degrees: float, grain: int = 2_540
) -> LayoutAsked:
    """Rolls so many feet wide."""
    udeg = round(degrees * 1e6)
    return LayoutAsked(
        (outline,), openings, (), width * FT, 200 * FT, 6 * IN, 6 * IN, udeg, "left", None, grain
    )


def slab(m2: float, seed: int = 1) -> tuple[Ring, tuple[Ring, ...]]:
    """About so many square metres: ten steps in each long side, openings from 1 to 8 m at 50,000 m2."""
    random = Random(seed)
    long, wide = math.sqrt(m2 * 1e18 / 0.85) * 1.25, math.sqrt(m2 * 1e18 / 0.85) / 1.25
    near = [(x, random.uniform(0, 0.15) * wide) for x in range(10)]
    far = [(x, wide - random.uniform(0, 0.15) * wide) for x in reversed(range(10))]
    step = long / 10
    outline = [point for x, y in near for point in ((x * step, y), ((x + 1) * step, y))]
    outline += [point for x, y in far for point in (((x + 1) * step, y), (x * step, y))]
    openings = []
    for i in range(20):
        w, h = (random.uniform(1, 8) * 1e9 * math.sqrt(m2 / 50_000) for _ in range(2))
        x = long * (i % 5 + 0.5) / 5 + random.uniform(-0.05, 0.05) * long
        y = wide * (0.25 + 0.17 * (i // 5))
        openings.append(rectangle(x, y, x + w, y + h))
    return tuple(outline), tuple(openings)


def over(layout: SheetLayout) -> str:
    """Film over the area, and over the bound."""
    return f"{layout.film_m2 / layout.area_m2:9.4f} {layout.film_m2 / layout.bound_m2 - 1:8.2%}"


def on_real_plans() -> None:
    print("plan              roll  way  sheets  seams  film/area  over the bound")
    for plan in plans():
        nm_per_px = 1e9 / plan["px_per_m"]
        outline = tuple((x * nm_per_px, y * nm_per_px) for x, y in plan["slab_outline_px"])
        for width in WIDTHS:
            for degrees in (0, 90):
                layout = lay_out(asked(outline, (), width, degrees, math.ceil(nm_per_px / 500)))
                told = f"{len(layout.sheets):6}  {len(layout.seams):5}  {over(layout)}"
                print(f"{plan['file']:16} {width:3} ft  {degrees:3}  {told}")


def taken(one: LayoutAsked) -> tuple[SheetLayout, float, float]:
    """(the layout, seconds for it, seconds for one offset as somebody drags it), the least of five."""
    whole, dragged = [], []
    for _ in range(5):
        begun = time.process_time()
        layout = lay_out(one)
        whole.append(time.process_time() - begun)
        begun = time.process_time()
        costs(one, [12_345])
        dragged.append(time.process_time() - begun)
    return layout, min(whole), min(dragged)


def by_size() -> None:
    print(
        "\nslab      way   sheets  seams  film/area  over the bound  layout      one offset  growth by area"
    )
    for degrees in (0.0, 90.0, 33.3):
        before = None
        for m2 in SIZES:
            layout, whole, dragged = taken(asked(*slab(m2), 15, degrees))
            growth = (
                "" if before is None else f"area^{math.log(whole / before[1]) / math.log(m2 / before[0]):.2f}"
            )
            told = f"{len(layout.sheets):6}  {len(layout.seams):5}  {over(layout)}"
            print(f"{m2:6} m2  {degrees:4}  {told}  {whole * 1e3:9.1f} ms  {dragged * 1e3:7.1f} ms  {growth}")
            before = (m2, whole)


if __name__ == "__main__":
    on_real_plans()
    by_size()
