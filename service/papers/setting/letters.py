"""Which signs the papers' fonts can draw, and what stands for one that none of them has."""

from __future__ import annotations

import re
import struct
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

FONTS = Path(__file__).parents[3] / "templates" / "papers" / "fonts"
_LONG = re.compile(r"\S{30}(?=\S{10})")
KEPT = "\n"  # a break in a note; every other control sign is told by its number
# Private use signs are forbidden in an archive (ISO 19005-2, 6.2.11.7.3: from memory); format signs such as
# a right-to-left override would let words be read in another order than they were written in.
TOLD = ("Cc", "Cf", "Co", "Cs", "Cn", "Zl", "Zp")


class Exact(str):
    """A text to be copied letter by letter: it is told as `spelled`, and never broken inside a word."""

    __slots__ = ()


def breakable(text: str) -> str:
    """The text with places to break its line inside very long words, which no line would hold."""
    return _LONG.sub("\\g<0>\u200b", text)


def spelled(text: str) -> str:
    """The text with every sign that cannot be drawn told by its Unicode number, like `[U+4E2D]`."""
    return "".join(sign if sign in KEPT or drawable(sign) else f"[U+{ord(sign):04X}]" for sign in text)


@lru_cache(maxsize=8192)
def drawable(sign: str) -> bool:
    """Whether one of the fonts has the sign, and it is one to be drawn."""
    return unicodedata.category(sign) not in TOLD and ord(sign) in covered()


@lru_cache(maxsize=1)
def covered() -> frozenset[int]:
    """The code points that the papers' fonts have between them."""
    return frozenset().union(*(code_points(path.read_bytes()) for path in sorted(FONTS.rglob("*.ttf"))))


def code_points(font: bytes) -> set[int]:
    """The code points of a TrueType font's character map that lead to a glyph (formats 4 and 12).

    The tables are those of the OpenType specification, chapter cmap; numbers are big-endian.
    """
    start = _table(font, b"cmap")
    (count,) = struct.unpack_from(">H", font, start + 2)
    found: set[int] = set()
    for i in range(count):
        (offset,) = struct.unpack_from(">I", font, start + 4 + 8 * i + 4)
        (kind,) = struct.unpack_from(">H", font, start + offset)
        if kind == 4:
            found.update(_format_4(font, start + offset))
        elif kind == 12:
            found.update(_format_12(font, start + offset))
    return found


def _table(font: bytes, name: bytes) -> int:
    (count,) = struct.unpack_from(">H", font, 4)
    for i in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sIII", font, 12 + 16 * i)
        if tag == name:
            return int(offset)
    raise ValueError("the font has no character map")


def _format_4(font: bytes, at: int) -> Iterable[int]:
    (twice,) = struct.unpack_from(">H", font, at + 6)
    n = twice // 2
    ends = struct.unpack_from(f">{n}H", font, at + 14)
    starts = struct.unpack_from(f">{n}H", font, at + 16 + twice)
    deltas = struct.unpack_from(f">{n}H", font, at + 16 + 2 * twice)
    ranges_at = at + 16 + 3 * twice
    ranges = struct.unpack_from(f">{n}H", font, ranges_at)
    for i in range(n):
        for code in range(starts[i], ends[i] + 1):
            glyph = code
            if ranges[i]:
                place = ranges_at + 2 * i + ranges[i] + 2 * (code - starts[i])
                (glyph,) = struct.unpack_from(">H", font, place)
                if not glyph:
                    continue
            if (glyph + deltas[i]) & 0xFFFF and code != 0xFFFF:
                yield code


def _format_12(font: bytes, at: int) -> Iterable[int]:
    (groups,) = struct.unpack_from(">I", font, at + 12)
    for i in range(groups):
        first, last, glyph = struct.unpack_from(">III", font, at + 16 + 12 * i)
        yield from range(first if glyph else first + 1, last + 1)
