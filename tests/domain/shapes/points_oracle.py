"""Nearness and cover told by sampling points, in inches: numpy alone, nothing of the program."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Shape:
    """A disc (radius, and its centre as the one corner) or a ring of corners; a line is a ring of two."""

    corners: tuple[tuple[float, float], ...]
    radius: float = 0.0

    def edge_points(self, step: float) -> Floats:
        """Points along its edge, never farther apart than the step."""
        if self.radius:
            count = max(8, math.ceil(2 * math.pi * self.radius / step))
            angles = np.linspace(0, 2 * math.pi, count, endpoint=False)
            return np.array(self.corners[0]) + self.radius * np.column_stack((np.cos(angles), np.sin(angles)))
        found = []
        for a, b in zip(self.corners, (*self.corners[1:], self.corners[0]), strict=True):
            count = max(1, math.ceil(math.dist(a, b) / step))
            found.append(np.array(a) + np.linspace(0, 1, count + 1)[:, None] * (np.array(b) - np.array(a)))
        return np.vstack(found)

    def holds(self, points: Floats) -> NDArray[np.bool_]:
        """Which points lie inside, by counting the edges that a ray to the right crosses."""
        if self.radius:
            return np.asarray(np.hypot(*(points - np.array(self.corners[0])).T) <= self.radius)
        x, y = points.T
        inside = np.zeros(len(points), dtype=np.bool_)
        for (ax, ay), (bx, by) in zip(self.corners, (*self.corners[1:], self.corners[0]), strict=True):
            if ay != by:
                inside ^= ((ay > y) != (by > y)) & (x < ax + (y - ay) * (bx - ax) / (by - ay))
        return inside

    def from_edge(self, points: Floats) -> Floats:
        """How far each point lies from its edge, inside or out."""
        if self.radius:
            return np.asarray(np.abs(np.hypot(*(points - np.array(self.corners[0])).T) - self.radius))
        return from_lines(points, list(zip(self.corners, (*self.corners[1:], self.corners[0]), strict=True)))

    def away(self, points: Floats) -> Floats:
        """How far each point lies from it, 0 inside."""
        return np.where(self.holds(points), 0.0, self.from_edge(points))

    def filled(self, step: float) -> Floats:
        """Points of its edge and of a grid inside it."""
        edge = self.edge_points(step)
        grid = grid_round(edge, 0.0, step * 5)
        return np.vstack((edge, grid[self.holds(grid)]))


def from_lines(points: Floats, lines: Sequence[tuple[tuple[float, float], tuple[float, float]]]) -> Floats:
    """How far each point lies from the nearest of the lines."""
    nearest = np.full(len(points), np.inf)
    for a, b in lines:
        start, along = np.array(a), np.array(b) - np.array(a)
        square = float(along @ along)
        part = np.clip((points - start) @ along / square, 0, 1) if square else np.zeros(len(points))
        nearest = np.minimum(nearest, np.hypot(*(points - start - part[:, None] * along).T))
    return nearest


def grid_round(points: Floats, far: float, step: float) -> Floats:
    """A grid over the box round the points, grown by `far`."""
    (x0, y0), (x1, y1) = points.min(axis=0) - far, points.max(axis=0) + far
    xs, ys = np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)
    return np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)


def apart(one: Shape, other: Shape, step: float) -> float:
    """How far the two lie from each other: never less than the truth, and at most half the step more."""
    return min(float(other.away(one.filled(step)).min()), float(one.away(other.filled(step)).min()))


def under_tape(patch: Shape, damage: Shape, half_width: float, step: float) -> bool | None:
    """Whether any sampled place of the damage lies in the band round the patch's edge; None in doubt."""
    nearest = float(patch.from_edge(damage.filled(step)).min())
    if nearest < half_width - step:
        return True
    return False if nearest > half_width + step else None


def covered(damage: Shape, patches: Sequence[Shape], minimum: float, step: float) -> bool | None:
    """True where one patch alone reaches past the damage by the minimum, False where a place that must be
    covered is bare whatever laps; None in doubt, or where it takes several."""
    places = grid_round(damage.edge_points(step), minimum, step)
    places = np.vstack((places, damage.edge_points(step)))
    must = places[damage.away(places) <= minimum - step]
    reach = [
        float(np.where(patch.holds(must), patch.from_edge(must), -patch.from_edge(must)).min())
        for patch in patches
    ]
    if any(depth > 2 * step for depth in reach):
        return True
    bare = np.ones(len(must), dtype=np.bool_)
    for patch in patches:
        bare &= patch.away(must) > step
    return False if bare.any() else None
