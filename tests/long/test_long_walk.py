"""The campaign behind tests/outside/test_walk_oracle.py: twenty random zones each of 12 to 100 marks.

The walk is held against the shortest one over the same table of distances, by integer programs (HiGHS).
"""

from __future__ import annotations

import statistics

import pytest

from service.domain.walk import order as walk
from tests.domain.walk.walk_zones import NM_PER_PX, random_zone
from tests.outside.walk_oracle import shortest_length

ZONES = 20
NEAR_BEST = 1.02


def over_the_shortest(seed: int, marks: int, walls: int) -> tuple[float, float]:
    """How much longer the walk told is than the shortest, and how far below that the bound lies, in parts."""
    stops, start, drawn = random_zone(seed, marks, walls)
    found = walk.walk_order(stops, start, drawn, NM_PER_PX)
    table = walk._table(tuple(stops), start, tuple(sorted(drawn)), NM_PER_PX)[2]
    shortest = shortest_length(table)
    bound = walk.least_to_walk(stops, start, drawn, NM_PER_PX)
    return found.length_nm / shortest - 1, 1 - bound / shortest


@pytest.mark.parametrize(("marks", "walls"), [(12, 8), (25, 12), (50, 16), (100, 20)])
def test_walks_come_within_two_in_a_hundred_of_the_shortest(marks: int, walls: int) -> None:
    found = [over_the_shortest(marks * 1000 + n, marks, walls) for n in range(ZONES)]
    over, below = zip(*found, strict=True)
    told = f"{marks} marks: longest {max(over):.4%}, middle {statistics.median(over):.4%} over the shortest; "
    print(told + f"bound at most {max(below):.4%}, middle {statistics.median(below):.4%} below it")
    assert max(over) <= NEAR_BEST - 1
    assert min(below) >= -1e-9, "no bound lies above the shortest walk"
