"""What film was submitted: its numbers as typed, the class they show, and what the rule sheet finds wrong.

The classes are those of ASTM E1745 for sheet under slabs: A, B and C differ in strength alone and share one
limit of permeance. They are not the wall classes I, II and III of the building codes, which sort by permeance
and say nothing of strength: the two never stand in one list.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from service.domain.nouns.installed import FILM, Material
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.vapor import METRIC_PERMS_PER_PERM, NG_PER_PERM
from service.domain.words.measures import LONGEST_TEXT, NM_PER_INCH, BadLength, parse_length
from service.domain.words.speech import later, tr

MIL_NM = NM_PER_INCH // 1000
LBF_N = Fraction("4.4482216152605")  # exact by definition (0.45359237 kg at standard gravity)
N_PER_M_OF_LBF_PER_IN = LBF_N / Fraction("0.0254")
MOST_UP, MOST_MLBF_IN, MOST_G, MOST_NM = 100_000_000, 1_000_000, 100_000, 250 * MIL_NM

# ASTM E1745-09 and later: 0.1 perm for every class (limit seen in print; edition from memory). Editions to
# 1997 (2004) asked 0.3 perm, and old specifications still do.
CLASS_PERMEANCE_UP = 100_000


@dataclass(frozen=True, slots=True)
class Strength:
    """The least a class asks: tension in thousandths of lbf/in (ASTM E154 section 9), puncture in grams
    (falling dart, ASTM D1709)."""

    tensile_mlbf_in: int
    puncture_g: int


# ASTM E1745 table of classes (numbers seen on public pages; test methods from memory), strongest first.
STRENGTHS = {"A": Strength(45_000, 2200), "B": Strength(30_000, 1700), "C": Strength(13_600, 475)}
_RANK = {name: rank for rank, name in enumerate(STRENGTHS)}
_NO_CLASS = len(_RANK)

FAULT_WORDS = {
    "not-film": later("this material is not film"),
    "material-withdrawn": later("this material was withdrawn"),
    "class-not-shown": later("its permeance, tension and puncture are not all stated, so no class is shown"),
    "below-class": later("its numbers do not reach the class that the rule sheet asks for"),
    "claims-more-than-shown": later("it claims a class that its numbers do not show"),
    "thickness-not-shown": later("its thickness is not stated"),
    "too-thin": later("it is thinner than the rule sheet asks"),
    "permeance-not-shown": later("its permeance is not stated"),
    "too-permeable": later("it passes more vapor than the rule sheet allows"),
}


def class_of(permeance_up: int | None, tensile_mlbf_in: int | None, puncture_g: int | None) -> str:
    """`A`, `B` or `C`, the best that all three numbers reach; empty for none, and where one is not stated."""
    if permeance_up is None or tensile_mlbf_in is None or puncture_g is None:
        return ""
    if permeance_up > CLASS_PERMEANCE_UP:
        return ""
    for name, least in STRENGTHS.items():
        if tensile_mlbf_in >= least.tensile_mlbf_in and puncture_g >= least.puncture_g:
            return name
    return ""


def film_faults(material: Material, numbers: Numbers) -> tuple[str, ...]:
    """Why this material cannot be the film here, as codes of FAULT_WORDS; empty when it can.

    A number that is asked for and not stated is a fault. A claimed class is held to whatever is asked.
    """
    if material.kind != FILM:
        return ("not-film",)
    faults = [
        *_class_faults(material, numbers.film_class),
        *_thickness_faults(material.thickness_nm, numbers.film_thickness_nm),
        *_permeance_faults(material.permeance_up, numbers.most_permeance_up),
    ]
    if material.withdrawn is not None:
        faults.insert(0, "material-withdrawn")
    return tuple(faults)


def _class_faults(material: Material, asked: str) -> list[str]:
    shown = (material.permeance_up, material.tensile_mlbf_in, material.puncture_g)
    if asked and None in shown:
        return ["class-not-shown"]
    reached = _RANK.get(class_of(*shown), _NO_CLASS)
    below = bool(asked) and reached > _RANK.get(asked, -1)  # a class nobody knows is reached by nothing
    claimed = material.claimed_class
    overclaimed = bool(claimed) and reached > _RANK.get(claimed, -1)
    return ["below-class"] * below + ["claims-more-than-shown"] * overclaimed


def _thickness_faults(thickness_nm: int | None, least_nm: int) -> list[str]:
    if not least_nm:
        return []
    if thickness_nm is None:
        return ["thickness-not-shown"]
    return ["too-thin"] if thickness_nm < least_nm else []


def _permeance_faults(permeance_up: int | None, most_up: int) -> list[str]:
    if not most_up:
        return []
    if permeance_up is None:
        return ["permeance-not-shown"]
    return ["too-permeable"] if permeance_up > most_up else []


# What people type. Nothing is rounded in the material's favour: permeance up, strength down. SI figures that
# were rounded for print get no slack of half a unit, needing none: the table's 7.9, 5.3 and 2.4 kN/m were
# rounded up and its 5.7 ng down, so each is at least as strict as its inch-pound counterpart.

_AMOUNT = re.compile(r"(?P<number>[0-9]{1,9}(?:\.[0-9]{1,9})?|\.[0-9]{1,9})\s*(?P<unit>\D.*)?")
_PLAIN = str.maketrans({
    "²": "2", "·": "", "⋅": "", "*": "", "(": "", ")": "", "^": "", "\u00a0": "", "\u2009": "", "\u202f": "",
})  # fmt: skip
_PERM_UNITS = {
    **dict.fromkeys(("perm", "perms", "usperm", "usperms"), Fraction(1)),
    **dict.fromkeys(("metricperm", "metricperms"), 1 / METRIC_PERMS_PER_PERM),
    **dict.fromkeys(("ng", "ng/pasm2", "ng/pam2s", "ng/spam2"), 1 / NG_PER_PERM),
    **dict.fromkeys(("ng/sm2pa", "ng/m2spa", "ng/m2pas"), 1 / NG_PER_PERM),
}  # fmt: skip
_TENSION_UNITS = {
    **dict.fromkeys(
        ("lbf/in", "lb/in", "lbs/in", "lbf/inch", "lb/inch", "lbs/inch", "lbf/pulg", "lb/pulg"), Fraction(1)
    ),
    **dict.fromkeys(("kn/m", "n/mm"), 1000 / N_PER_M_OF_LBF_PER_IN),
}
_MASS_UNITS = {
    **dict.fromkeys(("g", "gram", "grams", "gramme", "grammes"), Fraction(1)),
    "kg": Fraction(1000),
}
_MIL_UNITS = {
    **dict.fromkeys(("mil", "mils", "milésimas", "milesimas", "milésima", "milesima"), Fraction(MIL_NM)),
    **dict.fromkeys(("µm", "μm", "um", "micron", "microns"), Fraction(1000)),
}


class BadAmount(ValueError):
    """A number of a material that cannot be read; the sentence is for people."""


def parse_permeance(text: str) -> int:
    """Millionths of a US perm, rounded up, from `0.01 perm`, `0.57 ng/(Pa s m2)` or `0.01 metric perm`."""
    like = tr("{one} or {other}", one="0.01 perm", other="0.57 ng/(Pa s m2)")
    return math.ceil(_amount(text, _PERM_UNITS, like, Fraction(MOST_UP, 1_000_000)) * 1_000_000)


def parse_tensile(text: str) -> int:
    """Thousandths of lbf/in, rounded down, from `45 lbf/in` or `7.9 kN/m`."""
    like = tr("{one} or {other}", one="45 lbf/in", other="7.9 kN/m")
    return math.floor(_amount(text, _TENSION_UNITS, like, Fraction(MOST_MLBF_IN, 1000)) * 1000)


def parse_puncture(text: str) -> int:
    """Whole grams of the falling dart, rounded down, from `2200 g` or `2.2 kg`."""
    return math.floor(_amount(text, _MASS_UNITS, "2200 g", Fraction(MOST_G)))


def parse_thickness(text: str) -> int:
    """Nanometres, rounded down, from `10 mil`, `250 µm`, or any length such as `0.25 mm`."""
    found = _AMOUNT.fullmatch(_spelled(text))
    if found and found["unit"] in _MIL_UNITS:
        return math.floor(_amount(text, _MIL_UNITS, "10 mil", Fraction(MOST_NM)))
    try:
        nm = parse_length(text)
    except BadLength:
        raise BadAmount(tr("Write a thickness with its unit, like 10 mil or 0.25 mm.")) from None
    if nm > MOST_NM:
        raise BadAmount(tr("That is too much; check the number and its unit."))
    return nm


def _spelled(text: str) -> str:
    """In lower case with no spaces but those between two figures, which make no number."""
    if len(text) > LONGEST_TEXT:
        return ""
    return re.sub(r"(?<![0-9])\s+|\s+(?![0-9])", "", text.strip().lower().translate(_PLAIN)).rstrip(".")


def _amount(text: str, units: dict[str, Fraction], like: str, most: Fraction) -> Fraction:
    """The number in the unit whose factor is 1; BadAmount says what is wrong with it."""
    plain = _spelled(text)
    if re.match(r"[0-9]*,[0-9]", plain):
        raise BadAmount(tr("Write the number with a point and no comma, like {like}.", like=like))
    found = _AMOUNT.fullmatch(plain)
    if found is None:
        raise BadAmount(tr("Write a number with its unit, like {like}.", like=like))
    if found["unit"] not in units:
        if found["unit"] is None:
            raise BadAmount(tr("That has no unit. Write it like {like}.", like=like))
        raise BadAmount(tr("That is in a unit not known here. Write it like {like}.", like=like))
    exact = Fraction(found["number"]) * units[found["unit"]]
    if exact <= 0:
        raise BadAmount(tr("That must be more than nothing."))
    if exact > most:
        raise BadAmount(tr("That is too much; check the number and its unit."))
    return exact
