"""How fast water leaves fresh concrete: two published estimates, how far they may be out, and the limits.

A screening guide for people (ACI 305R): the formulas know no sun and no mix. Nothing here holds anything up.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from service.domain.weather.air import celsius, saturation_pa
from service.domain.words.measures import Units
from service.domain.words.speech import later, tr

Standing = Literal["under", "near", "over"]

# Actual and estimated rates lie up to 40 % apart (Hover, ACI SP-338, 2020, abstract).
OUT_BY = 0.4
UNCERTAINTY = later(
    "Estimated by the formulas of Menzel (1954, as in ACI 305R, from memory) and of Uno (ACI Materials "
    "Journal 95-M34, 1998). The real rate can lie 40 % below or above (Hover, ACI SP-338, 2020, abstract): "
    "the formulas know nothing of sun or mix. Look at the slab as well."
)
WIND_HEIGHT = later(
    "The formulas ask for the wind at 20 in (0.5 m) above the slab. A weather station measures higher up, "
    "where the wind is usually stronger: such a reading is used as it is, and the rate comes out high rather "
    "than low."
)
PA_PER_PSI = 6894.757  # one pound-force a square inch (from memory)
KM_PER_MILE = 1.609344  # exact by definition (1959 agreement)


class BadLimit(ValueError):
    """A limit nobody named; the sentence is for people."""


@dataclass(frozen=True, slots=True)
class Rate:
    """One estimate by both formulas, lb/ft²/h (us) or kg/m²/h (metric), with the ends of what it may be."""

    menzel: float
    uno: float
    low: float
    high: float
    units: Units

    @property
    def worse(self) -> float:
        """The larger of the two estimates: the one a limit is held against."""
        return max(self.menzel, self.uno)


@dataclass(frozen=True, slots=True)
class Limit:
    """Where precautions begin. Each system of units has the figure printed for it: neither is converted."""

    name: str
    label: str
    us: Fraction
    si: Fraction
    source: str

    def of(self, units: Units) -> Fraction:
        """In lb/ft²/h or kg/m²/h."""
        return self.us if units == "us" else self.si


_RECALLED = later("limits some specifications set for mixes that bleed little, from memory")
# A slab directly on film bleeds upward only, so mixes that bleed little are usual there: it comes first.
LIMITS = {
    limit.name: limit
    for limit in (
        Limit(
            "directly on film", later("Slab directly on film"),
            Fraction("0.1"), Fraction("0.5"), later("common practice, no source"),
        ),
        Limit(
            "silica fume", later("Mix with silica fume"),
            Fraction("0.1"), Fraction("0.5"), later("Silica Fume Association, half of the ACI limit"),
        ),
        Limit(
            "low bleed 0.15", later("Mix that bleeds little"),
            Fraction("0.15"), Fraction("0.75"), _RECALLED,
        ),
        Limit(
            "low bleed 0.05", later("Mix that hardly bleeds"),
            Fraction("0.05"), Fraction("0.25"), _RECALLED,
        ),
        Limit(
            "usual", later("Other mixes, not directly on film"),
            Fraction("0.2"), Fraction("1"), later("ACI 305R and 308, by the Silica Fume Association"),
        ),
    )
}  # fmt: skip


def limit_of(name: str) -> Limit:
    """The limit of this name; BadLimit where there is none."""
    if name not in LIMITS:
        raise BadLimit(tr("Choose one of the limits of the list."))
    return LIMITS[name]


def evaporation(
    concrete_mf: int, air_mf: int, humidity_mpct: int, wind_mmph: int, units: Units = "us"
) -> Rate:
    """The rate from temperatures, humidity and the wind 20 in above the slab; never below nothing.

    Temperatures in thousandths of °F, humidity in thousandths of a percent, wind in thousandths of mph.
    """
    damp, mph = humidity_mpct / 100_000, wind_mmph / 1000
    pull_pa = saturation_pa(celsius(concrete_mf)) - damp * saturation_pa(celsius(air_mf))
    if units == "us":
        menzel = menzel_us(pull_pa / PA_PER_PSI, mph)
        uno = uno_us(concrete_mf / 1000, air_mf / 1000, damp, mph)
    else:
        menzel = menzel_si(pull_pa / 1000, mph * KM_PER_MILE)
        uno = uno_si(celsius(concrete_mf), celsius(air_mf), damp, mph * KM_PER_MILE)
    least, most = sorted((menzel, uno))
    return Rate(menzel, uno, least * (1 - OUT_BY), most * (1 + OUT_BY), units)


def menzel_us(pull_psi: float, mph: float) -> float:
    """lb/ft²/h from the difference of vapour pressures in psi (inches of mercury would double it).

    Menzel 1954, as in ACI 305R (from memory).
    """
    return max(0.0, 0.44 * pull_psi * (0.253 + 0.096 * mph))


def menzel_si(pull_kpa: float, kmh: float) -> float:
    """kg/m²/h from kPa and km/h (Menzel's formula in Uno's metric form, from memory)."""
    return max(0.0, 0.315 * pull_kpa * (0.253 + 0.060 * kmh))


def uno_us(concrete_f: float, air_f: float, damp: float, mph: float) -> float:
    """lb/ft²/h (the inch-pound form of Uno's formula, from memory)."""
    return max(0.0, (_curve(concrete_f) - damp * _curve(air_f)) * (1 + 0.4 * mph) * 1e-6)


def uno_si(concrete_c: float, air_c: float, damp: float, kmh: float) -> float:
    """kg/m²/h (P. Uno, ACI Materials Journal 95-M34, 1998)."""
    return max(0.0, 5 * (_curve(concrete_c + 18) - damp * _curve(air_c + 18)) * (kmh + 4) * 1e-6)


def _curve(degrees: float) -> float:
    """The formula stands in for a vapour pressure by this power; below its zero the vapour counts as none."""
    return float(max(0.0, degrees) ** 2.5)


def over(rate: Rate, limit: Limit) -> bool:
    """Whether precautions are due: exactly at the limit they are (sources say exceeds and approaches)."""
    return _reaches(rate.worse, limit.of(rate.units))


def standing(rate: Rate, limit: Limit) -> Standing:
    """`over` as above; `near` where only the high end of what the rate may be reaches the limit."""
    if over(rate, limit):
        return "over"
    return "near" if _reaches(rate.high, limit.of(rate.units)) else "under"


def _reaches(value: float, limit: Fraction) -> bool:
    """Compared in whole millionths, far finer than the estimate, so that no float decides at the limit."""
    return round(value * 1_000_000) >= limit * 1_000_000
