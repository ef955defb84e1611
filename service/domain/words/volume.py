"""Volumes of concrete as people write them: `60 cu yd`, `46 m3`."""

from __future__ import annotations

import re
from fractions import Fraction

from service.domain.words.speech import tr

# 1 yd is 0.9144 m by definition (international yard, 1959; from memory)
CUBIC = {"yd": Fraction(9144, 10000) ** 3, "m": Fraction(1), "ft": Fraction(3048, 10000) ** 3}
_TEXT = re.compile(
    r"(?P<number>\d{1,6}(?:[.,]\d{1,4})?)\s*"
    r"(?:(?:cu\.?|cubic)\s*(?P<word>yd|yards?|m|meters?|metres?|ft|feet)|(?P<unit>yd|m|ft)\s*(?:3|³|\^3))\.?",
    re.IGNORECASE,
)


class BadVolume(ValueError):
    """A volume that cannot be read; the sentence is for people."""


def check_volume(text: str) -> str:
    """The text, tidied, when it is a volume above 0 with its unit. BadVolume otherwise."""
    cubic_metres(text)
    return " ".join(text.split())


def cubic_metres(text: str) -> Fraction:
    """The volume in cubic metres, exact."""
    found = _TEXT.fullmatch(text.strip())
    if not found:
        raise BadVolume(tr("Write a volume with its unit, like 60 cu yd or 46 m3."))
    number = Fraction(found["number"].replace(",", "."))
    if number <= 0:
        raise BadVolume(tr("A volume is more than 0."))
    unit = (found["unit"] or found["word"]).lower()
    return number * CUBIC["yd" if unit.startswith("y") else "ft" if unit.startswith("f") else "m"]
