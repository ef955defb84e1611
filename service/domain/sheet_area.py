"""The floor sheets must cover: outlines less openings, with what runs past edges, in one frame."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from service.domain.measures import SIXTEENTH_NM, TOLERANCE_NM, turn
from service.domain.sheet_nouns import STARTS_LEFT, BadLayout, EdgeRun, Flat, LayoutAsked, Ring
from service.domain.speech import tr

Floats = NDArray[np.float64]
NM2_PER_M2 = 1e18
# An edge that runs within some ten degrees of the stretch is the one it lies along (chosen here, no source).
ALIKE = 0.17
# Two stretches that bend less than this (sine) run straight on: no corner lies between them.
STRAIGHT = 0.01


@dataclass(frozen=True, slots=True)
class Frame:
    """The direction's frame: u along it, v across, growing away from the side where placing begins."""

    c: float
    s: float
    side: float

    @classmethod
    def of(cls, asked: LayoutAsked) -> Frame:
        """The frame of what is asked; its direction must be known."""
        assert asked.direction_udeg is not None, "checked before"
        c, s = turn(asked.direction_udeg)
        return cls(c, s, 1.0 if asked.starts == STARTS_LEFT else -1.0)

    def seen(self, points: Floats) -> Floats:
        """(u, v) of sketch positions (n, 2)."""
        x, y = points[:, 0], points[:, 1]
        return np.column_stack((x * self.c + y * self.s, self.side * (y * self.c - x * self.s)))

    def back(self, u: float, v: float) -> Flat:
        """The sketch position of (u, v)."""
        across = self.side * v
        return u * self.c - across * self.s, u * self.s + across * self.c


@dataclass(frozen=True, slots=True)
class Floor:
    """What is to be covered, in the direction's frame. `edges`: (n, 4) u1 v1 u2 v2 with v1 <= v2.

    `grain`: what is no thicker than this is rounding, not floor.
    """

    frame: Frame
    edges: Floats
    grain: float
    area_m2: float
    to_cover_m2: float

    @property
    def v0(self) -> float:
        """Where it begins across."""
        return float(self.edges[:, 1].min())

    @property
    def v1(self) -> float:
        """Where it ends across."""
        return float(self.edges[:, 3].max())


def floor_of(asked: LayoutAsked) -> Floor:
    """The floor of what is asked; BadLayout "no-area" or "outline-crosses"."""
    outlines = shapely.union_all([_polygon(ring) for ring in asked.outlines])
    openings = shapely.union_all([_polygon(ring) for ring in asked.openings])
    area = shapely.difference(outlines, openings)
    if not area.area > 0:
        told = tr("There is nothing to cover: the outline less its openings has no area.")
        raise BadLayout("no-area", told)
    outer, inner = strips_past(asked)
    cover = shapely.union_all([shapely.difference(shapely.union_all([outlines, *outer]), openings), *inner])
    frame = Frame.of(asked)
    return Floor(
        frame,
        _edges(cover, frame),
        float(max(asked.grain_nm, TOLERANCE_NM)),
        float(area.area) / NM2_PER_M2,
        float(cover.area) / NM2_PER_M2,
    )


def _polygon(ring: Ring) -> Any:
    """The ring as a polygon, an empty one for a ring of no area."""
    if len(set(ring)) < 3:
        return shapely.Polygon()
    polygon = shapely.Polygon(ring)
    if not polygon.is_valid and polygon.area > 0:
        told = tr("The outline crosses itself: draw it again without the crossing.")
        raise BadLayout("outline-crosses", told)
    return polygon if polygon.is_valid else shapely.Polygon()


def _edges(area: Any, frame: Frame) -> Floats:
    """The edges of all rings of the area in the frame, each from its lower v up."""
    found = []
    for polygon in shapely.get_parts(area):
        if polygon.geom_type != "Polygon":
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            seen = frame.seen(np.asarray(ring.coords))
            found.append(np.hstack((seen[:-1], seen[1:])))
    edges = np.vstack(found)
    up = edges[:, 1] <= edges[:, 3]
    return np.where(up[:, None], edges, edges[:, [2, 3, 0, 1]])


# --- what runs past an edge ---


