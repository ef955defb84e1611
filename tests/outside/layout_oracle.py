"""Whether laid sheets do what film must, by shapely and intervals alone; nothing of service/ is used.

Sheets are rectangles along the placing direction, told in its frame: u along, v across, v growing away from
the side where placing begins. A sheet with the greater number was laid later and lies on top.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

Point = tuple[float, float]


@dataclass(frozen=True)
class Rect:
    """A sheet in the frame."""

    number: int
    u0: float
    u1: float
    v0: float
    v1: float


@dataclass(frozen=True)
class Rule:
    """What the film is held to; `tol`: how near counts as there (all nanometres)."""

    degrees: float
    starts: str
    width: float
    length: float
    side_lap: float
    end_lap: float
    tol: float

    def frame(self, points: Any) -> Any:
        """(u, v) of sketch positions (n, 2), x right and y down."""
        a = math.radians(self.degrees)
        xy = np.asarray(points, dtype=float)
        along = xy @ [math.cos(a), math.sin(a)]
        right = xy @ [-math.sin(a), math.cos(a)]
        return np.column_stack((along, right if self.starts == "left" else -right))


# Outward ways of a sheet's four edges. Concrete runs along +u and spreads along +v.
WAYS = ("+u", "-u", "+v", "-v")
TOWARD_THE_CONCRETE = ("-u", "-v")


def complaints(floor: Any, sheets: Sequence[tuple[int, Sequence[Point]]], rule: Rule) -> list[str]:
    """Everything wrong with sheets (number, corners) laid over a floor (an area), both on the sketch."""
    seen = shapely.transform(floor, rule.frame)
    shapely.prepare(seen)
    rects: list[Rect] = []
    found: list[str] = []
    for number, corners in sheets:
        (u0, v0), (u1, v1) = (f(rule.frame(corners), axis=0) for f in (np.min, np.max))
        rects.append(Rect(number, u0, u1, v0, v1))
        found += _shape(number, rule.frame(corners), rule)
    if sorted(rect.number for rect in rects) != list(range(1, len(rects) + 1)):
        found.append("numbers are not 1, 2, 3, ...")
    bare = shapely.difference(seen, shapely.union_all([_box(rect) for rect in rects]))
    if not shapely.buffer(bare, -rule.tol).is_empty:
        found.append(f"bare floor of {bare.area / 1e18:.4f} m2 at {bare.centroid}")
    for rect in rects:
        for way in WAYS:
            found += _edge(rect, way, rects, seen, rule)
    return found


def _shape(number: int, corners: Any, rule: Rule) -> Iterator[str]:
    a, b, c, d = corners
    if max(abs(a[1] - b[1]), abs(d[1] - c[1]), abs(a[0] - d[0]), abs(b[0] - c[0])) > rule.tol:
        yield f"sheet {number} does not lie along the placing direction"
    if abs(abs(a[1] - d[1]) - rule.width) > rule.tol:
        yield f"sheet {number} is not as wide as the roll"
    if not 0 < b[0] - a[0] <= rule.length + rule.tol:
        yield f"sheet {number} is longer than the roll"


def _box(rect: Rect) -> Any:
    return shapely.box(rect.u0, rect.v0, rect.u1, rect.v1)


def _edge(rect: Rect, way: str, rects: Sequence[Rect], floor: Any, rule: Rule) -> Iterator[str]:
    """What is wrong along one edge of a sheet, wherever floor goes on past it."""
    lap = rule.end_lap if way[1] == "u" else rule.side_lap
    near = [other for other in rects if other is not rect and _meets(rect, other, rule.tol)]
    for a, b in _floor_past(rect, way, floor, 2 * rule.tol):
        cuts = {a, b, *(at for other in near for at in _ends(other, way) if a < at < b)}
        for start, end in zip(sorted(cuts), sorted(cuts)[1:], strict=False):
            if end - start <= 2 * rule.tol:
                continue
            yield from _stretch(rect, way, (start, end), near, floor, lap, rule)


def _stretch(
    rect: Rect, way: str, part: tuple[float, float], near: Sequence[Rect], floor: Any, lap: float, rule: Rule
) -> Iterator[str]:
    """What is wrong along a stretch of an edge beside which no other sheet begins or ends."""
    middle = (part[0] + part[1]) / 2
    past, back = _place(rect, way, middle, 2 * rule.tol), _place(rect, way, middle, -2 * rule.tol)
    onward = [other for other in near if _holds(other, past)]
    if not any(_reaches_back(other, rect, way, part, floor, lap, rule) for other in onward):
        yield f"sheet {rect.number} {way}: lap short of {lap / 25.4e6:.4f} in at {past}"
    if way in TOWARD_THE_CONCRETE:
        top = max((other.number for other in near if _holds(other, back)), default=0)
        beyond = max((other.number for other in onward), default=0)
        if top < rect.number and beyond < rect.number:
            yield f"sheet {rect.number} {way}: its free edge faces the concrete at {past}"


def _reaches_back(
    other: Rect, rect: Rect, way: str, part: tuple[float, float], floor: Any, lap: float, rule: Rule
) -> bool:
    """Whether the other sheet lies over or under this one for the whole lap, as far in as there is floor.

    A sheet shorter than the lap must lie over or under the other whole.
    """
    inner = shapely.intersection_all([_strip(rect, way, part, lap - rule.tol), _box(rect), floor])
    return bool(shapely.buffer(shapely.difference(inner, _box(other)), -2 * rule.tol).is_empty)


def _strip(rect: Rect, way: str, part: tuple[float, float], deep: float) -> Any:
    """The lap's place: from the edge in by so much."""
    a, b = part
    return {
        "+u": lambda: shapely.box(rect.u1 - deep, a, rect.u1, b),
        "-u": lambda: shapely.box(rect.u0, a, rect.u0 + deep, b),
        "+v": lambda: shapely.box(a, rect.v1 - deep, b, rect.v1),
        "-v": lambda: shapely.box(a, rect.v0, b, rect.v0 + deep),
    }[way]()


