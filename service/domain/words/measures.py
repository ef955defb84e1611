"""Lengths as people write and read them: exact parsing to whole nanometres, and words that never flatter."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from service.domain.words.speech import tr, trc, trn

Units = Literal["us", "metric"]
Toward = Literal["down", "up", "nearest"]

NM_PER_M = 1_000_000_000
NM_PER_MM = 1_000_000
# The international inch is exactly 25.4 mm (from memory: the 1959 yard and pound agreement).
NM_PER_INCH = 25_400_000
NM_PER_FOOT = 12 * NM_PER_INCH
SIXTEENTH_NM = NM_PER_INCH // 16
# 10 km, and to the next length that is whole in sixteenths of an inch and in millimetres (both fit 127 mm, 80
# and 127 times), so that rounded any way it is shown as a length that is taken again.
LONGEST_NM = -(-10_000 * NM_PER_M // (127 * NM_PER_MM)) * 127 * NM_PER_MM
LONGEST_TEXT = 40

# Geometry in floats decides nothing nearer the limit than this (0.0001 in): so near counts as exactly at it.
TOLERANCE_NM = 2_540

_UNIT_NM = {
    "in": NM_PER_INCH, "inch": NM_PER_INCH, "inches": NM_PER_INCH, "ins": NM_PER_INCH, '"': NM_PER_INCH,
    "ft": NM_PER_FOOT, "foot": NM_PER_FOOT, "feet": NM_PER_FOOT, "'": NM_PER_FOOT,
    "pulgadas": NM_PER_INCH, "pulgada": NM_PER_INCH, "pulg": NM_PER_INCH,
    "pies": NM_PER_FOOT, "pie": NM_PER_FOOT,
    "mm": NM_PER_MM, "cm": 10 * NM_PER_MM, "m": NM_PER_M,
}  # fmt: skip
_MARKS = str.maketrans({
    "′": "'", "’": "'", "‘": "'", "ʹ": "'", "´": "'", "″": '"', "”": '"', "“": '"', "ʺ": '"',
    "–": "-", "−": "-", "‐": "-", "‑": "-", "⁄": "/", "\u00a0": " ", "\u2009": " ", "\u202f": " ",
})  # fmt: skip
_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6",
}  # fmt: skip
_NUMBER = (
    r"(?:(?P<{0}w>[0-9]+)(?:\s*-\s*|\s+)(?P<{0}n>[0-9]+)\s*/\s*(?P<{0}d>[0-9]+)"
    r"|(?P<{0}fn>[0-9]+)\s*/\s*(?P<{0}fd>[0-9]+)|(?P<{0}x>[0-9]*[.,]?[0-9]+|[0-9]+[.,]))"
)
_FEET = r"(?:ft|foot|feet|pies|pie|')\.?"
_INCHES = r"(?:inches|inch|ins|in|pulgadas|pulgada|pulg|''|\")\.?"
_FEET_AND_INCHES = re.compile(rf"(?P<feet>[0-9]+)\s*{_FEET}\s*-?\s*(?:{_NUMBER.format('i')})\s*{_INCHES}")
_ONE_UNIT = re.compile(
    rf"{_NUMBER.format('q')}\s*"
    r"(?P<unit>inches|inch|ins|in|pulgadas|pulgada|pulg|feet|foot|ft|pies|pie|mm|cm|m|''|'|\")\.?"
)
_BARE = re.compile(_NUMBER.format("q"))


class BadLength(ValueError):
    """A length that cannot be read: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


def parse_length(text: str, *, zero_ok: bool = False) -> int:
    """Whole nanometres from `6 1/2 in`, `1'-3 1/2"`, `20 ft`, `150 mm`, `0,15 m`; raises BadLength only.

    Exact by fractions; where the text is no whole number of nanometres the nearest, half to even.
    """
    if not isinstance(text, str):
        raise BadLength("not-text", tr("Write a length with its unit, like 6 in or 150 mm."))
    if len(text) > LONGEST_TEXT:
        told = trn(
            "That is longer than a length: at most {n} sign.",
            "That is longer than a length: at most {n} signs.",
            LONGEST_TEXT,
        )
        raise BadLength("too-long", told)
    return _parsed(text, zero_ok)


