"""A stretch of edge as told: which sides, how long, how it stands, which zones lie beyond it.

The zone is a square of 40 ft at 10 px to the foot; what is expected is worked out by hand.
"""

from __future__ import annotations

import pytest

from service.domain.installed.stretches import neighbours_along, path_nm, sides_of, whole_sides

FOOT = 304_800_000
PER_PX = FOOT / 10
SQUARE = ((0, 0), (400_000, 0), (400_000, 400_000), (0, 400_000))
RIGHT = ((400_000, 0), (400_000, 400_000))


def ring(left: float, top: float, right: float, bottom: float) -> tuple[tuple[int, int], ...]:
    """A rectangle by its sides in feet."""
    west, north, east, south = (round(feet * 10_000) for feet in (left, top, right, bottom))
    return (west, north), (east, north), (east, south), (west, south)


@pytest.mark.parametrize(
    ("path", "sides", "whole", "feet"),
    [
        (RIGHT, (2,), True, 40),
        (((400_000, 0), (400_000, 100_000)), (2,), False, 10),
        (((0, 400_000), (0, 0), (400_000, 0)), (4, 1), True, 80),
        (((0, 100_000), (0, 0), (100_000, 0)), (4, 1), False, 20),
        (((0, 50_000), (400_000, 50_000)), (), False, 40),
    ],
)
def test_a_path_is_told_by_the_sides_it_lies_along(
    path: tuple[tuple[int, int], ...], sides: tuple[int, ...], whole: bool, feet: int
) -> None:
    assert sides_of(SQUARE, path, PER_PX) == sides
    assert whole_sides(SQUARE, path, PER_PX) is whole
    assert path_nm(path, PER_PX) == feet * FOOT


@pytest.mark.parametrize(
    ("beside", "named"),
    [
        (ring(40, 0, 80, 40), True),
        (ring(40, 30, 80, 70), True),  # along ten feet of it
        (ring(40.25, 0, 80, 40), True),  # pressed 3 in off
        (ring(41, 0, 80, 40), False),  # a foot off: another wall stands between
        (ring(40, 40, 80, 80), False),  # meets at its corner
        (ring(0, 40, 40, 80), False),  # along another side
        (ring(0, -40, 40, 0), False),
        (((400_000, 200_000), (800_000, 0), (800_000, 400_000)), False),  # touches with one corner
    ],
)
def test_a_zone_beyond_a_joint_is_named_where_it_runs_along_it(
    beside: tuple[tuple[int, int], ...], named: bool
) -> None:
    assert neighbours_along(RIGHT, {"C": beside}, PER_PX) == (("C",) if named else ())