@dataclass(frozen=True, slots=True)
class _Past:
    """A stretch with the unit vector that points out of the floor."""

    a: Flat
    b: Flat
    out: Flat
    past: int


def strips_past(asked: LayoutAsked) -> tuple[list[Any], list[Any]]:
    """The pieces of film past the outlines' edges, and those past the openings' edges, as polygons.

    A stretch is taken where it was given, and points out of the ring whose edge it lies along. Two that meet
    at an outward corner are joined by the corner between them, as film folded up two walls needs it.
    """
    rings = [(ring, 1.0) for ring in asked.outlines] + [(ring, -1.0) for ring in asked.openings]
    sides = [
        (a, b, sense * _turning(ring), sense)
        for ring, sense in rings
        for a, b in pairwise((*ring, ring[0]))
        if a != b
    ]
    strips: dict[float, list[Any]] = {1.0: [], -1.0: []}
    pasts: dict[float, list[_Past]] = {1.0: [], -1.0: []}
    for run in asked.edges:
        if run.past_nm > 0 and run.a != run.b:
            out, sense = _outward(run, sides)
            past = _Past(run.a, run.b, out, run.past_nm)
            pasts[sense].append(past)
            corners = (past.a, past.b, _moved(past.b, past), _moved(past.a, past))
            strips[sense].append(shapely.Polygon(corners))
    for sense, runs in pasts.items():
        strips[sense] += [corner for one, two in combinations(runs, 2) for corner in _corners(one, two)]
    return strips[1.0], strips[-1.0]


def _turning(ring: Ring) -> float:
    """1.0 where the ring goes clockwise on the sketch (x right, y down), else -1.0."""
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise((*ring, ring[0])))
    return 1.0 if twice > 0 else -1.0


def _outward(run: EdgeRun, sides: Sequence[tuple[Flat, Flat, float, float]]) -> tuple[Flat, float]:
    """(unit vector out of the floor, 1.0 for an outline or -1.0 for an opening), by the nearest side."""
    long = math.dist(run.a, run.b)
    ux, uy = (run.b[0] - run.a[0]) / long, (run.b[1] - run.a[1]) / long
    middle = shapely.Point((run.a[0] + run.b[0]) / 2, (run.a[1] + run.b[1]) / 2)

    def unlike(side: tuple[Flat, Flat, float, float]) -> tuple[bool, float]:
        (ax, ay), (bx, by) = side[0], side[1]
        cross = abs(ux * (by - ay) - uy * (bx - ax)) / math.dist(side[0], side[1])
        return cross > ALIKE, float(shapely.distance(middle, shapely.LineString(side[:2])))

    (ax, ay), (bx, by), turning, sense = min(sides, key=unlike)
    ahead = 1.0 if ux * (bx - ax) + uy * (by - ay) >= 0 else -1.0
    return (uy * turning * ahead, -ux * turning * ahead), sense


def _moved(point: Flat, past: _Past) -> Flat:
    return point[0] + past.out[0] * past.past, point[1] + past.out[1] * past.past


def _corners(one: _Past, two: _Past) -> list[Any]:
    """What lies between two strips that meet at an outward corner, out to where their far edges meet."""
    found = []
    for at in (one.a, one.b):
        for there, far in ((two.a, two.b), (two.b, two.a)):
            if math.dist(at, there) > SIXTEENTH_NM:
                continue
            away, long = (far[0] - there[0], far[1] - there[1]), math.dist(far, there)
            if (away[0] * one.out[0] + away[1] * one.out[1]) / long < -STRAIGHT:
                tip = _tip(at, one, two)
                found.append(shapely.MultiPoint([at, _moved(at, one), tip, _moved(there, two)]).convex_hull)
    return [corner for corner in found if corner.geom_type == "Polygon"]


def _tip(at: Flat, one: _Past, two: _Past) -> Flat:
    """Where the far edges meet, at most twice the longer run from the corner (a sharp corner's is cut)."""
    (ax, ay), (bx, by) = one.out, two.out
    cross = ax * by - ay * bx
    x, y = (one.past * by - two.past * ay) / cross, (two.past * ax - one.past * bx) / cross
    far, most = math.hypot(x, y), 2.0 * max(one.past, two.past)
    part = min(1.0, most / far)
    return at[0] + x * part, at[1] + y * part
