"""Film that runs past the floor's edge, laid flat: the strip past each stretch, and the corners between."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from service.domain.sheets.nouns import EdgeRun, Flat, LayoutAsked, Ring
from service.domain.words.measures import SIXTEENTH_NM

# An edge that runs within some ten degrees of the stretch is the one it lies along (chosen here, no source).
ALIKE = 0.17
# Two stretches that bend less than this (sine) run straight on: no corner lies between them.
STRAIGHT = 0.01


@dataclass(frozen=True, slots=True)
class _Past:
    """A stretch with the unit vector that points out of the floor; `inner` at an opening's edge."""

    a: Flat
    b: Flat
    out: Flat
    past: int
    inner: bool

    def moved(self, point: Flat) -> Flat:
        """The point, moved out by as far as the film runs."""
        return point[0] + self.out[0] * self.past, point[1] + self.out[1] * self.past


def strips_past(asked: LayoutAsked) -> tuple[list[Any], list[Any]]:
    """The pieces of film past the outlines' edges, and those past the openings' edges, as polygons.

    A stretch is taken where it was given, and points out of the floor at the edge it lies along. Two that
    meet at an outward corner are joined by the corner between them, as film folded up two walls needs it.
    """
    runs = [run for run in asked.edges if run.past_nm > 0 and run.a != run.b]
    sides = _Sides.of(asked)
    pasts = [sides.past(run) for run in runs]
    found: tuple[list[Any], list[Any]] = ([], [])
    for past in pasts:
        corners = (past.a, past.b, past.moved(past.b), past.moved(past.a))
        found[past.inner].append(shapely.Polygon(corners))
    for one, two, at, way in _meetings(pasts):
        if one.inner == two.inner:
            found[one.inner].extend(_corner(one, two, at, way))
    return found


@dataclass(frozen=True, slots=True)
class _Sides:
    """The sides of all rings: how they run, as lines, and `turning`: 1.0 with the floor to the right."""

    along: NDArray[np.float64]
    lines: NDArray[Any]
    turning: NDArray[np.float64]
    inner: NDArray[np.bool_]

    @classmethod
    def of(cls, asked: LayoutAsked) -> _Sides:
        rings = [(ring, False) for ring in asked.outlines] + [(ring, True) for ring in asked.openings]
        sides = [
            (a, b, -_turning(ring) if inner else _turning(ring), inner)
            for ring, inner in rings
            for a, b in pairwise((*ring, ring[0]))
            if a != b
        ]
        a, b, turning, inner = zip(*sides, strict=True)
        lines = shapely.linestrings(np.stack((a, b), axis=1))
        return cls(np.subtract(b, a), lines, np.array(turning), np.array(inner))

    def past(self, run: EdgeRun) -> _Past:
        """The stretch with its way out, by the nearest side that runs as it does."""
        (ax, ay), (bx, by) = run.a, run.b
        ux, uy = _way(run.a, run.b)
        x, y = self.along.T
        unlike = np.abs(ux * y - uy * x) > ALIKE * np.hypot(x, y)
        middle = shapely.Point((ax + bx) / 2, (ay + by) / 2)
        far = shapely.distance(middle, self.lines)
        i = int(np.lexsort((far, unlike))[0])
        way = float(self.turning[i]) * (1.0 if ux * x[i] + uy * y[i] >= 0 else -1.0)
        return _Past(run.a, run.b, (uy * way, -ux * way), run.past_nm, bool(self.inner[i]))


def _turning(ring: Ring) -> float:
    """1.0 where the ring goes clockwise on the sketch (x right, y down), else -1.0."""
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise((*ring, ring[0])))
    return 1.0 if twice > 0 else -1.0


def _meetings(pasts: Sequence[_Past]) -> list[tuple[_Past, _Past, Flat, Flat]]:
    """(one, two, where they meet, the way two goes from there) of all stretches that meet end to end."""
    if not pasts:
        return []
    ends = [(past, *pair) for past in pasts for pair in ((past.a, past.b), (past.b, past.a))]
    points = shapely.points([at for _, at, _ in ends])
    near = shapely.STRtree(points).query(points, predicate="dwithin", distance=SIXTEENTH_NM)
    return [
        (ends[i][0], ends[j][0], ends[i][1], _way(ends[j][1], ends[j][2]))
        for i, j in zip(*near.tolist(), strict=True)
        if i < j and i // 2 != j // 2
    ]


def _way(a: Flat, b: Flat) -> Flat:
    long = math.dist(a, b)
    return (b[0] - a[0]) / long, (b[1] - a[1]) / long


def _corner(one: _Past, two: _Past, at: Flat, way: Flat) -> list[Any]:
    """What lies between two strips at an outward corner, out to where their far edges meet."""
    if way[0] * one.out[0] + way[1] * one.out[1] >= -STRAIGHT:
        return []
    tip = _tip(at, one, two)
    return [shapely.MultiPoint([at, one.moved(at), tip, two.moved(at)]).convex_hull]


def _tip(at: Flat, one: _Past, two: _Past) -> Flat:
    """Where the far edges meet, at most twice the longer run from the corner (a sharp corner's is cut)."""
    (ax, ay), (bx, by) = one.out, two.out
    cross = ax * by - ay * bx
    x, y = (one.past * by - two.past * ay) / cross, (two.past * ax - one.past * bx) / cross
    part = min(1.0, 2.0 * max(one.past, two.past) / math.hypot(x, y))
    return at[0] + x * part, at[1] + y * part
