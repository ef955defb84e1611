"""How far several patches together reach past damage: by the edges of their union, never by a buffer."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from service.domain.patches.alone import Reach, settled
from service.domain.patches.search import greatest
from service.domain.shapes.film import Disc, Floats, Laid, damage_radius, damage_region
from service.domain.shapes.film_edges import Arc, film_edges
from service.domain.shapes.outlines import Circle, Outline, corners, reach_nm
from service.domain.words.measures import TOLERANCE_NM

# Bare damage is measured to this (0.001 in): damage that shows never meets a minimum, however measured.
BARE_WITHIN_NM = 25_400.0
Spot = tuple[float, tuple[float, float]]


def reach_of_union(damage: Outline, pieces: Sequence[Laid], minimum_nm: int) -> Reach:
    """(overlap, nearest uncovered place) of pieces that count together."""
    distance, at = _nearest_edge(damage, *film_edges(pieces))
    inside = np.array(((0.0, 0.0),) if isinstance(damage, Circle) else corners(damage)[:1])
    # An edge that runs through the damage may be told a hair's breadth off it: within the tolerance it counts
    # as meeting it, and bare damage is looked for.
    if distance <= TOLERANCE_NM or not any(piece.holds(inside)[0] for piece in pieces):
        bare, spot = _barest(damage, pieces)
        if bare > TOLERANCE_NM:
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
    starts, ends = _edges(damage)
    for arc in arcs:
        found += [(float(shapely.distance(shapely.Point(end), region)), end) for end in arc.ends()]
        found += _spots_along(arc, starts, ends)
    distance, at = min(found)
    return max(0.0, distance - radius), at


def _edges(damage: Outline) -> tuple[Floats, Floats]:
    """(starts, ends) of the damage's edges; a round one is an edge of no length at its centre."""
    ring = np.array(((0.0, 0.0),) if isinstance(damage, Circle) else corners(damage))
    return ring, np.roll(ring, -1, axis=0)


def _spots_along(arc: Arc, starts: Floats, ends: Floats) -> list[Spot]:
    """Where between its ends an arc comes nearest to edges: across from a corner, at a foot or a crossing."""
    centre, along = np.array((arc.x, arc.y)), ends - starts
    length = np.hypot(along[:, 0], along[:, 1])
    unit = along / np.where(length > 0, length, 1.0)[:, None]
    gap = centre - starts
    foot = np.sum(gap * unit, axis=1)
    apart = np.abs(gap[:, 0] * unit[:, 1] - gap[:, 1] * unit[:, 0])
    half = np.sqrt(np.maximum(0.0, (arc.r - apart) * (arc.r + apart)))
    steps = np.clip(np.stack((np.zeros_like(foot), foot, foot - half, foot + half)), 0.0, length)
    points = (starts[None] + steps[:, :, None] * unit[None]).reshape(-1, 2) - centre
    away, angles = np.hypot(points[:, 0], points[:, 1]), np.arctan2(points[:, 1], points[:, 0])
    angles[away == 0] = arc.start
    off = np.where((angles - arc.start) % (2 * math.pi) <= arc.end - arc.start, np.abs(away - arc.r), np.inf)
    nearest = int(np.argmin(off))
    return [(float(off[nearest]), arc.point(float(angles[nearest])))] if np.isfinite(off[nearest]) else []


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
