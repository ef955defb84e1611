"""How far several patches together reach past damage: by the edges of their union, never by a buffer."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from service.domain.alone import Reach, settled
from service.domain.film import Disc, Floats, Laid, damage_radius, damage_region
from service.domain.film_edges import Arc, film_edges
from service.domain.outlines import Circle, Outline, corners, reach_nm
from service.domain.search import greatest

# Bare damage is measured to this (0.001 in): damage that shows never meets a minimum, however measured.
BARE_WITHIN_NM = 25_400.0
Spot = tuple[float, tuple[float, float]]


def reach_of_union(damage: Outline, pieces: Sequence[Laid], minimum_nm: int) -> Reach:
    """(overlap, nearest uncovered place) of pieces that count together."""
    distance, at = _nearest_edge(damage, *film_edges(pieces))
    inside = np.array(((0.0, 0.0),) if isinstance(damage, Circle) else corners(damage)[:1])
    if distance <= 0 or not any(piece.holds(inside)[0] for piece in pieces):
        bare, spot = _barest(damage, pieces)
        if bare > 0:
            distance, at = -bare, spot
    return settled(distance, minimum_nm), lambda: (round(at[0]), round(at[1]))


def _nearest_edge(damage: Outline, segments: Floats, arcs: Sequence[Arc]) -> Spot:
    """(distance, place on the edge) where an edge comes nearest the damage; 0 where it runs through it."""
    region, radius = damage_region(damage), damage_radius(damage)
    found: list[Spot] = []
    if len(segments):
        lines = shapely.linestrings(segments.reshape(-1, 2, 2))
        distances = shapely.distance(lines, region)
        nearest = int(np.argmin(distances))
        spot = shapely.shortest_line(lines[nearest], region).coords[0]
        found.append((float(distances[nearest]), (spot[0], spot[1])))
    for arc in arcs:
        found += [(float(shapely.distance(shapely.Point(end), region)), end) for end in arc.ends()]
        found += _spots_along(arc, damage)
    distance, at = min(found)
    return max(0.0, distance - radius), at


def _spots_along(arc: Arc, damage: Outline) -> Iterator[Spot]:
    """Where between its ends an arc may come nearest: across from a corner, at a foot, at a crossing."""
    if isinstance(damage, Circle):
        yield from _radial(arc, 0.0, 0.0)
        return
    ring = corners(damage)
    for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], ring[0]), strict=True):
        yield from _radial(arc, x0, y0)
        dx, dy = x1 - x0, y1 - y0
        length = math.hypot(dx, dy)
        if not length:
            continue
        foot = ((arc.x - x0) * dx + (arc.y - y0) * dy) / length
        apart = abs((arc.x - x0) * dy - (arc.y - y0) * dx) / length
        half = math.sqrt(max(0.0, (arc.r - apart) * (arc.r + apart)))
        for step in (foot, foot - half, foot + half):
            if 0 <= step <= length:
                yield from _radial(arc, x0 + dx * step / length, y0 + dy * step / length)


def _radial(arc: Arc, x: float, y: float) -> Iterator[Spot]:
    """The place on the arc in this point's direction from its centre, if the arc goes there."""
    away = math.hypot(x - arc.x, y - arc.y)
    angle = math.atan2(y - arc.y, x - arc.x) if away else arc.start
    if arc.spans(angle):
        yield abs(away - arc.r), arc.point(angle)


def _barest(damage: Outline, pieces: Sequence[Laid]) -> Spot:
    """(distance to patch, place) of the damage's place farthest from any patch; 0 where none shows."""
    region, radius = damage_region(damage), damage_radius(damage)

    def bareness(points: Floats) -> Floats:
        # Off the damage the loss outruns the gain: the greatest over the plane is the greatest on damage.
        off = np.maximum(0.0, shapely.distance(region, shapely.points(points)) - radius)
        # Below nothing where covered, or a search could not tell the way out of a wide covered plain.
        nearest = -np.max([piece.depth(points) for piece in pieces], axis=0)
        less: Floats = nearest - 2.0 * off
        return less

    reach = float(reach_nm(damage))
    near = max(BARE_WITHIN_NM, reach / 8192)
    return greatest(bareness, 3.0, (-reach, -reach, reach, reach), near, first=_likely(damage, pieces))


def _likely(damage: Outline, pieces: Sequence[Laid]) -> Floats:
    """The damage's own corners, or for a round one its places straight away from each piece."""
    if not isinstance(damage, Circle):
        return np.array(corners(damage))
    away = np.array([(-p.x, -p.y) if isinstance(p, Disc) else -p.points.mean(axis=0) for p in pieces])
    length = np.hypot(away[:, 0], away[:, 1])[:, None]
    return np.asarray(away * (damage.diameter_nm / 2) / np.where(length > 0, length, 1.0))
