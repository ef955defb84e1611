"""The walk order against shortest walks from integer programs, with ways round walls from another search.

Outside source: `tests/outside/walk_oracle.py`, SciPy's HiGHS and graph search; nothing of service/ is in it.
The long campaign: tests/long/test_long_walk.py.
"""

from __future__ import annotations

import numpy as np
import pytest

from service.domain.walk.bound import shortest_is_at_least
from service.domain.walk.order import MILLI, least_to_walk, walk_order
from tests.domain.walk.walk_zones import NM_PER_PX, random_zone
from tests.outside.walk_oracle import distances_round, shortest_length

PER = NM_PER_PX / MILLI
# Ways turn off the ends of walls by a sixteenth of an inch here, by an eighth there: that much a turn.
TURN_NM = 3_175_000
NEAR_BEST = 1.02


def best(seed: int, marks: int, walls: int) -> tuple[float, float, int]:
    """(the walk told, the shortest there is, the bound told) of a random zone, in nanometres.

    Zones in which walls close something off are for other tests.
    """
    stops, start, drawn = random_zone(seed, marks, walls)
    found = walk_order(stops, start, drawn, NM_PER_PX)
    assert not found.beyond, "choose another seed"
    places = [(x * PER, y * PER) for x, y in (start, *(stop.at for stop in stops))]
    lines = [((ax * PER, ay * PER), (bx * PER, by * PER)) for (ax, ay), (bx, by) in drawn]
    shortest = shortest_length(distances_round(places, lines, TURN_NM))
    return found.length_nm, shortest, least_to_walk(stops, start, drawn, NM_PER_PX)


@pytest.mark.parametrize(("seed", "marks"), [(11, 5), (12, 8), (13, 10), (14, 12), (15, 13), (16, 12)])
def test_up_to_thirteen_marks_no_walk_is_shorter(seed: int, marks: int) -> None:
    told, shortest, bound = best(seed, marks, 7)
    assert abs(told - shortest) <= 4 * marks * TURN_NM
    assert bound == told


@pytest.mark.parametrize(("seed", "marks", "walls"), [(21, 25, 0), (22, 25, 12), (23, 40, 8)])
def test_more_marks_are_walked_within_two_in_a_hundred_of_the_shortest(
    seed: int, marks: int, walls: int
) -> None:
    told, shortest, bound = best(seed, marks, walls)
    assert shortest - 4 * marks * TURN_NM <= told <= NEAR_BEST * shortest
    assert bound <= told
    assert bound <= shortest + 4 * marks * TURN_NM, "no bound lies above a walk that there is"


@pytest.mark.parametrize(("seed", "marks"), [(31, 6), (32, 15), (33, 25)])
def test_the_bound_lies_below_the_shortest_walk_whatever_longer_one_is_known(seed: int, marks: int) -> None:
    stops, start, _ = random_zone(seed, marks, 0)
    spots = np.array([start, *(stop.at for stop in stops)]) * PER
    far = np.ceil(np.hypot(*(spots[:, None] - spots[None, :]).transpose(2, 0, 1))).astype(np.int64)
    shortest = shortest_length(far)
    bound = shortest_is_at_least(far, round(1.3 * shortest))
    assert 0.95 * shortest < bound <= shortest
    far[0, 1:] = far[1:, 0] = 0  # nobody said where they stand
    shortest = shortest_length(far)
    assert 0.9 * shortest < shortest_is_at_least(far, round(1.3 * shortest)) <= shortest
