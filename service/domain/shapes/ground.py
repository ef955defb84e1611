"""Marks on the ground: which zone a point is in, which marks reach into a zone, which sides have a wall."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from service.domain.shapes.outlines import Circle, Outline, Polygon, corners, extent_nm
from service.domain.words.measures import SIXTEENTH_NM, TOLERANCE_NM, turn

Px = tuple[int, int]
Flat = tuple[float, float]
# Wall edges drawn end to end may miss each other by this much (1/16 in) and still be one wall.
JOINT_NM = SIXTEENTH_NM


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
    if not isinstance(outline, Polygon) and _crosses_out(at_px, zone_ring_px):
        return True  # its middle does, and no shape has to be built for that
    return marks_reaching_into([(outline, at_px)], nm_per_px, zone_ring_px)[0]


def _crosses_out(point: Px, ring_px: Sequence[Px]) -> bool:
    """Whether a line from the point to the right crosses the ring an odd number of times, in whole numbers:
    then the point is inside or on it. False says nothing of a point on it."""
    (x, y), odd = point, False
    ax, ay = ring_px[-1]
    for bx, by in ring_px:
        if (ay > y) != (by > y):
            beside = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
            if beside == 0:
                return False
            odd ^= (beside > 0) == (by > ay)
        ax, ay = bx, by
    return odd


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


def length_inside(path: Sequence[Px], zone_ring_px: Sequence[Px]) -> float:
    """How much of a line through these points lies in the zone, in thousandths of a pixel."""
    found: float = shapely.intersection(shapely.LineString(path), shapely.Polygon(zone_ring_px)).length
    return found


def path_reaches_into(path: Sequence[Px], zone_ring_px: Sequence[Px]) -> bool:
    """Whether a line through these points shares any place with the zone, its line included."""
    return bool(shapely.intersects(shapely.LineString(path), shapely.Polygon(zone_ring_px)))


def wall_sides(
    damage: Outline, at: Px, nm_per_px: float, wall_from: Px, wall_to: Px, angle_udeg: int, within_nm: int
) -> set[str]:
    """`closed_sides` for one wall edge."""
    return closed_sides(damage, at, nm_per_px, [(wall_from, wall_to)], angle_udeg, within_nm)


def closed_sides(
    damage: Outline,
    at: Px,
    nm_per_px: float,
    walls: Sequence[tuple[Px, Px]],
    angle_udeg: int,
    within_nm: int,
) -> set[str]:
    """The sides of the damage, in the frame turned by the angle, that walls close within the overlap (nm).

    Walls close a side when together they stand right across from the whole of the damage there. One that ends
    halfway leaves film going on past its end, and film asks for the full overlap.
    """
    u0, u1, v0, v1 = extent_nm(damage, angle_udeg)
    c, s = turn(angle_udeg)
    scale = nm_per_px / 1000
    lines = [[_turned(point, at, scale * c, scale * s) for point in wall] for wall in walls]
    across = [[(v, u) for u, v in line] for line in lines]
    # Each side: from how far out to how far, from where to where it must be closed, the lines seen that way.
    # It starts at the damage's middle: a wall drawn a little into the damage still stands on its side.
    far = within_nm + TOLERANCE_NM
    u, v = (u0 + u1) / 2, (v0 + v1) / 2
    asked = {
        "right": (u, u1 + far, v0, v1, lines),
        "left": (u0 - far, u, v0, v1, lines),
        "near": (v, v1 + far, u0, u1, across),
        "far": (v0 - far, v, u0, u1, across),
    }
    return {side for side, question in asked.items() if _closed(*question)}


def _turned(point: Px, at: Px, c: float, s: float) -> Flat:
    x, y = point[0] - at[0], point[1] - at[1]
    return x * c + y * s, y * c - x * s


def _closed(low: float, high: float, start: float, end: float, lines: Sequence[Sequence[Flat]]) -> bool:
    """Whether the parts of the lines with their first coordinate in [low, high] reach from start to end."""
    reached = start
    for first, last in sorted(part for line in lines if (part := _part(low, high, line)) is not None):
        if first > reached + JOINT_NM:
            break
        if last >= start - JOINT_NM:
            reached = max(reached, last)
            if reached >= end - JOINT_NM:
                return True
    return False


def _part(low: float, high: float, line: Sequence[Flat]) -> Flat | None:
    """(least, greatest) second coordinate of the part of a line whose first lies in [low, high]."""
    (p, q), (r, t) = line
    if p == r:
        return (min(q, t), max(q, t)) if low <= p <= high else None
    first, last = sorted(((low - p) / (r - p), (high - p) / (r - p)))
    first, last = max(0.0, first), min(1.0, last)
    if first > last:
        return None
    ends = (q + first * (t - q), q + last * (t - q))
    return min(ends), max(ends)
