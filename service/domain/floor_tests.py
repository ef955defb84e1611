"""What moisture tests a floor needs before its covering goes on: how many by area, how deep, against what.

Laptight does not measure the slab. The counts are least numbers of the standards, worked out from areas that
are exact: a zone's corners and the sketch's scale are whole numbers, so no float decides at a limit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from service.domain.measures import NM_PER_FOOT, NM_PER_M, Units
from service.domain.site import Px, Scale

# Where each value comes from, and how sure that is.
CHECKLIST = "ASTM F2170, as told by a checklist of 2018"
SCOPE = "ASTM F1869-11, its scope"
SURE_MEMORY = "from memory, high confidence, not verified"
MEMORY = "from memory, not verified"
WITHHELD = "seen on trade pages whose address is withheld"

# ASTM F2170: 3 tests for the first 1000 ft² (100 m²), then at least 1 for each further 1000 ft² (a checklist
# of 2018). ASTM F1869 counts alike (from memory, high confidence). The 100 m² is the source's own metric
# value, and larger than 1000 ft²; a metric project keeps it for every further step as well.
FIRST = 3
STEP_NM2: dict[Units, int] = {"us": 1000 * NM_PER_FOOT**2, "metric": 100 * NM_PER_M**2}
SAY_STEP: dict[Units, str] = {"us": "1,000 sq ft", "metric": "100 m²"}

# 40 % of the slab's thickness where it dries from its top alone, as on a retarder; 20 % where both faces dry
# (ASTM F2170, as told by a checklist of 2018).
DEPTH_ON_RETARDER, DEPTH_BOTH_FACES = Fraction(40, 100), Fraction(20, 100)


@dataclass(frozen=True, slots=True)
class Said:
    """One thing a standard asks or says, and where it comes from."""

    term: str
    words: str
    source: str


def floor_area(ring: Sequence[Px], scale: Scale) -> Fraction:
    """Square nanometres inside a ring of whole thousandths of a pixel, exactly. ValueError where the two
    points of the scale are one."""
    (ax, ay), (bx, by) = scale.a, scale.b
    apart = (bx - ax) ** 2 + (by - ay) ** 2
    if apart == 0:
        raise ValueError("the two points of a scale must lie apart")
    twice = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], ring[0]), strict=True))
    return Fraction(abs(twice) * scale.distance_nm**2, 2 * apart)


def count_for(area_nm2: Fraction | int, units: Units) -> int:
    """The least number of tests for a floor of this many square nanometres. ValueError for no area."""
    if area_nm2 <= 0:
        raise ValueError("a floor has an area")
    step = STEP_NM2[units]
    if area_nm2 <= step:
        return FIRST
    return FIRST + math.ceil(Fraction(area_nm2 - step) / step)


def say_floor(area_nm2: Fraction | int, units: Units) -> str:
    """`1,001 sq ft` or `101 m²`, rounded up, so that the number shown never asks for fewer tests."""
    each, unit = (NM_PER_FOOT**2, "sq ft") if units == "us" else (NM_PER_M**2, "m²")
    return f"{math.ceil(Fraction(area_nm2) / each):,} {unit}"


def depth_of(thickness_nm: int, share: Fraction = DEPTH_ON_RETARDER) -> Fraction:
    """How far below the slab's top the probe sits, in nanometres."""
    return thickness_nm * share


def rule_words(units: Units) -> str:
    """How the count goes, in a sentence."""
    step = SAY_STEP[units]
    return f"At least {FIRST} for the first {step}, then at least 1 for each further {step} or part of it."


_EXAMPLE: dict[Units, str] = {"us": "2 in in a slab 5 in thick", "metric": "50 mm in a slab 125 mm thick"}
# 3 lb is 169.5 and 5 lb 282.5 µg/(s m²) (worked out; ASTM F1869 prints 170, from memory).
_LEAST: dict[Units, str] = {
    "us": "3 lb for 1,000 sq ft in 24 h; also 5 lb",
    "metric": "3 lb for 1,000 sq ft in 24 h, about 170 µg/(s m²); also 5 lb, about 283 µg/(s m²)",
}


def in_slab(units: Units) -> tuple[Said, ...]:
    """The relative humidity test in the slab (ASTM F2170): what it asks, with its source."""
    return (
        Said("Gives", "relative humidity in the slab, in percent", "ASTM F2170-19a, its scope"),
        Said("How many", rule_words(units), CHECKLIST),
        Said(
            "How deep",
            "40 % of the slab's thickness below its top where it dries from the top alone, as a slab on a "
            f"retarder does: {_EXAMPLE[units]}. 20 % where both faces dry.",
            CHECKLIST,
        ),
        Said("Before it", "the floor at the conditions it will serve in for 48 h", CHECKLIST),
        Said("Wait", "24 h, in editions from about 2018", CHECKLIST),
        Said("Wait, older editions", "72 h, in its editions of 2009 and 2011", WITHHELD),
        Said("Probe", "checked within the last 30 days", CHECKLIST),
        Said("Common limit", "75 % where nothing else is stated, by ASTM F710", SURE_MEMORY),
        Said("Limits by product", "80, 85 or 90 %; they range from 75 to 90 %", WITHHELD),
    )


def emission(units: Units) -> tuple[Said, ...]:
    """The emission test on the slab's face (ASTM F1869): what it asks, with its source."""
    return (
        Said("Gives", "vapor that leaves the slab, in lb for 1,000 sq ft in 24 h", f"{SCOPE}, 1.4"),
        Said("How many", rule_words(units), SURE_MEMORY),
        Said("How deep", "on the slab's face", SCOPE),
        Said(
            "Before it",
            "48 h at the conditions of use, or at 75 ± 10 °F (24 ± 6 °C) and 50 ± 10 % relative humidity",
            SURE_MEMORY,
        ),
        Said("Wait", "60 to 72 h of exposure", WITHHELD),
        Said("Scale", "reads to 0.1 g", MEMORY),
        Said(
            "Not for",
            "concrete of lightweight aggregate or gypsum, nor over coatings or patching",
            f"{SCOPE}, 1.2 and 1.3",
        ),
        Said("Common limit", _LEAST[units], "a magazine on punctured retarders"),
    )


# What nobody may conclude from this page.
LIMITS_OF_THIS = (
    "Laptight does not measure the slab. Nothing on this page says how wet it is, or that it is dry enough "
    "to cover.",
    "The limit that counts is the one of the maker of the floor covering and of its adhesive, and the method "
    "is the one they name. The limits told here are common ones, for planning.",
    "Whole film under a slab does not show that the slab is dry: the water it was mixed with still has to "
    "leave, and can leave at its top alone.",
    "The counts are the least that the standards ask. Wet places, joints and edges may ask for more.",
)
