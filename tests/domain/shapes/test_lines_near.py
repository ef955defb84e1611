"""Which lines come near a shape: by hand, with the limit itself and one sixteenth past it."""

from __future__ import annotations

import pytest

from service.domain.shapes.lines_near import lines_within
from service.domain.shapes.outlines import Circle, Outline, Rectangle

INCH, SIXTEENTH = 25_400_000, 25_400_000 // 16
NM_PER_PX = 1_000.0  # a thousandth of a pixel is a nanometre
HOLE = Circle(2 * INCH)
LEVEL = Rectangle(2 * INCH, 2 * INCH)
ON_ITS_CORNER = Rectangle(2 * INCH, 2 * INCH, 45_000_000)


def upright(x: int) -> tuple[tuple[int, int], tuple[int, int]]:
    return (x, -100 * INCH), (x, 100 * INCH)


@pytest.mark.parametrize(
    ("outline", "reach"), [(HOLE, INCH), (LEVEL, INCH), (ON_ITS_CORNER, round(INCH * 2**0.5))]
)
def test_a_line_at_just_six_inches_is_near_and_a_sixteenth_farther_is_not(
    outline: Outline, reach: int
) -> None:
    far = 6 * INCH + reach
    lines = [upright(far + SIXTEENTH), upright(far), upright(-far), upright(-far - SIXTEENTH)]
    assert lines_within(outline, (0, 0), lines, NM_PER_PX, 6 * INCH) == (1, 2)


def test_a_line_through_the_shape_touches_it_and_one_beside_it_does_not() -> None:
    lines = [upright(4 * INCH), upright(5 * INCH + INCH // 2), upright(7 * INCH)]
    assert lines_within(LEVEL, (5 * INCH, 0), lines, NM_PER_PX, 0) == (0, 1)


def test_a_line_that_ends_before_the_shape_is_as_far_as_its_end() -> None:
    path = ((10 * INCH, 0), (5 * INCH, 0), (5 * INCH, 50 * INCH))
    assert lines_within(HOLE, (0, 0), [path], NM_PER_PX, 4 * INCH) == (0,)
    assert lines_within(HOLE, (0, 0), [path], NM_PER_PX, 4 * INCH - SIXTEENTH) == ()


def test_with_no_lines_none_is_near() -> None:
    assert lines_within(HOLE, (0, 0), [], NM_PER_PX, INCH) == ()
