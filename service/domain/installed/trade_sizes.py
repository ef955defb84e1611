"""Outside diameters of what passes through a film, by the size the trade calls it by and its standard."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from service.domain.words.measures import LONGEST_TEXT, BadLength, parse_factor
from service.domain.words.names import penetration_kind
from service.domain.words.speech import later, tr, trc

STEEL, PVC = later("steel pipe"), later("PVC pipe")
EMT, RIGID_PVC = later("EMT conduit"), later("rigid PVC conduit")
COPPER, SEWER, BAR = later("copper tube"), later("SDR 35 sewer pipe"), later("reinforcing bar")
STAKE, DUCT, BLOCKOUT, OTHER = later("stake"), later("duct"), later("column blockout"), "other"
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
_PVC_SOURCE = later("ASTM D1785, the same as ASME B36.10M (from memory, not verified)")
_EMT_SOURCE = "ANSI C80.3"
# The published pages differ here: one prints 1.503 in, the others 1.510 in; the larger asks for more collar.
_EMT_NOTES = {"1-1/4": later("ANSI C80.3 (one published table prints 1.503 in)")}
_RIGID_SOURCE = later("Schedule 40 conduit, the same as ASME B36.10M")
_RIGID_UNSEEN = later("Schedule 40 conduit, the same as ASME B36.10M (from memory, not verified)")
_COPPER_SOURCE = later("ASTM B88 types K, L and M: the size and 1/8 in")
_SEWER_SOURCE = later("ASTM D3034 (from memory, not verified)")
_BAR_SOURCE = later("ASTM A615, nominal; its ribs add about 1/16 to 1/8 in (common practice, no source)")


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
        there = ", ".join(penetration_kind(each) for each in KINDS)
        raise NoSuchSize(tr("That is no kind of penetration. There are: {kinds}.", kinds=there))
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
        told = penetration_kind(kind)
        return tr("There are no trade sizes for this ({kind}): measure across its outside.", kind=told)
    names, named = [say_size(size.name) for size in there], penetration_kind(kind)
    return tr(
        "{kind} comes in {sizes} and {last}. Anything else: measure across its outside.",
        kind=named[0].upper() + named[1:],
        sizes=", ".join(names[:-1]),
        last=names[-1],
    )


def say_size(name: str) -> str:
    """A size's name as people read it: `NPS 2`, `#4`, and `3/4 in` with the unit in their language."""
    if name.startswith("NPS "):
        return tr("NPS {size}", size=name.removeprefix("NPS "))
    return f"{name.removesuffix(' in')} {trc('unit', 'in')}" if name.endswith(" in") else name
