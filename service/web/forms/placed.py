"""The fields in which placers send places: x and y, two points, an outline or a line with bends."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from service.web.forms.stills import Point

Mode = Literal["point", "pair", "ring", "line"]
POINT: Mode = "point"
PAIR: Mode = "pair"
RING: Mode = "ring"
LINE: Mode = "line"
MANY = (RING, LINE)  # as many points as are pressed, in one field


def read_places(sent: Mapping[str, str], mode: Mode, prefix: str = "") -> list[Point | None]:
    """The places a form holds, in pixels: one or None, two or None, or all of many. Garbage is nothing."""
    if mode in MANY:
        return list(read_ring(sent.get(f"{prefix}outline", "")))
    names = [("x", "y")] if mode == POINT else [("x1", "y1"), ("x2", "y2")]
    return [_point(sent.get(prefix + x, ""), sent.get(prefix + y, "")) for x, y in names]


def _point(x: str, y: str) -> Point | None:
    try:
        point = float(x), float(y)
    except ValueError:
        return None
    return point if all(math.isfinite(v) and abs(v) <= 1_000_000 for v in point) else None


def read_ring(text: str) -> tuple[Point, ...]:
    """The corners in a placer's `outline` field; nothing when it cannot be read."""
    try:
        rows = json.loads(text or "[]")
        corners = [_point(str(x), str(y)) for x, y in rows]
    except (ValueError, TypeError, RecursionError):
        return ()
    return tuple(corner for corner in corners if corner is not None)[:2000]


def texts_of(places: Sequence[Point | None], mode: Mode) -> tuple[str, ...]:
    """The same places as the texts of the placers' hidden fields."""
    if mode in MANY:
        return (ring_text([place for place in places if place is not None]),)
    return tuple(text for place in places for text in _texts(place))


def _texts(place: Point | None) -> tuple[str, str]:
    return ("", "") if place is None else (f"{place[0]:.12g}", f"{place[1]:.12g}")


def ring_text(corners: Iterable[Sequence[float]]) -> str:
    """Corners as a placer's `outline` field holds them, to the thousandth of a pixel."""
    return json.dumps([[round(x, 3), round(y, 3)] for x, y in corners], separators=(",", ":"))
