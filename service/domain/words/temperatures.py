"""Temperatures as people write and read them: exact thousandths of a degree Fahrenheit, a unit always."""

from __future__ import annotations

import re
from fractions import Fraction

from service.domain.words.measures import LONGEST_TEXT, Units
from service.domain.words.speech import tr

COLDEST_MF, HOTTEST_MF = -60_000, 200_000
FREEZING_MF = 32_000
_TEXT = re.compile(
    r"(?P<sign>[+-]?)\s*(?P<number>[0-9]{1,4}(?:\.[0-9]{1,6})?)\s*"
    r"(?:°|º|(?:deg(?:rees?)?|grados?)\b\.?)?\s*(?P<unit>f|fahrenheit|c|celsius)"
)
_BARE = re.compile(r"[+-]?\s*[0-9.]+\s*(?:°|º|deg(?:rees?)?)?")
_MINUS = str.maketrans({"−": "-", "–": "-", "‑": "-", "℃": "c", "℉": "f"})


class BadTemperature(ValueError):
    """A temperature that cannot be read; the sentence is for people."""


def parse_temperature(text: str) -> int:
    """Thousandths of a degree Fahrenheit from `40 F`, `40 °F` or `4.5 C`; raises BadTemperature only.

    Nothing is rounded: what is finer than a thousandth of a degree Fahrenheit is refused, so that a reading
    at the limit is judged as it was typed.
    """
    plain = text.strip().lower().translate(_MINUS)
    found = _TEXT.fullmatch(plain) if len(plain) <= LONGEST_TEXT else None
    if found is None:
        raise BadTemperature(_why_not(plain))
    exact = Fraction(found["sign"] + found["number"]) * 1000
    mf = exact if found["unit"].startswith("f") else exact * 9 / 5 + FREEZING_MF
    if not COLDEST_MF <= mf <= HOTTEST_MF:
        raise BadTemperature(tr("A temperature lies between -60 and 200 °F (-51 and 93 °C)."))
    if mf.denominator != 1:
        raise BadTemperature(tr("Write a temperature to a hundredth of a degree, no finer."))
    return int(mf)


def _why_not(plain: str) -> str:
    if not plain:
        return tr("Write a temperature with its unit, like 40 F or 5 C.")
    if "," in plain:
        return tr("Write a temperature with a point, like 4.5 C, not with a comma.")
    if _BARE.fullmatch(plain):
        return tr("Write F or C behind the temperature, like 40 F or 5 C.")
    return tr("That is no temperature. Write it like 40 F or 4.5 C.")


def say_typed(text: str, units: Units) -> str:
    """As `say_temperature`, of a reading that is kept as it was typed; what is none stays as it is."""
    try:
        return say_temperature(parse_temperature(text), units)
    except BadTemperature:
        return text


def say_temperature(mf: int, units: Units, *, down: bool = True) -> str:
    """`40 °F` or `4.4 °C`, whole or to the tenth.

    Rounded down, as a reading, so that no reading is shown warmer than it was; with `down` false up, as what
    is asked for, so that whoever meets the shown number meets the asked one.
    """
    exact, unit = (Fraction(mf), "°F") if units == "us" else (Fraction(mf - FREEZING_MF) * 5 / 9, "°C")
    tenths = exact // 100 if down else -(-exact // 100)
    whole, tenth = divmod(abs(tenths), 10)
    sign, part = "-" if tenths < 0 else "", f".{tenth}" if tenth else ""
    return f"{sign}{whole}{part} {unit}"
