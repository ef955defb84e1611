"""A zone's sides as typed off a plan: exact at right angles, closing told, every fault named by its side."""

from __future__ import annotations

import math

import pytest

from service.domain.sketch.typed_sides import read_sides, run_of
from service.domain.words.refusals import BadInput

FOOT_NM = 304_800_000  # 12 in of exactly 25.4 mm (1959 yard and pound agreement; from memory)


def test_a_side_runs_as_it_says() -> None:
    assert read_sides("right 20 ft\nDown 12'-6\"; left 1 ft 3 in\nup 150 mm") == (
        (20 * FOOT_NM, 0),
        (0, 12 * FOOT_NM + FOOT_NM // 2),
        (-FOOT_NM - FOOT_NM // 4, 0),
        (0, -150_000_000),
    )


def test_two_legs_on_a_line_are_one_slanted_side() -> None:
    assert read_sides("right 6 ft down 2 ft") == ((6 * FOOT_NM, 2 * FOOT_NM),)
    assert read_sides("left 6 ft, up 2 ft") == ((-6 * FOOT_NM, -2 * FOOT_NM),)


@pytest.mark.parametrize("written", ["90° 8 ft", "at 90 deg 8 ft", "-270 degrees 8 ft", "90,0° 8 ft"])
def test_ninety_degrees_is_exactly_down(written: str) -> None:
    assert read_sides(written) == ((0, 8 * FOOT_NM),)


def test_an_angle_turns_clockwise_from_right() -> None:
    ((across, down),) = read_sides("30° 8 ft")
    assert across == pytest.approx(8 * FOOT_NM * math.cos(math.radians(30)), abs=1)
    assert down == pytest.approx(8 * FOOT_NM * math.sin(math.radians(30)), abs=1)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("", "Write one side a line"),
        (" \n ; ", "Write one side a line"),
        ("20 ft", "Side 1"),
        ("right 20 ft\nsideways 3 ft", "Side 2"),
        ("right 20 ft\ndown 3", "Side 2, after “down”: 3 of what?"),
        ("right -3 ft", "no plus or minus sign"),
        ("right 3 ft left 3 ft", "ends where it began"),
        ("right", "Side 1, after “right”"),
        ("right 1 in\n" * 201, "At most 200 sides"),
        ("right " + "9" * 5000 + " ft", "Side 1"),
    ],
)
def test_what_cannot_be_read_names_its_side(written: str, told: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_sides(written)
    assert told in refused.value.fields["sides"]


def test_a_run_that_comes_back_within_an_inch_leaves_its_last_corner_out() -> None:
    sides = read_sides("right 10 ft\ndown 10 ft\nleft 10 ft\nup 9 ft 11 in")
    run = run_of((5_000, 7_000), sides, FOOT_NM / 10)  # 10 px are a foot
    assert run.closed and run.gap_nm == FOOT_NM // 12
    assert run.corners == ((5_000, 7_000), (105_000, 7_000), (105_000, 107_000), (5_000, 107_000))


def test_an_inch_and_a_sixteenth_more_is_a_side_of_its_own() -> None:
    run = run_of((0, 0), read_sides("right 10 ft\ndown 10 ft\nleft 10 ft\nup 9 ft 10 15/16 in"), FOOT_NM / 10)
    assert not run.closed and len(run.corners) == 5
    assert run.back == (0, -(FOOT_NM // 12 + FOOT_NM // 192))
