"""What a hole passes in still air, between bounds that physics gives, and never as an excuse."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.rule_sheet.vapor import (
    LIMITS_IN_WORDS,
    equal_film_area_m2,
    flux,
    hole_conductance,
    permeability_of_air,
    saturation_pa,
)
from service.domain.shapes.outlines import Circle, Polygon, Rectangle, Slit

INCH = 25_400_000
SIZES = st.integers(INCH // 64, 100 * INCH)


def test_a_round_hole_is_exact() -> None:
    found = equal_film_area_m2(Circle(5 * INCH // 8), 100_000)
    assert found.low_m2 == found.high_m2
    assert found.low_m2 == pytest.approx(hole_conductance(5 * INCH // 8) / 5.72135e-12, rel=1e-9)


def test_the_area_grows_as_the_film_gets_tighter() -> None:
    loose, tight = (equal_film_area_m2(Circle(INCH), up) for up in (100_000, 10_000))
    assert tight.low_m2 == pytest.approx(10 * loose.low_m2)


def test_a_square_lies_between_the_discs_of_its_area_and_of_its_corners() -> None:
    square = equal_film_area_m2(Rectangle(INCH, INCH), 100_000)
    one = equal_film_area_m2(Circle(INCH), 100_000).low_m2
    assert square.low_m2 == pytest.approx(one * 2 / math.sqrt(math.pi))
    assert square.high_m2 == pytest.approx(one * math.sqrt(2))


def test_a_known_conductance_lies_within_the_bounds() -> None:
    """The capacity of a unit square plate is 0.3667892 (Hwang and Mascagni 2004, from memory), that of a disc
    2 r / pi, both in units of 4 pi epsilon: conductance through the openings goes with it."""
    as_a_disc = 0.3667892 * math.pi  # the diameter of the disc that passes as much, in sides
    one = equal_film_area_m2(Circle(INCH), 100_000).low_m2
    square = equal_film_area_m2(Rectangle(INCH, INCH), 100_000)
    assert square.low_m2 < as_a_disc * one < square.high_m2


@given(SIZES, SIZES)
def test_an_ellipse_of_known_conductance_lies_within_the_bounds(length: int, width: int) -> None:
    """An elliptic opening passes 2 δ · (pi/2) a / K(k) (Jeans, electricity and magnetism; from memory), K by
    the arithmetic-geometric mean. The ellipse is drawn by a polygon of 720 corners."""
    a, b = max(length, width) / 2, min(length, width) / 2
    mean, other = a, b
    for _ in range(60):
        mean, other = (mean + other) / 2, math.sqrt(mean * other)
    known = permeability_of_air(20) * 2 * mean / 1e9 / 5.72135e-12  # (pi/2) a / K(k) is the mean of a and b
    points = [(a * math.cos(t), b * math.sin(t)) for t in (math.pi * i / 360 for i in range(720))]
    found = equal_film_area_m2(Polygon(tuple((round(x), round(y)) for x, y in points)), 100_000)
    assert found.low_m2 * 0.999 <= known <= found.high_m2 * 1.001


def test_a_closed_cut_runs_from_nothing_to_the_disc_on_its_length() -> None:
    found = equal_film_area_m2(Slit(30 * INCH, 0), 100_000)
    assert found.low_m2 == 0
    assert found.high_m2 == pytest.approx(equal_film_area_m2(Circle(30 * INCH), 100_000).high_m2)


@given(SIZES, SIZES, st.integers(-90, 90))
def test_turning_a_hole_changes_nothing(length: int, width: int, degrees: int) -> None:
    still, turned = (
        equal_film_area_m2(Rectangle(length, width, angle * 1_000_000), 50_000) for angle in (0, degrees)
    )
    assert turned == still
    assert still.low_m2 <= still.high_m2


def test_a_polygon_of_a_rectangles_corners_is_that_rectangle() -> None:
    box = equal_film_area_m2(Rectangle(4 * INCH, 2 * INCH), 100_000)
    points = ((-2 * INCH, -INCH), (2 * INCH, -INCH), (2 * INCH, INCH), (-2 * INCH, INCH))
    drawn = equal_film_area_m2(Polygon(points), 100_000)
    assert (drawn.low_m2, drawn.high_m2) == pytest.approx((box.low_m2, box.high_m2))


def test_film_that_passes_nothing_has_no_equal_area() -> None:
    with pytest.raises(ValueError, match="more than nothing"):
        equal_film_area_m2(Circle(INCH), 0)


@pytest.mark.parametrize("celsius", [-0.1, 200.1, float("nan")])
def test_the_formula_is_not_asked_outside_its_range(celsius: float) -> None:
    with pytest.raises(ValueError, match="0 to 200"):
        saturation_pa(celsius)


@pytest.mark.parametrize("ratios", [(50, 0.5), (0.5, -0.1), (float("nan"), 0.5)])
def test_humidity_in_per_cent_is_refused_where_a_ratio_is_asked(ratios: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="ratio"):
        flux(100_000, 20, ratios[0], 20, ratios[1])


def test_vapor_goes_back_when_the_room_is_the_damper_side() -> None:
    out, back = flux(100_000, 23, 0.5, 20, 1), flux(100_000, 20, 1, 23, 0.5)
    assert out == -back < 0


def test_the_limits_are_said_with_the_number() -> None:
    for word in ("still air", "liquid water", "soil gas", "never a reason to leave a hole"):
        assert word in LIMITS_IN_WORDS
