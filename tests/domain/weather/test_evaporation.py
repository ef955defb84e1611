"""Evaporation from fresh concrete: two formulas, how far out they may be, and the limits in both systems."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.weather.evaporation import LIMITS, BadLimit, Rate, evaporation, limit_of, over, standing
from service.domain.words.measures import Units

MF = st.integers(33_000, 130_000)
MPCT = st.integers(0, 100_000)
MMPH = st.integers(0, 60_000)
US, METRIC = "us", "metric"


def at(worse: float, units: Units = "us") -> Rate:
    """A rate of just this much by both formulas, with nothing said of how far it may be out."""
    return Rate(worse, worse, worse, worse, units)


def test_the_limit_for_concrete_directly_on_film_is_offered_first() -> None:
    """Such a slab bleeds upward only; silica-fume concrete is held to the same (Silica Fume Association)."""
    first = next(iter(LIMITS.values()))
    assert (first.name, first.us, first.si) == ("directly on film", Fraction(1, 10), Fraction(1, 2))
    assert first.us < LIMITS["usual"].us


def test_every_limit_has_its_own_figure_in_each_system_and_says_where_it_is_from() -> None:
    """0.2 lb/ft²/h would convert to 0.976 kg/m²/h; the sources print 1.0, and that is what holds."""
    assert [(limit.us, limit.si) for limit in LIMITS.values()] == [
        (Fraction("0.1"), Fraction("0.5")),
        (Fraction("0.1"), Fraction("0.5")),
        (Fraction("0.15"), Fraction("0.75")),
        (Fraction("0.05"), Fraction("0.25")),
        (Fraction("0.2"), Fraction(1)),
    ]
    assert all(limit.source for limit in LIMITS.values())
    assert all(name == limit.name for name, limit in LIMITS.items())


@pytest.mark.parametrize("units", [US, METRIC])
@pytest.mark.parametrize("name", list(LIMITS))
def test_exactly_the_limit_warns_and_a_thousandth_less_does_not(name: str, units: Units) -> None:
    limit = limit_of(name)
    exactly = float(limit.of(units))
    assert over(at(exactly, units), limit)
    assert over(at(exactly - 1e-12, units), limit), "a float's last digit decides nothing"
    assert not over(at(exactly * 0.999, units), limit)


def test_a_metric_rate_is_held_against_the_metric_figure() -> None:
    assert not over(at(0.99, "metric"), LIMITS["usual"])
    assert over(at(1.0, "metric"), LIMITS["usual"])
    assert over(at(0.99, "us"), LIMITS["usual"])


def test_near_the_limit_is_where_the_rate_may_really_reach_it() -> None:
    """Actual and estimated rates lie up to 40 % apart (Hover, ACI SP-338, 2020, abstract)."""
    limit = LIMITS["usual"]
    assert standing(Rate(0.14, 0.13, 0.08, 0.2, "us"), limit) == "near"
    assert standing(Rate(0.14, 0.13, 0.08, 0.19, "us"), limit) == "under"
    assert standing(Rate(0.1, 0.2, 0.06, 0.28, "us"), limit) == "over", "the worse of the two formulas counts"


def test_a_limit_nobody_named_is_refused() -> None:
    with pytest.raises(BadLimit, match="list"):
        limit_of("0.3")


@given(MF, MF, MPCT, MMPH, st.sampled_from([US, METRIC]))
def test_a_rate_is_between_its_ends_and_never_below_nothing(
    concrete: int, air: int, damp: int, wind: int, units: Units
) -> None:
    rate = evaporation(concrete, air, damp, wind, units)
    least, most = min(rate.menzel, rate.uno), max(rate.menzel, rate.uno)
    assert 0 <= rate.low <= least <= most <= rate.high
    assert rate.low == pytest.approx(0.6 * least)
    assert rate.high == pytest.approx(1.4 * most)


@given(MF, MF, MPCT, MMPH, st.integers(1, 20_000), st.sampled_from([US, METRIC]))
def test_the_rate_rises_with_wind_and_with_warm_concrete_and_falls_with_damp(
    concrete: int, air: int, damp: int, wind: int, more: int, units: Units
) -> None:
    """Physics; strictly wherever anything evaporates at all."""
    rate = evaporation(concrete, air, damp, wind, units)
    windier = evaporation(concrete, air, damp, wind + more, units)
    damper = evaporation(concrete, air, min(100_000, damp + more), wind, units)
    warmer = evaporation(concrete + more, air, damp, wind, units)
    for name in ("menzel", "uno"):
        before = getattr(rate, name)
        if before > 1e-6:
            assert getattr(windier, name) > before
            assert getattr(warmer, name) > before
        assert getattr(damper, name) <= before


@given(MF, st.integers(0, 60_000))
def test_nothing_evaporates_into_saturated_air_as_warm_as_the_concrete(mf: int, wind: int) -> None:
    rate = evaporation(mf, mf, 100_000, wind)
    assert rate.menzel == pytest.approx(0, abs=1e-12)
    assert rate.uno == pytest.approx(0, abs=1e-12)


def test_deep_frost_is_answered_too() -> None:
    """A power of a temperature under the curve's zero would be no number."""
    assert evaporation(40_000, -40_000, 50_000, 20_000).worse > 0
    assert evaporation(-60_000, -60_000, 50_000, 20_000, "metric").low >= 0


@given(
    st.integers(59_000, 95_000),
    st.integers(59_000, 95_000),
    st.integers(20_000, 80_000),
    st.integers(3_000, 19_000),
)
def test_the_two_systems_of_units_tell_the_same_weather(
    concrete: int, air: int, damp: int, wind: int
) -> None:
    """1 lb/ft²/h is 4.8824 kg/m²/h; each system has its own printed, rounded form: up to 6 % apart."""
    us, metric = evaporation(concrete, air, damp, wind), evaporation(concrete, air, damp, wind, "metric")
    if metric.menzel > 0.1 and metric.uno > 0.1:
        assert us.menzel * 4.8824 == pytest.approx(metric.menzel, rel=0.02)
        assert us.uno * 4.8824 == pytest.approx(metric.uno, rel=0.10)
