"""The heat index of the crew's day and what each band of it asks for. Guidance: it holds nothing up."""

from __future__ import annotations

import math
from typing import Literal

from service.domain.words.speech import later

Band = Literal["lower", "moderate", "high", "very high"]

# OSHA, Using the Heat Index. Bounds in thousandths of °F; 103 is named by two bands and counts as the higher;
# very high begins past 115.
MODERATE_MF, HIGH_MF, VERY_HIGH_MF = 91_000, 103_000, 115_000

# The bands are OSHA's; what to do in each is common practice, no source.
BAND_WORDS: dict[Band, str] = {
    "lower": later(
        "Heat: lower risk. Have drinking water at hand, and look out for whoever is new to the heat."
    ),
    "moderate": later("Heat: moderate risk. Drink water often, rest in the shade, and work in pairs."),
    "high": later(
        "Heat: high risk. Plan breaks in the shade, move heavy work to the cool hours, and watch one another."
    ),
    "very high": later(
        "Heat: very high risk. Put off heavy work, rest far more than usual, and leave nobody alone."
    ),
}
SUN = later(
    "The heat index (US National Weather Service; bands by OSHA) is told for shade. In full sun it can be up "
    "to 15 °F higher (from memory), and dark film adds to it. Confusion, fainting or very hot skin: call for "
    "help at once, and cool the person."
)

# Rothfusz (US National Weather Service, Weather Prediction Center, The Heat Index Equation):
# constant, T, R, TR, TT, RR, TTR, TRR, TTRR
_ROTHFUSZ = (
    -42.379, 2.04901523, 10.14333127, -0.22475541, -6.83783e-3, -5.481717e-2, 1.22874e-3, 8.5282e-4, -1.99e-6,
)  # fmt: skip


def heat_index_f(air_mf: int, humidity_mpct: int) -> float:
    """The heat index in °F, for shade; under 80 °F by the simple formula that goes before the equation."""
    t, r = air_mf / 1000, humidity_mpct / 1000
    simple = (t + 0.5 * (t + 61 + (t - 68) * 1.2 + r * 0.094)) / 2
    return simple if simple < 80 else _regression(t, r)


def _regression(t: float, r: float) -> float:
    c, ct, cr, ctr, ctt, crr, cttr, ctrr, cttrr = _ROTHFUSZ
    index = c + ct * t + cr * r + ctr * t * r + ctt * t * t + crr * r * r
    index += cttr * t * t * r + ctrr * t * r * r + cttrr * t * t * r * r
    if r < 13 and 80 <= t <= 112:
        index -= (13 - r) / 4 * math.sqrt((17 - abs(t - 95)) / 17)
    elif r > 85 and 80 <= t <= 87:
        index += (r - 85) / 10 * (87 - t) / 5
    return index


def band(index_f: float) -> Band:
    """Which band this index lies in, compared in whole thousandths of a degree."""
    mf = round(index_f * 1000)
    if mf > VERY_HIGH_MF:
        return "very high"
    if mf >= HIGH_MF:
        return "high"
    return "moderate" if mf >= MODERATE_MF else "lower"
