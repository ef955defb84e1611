"""The convex outline of a mark where it lies, and the lines that touch two of them from outside."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from service.domain.shapes.outlines import Circle, Outline, corners

Vector = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Hull:
    """A mark's convex outline where it lies: float nanometres, `radius` round every corner.

    `normals[i]` is the direction (radians, rising, 0 to a full turn) square to the edge that ends at corner
    i + 1; between two normals that corner is the farthest out.
    """

    corners: tuple[Vector, ...]
    normals: tuple[float, ...]
    radius: float

    def farthest(self, direction: float) -> Vector:
        """The corner farthest out in this direction (radians, 0 to a full turn)."""
        return self.corners[sum(normal <= direction for normal in self.normals) % len(self.corners)]


def hull_of(outline: Outline, at: Vector) -> Hull:
    """The hull of an outline about its centre."""
    if isinstance(outline, Circle):
        return Hull((at,), (), outline.diameter_nm / 2)
    ring = _turning(sorted({(x + at[0], y + at[1]) for x, y in corners(outline)}))
    if len(ring) == 1:
        return Hull(tuple(ring), (), 0.0)
    edges = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise([*ring, ring[0]])]
    normals = [math.atan2(-dx, dy) % math.tau for dx, dy in edges]
    first = normals.index(min(normals))
    return Hull((*ring[first:], *ring[:first]), (*normals[first:], *normals[:first]), 0.0)


def inner_depth(hulls: Sequence[Hull]) -> list[float]:
    """How deep each lies inside the hull of all their corners, nanometres; 0 or less where it does not."""
    points = np.array([corner for hull in hulls for corner in hull.corners])
    ring = np.array(_turning(sorted({(float(x), float(y)) for x, y in points})))
    if len(ring) < 3:
        return [0.0] * len(hulls)
    along = np.roll(ring, -1, axis=0) - ring
    inward = np.column_stack((-along[:, 1], along[:, 0])) / np.hypot(along[:, 0], along[:, 1])[:, None]
    deep = (points @ inward.T - (ring * inward).sum(axis=1)).min(axis=1)
    starts = np.cumsum([0, *(len(hull.corners) for hull in hulls[:-1])])
    least: list[float] = np.minimum.reduceat(deep, starts).tolist()
    return [depth - hull.radius for depth, hull in zip(least, hulls, strict=True)]


def _turning(points: list[Vector]) -> list[Vector]:
    """The hull's corners in turning order from points in sorted order (the monotone chain)."""
    if len(points) < 3:
        return points
    return _half(points)[:-1] + _half(points[::-1])[:-1]


def _half(points: list[Vector]) -> list[Vector]:
    chain: list[Vector] = []
    for p in points:
        while len(chain) > 1 and _bend(chain[-2], chain[-1], p) <= 0:
            chain.pop()
        chain.append(p)
    return chain


def _bend(a: Vector, b: Vector, c: Vector) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def bridges(a: Hull, b: Hull) -> Iterator[float]:
    """Directions (radians) in which both reach equally far: square to the lines that touch both outside."""
    slack = 1e-9
    for start, end in pairwise([*sorted({0.0, *a.normals, *b.normals}), math.tau]):
        p, q = a.farthest((start + end) / 2), b.farthest((start + end) / 2)
        away, more = math.hypot(p[0] - q[0], p[1] - q[1]), b.radius - a.radius
        if away <= abs(more):
            continue
        middle, half = math.atan2(p[1] - q[1], p[0] - q[0]), math.acos(more / away)
        for root in (middle - half, middle + half):
            if (root - start + slack) % math.tau <= end - start + 2 * slack:
                yield root
