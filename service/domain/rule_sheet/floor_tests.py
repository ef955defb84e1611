"""What moisture tests a floor needs before its covering goes on: how many by area, how deep, against what.

Laptight does not measure the slab. The counts are least numbers of the standards, worked out from areas that
are exact: a zone's corners and the sketch's scale are whole numbers, so no float decides at a limit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from service.domain.nouns.site import Px, Scale
from service.domain.words.measures import NM_PER_FOOT, NM_PER_M, Units
from service.domain.words.speech import later, tr, trc

# Where each value comes from, and how sure that is.
CHECKLIST = later("ASTM F2170, as told by a checklist of 2018")
SCOPE = later("ASTM F1869-11, its scope")
SURE_MEMORY = later("from memory, high confidence, not verified")
MEMORY = later("from memory, not verified")
WITHHELD = later("seen on trade pages whose address is withheld")

# ASTM F2170: 3 tests for the first 1000 ft² (100 m²), then at least 1 for each further 1000 ft² (a checklist
# of 2018). ASTM F1869 counts alike (from memory, high confidence). The 100 m² is the source's own metric
# value, and larger than 1000 ft²; a metric project keeps it for every further step as well.
FIRST = 3
STEP_NM2: dict[Units, int] = {"us": 1000 * NM_PER_FOOT**2, "metric": 100 * NM_PER_M**2}
_SAY_STEP: dict[Units, int] = {"us": 1000, "metric": 100}

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
    each = NM_PER_FOOT**2 if units == "us" else NM_PER_M**2
    return f"{math.ceil(Fraction(area_nm2) / each):,} {_unit(units)}"


def _unit(units: Units) -> str:
    return trc("unit", "sq ft") if units == "us" else "m²"


def depth_of(thickness_nm: int, share: Fraction = DEPTH_ON_RETARDER) -> Fraction:
    """How far below the slab's top the probe sits, in nanometres."""
    return thickness_nm * share


def rule_words(units: Units) -> str:
    """How the count goes, in a sentence."""
    return tr(
        "At least {first} for the first {step}, then at least 1 for each further {step} or part of it.",
        first=FIRST,
        step=f"{_SAY_STEP[units]:,} {_unit(units)}",
    )


_EXAMPLE: dict[Units, str] = {
    "us": later("2 in in a slab 5 in thick"),
    "metric": later("50 mm in a slab 125 mm thick"),
}
# 3 lb is 169.5 and 5 lb 282.5 µg/(s m²) (worked out; ASTM F1869 prints 170, from memory).
_LEAST: dict[Units, str] = {
    "us": later("3 lb for 1,000 sq ft in 24 h; also 5 lb"),
    "metric": later("3 lb for 1,000 sq ft in 24 h, about 170 µg/(s m²); also 5 lb, about 283 µg/(s m²)"),
}


def in_slab(units: Units) -> tuple[Said, ...]:
    """The relative humidity test in the slab (ASTM F2170): what it asks, with its source."""
    return (
        Said(tr("Gives"), tr("relative humidity in the slab, in percent"), tr("ASTM F2170-19a, its scope")),
        Said(tr("How many"), rule_words(units), tr(CHECKLIST)),
        Said(
            tr("How deep"),
            tr(
                "40 % of the slab's thickness below its top where it dries from the top alone, as a slab on "
                "a retarder does: {example}. 20 % where both faces dry.",
                example=tr(_EXAMPLE[units]),
            ),
            tr(CHECKLIST),
        ),
        Said(tr("Before it"), tr("the floor at the conditions it will serve in for 48 h"), tr(CHECKLIST)),
        Said(tr("Wait"), tr("24 h, in editions from about 2018"), tr(CHECKLIST)),
        Said(tr("Wait, older editions"), tr("72 h, in its editions of 2009 and 2011"), tr(WITHHELD)),
        Said(tr("Probe"), tr("checked within the last 30 days"), tr(CHECKLIST)),
        Said(tr("Common limit"), tr("75 % where nothing else is stated, by ASTM F710"), tr(SURE_MEMORY)),
        Said(tr("Limits by product"), tr("80, 85 or 90 %; they range from 75 to 90 %"), tr(WITHHELD)),
    )


def emission(units: Units) -> tuple[Said, ...]:
    """The emission test on the slab's face (ASTM F1869): what it asks, with its source."""
    return (
        Said(
            tr("Gives"), tr("vapor that leaves the slab, in lb for 1,000 sq ft in 24 h"), f"{tr(SCOPE)}, 1.4"
        ),
        Said(tr("How many"), rule_words(units), tr(SURE_MEMORY)),
        Said(tr("How deep"), tr("on the slab's face"), tr(SCOPE)),
        Said(
            tr("Before it"),
            tr("48 h at the conditions of use, or at 75 ± 10 °F (24 ± 6 °C) and 50 ± 10 % relative humidity"),
            tr(SURE_MEMORY),
        ),
        Said(tr("Wait"), tr("60 to 72 h of exposure"), tr(WITHHELD)),
        Said(trc("test", "Scale"), tr("reads to 0.1 g"), tr(MEMORY)),
        Said(
            tr("Not for"),
            tr("concrete of lightweight aggregate or gypsum, nor over coatings or patching"),
            tr("{source}, 1.2 and 1.3", source=tr(SCOPE)),
        ),
        Said(tr("Common limit"), tr(_LEAST[units]), tr("a magazine on punctured retarders")),
    )


# What nobody may conclude from this page.
LIMITS_OF_THIS = (
    later(
        "Laptight does not measure the slab. Nothing on this page says how wet it is, or that it is dry "
        "enough to cover."
    ),
    later(
        "The limit that counts is the one of the maker of the floor covering and of its adhesive, and the "
        "method is the one they name. The limits told here are common ones, for planning."
    ),
    later(
        "Whole film under a slab does not show that the slab is dry: the water it was mixed with still has "
        "to leave, and can leave at its top alone."
    ),
    later("The counts are the least that the standards ask. Wet places, joints and edges may ask for more."),
)


def limits() -> tuple[str, ...]:
    """The same, said."""
    return tuple(tr(told) for told in LIMITS_OF_THIS)
