"""First working form of judging pieces (to be replaced by exact paths; the signature stays)."""

from __future__ import annotations

import math

import numpy as np
import shapely

from service.domain.measures import TOLERANCE_NM, turn
from service.domain.outlines import Circle, Outline, Point, Sides, corners, sides_box
from service.domain.sides import side_angle

FAR_NM = 1e12


def _shape(outline: Outline, offset: Point) -> shapely.Geometry:
    if isinstance(outline, Circle):
        angles = np.linspace(0, 2 * math.pi, 4096, endpoint=False)
        r = outline.diameter_nm / 2
        return shapely.Polygon(np.c_[offset[0] + r * np.cos(angles), offset[1] + r * np.sin(angles)])
    points = [(x + offset[0], y + offset[1]) for x, y in corners(outline)]
    shape = shapely.Polygon(points)
    return shape if shape.area > 0 else shapely.LineString(points[:2])


def _sides_shape(damage: Outline, sides: Sides) -> shapely.Geometry:
    u0, u1, v0, v1 = sides_box(damage, sides)
    a, b = -FAR_NM if u0 is None else u0, FAR_NM if u1 is None else u1
    d, e = -FAR_NM if v0 is None else v0, FAR_NM if v1 is None else v1
    c, s = turn(sides.angle_udeg)
    return shapely.Polygon([(u * c - v * s, u * s + v * c) for u, v in ((a, d), (b, d), (b, e), (a, e))])


def judged_union(
    damage: Outline, pieces: list[tuple[Outline | Sides, Point]], minimum_nm: int
) -> tuple[int, Point, str]:
    """(overlap, nearest uncovered point, side word)."""
    if len(pieces) == 1 and isinstance(pieces[0][0], Sides):
        sides = pieces[0][0]
        word, least = min(((w, n) for w, n in sides.readings().items() if n is not None), key=lambda r: r[1])
        return least, (0, 0), word
    hole = _shape(damage, (0, 0))
    patch = shapely.union_all(
        [
            _sides_shape(damage, shape) if isinstance(shape, Sides) else _shape(shape, offset)
            for shape, offset in pieces
        ]
    )
    if patch.covers(hole):
        value = shapely.distance(hole, patch.boundary)
        at = shapely.shortest_line(hole, patch.boundary).coords[-1]
    else:
        value = -shapely.hausdorff_distance(shapely.difference(hole, patch), patch)
        at = shapely.shortest_line(patch, shapely.difference(hole, patch)).coords[-1]
    value = minimum_nm if abs(value - minimum_nm) <= TOLERANCE_NM else value
    c, s = turn(side_angle(damage))
    u, v = at[0] * c + at[1] * s, at[1] * c - at[0] * s
    side = ("right" if u > 0 else "left") if abs(u) >= abs(v) else ("near" if v > 0 else "far")
    return math.floor(value), (round(at[0]), round(at[1])), side
