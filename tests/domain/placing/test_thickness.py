"""Thickness readings of a slab on ground, judged by ACI 117-10 section 4.5.4 (a magazine's account of it)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.placing.thickness import FAULT_WORDS, BadThickness, judge

INCH = 25_400_000
SPECIFIED = 4 * INCH
READINGS = st.lists(st.integers(INCH, 9 * INCH), min_size=1, max_size=12)


def faults(*inches: float) -> tuple[str, ...]:
    return judge([round(Fraction(str(inch)) * INCH) for inch in inches], SPECIFIED).faults


def test_exactly_at_each_limit_passes_and_a_nanometre_less_does_not() -> None:
    """Not more than 3/8 in thin on average, and no sample more than 3/4 in thin."""
    on_average, alone = SPECIFIED - 3 * INCH // 8, SPECIFIED - 3 * INCH // 4
    assert judge([on_average], SPECIFIED).meets
    assert judge([on_average - 1], SPECIFIED).faults == ("average-thin",)
    assert judge([alone, 5 * INCH], SPECIFIED).meets
    assert judge([alone - 1, 5 * INCH], SPECIFIED).faults == ("sample-thin",)


def test_a_thick_place_makes_up_for_no_more_than_three_quarters_of_an_inch() -> None:
    """ACI 117-06, from memory: 8 and three of 3.4 count as 4.75 and three of 3.4, 3.7375 on average."""
    assert faults(8, 3.4, 3.4, 3.4) == ()
    assert faults(8, 3.3, 3.3, 3.3, 3.3) == ("average-thin",)
    assert judge([8 * INCH], SPECIFIED).average_nm == SPECIFIED + 3 * INCH // 4


def test_both_faults_are_told_at_once_and_each_has_its_words() -> None:
    assert faults(3, 3.2, 3.5) == ("average-thin", "sample-thin")
    assert set(FAULT_WORDS) == {"no-readings", "average-thin", "sample-thin"}


def test_no_readings_never_pass() -> None:
    verdict = judge([], SPECIFIED)
    assert not verdict.meets
    assert verdict.faults == ("no-readings",)


@pytest.mark.parametrize(
    ("readings", "specified", "code"),
    [([INCH, 0], INCH, "zero"), ([-1], INCH, "zero"), ([INCH], 0, "specified")],
)
def test_a_thickness_of_nothing_is_refused_with_its_reason(
    readings: list[int], specified: int, code: str
) -> None:
    with pytest.raises(BadThickness, match="0") as bad:
        judge(readings, specified)
    assert bad.value.code == code


@given(READINGS, st.integers(0, 20), st.integers(1, INCH))
def test_a_thicker_reading_never_makes_a_verdict_worse(readings: list[int], at: int, more: int) -> None:
    before = judge(readings, SPECIFIED)
    readings[at % len(readings)] += more
    assert set(judge(readings, SPECIFIED).faults) <= set(before.faults)


@given(READINGS)
def test_the_order_of_readings_changes_nothing_and_the_average_is_never_flattered(
    readings: list[int],
) -> None:
    verdict = judge(readings, SPECIFIED)
    assert judge(readings[::-1], SPECIFIED) == verdict
    assert verdict.average_nm * len(readings) <= sum(readings)
    assert verdict.thinnest_nm == min(readings)