def _place(rect: Rect, way: str, at: float, out: float) -> Point:
    """The place `at` along the edge, moved out by so much."""
    return {
        "+u": (rect.u1 + out, at),
        "-u": (rect.u0 - out, at),
        "+v": (at, rect.v1 + out),
        "-v": (at, rect.v0 - out),
    }[way]


def _floor_past(rect: Rect, way: str, floor: Any, out: float) -> list[tuple[float, float]]:
    """Where along the edge floor lies just past it."""
    low, high = (rect.v0, rect.v1) if way[1] == "u" else (rect.u0, rect.u1)
    line = shapely.LineString([_place(rect, way, low, out), _place(rect, way, high, out)])
    axis = 1 if way[1] == "u" else 0
    parts = shapely.get_parts(shapely.intersection(line, floor))
    return [
        (min(p[axis] for p in part.coords), max(p[axis] for p in part.coords))
        for part in parts
        if part.geom_type == "LineString" and not part.is_empty
    ]


def _ends(rect: Rect, way: str) -> tuple[float, float]:
    return (rect.v0, rect.v1) if way[1] == "u" else (rect.u0, rect.u1)


def _holds(rect: Rect, place: Point) -> bool:
    return rect.u0 <= place[0] <= rect.u1 and rect.v0 <= place[1] <= rect.v1


def _meets(one: Rect, other: Rect, tol: float) -> bool:
    return (
        one.u0 <= other.u1 + 4 * tol
        and other.u0 <= one.u1 + 4 * tol
        and one.v0 <= other.v1 + 4 * tol
        and other.v0 <= one.v1 + 4 * tol
    )


def seam_length(floor: Any, sheets: Sequence[tuple[int, Sequence[Point]]], rule: Rule) -> float:
    """How long the free edges of top sheets are where floor and a sheet laid before lie under them (nm).

    An edge that two sheets of one row share, where one laps the other, counts once.
    """
    seen = shapely.transform(floor, rule.frame)
    rects = []
    for number, corners in sheets:
        (u0, v0), (u1, v1) = (f(rule.frame(corners), axis=0) for f in (np.min, np.max))
        rects.append(Rect(number, u0, u1, v0, v1))
    lines: dict[tuple[str, int], list[Any]] = {}
    for rect in rects:
        for way in ("+u", "+v"):
            at = rect.u1 if way == "+u" else rect.v1
            # An end that lies on the floor's own edge is no seam, even where film under it runs on.
            for a, b in _floor_past(rect, way, seen, (2 if way == "+u" else -2) * rule.tol):
                for other in rects:
                    (low, high), (start, end) = _ends(other, "+v" if way == "+u" else "+u"), _ends(other, way)
                    if other.number < rect.number and low < at - 2 * rule.tol and high > at + 2 * rule.tol:
                        part = shapely.LineString([(max(a, start), 0.0), (min(b, end), 0.0)])
                        if min(b, end) > max(a, start):
                            lines.setdefault((way, round(at / (100 * rule.tol))), []).append(part)
    return float(sum(shapely.union_all(parts).length for parts in lines.values()))
