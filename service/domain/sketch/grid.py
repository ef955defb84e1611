"""Places told as the site tells them: by the nearest crossing of two grid lines, and how far off it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from service.domain.words.measures import NM_PER_INCH, Units, say_distance, turn
from service.domain.words.speech import later, tr

Px = tuple[int, int]
# Nearer than this (6 in) a place is at the crossing, or on its line: nobody paces off less.
AT_NM = 6 * NM_PER_INCH


# How far off, and which way.
_WAYS = {
    "east": later("{far} east"),
    "west": later("{far} west"),
    "south": later("{far} south"),
    "north": later("{far} north"),
}


@dataclass(frozen=True, slots=True)
class GridLine:
    """A grid line through two points (thousandths of a pixel), with the label in its bubble."""

    label: str
    a: Px
    b: Px


@dataclass(frozen=True, slots=True)
class Grid:
    """Two families of lines that cross, told as `C/4`; north clockwise from the sketch's up."""

    first: tuple[GridLine, ...]
    second: tuple[GridLine, ...]
    north_udeg: int = 0


def place_words(point: Px, grid: Grid, nm_per_px: float, units: Units) -> str | None:
    """`C/4, 3 ft east`, `C/4, 3 ft east, 2 ft south`, `at C/4`; None where no two lines cross."""
    labels, places = crossings(grid)
    if not labels:
        return None
    away = np.array(point) - places
    nearest = int(np.argmin(np.hypot(away[:, 0], away[:, 1])))
    x, y = (float(d) * nm_per_px / 1000 for d in away[nearest])
    c, s = turn(grid.north_udeg)
    east, south = x * c + y * s, y * c - x * s
    parts = [
        tr(_WAYS[plus if nm > 0 else minus], far=say_distance(round(abs(nm)), units))
        for nm, plus, minus in ((east, "east", "west"), (south, "south", "north"))
        if abs(nm) >= AT_NM
    ]
    return ", ".join([labels[nearest], *parts]) if parts else tr("at {crossing}", crossing=labels[nearest])


@lru_cache(maxsize=64)
def crossings(grid: Grid) -> tuple[tuple[str, ...], np.ndarray[tuple[int, int], np.dtype[np.float64]]]:
    """(labels, (n, 2) places in thousandths of a pixel) of every crossing of the two families."""
    found = [
        (f"{one.label}/{other.label}", place)
        for one in grid.first
        for other in grid.second
        if (place := _crossing(one, other)) is not None
    ]
    places = np.array([place for _, place in found]).reshape(-1, 2)
    return tuple(label for label, _ in found), places


def _crossing(one: GridLine, other: GridLine) -> tuple[float, float] | None:
    """Where the two lines cross, drawn on as far as need be; None when they run along each other."""
    (x0, y0), (x1, y1), (p0, q0), (p1, q1) = one.a, one.b, other.a, other.b
    dx, dy, dp, dq = x1 - x0, y1 - y0, p1 - p0, q1 - q0
    cross = dx * dq - dy * dp
    if abs(cross) <= 1e-6 * math.hypot(dx, dy) * math.hypot(dp, dq):
        return None
    t = ((p0 - x0) * dq - (q0 - y0) * dp) / cross
    return x0 + t * dx, y0 + t * dy


def check_grid(lines: Sequence[GridLine]) -> str | None:
    """Why these lines cannot be one family, in words; None when they can."""
    labels = [line.label for line in lines]
    if any(not label.strip() or len(label) > 8 for label in labels):
        return tr("A grid line's label has 1 to 8 signs.")
    if len(set(labels)) < len(labels):
        return tr("Two grid lines have the same label.")
    if any(line.a == line.b for line in lines):
        return tr("A grid line needs two different points.")
    return None
