"""Which marks under one patch, the slow way: every partition, rectangles by a sweep of angles. Inches.

Imports nothing from service. A mark is its points and one radius round them. The sweep looks every half
degree and then ever finer round each dip that may be the deepest; by the last look the angle is known to some
1e-7 degrees, so film is told to better than a millionth of itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
WITHIN = 2e-6  # of the film


@dataclass(frozen=True)
class Mark:
    """Points (n, 2) where they lie and the radius round each."""

    points: tuple[tuple[float, float], ...]
    radius: float = 0.0


def box(x: float, y: float, length: float, width: float, degrees: float) -> Mark:
    """A rectangle about (x, y), its length turned clockwise with y down."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    halves = [(u * length / 2, v * width / 2) for u, v in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return Mark(tuple((x + u * c - v * s, y + u * s + v * c) for u, v in halves))


def film_at(marks: Sequence[Mark], margin: float, degrees: Floats, roll: float) -> Floats:
    """The film of one patch over the marks at each angle; infinite where it is too wide for the roll."""
    points = np.array([point for mark in marks for point in mark.points])
    radii = np.array([mark.radius for mark in marks for _ in mark.points])[:, None]
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    u = points[:, :1] * c + points[:, 1:] * s
    v = points[:, 1:] * c - points[:, :1] * s
    a = (u + radii).max(axis=0) - (u - radii).min(axis=0) + 2 * margin
    b = (v + radii).max(axis=0) - (v - radii).min(axis=0) + 2 * margin
    return np.where(np.minimum(a, b) <= roll + 1e-7, a * b, np.inf)


def least_film(marks: Sequence[Mark], margin: float, roll: float = math.inf) -> float:
    """The least film of one patch over all the marks; infinite where none was found that fits the roll."""
    step = 0.5
    degrees = np.arange(0, 90, step)
    film = film_at(marks, margin, degrees, roll)
    best = float(film.min())
    dip = (film <= np.roll(film, 1)) & (film <= np.roll(film, -1)) & (film <= best * 1.15) & np.isfinite(film)
    middles, reach = degrees[dip], step
    while len(middles) and reach > 1e-6:
        fine = middles[:, None] + np.linspace(-reach, reach, 41)
        found = film_at(marks, margin, fine.ravel(), roll).reshape(fine.shape)
        middles, reach = fine[np.arange(len(fine)), found.argmin(axis=1)], reach / 10
        best = min(best, float(found.min()))
    return best


def narrowest(marks: Sequence[Mark], margin: float) -> float:
    """The least width of any patch over the marks, looked for every 0.01 degrees."""
    points = np.array([point for mark in marks for point in mark.points])
    radii = np.array([mark.radius for mark in marks for _ in mark.points])[:, None]
    turns = np.radians(np.arange(0, 180, 0.01))
    u = points[:, :1] * np.cos(turns) + points[:, 1:] * np.sin(turns)
    return float(((u + radii).max(axis=0) - (u - radii).min(axis=0)).min()) + 2 * margin


def partitions(count: int) -> Iterator[list[int]]:
    """Every way to part `count` marks, each part a bit mask."""
    if count == 0:
        yield []
        return
    last = 1 << (count - 1)
    for parts in partitions(count - 1):
        yield [*parts, last]
        for k in range(len(parts)):
            yield [*parts[:k], parts[k] | last, *parts[k + 1 :]]


def films(marks: Sequence[Mark], margin: float, roll: float = math.inf) -> list[float]:
    """The least film of every set of the marks, by bit mask."""
    count = len(marks)
    sets = [[marks[k] for k in range(count) if mask >> k & 1] for mask in range(1 << count)]
    return [0.0, *(least_film(chosen, margin, roll) for chosen in sets[1:])]


def best_plans(marks: Sequence[Mark], margin: float, roll: float = math.inf) -> tuple[float, list[list[int]]]:
    """(least film, every partition within WITHIN of it) over all partitions; for seven marks or so."""
    film = films(marks, margin, roll)
    told = [(sum(film[part] for part in parts), parts) for parts in partitions(len(marks))]
    least = min(total for total, _ in told)
    return least, [parts for total, parts in told if total <= least * (1 + WITHIN)]


def least_total(film: Sequence[float]) -> float:
    """The least film over all partitions from the film of every set: each set's lowest mark, with whom?"""
    best = [0.0] * len(film)
    for whole in range(1, len(film)):
        low = whole & -whole
        rest = whole ^ low
        part, least = rest, math.inf
        while True:
            least = min(least, film[part | low] + best[rest ^ part])
            if part == 0:
                break
            part = (part - 1) & rest
        best[whole] = least
    return best[-1]
