"""The numbers of film and tape as people read them, and what a maker has left unsaid."""

from __future__ import annotations

from fractions import Fraction

from service.domain.nouns.installed import FILM, TAPE, Material
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.film_class import MIL_NM, N_PER_M_OF_LBF_PER_IN
from service.domain.rule_sheet.vapor import NG_PER_PERM
from service.domain.words.measures import NM_PER_MM, Units
from service.domain.words.speech import later, trc

# What a field of a material is called, for people.
CALLED = {
    "permeance": later("permeance"),
    "tensile": later("tension"),
    "puncture": later("puncture"),
    "thickness": later("thickness"),
    "least_lap": later("the maker's own least lap"),
    "least_temperature": later("the maker's own least temperature"),
}


def say_thickness(nm: int, units: Units, *, down: bool = True) -> str:
    """`10 mil` to the hundredth, or `0.25 mm` to the thousandth; with `down` false up, as what is asked."""
    step, places, unit = (
        (MIL_NM // 100, 2, trc("unit", "mil")) if units == "us" else (NM_PER_MM // 1000, 3, "mm")
    )
    steps = nm // step if down else -(-nm // step)
    return f"{_decimal(steps, places)} {unit}"


def say_permeance(up: int, units: Units, *, up_to: bool = False) -> str:
    """`0.1 perm`, exact, or `5.722 ng/(Pa s m2)`, rounded up to the thousandth; `up_to`: down, as a limit.

    A figure typed in ng was kept a whole millionth of a perm upward and shows as it was typed.
    """
    if units == "us":
        unit = trc("unit", "perm")
        return f"{_decimal(up, 6)} {unit}"
    if up_to:
        return f"{_decimal(int(up * NG_PER_PERM / 1000), 3)} ng/(Pa s m2)"
    least = max(Fraction(up) - 1, Fraction(0)) * NG_PER_PERM / 1_000_000
    return f"{_decimal(int(least * 1000) + 1, 3)} ng/(Pa s m2)"


def say_tensile(mlbf_in: int, units: Units) -> str:
    """`45 lbf/in`, exact, or `7.88 kN/m`, rounded down to the hundredth.

    A figure typed in kN/m was kept a whole thousandth of a lbf/in downward and shows as it was typed.
    """
    if units == "us":
        unit = trc("unit", "lbf/in")
        return f"{_decimal(mlbf_in, 3)} {unit}"
    most = Fraction(mlbf_in + 1, 1000) * N_PER_M_OF_LBF_PER_IN / 1000
    return f"{_decimal(-(-(most * 100) // 1) - 1, 2)} kN/m"


def say_puncture(grams: int) -> str:
    """`2,200 g`."""
    return f"{grams:,} g"


def _decimal(steps: int, places: int) -> str:
    """A whole number of tenths, hundredths, ... without idle zeros."""
    whole, rest = divmod(steps, 10**places)
    part = f"{rest:0{places}}".rstrip("0")
    return f"{whole:,}.{part}" if part else f"{whole:,}"


def missing_from(material: Material, numbers: Numbers) -> tuple[str, ...]:
    """What its maker has not stated and somebody needs, as names of CALLED.

    Film: what the sheet asks for, and the least lap, which ASTM E1745 section 6 has the maker state (section
    seen, 2011 edition). Tape: the least temperature, which its maker knows (common practice, no source).
    """
    if material.kind == TAPE:
        return () if material.least_mf is not None else ("least_temperature",)
    if material.kind != FILM:
        return ()
    by_class = bool(numbers.film_class or material.claimed_class)
    asked = (
        ("permeance", material.permeance_up, by_class or bool(numbers.most_permeance_up)),
        ("tensile", material.tensile_mlbf_in, by_class),
        ("puncture", material.puncture_g, by_class),
        ("thickness", material.thickness_nm, bool(numbers.film_thickness_nm)),
        ("least_lap", material.least_lap_nm, True),
    )
    return tuple(name for name, stated, needed in asked if needed and stated is None)
