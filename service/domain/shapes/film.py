"""Pieces laid on the film, as shapes to compute with: discs by their radius, all else by corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from service.domain.shapes.outlines import Circle, Outline, Point, Sides, corners, reach_nm, sides_box
from service.domain.words.measures import turn

Floats = NDArray[np.float64]
# Film sealed to a wall is taken to go on past it, by this (10 m) and four times what the piece reaches
# besides: farther than any reading, so that no edge of film is met there.
PAST_WALL_NM = 1e10


@dataclass(frozen=True, slots=True)
class Disc:
    """A round piece: centre and radius in float nanometres from the damage's centre."""

    x: float
    y: float
    r: float

    def holds(self, points: Floats) -> NDArray[np.bool_]:
        """Which of the (n, 2) points lie in it or on its edge."""
        return np.hypot(points[:, 0] - self.x, points[:, 1] - self.y) <= self.r

    def depth(self, points: Floats) -> Floats:
        """How deep each point lies inside, negative outside."""
        return self.r - np.hypot(points[:, 0] - self.x, points[:, 1] - self.y)

    def bounds(self) -> tuple[float, float, float, float]:
        """(x0, y0, x1, y1)."""
        return self.x - self.r, self.y - self.r, self.x + self.r, self.y + self.r


@dataclass(frozen=True, slots=True)
class Cornered:
    """A piece with straight edges: its region, and its corners in order so that `outward` holds."""

    region: shapely.Polygon
    points: Floats

    def holds(self, points: Floats) -> NDArray[np.bool_]:
        """Which of the (n, 2) points lie in it or on its edge."""
        held: NDArray[np.bool_] = shapely.intersects_xy(self.region, points[:, 0], points[:, 1])
        return held

    def depth(self, points: Floats) -> Floats:
        """How deep each point lies inside, negative outside."""
        at = shapely.points(points)
        edge: Floats = shapely.distance(self.region.boundary, at)
        return np.where(shapely.intersects(self.region, at), edge, -edge)

    def bounds(self) -> tuple[float, float, float, float]:
        """(x0, y0, x1, y1)."""
        x0, y0, x1, y1 = self.region.bounds
        return x0, y0, x1, y1

    def edges(self) -> tuple[Floats, Floats, Floats]:
        """(starts, ends, unit vectors square to each edge, pointing out), each (n, 2)."""
        ends = np.roll(self.points, -1, axis=0)
        along = ends - self.points
        along /= np.hypot(along[:, 0], along[:, 1])[:, None]
        return self.points, ends, np.column_stack((along[:, 1], -along[:, 0]))


Laid = Disc | Cornered


def laid(shape: Outline | Sides, offset: Point, damage: Outline) -> Laid:
    """The piece where it lies, seen from the damage's centre."""
    if isinstance(shape, Circle):
        return Disc(float(offset[0]), float(offset[1]), shape.diameter_nm / 2)
    if isinstance(shape, Sides):
        c, s = turn(shape.angle_udeg)
        box = sides_box(damage, shape)
        past = PAST_WALL_NM + 4 * max(
            abs(edge) for edge in (*box, float(reach_nm(damage))) if edge is not None
        )
        u0, u1, v0, v1 = (
            (-past if side % 2 == 0 else past) if edge is None else edge for side, edge in enumerate(box)
        )
        return cornered([(u * c - v * s, u * s + v * c) for u, v in ((u0, v0), (u1, v0), (u1, v1), (u0, v1))])
    return cornered([(x + offset[0], y + offset[1]) for x, y in corners(shape)])


def cornered(points: list[tuple[float, float]]) -> Cornered:
    """A piece from its corners in either order."""
    # Counter-clockwise by the signed area, so that a quarter turn of an edge always points out of the piece.
    ring = np.array([p for i, p in enumerate(points) if p != points[i - 1]])
    x, y = ring[:, 0], ring[:, 1]
    if np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) < 0:
        ring = ring[::-1]
    return Cornered(shapely.Polygon(ring), ring)


def damage_region(damage: Outline) -> shapely.Geometry:
    """The damage's region; a round one gives its centre and a closed slit its line."""
    if isinstance(damage, Circle):
        return shapely.Point(0, 0)
    ring = corners(damage)
    region = shapely.Polygon(ring)
    return region if region.area > 0 else shapely.LineString([ring[0], ring[2]])


def damage_radius(damage: Outline) -> float:
    """What a round damage reaches past its `damage_region`."""
    return damage.diameter_nm / 2 if isinstance(damage, Circle) else 0.0