@lru_cache(maxsize=4096)
def _parsed(text: str, zero_ok: bool) -> int:
    exact = _exact_nm(_plain(text))
    if exact == 0 and not zero_ok:
        raise BadLength("zero", tr("A length must be more than nothing."))
    if exact > LONGEST_NM:
        raise BadLength("too-big", tr("That is more than 10 km; check the number and its unit."))
    nm = round(exact)
    if nm == 0 and exact > 0:
        raise BadLength("too-small", tr("That is too small to measure."))
    return nm


def _plain(text: str) -> str:
    """The text in lower case with every prime, dash and vulgar fraction in its plain spelling."""
    plain = text.strip().lower().translate(_MARKS)
    for sign, spelled in _VULGAR.items():
        plain = re.sub(rf"(?<=[0-9])\s*{sign}", f" {spelled}", plain).replace(sign, spelled)
    return plain.replace("''", '"')


def _exact_nm(plain: str) -> Fraction:
    if both := _FEET_AND_INCHES.fullmatch(plain):
        inches = _number(both, "i")
        if inches >= 12:
            raise BadLength("inches-past-foot", tr("Beside feet, inches stay under 12."))
        return int(both["feet"]) * NM_PER_FOOT + inches * NM_PER_INCH
    if one := _ONE_UNIT.fullmatch(plain):
        return _number(one, "q") * _UNIT_NM[one["unit"]]
    raise _why_not(plain)


def _number(match: re.Match[str], group: str) -> Fraction:
    """The number a pattern found: whole and fraction, fraction alone, or decimal."""
    if match[f"{group}x"] is not None:
        if re.fullmatch(r"[1-9][0-9]*,[0-9]{3}", match[f"{group}x"]):
            raise BadLength(
                "comma", tr("Is the comma for thousands or decimals? Write it without, or with a point.")
            )
        return Fraction(match[f"{group}x"].replace(",", ".").rstrip(".") or "0")
    mixed = match[f"{group}w"] is not None
    top, bottom = (
        int(match[f"{group}{'n' if mixed else 'fn'}"]),
        int(match[f"{group}{'d' if mixed else 'fd'}"]),
    )
    if bottom == 0:
        raise BadLength("zero-below", tr("A fraction cannot have 0 below its line."))
    if mixed and top >= bottom:
        told = tr("Beside a whole number, a fraction stays under 1, like 6 1/2 in.")
        raise BadLength("improper", told)
    return Fraction(top, bottom) + (int(match[f"{group}w"]) if mixed else 0)


def _why_not(plain: str) -> BadLength:
    """The sentence for a text that matched nothing, most telling reason first."""
    if not plain:
        return BadLength("empty", tr("Write a length, like 6 in or 150 mm."))
    if re.match(r"[-+]\s*[0-9.,]", plain):
        return BadLength("signed", tr("A length has no plus or minus sign."))
    if _BARE.fullmatch(plain):
        told = tr("{number} of what? Add the unit, like {number} in or {number} mm.", number=plain)
        return BadLength("no-unit", told)
    if re.search(r"[0-9]e[-+]?[0-9]", plain):
        return BadLength("scientific", tr("Write the number out in full, without e."))
    if not re.search(r"[0-9]", plain):
        told = tr("Write the number in figures with its unit, like 6 in or 150 mm.")
        return BadLength("no-number", told)
    return BadLength("unreadable", tr("That is no length. Write it like 6 1/2 in, 1 ft 3 in or 150 mm."))


def parse_factor(text: str) -> Fraction:
    """A bare number above 0, like `1.5` or `1 1/2`, exactly; raises BadLength."""
    found = _BARE.fullmatch(_plain(text)) if isinstance(text, str) and len(text) <= LONGEST_TEXT else None
    if found is None:
        raise BadLength("no-number", tr("Write a plain number, like 1.5."))
    factor = _number(found, "q")
    if not 0 < factor <= 1_000_000:
        raise BadLength("out-of-range", tr("Write a number above 0 and not past a million."))
    return factor


