"""The laps of a layout as seams that a crew walks: one line a lap, each piece within one zone."""

from __future__ import annotations

import math

import pytest

from service.domain.nouns.installed import END_LAP, SIDE_LAP
from service.domain.sheets.layout import LaidSeam
from service.domain.sheets.seam_pieces import in_zones, lap_lines
from tests.builders import FOOT_NM

FT = float(FOOT_NM)
LEFT = [(0.0, 0.0), (80 * FT, 0.0), (80 * FT, 60 * FT), (0.0, 60 * FT)]
RIGHT = [(80 * FT, 0.0), (160 * FT, 0.0), (160 * FT, 60 * FT), (80 * FT, 60 * FT)]


def lap(kind: str, *places: float) -> LaidSeam:
    """From x, y to x, y in feet."""
    ax, ay, bx, by = (place * FT for place in places)
    return LaidSeam(kind, ((ax, ay), (bx, by)), 2, 1, FOOT_NM // 2)


def feet(path: tuple[tuple[float, float], ...]) -> list[float]:
    return [round(value / FT, 6) for point in path for value in point]


def test_a_side_lap_that_end_laps_cut_into_pieces_is_one_seam() -> None:
    pieces = [lap(SIDE_LAP, 40, 15, 80, 15), lap(SIDE_LAP, 0, 15, 40.5, 15), lap(END_LAP, 40, 0, 40, 15)]
    told = [(kind, feet(path)) for kind, path in lap_lines(pieces)]
    assert told == [(SIDE_LAP, [0, 15, 80, 15]), (END_LAP, [40, 0, 40, 15])]


def test_side_laps_apart_by_an_opening_stay_two_seams() -> None:
    told = lap_lines([lap(SIDE_LAP, 0, 15, 30, 15), lap(SIDE_LAP, 50, 15, 80, 15)])
    assert [feet(path) for _, path in told] == [[0, 15, 30, 15], [50, 15, 80, 15]]


@pytest.mark.parametrize("turn", [0, 17, 90, 133.7])
def test_laps_join_along_any_direction(turn: float) -> None:
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def turned(x: float, y: float) -> tuple[float, float]:
        return x * c - y * s, x * s + y * c

    ends = [(0, 20), (20, 41), (41, 90)]
    laid = [lap(SIDE_LAP, *turned(a, 15), *turned(b, 15)) for a, b in ends]
    ((_, path),) = lap_lines(laid)
    assert math.dist(*path) / FT == pytest.approx(90, abs=1e-6)


def test_a_seam_is_cut_where_it_leaves_a_zone_and_lost_where_no_zone_is() -> None:
    whole = ((-10 * FT, 30 * FT), (170 * FT, 30 * FT))
    found = [(ring, feet((a, b))) for ring, a, b in in_zones(whole, [LEFT, RIGHT])]
    assert found == [(0, [0, 30, 80, 30]), (1, [80, 30, 160, 30])]


def test_a_seam_along_a_shared_joint_is_drawn_once_in_the_first_zone() -> None:
    joint = ((80 * FT, 0.0), (80 * FT, 60 * FT))
    assert [ring for ring, _, _ in in_zones(joint, [LEFT, RIGHT])] == [0]


def test_a_zone_left_and_entered_again_has_two_seams() -> None:
    notched = [*LEFT[:1], (30 * FT, 0), (30 * FT, 40 * FT), (50 * FT, 40 * FT), (50 * FT, 0), *LEFT[1:]]
    found = [feet((a, b)) for _, a, b in in_zones(((0, 20 * FT), (80 * FT, 20 * FT)), [notched])]
    assert found == [[0, 20, 30, 20], [50, 20, 80, 20]]
