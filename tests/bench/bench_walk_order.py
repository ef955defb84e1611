"""How long ordering the marks of a zone takes, and how near the walk comes to a length none comes below.

Ratios against 100 marks; nothing passes or fails. `.venv/bin/python -m tests.bench.bench_walk_order`
"""

from __future__ import annotations

import time

from service.domain.walk.bound import shortest_is_at_least
from service.domain.walk.order import _table, walk_order
from tests.domain.walk.walk_zones import NM_PER_PX, random_zone

SIZES = ((12, 8), (100, 20), (500, 20), (500, 60))


def measured(marks: int, walls: int) -> tuple[float, float, float]:
    """(seconds for the order, of these for the ways round walls, the walk over the bound)."""
    stops, start, drawn = random_zone(marks, marks, walls)
    begun = time.process_time()
    found = walk_order(stops, start, drawn, NM_PER_PX)
    ordered = time.process_time() - begun
    begun = time.process_time()
    table = _table(tuple(stops), start, tuple(sorted(drawn)), NM_PER_PX)[2]
    ways = time.process_time() - begun
    return ordered, ways, found.length_nm / shortest_is_at_least(table, found.length_nm) - 1


def main() -> None:
    found = {size: measured(*size) for size in SIZES}
    usual = found[(100, 20)][0]
    print("marks  walls  order   against 100 marks  ways round walls  over the bound")
    for (marks, walls), (ordered, ways, over) in found.items():
        print(
            f"{marks:5}  {walls:5}  {ordered:5.2f} s  {ordered / usual:17.2f}  {ways:14.2f} s  {over:13.2%}"
        )


if __name__ == "__main__":
    main()
