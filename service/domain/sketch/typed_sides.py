"""A zone's corners from its sides as read off a plan: `right 20 ft`, `down 12'-6"`, `30° 8 ft`."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from service.domain.nouns.site import Px
from service.domain.words.measures import BadLength, parse_length, turn
from service.domain.words.refusals import BadInput
from service.domain.words.speech import later, tr, trn

Away = tuple[int, int]  # nanometres right and down
MOST_SIDES = 200
# Nearer to its first corner than this (1 in) a run of sides has come back: the rest is rounding on the plan.
CLOSES_NM = 25_400_000
_WAYS = {
    "right": 0, "down": 90_000_000, "left": 180_000_000, "up": 270_000_000,
    "derecha": 0, "abajo": 90_000_000, "izquierda": 180_000_000, "arriba": 270_000_000,
}  # fmt: skip
_WAY = re.compile(
    r"\b(right|left|up|down|derecha|izquierda|arriba|abajo)\b"
    r"|(-?[0-9]+(?:[.,][0-9]+)?)\s*(?:°|(?:deg(?:rees?)?|grados?)\b)"
)
_LIKE = later("Write it like: right 20 ft, or right 6 ft down 2 ft, or 30° 8 ft.")


@dataclass(frozen=True, slots=True)
class Run:
    """Corners in thousandths of a pixel, the first being the start. back: from the end of the last side to
    the start; when `closed`, that end is the first corner again and is left out."""

    corners: tuple[Px, ...]
    back: Away
    closed: bool

    @property
    def gap_nm(self) -> int:
        """How far the end of the last side lies from the first corner."""
        return round(math.hypot(*self.back))


def read_sides(text: str) -> tuple[Away, ...]:
    """One side a line, as how far it goes right and down. BadInput names the line that cannot be read.

    A side is a direction on the sketch and a length, or several of them on one line for a slanted side. An
    angle turns clockwise from right: 90° is down.
    """
    lines = [line.strip() for line in re.split(r"[\n;]", text.lower()) if line.strip()]
    if not lines:
        raise _bad(tr("Write one side a line. {like}", like=tr(_LIKE)))
    if len(lines) > MOST_SIDES:
        raise _bad(trn("At most {n} side can be typed.", "At most {n} sides can be typed.", MOST_SIDES))
    return tuple(_side(number, line) for number, line in enumerate(lines, 1))


def _side(number: int, line: str) -> Away:
    found = list(_WAY.finditer(line))
    if not found or line[: found[0].start()].strip(" ,") not in ("", "at"):
        told = tr(
            "Side {number}, “{line}”: which way does it go? {like}",
            number=number,
            line=line[:40],
            like=tr(_LIKE),
        )
        raise _bad(told)
    across = down = 0
    ends = [*(match.start() for match in found[1:]), len(line)]
    for match, end in zip(found, ends, strict=True):
        right, low = _leg(match, line[match.end() : end].strip(" ,"), number)
        across, down = across + right, down + low
    if not (across or down):
        raise _bad(tr("Side {number}, “{line}”, ends where it began.", number=number, line=line[:40]))
    return across, down


def _leg(way: re.Match[str], length: str, number: int) -> Away:
    try:
        nm = parse_length(length.removesuffix(" at").removesuffix(" and").strip(" ,"))
    except BadLength as bad:
        told = tr("Side {number}, after “{way}”: {fault}", number=number, way=way.group().strip(), fault=bad)
        raise _bad(told) from None
    udeg = _WAYS[way[1]] if way[1] else round(Fraction(way[2].replace(",", ".")) * 1_000_000)
    cos, sin = turn(udeg)
    return round(nm * cos), round(nm * sin)


def run_of(start: Px, sides: Sequence[Away], nm_per_px: float) -> Run:
    """The corners that the sides lead to, one after the other, on a picture of this scale."""
    x, y = 0, 0
    ends = [(0, 0)]
    for right, down in sides:
        x, y = x + right, y + down
        ends.append((x, y))
    closed = math.hypot(x, y) <= CLOSES_NM and len(ends) > 3
    per_nm = 1000 / nm_per_px
    kept = ends[:-1] if closed else ends
    corners = tuple((round(start[0] + a * per_nm), round(start[1] + b * per_nm)) for a, b in kept)
    return Run(corners, (-x, -y), closed)


def _bad(sentence: str) -> BadInput:
    return BadInput(sentence, fields={"sides": sentence})
