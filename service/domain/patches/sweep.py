"""Many lone cornered patches at once: one vectorised distance for zones with a thousand marks."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from service.domain.patches.alone import Reach, settled
from service.domain.shapes.film import damage_radius, damage_region
from service.domain.shapes.outlines import Circle, Outline, Point, Polygon, corners

Asked = tuple[Outline, Polygon, Point, int]


def swept_reaches(asked: Sequence[Asked]) -> list[Reach | None]:
    """The reach of each (damage, patch, offset, minimum); None where damage shows or touches an edge."""
    if not asked:
        return []
    damages, patches = _damages([damage for damage, *_ in asked]), _patches(asked)
    edges = shapely.boundary(patches)
    shapely.prepare(patches)
    clear = shapely.distance(damages, edges) - [damage_radius(damage) for damage, *_ in asked]
    covered = shapely.covers(patches, damages) & (clear > 0)
    return [
        _reach(float(clear[i]), damages[i], edges[i], asked[i][3]) if covered[i] else None
        for i in range(len(asked))
    ]


def _reach(clear_nm: float, damage: shapely.Geometry, edge: shapely.Geometry, minimum_nm: int) -> Reach:
    def place() -> Point:
        x, y = shapely.shortest_line(edge, damage).coords[0]
        return round(x), round(y)

    return settled(clear_nm, minimum_nm), place


def _patches(asked: Sequence[Asked]) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    offsets = [offset for _, patch, offset, _ in asked for _ in patch.points]
    points = [point for _, patch, _, _ in asked for point in patch.points]
    index = np.repeat(np.arange(len(asked)), [len(patch.points) for _, patch, _, _ in asked])
    rings = shapely.linearrings(np.array(points, float) + np.array(offsets, float), indices=index)
    return np.asarray(shapely.polygons(rings))


def _damages(outlines: Sequence[Outline]) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    """Regions of the damages: those with an area in one go, the rest (points and closed slits) one by one."""
    regions = np.empty(len(outlines), dtype=np.object_)
    broad = [i for i, outline in enumerate(outlines) if _broad(outline)]
    rings = [corners(outline) for i in broad if not isinstance(outline := outlines[i], Circle)]
    if broad:
        index = np.repeat(np.arange(len(broad)), [len(ring) for ring in rings])
        flat = np.array([point for ring in rings for point in ring])
        regions[broad] = shapely.polygons(shapely.linearrings(flat, indices=index))
    for i in set(range(len(outlines))) - set(broad):
        regions[i] = damage_region(outlines[i])
    return regions


def _broad(outline: Outline) -> bool:
    return not isinstance(outline, Circle) and (getattr(outline, "opening_nm", 1) > 0)
