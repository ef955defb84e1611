"""Outside diameters of what passes through a film, by the size the trade calls it by and its standard."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from service.domain.measures import LONGEST_TEXT, BadLength, parse_factor
from service.domain.rules import MEMORY, PRACTICE

STEEL, PVC, EMT, RIGID_PVC = "steel pipe", "PVC pipe", "EMT conduit", "rigid PVC conduit"
COPPER, SEWER, BAR = "copper tube", "SDR 35 sewer pipe", "reinforcing bar"
STAKE, DUCT, BLOCKOUT, OTHER = "stake", "duct", "column blockout", "other"
KINDS = (STEEL, PVC, EMT, RIGID_PVC, COPPER, SEWER, BAR, STAKE, DUCT, BLOCKOUT, OTHER)
MEASURED = (STAKE, DUCT, BLOCKOUT, OTHER)

NM_PER_THOUSANDTH = 25_400  # of an inch, exactly


@dataclass(frozen=True, slots=True)
class TradeSize:
    """A size as the trade writes it, its outside diameter (nm) and the standard that gives it.

    A bar's is its nominal diameter: its ribs stand out a little further.
    """

    kind: str
    name: str
    od_nm: int
    source: str


class NoSuchSize(ValueError):
    """A size that the kind does not come in: the text names the sizes there are."""


# Outside diameters in thousandths of an inch.
_IRON_PIPE = {
    "1/2": 840, "3/4": 1050, "1": 1315, "1-1/4": 1660, "1-1/2": 1900, "2": 2375, "2-1/2": 2875, "3": 3500,
    "3-1/2": 4000, "4": 4500, "5": 5563, "6": 6625, "8": 8625, "10": 10750, "12": 12750,
}  # fmt: skip
_EMT = {
    "1/2": 706, "3/4": 922, "1": 1163, "1-1/4": 1510, "1-1/2": 1740, "2": 2197, "2-1/2": 2875, "3": 3500,
    "4": 4500,
}  # fmt: skip
# Conduit is made to 6 in. The first four were seen in print, the others follow the pipe of the same size.
_RIGID_PVC = {name: od for name, od in _IRON_PIPE.items() if od <= 6625}
_RIGID_SEEN = ("1/2", "3/4", "1", "1-1/4")
_COPPER = {
    "1/2": 625, "3/4": 875, "1": 1125, "1-1/4": 1375, "1-1/2": 1625, "2": 2125, "2-1/2": 2625, "3": 3125,
    "4": 4125,
}  # fmt: skip
_SEWER = {"4": 4215, "6": 6275, "8": 8400}
_BAR = {
    "3": 375, "4": 500, "5": 625, "6": 750, "7": 875, "8": 1000, "9": 1128, "10": 1270, "11": 1410,
    "14": 1693, "18": 2257,
}  # fmt: skip

_STEEL_SOURCE = "ASME B36.10M"
_PVC_SOURCE = f"ASTM D1785, the same as ASME B36.10M ({MEMORY})"
_EMT_SOURCE = "ANSI C80.3"
# The published pages differ here: one prints 1.503 in, the others 1.510 in; the larger asks for more collar.
_EMT_NOTES = {"1-1/4": f"{_EMT_SOURCE} (one published table prints 1.503 in)"}
_RIGID_SOURCE = "Schedule 40 conduit, the same as ASME B36.10M"
_RIGID_UNSEEN = f"{_RIGID_SOURCE} ({MEMORY})"
_COPPER_SOURCE = "ASTM B88 types K, L and M: the size and 1/8 in"
_SEWER_SOURCE = f"ASTM D3034 ({MEMORY})"
_BAR_SOURCE = f"ASTM A615, nominal; its ribs add about 1/16 to 1/8 in ({PRACTICE})"


def _table(
    kind: str, written: str, thousandths: dict[str, int], source: str, notes: dict[str, str] | None = None
) -> tuple[TradeSize, ...]:
    return tuple(
        TradeSize(kind, written.format(name), od * NM_PER_THOUSANDTH, (notes or {}).get(name, source))
        for name, od in thousandths.items()
    )


_SIZES: dict[str, tuple[TradeSize, ...]] = {
    STEEL: _table(STEEL, "NPS {}", _IRON_PIPE, _STEEL_SOURCE),
    PVC: _table(PVC, "NPS {}", _IRON_PIPE, _PVC_SOURCE),
    EMT: _table(EMT, "{} in", _EMT, _EMT_SOURCE, _EMT_NOTES),
    RIGID_PVC: _table(
        RIGID_PVC, "{} in", _RIGID_PVC, _RIGID_UNSEEN, dict.fromkeys(_RIGID_SEEN, _RIGID_SOURCE)
    ),
    COPPER: _table(COPPER, "{} in", _COPPER, _COPPER_SOURCE),
    SEWER: _table(SEWER, "{} in", _SEWER, _SEWER_SOURCE),
    BAR: _table(BAR, "#{}", _BAR, _BAR_SOURCE),
    **{kind: () for kind in MEASURED},
}

_BAR_AS_WRITTEN = re.compile(r"(?:bar\s*)?(?:#|no\.?|number)?\s*([0-9]+)", re.IGNORECASE)
_IN_INCHES = re.compile(
    r"(?:nps|nominal)?\s*(?P<number>.*?)\s*(?:inch(?:es)?|in\.?|''|[\"″”ʺ])?", re.IGNORECASE | re.DOTALL
)


def sizes(kind: str) -> tuple[TradeSize, ...]:
    """The sizes this kind comes in, smallest first; none for what is always measured."""
    if kind not in _SIZES:
        raise NoSuchSize(f"That is no kind of penetration. There are: {', '.join(KINDS)}.")
    return _SIZES[kind]


def size_of(kind: str, name: str) -> TradeSize:
    """The size of that name, read as people write it (`1 1/2`, `nps 1-1/2`, `1½"`, `#9`, `No. 9`).

    Raises NoSuchSize, whose text names the sizes there are.
    """
    there = sizes(kind)
    asked = _number(kind, name)
    found = next((size for size in there if asked is not None and _number(kind, size.name) == asked), None)
    if found is None:
        raise NoSuchSize(_what_there_is(kind, there))
    return found


def _number(kind: str, name: str) -> Fraction | None:
    """The number in a size's name; None where it is not how this kind's sizes are written."""
    name = name.strip()
    if len(name) > LONGEST_TEXT:
        return None
    if kind == BAR:
        bar = _BAR_AS_WRITTEN.fullmatch(name)
        return Fraction(bar[1]) if bar else None
    inches = _IN_INCHES.fullmatch(name)
    if inches is None:
        return None
    try:
        return parse_factor(inches["number"])
    except BadLength:
        return None


def _what_there_is(kind: str, there: tuple[TradeSize, ...]) -> str:
    if not there:
        return f"There are no trade sizes for this ({kind}): measure across its outside."
    names = [size.name for size in there]
    named = kind[0].upper() + kind[1:]
    there_are = f"{', '.join(names[:-1])} and {names[-1]}"
    return f"{named} comes in {there_are}. Anything else: measure across its outside."