def _steps(nm: int, step_nm: int, toward: Toward) -> int:
    """How many whole steps `nm` is shown as; `nearest` takes a half upward."""
    if toward == "down":
        return nm // step_nm
    if toward == "up":
        return -(-nm // step_nm)
    return (2 * nm + step_nm) // (2 * step_nm)


def _inches(sixteenths: int) -> str:
    """`6 1/2`, `3/16`, `-1/4`, `18`."""
    sign, (whole, rest) = ("-" if sixteenths < 0 else ""), divmod(abs(sixteenths), 16)
    if not rest:
        return f"{sign}{whole}"
    part = Fraction(rest, 16)
    shown = f"{part.numerator}/{part.denominator}"
    return f"{sign}{whole} {shown}" if whole else f"{sign}{shown}"


def _figures(nm: int, units: Units, toward: Toward) -> str:
    """A length without its unit: inches to the sixteenth, or whole millimetres."""
    if units == "us":
        return _inches(_steps(nm, SIXTEENTH_NM, toward))
    return f"{_steps(nm, NM_PER_MM, toward):,}"


def _unit(units: Units) -> str:
    """The unit of `_figures`; metric units are signs, the same in every language."""
    return trc("unit", "in") if units == "us" else "mm"


def _feet(feet: int) -> str:
    return trn("{n} ft", "{n} ft", feet)


def say_length(nm: int, units: Units, toward: Toward = "nearest") -> str:
    """`6 1/2 in` to the sixteenth, or `150 mm` to the millimetre, rounded the way that never flatters."""
    return f"{_figures(nm, units, toward)} {_unit(units)}"


def say_run(nm: int, units: Units) -> str:
    """How long a cut or seam is: from 3 ft in feet and inches (`7 ft`, `3 ft 4 1/2 in`), else as a length."""
    if units != "us" or nm < 3 * NM_PER_FOOT:
        return say_length(nm, units)
    feet, sixteenths = divmod(_steps(nm, SIXTEENTH_NM, "nearest"), 12 * 16)
    return f"{_feet(feet)} {_inches(sixteenths)} {_unit(units)}" if sixteenths else _feet(feet)


def say_distance(nm: int, units: Units) -> str:
    """How far apart places are: `18 ft`, `3 ft 4 in`, `5.4 m`; under a foot or a metre as a length."""
    if units == "us":
        feet, inches = divmod(_steps(nm, NM_PER_INCH, "nearest"), 12)
        if not feet:
            return say_length(nm, units)
        if inches and feet < 20:
            return f"{_feet(feet)} {inches} {_unit(units)}"
        return _feet(_steps(nm, NM_PER_FOOT, "nearest"))
    if abs(nm) < NM_PER_M:
        return say_length(nm, units)
    tenths = _steps(nm, NM_PER_M // 10, "nearest")
    return f"{tenths // 10:,} m" if tenths % 10 == 0 else f"{tenths // 10:,}.{tenths % 10} m"


def say_sides(length_nm: int, width_nm: int, units: Units, toward: Toward = "nearest") -> str:
    """Two sides of a piece: `18 by 16 in`, `460 by 410 mm`."""
    length, width = (_figures(nm, units, toward) for nm in (length_nm, width_nm))
    return tr("{length} by {width} {unit}", length=length, width=width, unit=_unit(units))


def say_area(m2: float, units: Units) -> str:
    """`3,240 sq ft` or `301 m²`; one decimal under 100."""
    amount, unit = (m2 / 0.3048**2, trc("unit", "sq ft")) if units == "us" else (m2, "m²")
    return f"{amount:,.0f} {unit}" if amount >= 100 else f"{amount:,.1f} {unit}"


def say_perimeter(nm: int, units: Units) -> str:
    """`242 ft` or `73.8 m`."""
    if units == "us":
        return _feet(_steps(nm, NM_PER_FOOT, "nearest"))
    return say_distance(nm, units)


def metres(nm: int) -> float:
    """The float nearest to this many nanometres in metres: its shortest print is exact to the nanometre."""
    return nm / NM_PER_M


def length_json(nm: int, units: Units, toward: Toward = "nearest") -> dict[str, str | float]:
    """`{"text": "6 1/2 in", "m": 0.1651}`."""
    return {"text": say_length(nm, units, toward), "m": metres(nm)}


def area_json(m2: float, units: Units) -> dict[str, str | float]:
    """`{"text": "3,240 sq ft", "m2": 301.0}`."""
    return {"text": say_area(m2, units), "m2": m2}


@lru_cache(maxsize=4096)
def turn(udeg: int) -> tuple[float, float]:
    """(cos, sin) of micro-degrees, exact at every right angle."""
    quarter, rest = divmod(udeg, 90_000_000)
    radians = math.radians(rest / 1_000_000)
    c, s = (1.0, 0.0) if rest == 0 else (math.cos(radians), math.sin(radians))
    return ((c, s), (-s, c), (-c, -s), (s, -c))[quarter % 4]
