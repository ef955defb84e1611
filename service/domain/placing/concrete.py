"""How much concrete a zone takes, in how many loads, and how far apart they come: exact, rounded up to order.

Volumes are exact cubic metres. An area worked out from a sketch is a float: what exceeds a step of the order
by less than a thousandth of that step is such an area's noise, and asks for no further step.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from service.domain.words.measures import NM_PER_INCH, NM_PER_M, Units
from service.domain.words.speech import later, tr, trc
from service.domain.words.volume import CUBIC, BadVolume, cubic_metres

ALLOWANCE_SOURCE = later(
    "5 to 10 %: a ready-mix producer's page; on rough ground 10 to 15 %: common practice, no source"
)
LEAST_SLAB_NM = 7 * NM_PER_INCH // 2  # 3 1/2 in (IBC 1910.1)
MOST_ALLOWANCE_MPCT, MOST_LOADS = 100_000, 10_000
THICKEST_NM = 10 * NM_PER_M
_NOISE = Fraction(1, 1000)


class BadConcrete(ValueError):
    """A plan that cannot be worked out: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class Needed:
    """Exact cubic metres: of the slab, with the allowance, and as ordered in whole steps."""

    net: Fraction
    allowed: Fraction
    ordered: Fraction


@dataclass(frozen=True, slots=True)
class ConcretePlan:
    """What is ordered and how it comes; `thin` where the slab is under what the building code asks.

    None where the truck or the rate is not told.
    """

    net: Fraction
    allowed: Fraction
    ordered: Fraction
    loads: int | None
    last_load: Fraction | None
    minutes_between: Fraction | None
    hours: Fraction | None
    thin: bool


def step_m3(units: Units) -> Fraction:
    """The step of an order in cubic metres: a quarter of a cubic yard (a ready-mix producer's page), or of a
    cubic metre (common practice, no source)."""
    return CUBIC["yd" if units == "us" else "m"] / 4


def needed(area_m2: float, thickness_nm: int, allowance_mpct: int, units: Units = "us") -> Needed:
    """The concrete of a slab; the allowance in thousandths of a percent. BadConcrete says what is amiss."""
    _check(area_m2, thickness_nm, allowance_mpct)
    net = Fraction(area_m2) * Fraction(thickness_nm, NM_PER_M)
    allowed = net * (1 + Fraction(allowance_mpct, 100_000))
    step = step_m3(units)
    steps = max(1, math.ceil(allowed / step - _NOISE))
    return Needed(net, allowed, steps * step)


def _check(area_m2: float, thickness_nm: int, allowance_mpct: int) -> None:
    if not 0 < area_m2 < math.inf:
        raise BadConcrete("area", tr("There is no area to place concrete on."))
    if thickness_nm <= 0:
        raise BadConcrete("thickness", tr("A slab has a thickness above 0: with none there is no concrete."))
    if thickness_nm > THICKEST_NM:
        raise BadConcrete("thickness", tr("That is thicker than any slab: check the number and its unit."))
    if not 0 <= allowance_mpct <= MOST_ALLOWANCE_MPCT:
        raise BadConcrete("allowance", tr("An allowance lies between 0 and 100 percent."))


def plan(
    area_m2: float, thickness_nm: int, allowance_mpct: int, truck: str, rate: str, units: Units = "us"
) -> ConcretePlan:
    """Loads and the time between trucks: `truck` is what one carries, `rate` what is placed in an hour.

    Both are volumes as people write them (`10 cu yd`), or empty. BadConcrete names the first thing amiss.
    """
    found = needed(area_m2, thickness_nm, allowance_mpct, units)
    load, hourly = _volume("truck", truck), _volume("rate", rate)
    loads = math.ceil(found.ordered / load) if load else None
    if loads and loads > MOST_LOADS:
        raise BadConcrete(
            "too-many-loads", tr("That is more than ten thousand loads: check the truck's volume.")
        )
    return ConcretePlan(
        net=found.net,
        allowed=found.allowed,
        ordered=found.ordered,
        loads=loads,
        last_load=found.ordered - (loads - 1) * load if load and loads else None,
        minutes_between=load / hourly * 60 if load and hourly else None,
        hours=found.ordered / hourly if hourly else None,
        thin=thickness_nm < LEAST_SLAB_NM,
    )


def _volume(code: str, text: str) -> Fraction | None:
    if not text.strip():
        return None
    try:
        return cubic_metres(text)
    except BadVolume as bad:
        raise BadConcrete(code, str(bad)) from bad


def say_volume(m3: Fraction, units: Units) -> str:
    """`97.22 cu yd` or `74.33 m³`, to the nearest hundredth, without idle noughts."""
    exact, unit = (m3 / CUBIC["yd"], trc("unit", "cu yd")) if units == "us" else (m3, "m³")
    return f"{round(float(exact), 2):,.2f}".rstrip("0").rstrip(".") + f" {unit}"
