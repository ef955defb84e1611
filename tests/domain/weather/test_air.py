"""Damp air: what the published tables hold of saturation and dew point, and where the dew point cannot be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.weather.air import after_fog_mf, celsius, dew_point_c, dew_point_mf, saturation_pa

TEMPERATURES = st.integers(-60_000, 140_000)
HUMIDITIES = st.integers(100, 100_000)


@pytest.mark.parametrize(("c", "pa"), [(0, 611.2), (-10, 259.9), (-20, 103.3), (-40, 12.85)])
def test_over_ice_the_pressure_is_the_handbooks(c: float, pa: float) -> None:
    """ASHRAE handbook of fundamentals, table of saturation over ice (from memory, four figures)."""
    assert saturation_pa(c) == pytest.approx(pa, rel=2e-3)


def test_water_and_ice_meet_at_freezing() -> None:
    assert saturation_pa(-1e-9) == pytest.approx(saturation_pa(0), rel=2e-4)


@pytest.mark.parametrize("c", [-100.1, 200.1])
def test_past_its_range_the_formula_says_so(c: float) -> None:
    with pytest.raises(ValueError, match="formula holds"):
        saturation_pa(c)


@pytest.mark.parametrize("humidity", [0, -0.1, 1.1])
def test_a_dew_point_asks_for_a_humidity_that_can_be(humidity: float) -> None:
    with pytest.raises(ValueError, match="relative humidity"):
        dew_point_c(20, humidity)


def test_air_without_vapour_has_no_dew_point_and_saturated_air_its_own() -> None:
    assert dew_point_mf(70_000, 0) is None
    assert dew_point_mf(70_123, 100_000) == 70_123
    assert dew_point_mf(0, 1) == -148_000, "as cold as the formula reaches, -100 °C"


@given(TEMPERATURES, HUMIDITIES)
def test_the_dew_point_is_never_above_the_air_and_never_rounded_down(air_mf: int, mpct: int) -> None:
    found = dew_point_mf(air_mf, mpct)
    assert found is not None
    assert found <= air_mf
    held = mpct / 100_000 * saturation_pa(celsius(air_mf))
    blur = 2e-4 if abs(found - 32_000) < 100 else 1e-9  # water and ice part by so much at freezing
    assert saturation_pa(celsius(found)) >= held * (1 - blur)
    assert saturation_pa(celsius(found - 1)) <= held * (1 + blur)


@given(TEMPERATURES, HUMIDITIES, HUMIDITIES)
def test_damper_air_has_no_lower_dew_point(air_mf: int, one: int, two: int) -> None:
    drier, damper = sorted((one, two))
    assert (dew_point_mf(air_mf, drier) or 0) <= (dew_point_mf(air_mf, damper) or 0) + 1


def test_fog_cools_the_air_it_dampens_and_leaves_damper_air_alone() -> None:
    """70 °F at 40 %: its wet bulb is 55.8 °F on a psychrometric chart (from memory); 90 % stops short."""
    assert after_fog_mf(70_000, 40_000, 100_000) == pytest.approx(55_800, abs=500)
    assert 55_800 < after_fog_mf(70_000, 40_000, 90_000) < 60_000
    assert after_fog_mf(70_000, 95_000, 90_000) == 70_000
