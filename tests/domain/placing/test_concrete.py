"""Concrete for a zone: exact volumes, steps of an order, loads and the time between trucks."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.placing.concrete import BadConcrete, needed, plan, say_volume, step_m3
from service.domain.words.measures import Units

INCH = 25_400_000
SQUARE_FOOT = 0.3048**2
YARD = Fraction(9144, 10_000) ** 3
UNITS = st.sampled_from(["us", "metric"])


def yards(feet2: float, inches: int, mpct: int) -> tuple[float, float, float]:
    found = needed(feet2 * SQUARE_FOOT, inches * INCH, mpct)
    return float(found.net / YARD), float(found.allowed / YARD), float(found.ordered / YARD)


def test_square_feet_by_inches_over_324_are_cubic_yards() -> None:
    """A ready-mix producer's page on ordering."""
    for feet2, inches in ((320, 4), (1000, 5), (5000, 6), (81, 4)):
        assert yards(feet2, inches, 0)[0] == pytest.approx(feet2 * inches / 324, rel=1e-12)


def test_an_exact_quarter_is_ordered_as_it_is_and_a_hair_more_is_not() -> None:
    """81 sq ft at 4 in is exactly 1 cu yd; its area, worked out in floats, may come a hair over."""
    area = 81 * SQUARE_FOOT
    assert needed(area * (1 + 1e-12), 4 * INCH, 0).ordered == YARD
    assert needed(area * (1 - 1e-12), 4 * INCH, 0).ordered == YARD
    assert needed(area * 1.001, 4 * INCH, 0).ordered == YARD * Fraction(5, 4)


@given(st.floats(0.01, 1e5), st.integers(1_000_000, 600_000_000), st.integers(0, 100_000), UNITS)
def test_what_is_ordered_is_enough_and_less_than_a_step_too_much(
    area: float, thickness: int, mpct: int, units: Units
) -> None:
    found, step = needed(area, thickness, mpct, units), step_m3(units)
    assert found.ordered % step == 0
    assert found.net <= found.allowed <= found.ordered + step / 1000
    assert found.ordered == step or found.ordered < found.allowed + step


@given(st.floats(1, 1e4), st.integers(1, 20), st.integers(2, 12), st.integers(5, 80))
def test_the_loads_carry_the_order_and_the_last_is_what_is_left(
    area: float, inches: int, truck: int, rate: int
) -> None:
    found = plan(area, inches * INCH, 5_000, f"{truck} cu yd", f"{rate} cu yd")
    assert found.loads is not None
    assert found.last_load is not None
    assert (found.loads - 1) * truck * YARD + found.last_load == found.ordered
    assert 0 < found.last_load <= truck * YARD
    assert found.minutes_between == Fraction(60 * truck, rate)
    assert found.hours == found.ordered / YARD / rate


def test_a_ten_yard_truck_at_forty_yards_an_hour_comes_every_quarter_of_an_hour() -> None:
    """Arithmetic by hand: 60 minutes over 4 trucks an hour."""
    found = plan(5000 * SQUARE_FOOT, 6 * INCH, 5_000, "10 cu yd", "40 cu yd")
    assert found.loads == 10
    assert found.minutes_between == 15
    assert found.last_load == YARD * Fraction("7.25")


def test_a_metric_project_orders_quarters_of_a_cubic_metre() -> None:
    """Common practice, no source."""
    found = plan(100.0, 125_000_000, 0, "8 m3", "", "metric")
    assert say_volume(found.ordered, "metric") == "12.5 m³"
    assert needed(100.01, 125_000_000, 0, "metric").ordered == Fraction("12.75")


def test_without_a_truck_or_a_rate_there_are_no_loads_or_times() -> None:
    found = plan(100.0, 4 * INCH, 0, "", "")
    assert (found.loads, found.last_load, found.minutes_between, found.hours) == (None,) * 4
    assert plan(100.0, 4 * INCH, 0, "10 cu yd", "").loads


def test_a_slab_under_three_and_a_half_inches_is_told() -> None:
    """IBC 1910.1: no slab on ground under 3 1/2 in."""
    assert plan(10.0, 7 * INCH // 2 - 1, 0, "", "").thin
    assert not plan(10.0, 7 * INCH // 2, 0, "", "").thin


@pytest.mark.parametrize(
    ("area", "thickness", "mpct", "truck", "rate", "code"),
    [
        (10.0, 0, 0, "", "", "thickness"),
        (10.0, -1, 0, "", "", "thickness"),
        (10.0, 11_000_000_000, 0, "", "", "thickness"),
        (0.0, INCH, 0, "", "", "area"),
        (float("nan"), INCH, 0, "", "", "area"),
        (float("inf"), INCH, 0, "", "", "area"),
        (10.0, INCH, -1, "", "", "allowance"),
        (10.0, INCH, 100_001, "", "", "allowance"),
        (10.0, INCH, 0, "10", "", "truck"),
        (10.0, INCH, 0, "0 cu yd", "", "truck"),
        (10.0, INCH, 0, "", "fast", "rate"),
        (1e6, INCH, 0, "0.1 cu yd", "", "too-many-loads"),
    ],
)
def test_what_cannot_be_placed_is_refused_with_its_reason(
    area: float, thickness: int, mpct: int, truck: str, rate: str, code: str
) -> None:
    with pytest.raises(BadConcrete, match=r"\.$") as bad:
        plan(area, thickness, mpct, truck, rate)
    assert bad.value.code == code


def test_volumes_are_said_to_the_hundredth_without_idle_noughts() -> None:
    assert say_volume(YARD * Fraction("97.2222"), "us") == "97.22 cu yd"
    assert say_volume(YARD * 1000, "us") == "1,000 cu yd"
    assert say_volume(Fraction("4.5"), "metric") == "4.5 m³"
