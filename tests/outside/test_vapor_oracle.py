"""Vapour pressure, perms and flux against a psychrometrics library and a table of physical constants.

The library (PsychroLib, MIT) follows the ASHRAE handbook and holds the same correlation, so the published
values of the trade table's test stand beside it. The fluxes go the inch-pound way here: psi, grains, feet.
"""

from __future__ import annotations

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from service.domain.rule_sheet.film_class import parse_permeance, parse_tensile
from service.domain.rule_sheet.vapor import (
    flux,
    lb_per_1000_sq_ft_day,
    metric_perms,
    ng_of_perms,
    saturation_pa,
)

TENTHS_OF_A_DEGREE = range(1, 601)  # 0.1 to 60.0 °C; at 0 the library turns to ice
INCH_OF_MERCURY_PA = 25.4 * constants.mmHg
PSI_PER_INCH_OF_MERCURY = INCH_OF_MERCURY_PA / constants.psi


def over_water_pa(celsius: float) -> float:
    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetSatVapPres(celsius))


def vapor_psi(fahrenheit: float, ratio: float) -> float:
    psychrolib.SetUnitSystem(psychrolib.IP)
    return float(psychrolib.GetVapPresFromRelHum(fahrenheit, ratio))


def test_saturation_pressure_agrees_from_freezing_to_sixty() -> None:
    for tenths in TENTHS_OF_A_DEGREE:
        celsius = tenths / 10
        assert saturation_pa(celsius) == pytest.approx(over_water_pa(celsius), rel=3e-4), celsius


def test_saturation_pressure_agrees_in_inch_pound_units() -> None:
    for fahrenheit in range(33, 141):
        theirs = vapor_psi(fahrenheit, 1) * constants.psi
        assert saturation_pa((fahrenheit - 32) / 1.8) == pytest.approx(theirs, rel=5e-4), fahrenheit


def test_saturation_pressure_at_boiling_is_one_atmosphere() -> None:
    """Water boils at 99.97 °C under one standard atmosphere (ITS-90; from memory)."""
    assert saturation_pa(99.974) == pytest.approx(constants.atm, rel=1e-3)


def test_a_perm_is_one_grain_an_hour_a_square_foot_and_inch_of_mercury() -> None:
    """From the definition by a table of constants; inches of mercury at 0 °C."""
    si = constants.grain / (constants.hour * constants.foot**2 * INCH_OF_MERCURY_PA)
    assert ng_of_perms(1_000_000) == pytest.approx(si * 1e12, rel=1e-5)


def test_a_metric_perm_is_one_gram_a_day_a_square_metre_and_millimetre_of_mercury() -> None:
    si = 1e-3 / (constants.day * constants.mmHg)
    assert metric_perms(1_000_000) == pytest.approx(ng_of_perms(1_000_000) * 1e-12 / si, rel=1e-5)
    assert parse_permeance("1 metric perm") == pytest.approx(si * 1e12 / 57.2135 * 1e6, rel=1e-5)


def test_pounds_force_an_inch_are_newtons_a_metre() -> None:
    """From the definition by a table of constants, both ways within a thousandth of lbf/in."""
    for pounds in (13.6, 30.0, 45.0, 100.0):
        kilonewtons = pounds * constants.lbf / constants.inch / 1000
        assert parse_tensile(f"{kilonewtons:.9f} kN/m") == pytest.approx(pounds * 1000, abs=1.01)


@given(
    st.integers(1_000, 1_000_000),
    st.floats(0.5, 60), st.floats(0, 1), st.floats(0.5, 60), st.floats(0, 1),
)  # fmt: skip
def test_flux_agrees_with_the_inch_pound_way(
    up: int, warm: float, damp: float, cool: float, dry: float
) -> None:
    """Perms times inches of mercury is grains an hour a square foot; 7,000 grains are a pound."""
    drive = vapor_psi(warm * 1.8 + 32, damp) - vapor_psi(cool * 1.8 + 32, dry)
    grains = up / 1e6 * drive / PSI_PER_INCH_OF_MERCURY
    theirs = grains / 7000 * 24 * 1000
    ours = lb_per_1000_sq_ft_day(flux(up, warm, damp, cool, dry))
    most = up / 1e6 * 60 / 7000 * 24 * 1000  # at most 60 inches of mercury at these temperatures
    assert ours == pytest.approx(theirs, rel=1e-3, abs=most * 2e-5)
