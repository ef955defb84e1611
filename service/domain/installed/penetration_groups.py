"""Penetrations that stand too close for a collar each, and the sheet of film under a dam round them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from service.domain.installed.penetrations import half_collar_nm
from service.domain.nouns.installed import Px
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import HALF_TURN, Circle, Outline, corners, into_half_turn
from service.domain.words.measures import TOLERANCE_NM, turn

Placed = tuple[str, Outline, Px]


@dataclass(frozen=True, slots=True)
class GroupNeed:
    """The sheet of film that goes under a dam round several: its least sides (nm) and how it lies."""

    length_nm: int
    width_nm: int
    angle_udeg: int


def groups_too_close(
    places: Sequence[Placed], nm_per_px: float, numbers: Numbers
) -> tuple[tuple[str, ...], ...]:
    """The ids that stand too close for a collar each, chained into groups of two or more, all sorted.

    Too close: the fingers of one, half a collar's width, would run onto the face of the other.
    """
    if len(places) < 2:
        return ()
    one, other = _near_pairs(places, nm_per_px, half_collar_nm(numbers) - TOLERANCE_NM)
    near: dict[int, set[int]] = {}
    for i, j in zip(one.tolist(), other.tolist(), strict=True):
        near.setdefault(i, set()).add(j)
        near.setdefault(j, set()).add(i)
    groups: list[tuple[str, ...]] = []
    while near:
        group, ahead = set(), [next(iter(near))]
        while ahead:
            here = ahead.pop()
            if here not in group:
                group.add(here)
                ahead += near.pop(here)
        groups.append(tuple(sorted(places[i][0] for i in group)))
    return tuple(sorted(groups))


def _near_pairs(
    places: Sequence[Placed], nm_per_px: float, gap_nm: float
) -> tuple[np.ndarray[tuple[int], np.dtype[np.intp]], np.ndarray[tuple[int], np.dtype[np.intp]]]:
    """Which two stand with their faces within the gap. Each pair is looked for from the wider circle of the
    two, so that one great duct does not make everything a neighbour of everything."""
    per_nm = 1000 / nm_per_px
    shapes = np.array([_core(outline, at, per_nm) for _, outline, at in places], dtype=object)
    radii = np.array([_radius(outline) * per_nm for _, outline, _ in places])
    gap = gap_nm * per_nm
    one, other = shapely.STRtree(shapes).query(
        shapes, predicate="dwithin", distance=np.maximum(2 * radii + gap, 0)
    )
    once = (radii[one] > radii[other]) | ((radii[one] == radii[other]) & (one < other))
    one, other = one[once], other[once]
    faces = shapely.distance(shapes[one], shapes[other]) - radii[one] - radii[other]
    return one[faces <= gap], other[faces <= gap]


def _core(outline: Outline, at: Px, per_nm: float) -> shapely.Geometry:
    """The outline placed on the sketch, in thousandths of a pixel; of a circle its centre."""
    x, y = at
    if isinstance(outline, Circle):
        return shapely.Point(x, y)
    return shapely.Polygon([(x + a * per_nm, y + b * per_nm) for a, b in corners(outline)])


def _radius(outline: Outline) -> float:
    return outline.diameter_nm / 2 if isinstance(outline, Circle) else 0.0


def group_need(places: Sequence[Placed], nm_per_px: float, numbers: Numbers) -> GroupNeed:
    """The least rectangle round them all with half a collar's width more on every side, rounded up.

    Least over every direction of an edge of their hull and a sweep to a thousandth of a degree.
    """
    spots = _spots(places, nm_per_px)
    hull = shapely.get_coordinates(shapely.MultiPoint(spots[:, :2]).convex_hull)
    steps = np.diff(hull, axis=0)
    edges = np.rint(np.degrees(np.arctan2(steps[:, 1], steps[:, 0])) * 1e6).astype(np.int64)
    # An upright sheet where none is smaller, then along an edge, then the sweep: coarse, then fine.
    best = _least_turn(spots, np.concatenate(([0], edges, np.arange(0, HALF_TURN // 2, 250_000))))
    fine = np.arange(best - 250_000, best + 250_001, 1_000)
    angle = into_half_turn(_least_turn(spots, np.concatenate(([best], fine))))
    length, width = _box(spots, angle)
    if length < width:
        length, width, angle = width, length, into_half_turn(angle + HALF_TURN // 2)
    more = 2 * half_collar_nm(numbers)
    return GroupNeed(length + more, width + more, angle)


_Spots = np.ndarray[tuple[int, int], np.dtype[np.float64]]


def _spots(places: Sequence[Placed], nm_per_px: float) -> _Spots:
    """Rows of (x, y, radius), nanometres from the first place: circles as they are, of all else the hull."""
    scale = nm_per_px / 1000
    (x0, y0), discs, rest = places[0][2], [], []
    for _, outline, (x, y) in places:
        right, down = (x - x0) * scale, (y - y0) * scale
        if isinstance(outline, Circle):
            discs.append((right, down, _radius(outline)))
        else:
            rest += [(right + a, down + b) for a, b in corners(outline)]
    hull = shapely.get_coordinates(shapely.MultiPoint(rest).convex_hull)
    return np.array([*discs, *((x, y, 0.0) for x, y in hull)], dtype=np.float64)


def _least_turn(spots: _Spots, udegs: np.ndarray[tuple[int], np.dtype[np.int64]]) -> int:
    """The first of the angles whose box round the spots is as small as any, a billionth apart at most."""
    turns = np.radians(udegs / 1e6)
    x, y, r = spots.T[:, :, None]
    c, s = np.cos(turns), np.sin(turns)
    u, v = x * c + y * s, y * c - x * s
    sides = [(w + r).max(axis=0) - (w - r).min(axis=0) for w in (u, v)]
    area = sides[0] * sides[1]
    return int(udegs[np.flatnonzero(area <= area.min() * (1 + 1e-9))[0]])


def _box(spots: _Spots, udeg: int) -> tuple[int, int]:
    """The sides of the box round the spots in the frame turned by the angle, rounded up to the nanometre."""
    c, s = turn(udeg)
    x, y, r = spots.T
    u, v = x * c + y * s, y * c - x * s
    return (
        math.ceil((u + r).max() - (u - r).min() - 1e-3),
        math.ceil((v + r).max() - (v - r).min() - 1e-3),
    )
