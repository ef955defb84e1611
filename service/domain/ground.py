"""Marks on the ground: which zone a point is in, which marks reach into a zone, which sides have a wall."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from service.domain.measures import TOLERANCE_NM, turn
from service.domain.outlines import Circle, Outline, corners, extent_nm

Px = tuple[int, int]


def inside(point: Px, ring_px: Sequence[Px]) -> bool:
    """Whether the point is in the ring or on its line."""
    return bool(shapely.intersects_xy(shapely.Polygon(ring_px), *point))


def nearest_zone(point: Px, rings: Mapping[str, Sequence[Px]]) -> str | None:
    """The key of the ring the point is in, else of the nearest one; None when there are no rings."""
    if not rings:
        return None
    keys = list(rings)
    distances = shapely.distance(
        np.array([shapely.Polygon(rings[key]) for key in keys]), shapely.Point(point)
    )
    return keys[int(np.argmin(distances))]


def reaches_into(outline: Outline, at_px: Px, nm_per_px: float, zone_ring_px: Sequence[Px]) -> bool:
    """Whether the mark's outline, placed at its point, shares any place with the zone, its line included."""
    return marks_reaching_into([(outline, at_px)], nm_per_px, zone_ring_px)[0]


def marks_reaching_into(
    marks: Sequence[tuple[Outline, Px]], nm_per_px: float, zone_ring_px: Sequence[Px]
) -> list[bool]:
    """`reaches_into` for many (outline, point) at once; a doubt within the tolerance reaches in."""
    ring = shapely.Polygon(zone_ring_px)
    shapely.prepare(ring)
    per_nm = 1000 / nm_per_px
    shapes, reach = [], []
    for outline, (x, y) in marks:
        if isinstance(outline, Circle):
            shapes.append(shapely.Point(x, y))
            reach.append(outline.diameter_nm / 2)
        else:
            shapes.append(shapely.Polygon([(x + a * per_nm, y + b * per_nm) for a, b in corners(outline)]))
            reach.append(0.0)
    far = (np.array(reach) + TOLERANCE_NM) * per_nm
    return [bool(near) for near in shapely.dwithin(np.array(shapes, dtype=object), ring, far)]


def wall_sides(
    damage: Outline, at: Px, nm_per_px: float, wall_from: Px, wall_to: Px, angle_udeg: int, within_nm: int
) -> set[str]:
    """The sides of the damage on which this wall edge stands within the required overlap of it.

    A wall counts for a side when, in the frame turned by the angle, a part of it lies past the damage's box
    on that side, across from the damage itself, and within the overlap (nm) of it.
    """
    u0, u1, v0, v1 = extent_nm(damage, angle_udeg)
    c, s = turn(angle_udeg)
    per_milli = nm_per_px / 1000
    line = [
        (c * dx + s * dy, c * dy - s * dx)
        for dx, dy in (((x - at[0]) * per_milli, (y - at[1]) * per_milli) for x, y in (wall_from, wall_to))
    ]
    wall, far = shapely.LineString(line), within_nm + TOLERANCE_NM
    strips = {
        "left": (u0 - far, v0, u0, v1),
        "right": (u1, v0, u1 + far, v1),
        "far": (u0, v0 - far, u1, v0),
        "near": (u0, v1, u1, v1 + far),
    }
    return {
        side
        for side, (a, b, d, e) in strips.items()
        if shapely.intersects(wall, shapely.Polygon([(a, b), (d, b), (d, e), (a, e)]))
    }
