"""Damp air: vapour pressure at saturation and the dew point, for what evaporates and where water condenses.

Estimates in floats; what is compared with a reading comes back as whole thousandths of a degree.
"""

from __future__ import annotations

import math

from service.domain.rule_sheet import vapor
from service.domain.words.temperatures import FREEZING_MF

COLDEST_C, HOTTEST_C = -100.0, 200.0
# Hyland and Wexler 1983 over ice, -100 to 0 °C, as in the ASHRAE handbook of fundamentals (from memory; the
# tests check it against a psychrometrics library).
_OVER_ICE = (-5.6745359e3, 6.3925247, -9.6778430e-3, 6.2215701e-7, 2.0747825e-9, -9.4840240e-13, 4.1635019)
# Magnus over water, coefficients of the World Meteorological Organization: only where the search begins.
_MAGNUS, _MAGNUS_C, _MAGNUS_PA = 17.62, 243.12, 611.2
# Pa a degree at standard pressure (FAO-56 chapter 3, ventilated psychrometer, from memory).
_PSYCHROMETER_PA = 0.000662 * vapor.STANDARD_PRESSURE_PA
_MOST_COOLING_C, _HALVINGS = 60.0, 30
_STEPS = 6  # Newton's on a nearly straight line: the test against the library holds that they are enough


def celsius(mf: int) -> float:
    """Degrees Celsius of thousandths of a degree Fahrenheit."""
    return (mf - FREEZING_MF) / 1800


def saturation_pa(c: float) -> float:
    """Vapour pressure at saturation, Pa, over ice below 0 °C; ValueError outside -100 to 200 °C."""
    if c >= 0:
        return vapor.saturation_pa(c)
    if c < COLDEST_C:
        raise ValueError("the formula holds from -100 to 200 °C")
    c1, c2, c3, c4, c5, c6, c7 = _OVER_ICE
    t = c + vapor.ZERO_CELSIUS_K
    return math.exp(c1 / t + c2 + c3 * t + c4 * t**2 + c5 * t**3 + c6 * t**4 + c7 * math.log(t))


def dew_point_c(air_c: float, humidity: float) -> float:
    """Where this air would be saturated, °C; `humidity` is a ratio above 0 and up to 1, else ValueError.

    Below 0 °C it is the frost point. Never warmer than the air, nor colder than the formula reaches.
    """
    if not 0 < humidity <= 1:
        raise ValueError("the dew point asks for a relative humidity above 0 and up to 1")
    sought = math.log(humidity * saturation_pa(air_c))
    magnus = sought - math.log(_MAGNUS_PA)
    found = max(_MAGNUS_C * magnus / (_MAGNUS - magnus), COLDEST_C)
    for _ in range(_STEPS):
        rise = _MAGNUS * _MAGNUS_C / (_MAGNUS_C + found) ** 2
        found -= (math.log(saturation_pa(found)) - sought) / rise
        found = min(max(found, COLDEST_C), HOTTEST_C)
    return min(found, air_c)


def after_fog_mf(air_mf: int, humidity_mpct: int, fogged_mpct: int) -> int:
    """How cold fog makes the air that it brings to `fogged_mpct`; unchanged where the air is damper.

    The water takes its heat from the air: so much less vapour pressure a degree as the psychrometer has it.
    """
    if humidity_mpct >= fogged_mpct:
        return air_mf
    air_c, damp, fogged = celsius(air_mf), humidity_mpct / 100_000, fogged_mpct / 100_000
    held = damp * saturation_pa(air_c) + _PSYCHROMETER_PA * air_c
    low, high = max(COLDEST_C, air_c - _MOST_COOLING_C), air_c
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        short = fogged * saturation_pa(middle) + _PSYCHROMETER_PA * middle < held
        low, high = (middle, high) if short else (low, middle)
    return round(high * 1800) + FREEZING_MF


def dew_point_mf(air_mf: int, humidity_mpct: int) -> int | None:
    """The dew point in thousandths of a degree Fahrenheit, rounded up; None in air without any vapour."""
    if humidity_mpct == 0:
        return None
    if humidity_mpct == 100_000:
        return air_mf
    found = dew_point_c(celsius(air_mf), humidity_mpct / 100_000)
    return min(air_mf, math.ceil(found * 1800) + FREEZING_MF)
