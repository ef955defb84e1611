"""The taped band round each patch: which bands run over damage that the film over it leaves too bare."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from service.domain.patches.bare import PatchOnSketch, film_outline, left_bare, seen_from
from service.domain.patches.overlap import Piece
from service.domain.shapes.nearby import Floats, Placed, Regions, grown_boxes, regions
from service.domain.shapes.outlines import Circle, Outline, Sides, corners, extent_nm, reach_nm, sides_box
from service.domain.words.measures import TOLERANCE_NM, turn

__all__ = ["PatchOnSketch", "bands_on_damage", "film_outline", "seen_from", "taped_edges"]

Pairs = set[tuple[int, int]]
Segment = tuple[float, float, float, float]


def bands_on_damage(
    patches: Sequence[PatchOnSketch],
    marks: Sequence[Placed],
    nm_per_px: float,
    minimum_nm: int,
    *,
    own: bool = True,
) -> dict[str, tuple[str, ...]]:
    """For each patch the ids of the marks its taped band crosses and all the patches leave too bare.

    Give the standing marks and the standing, well-made patches, wherever each was logged. Geometry decides,
    no state: damage nearer a patch's edge than half its tape lies under the band (at half, within the
    tolerance, the band's rim only touches), and is bare unless all the patches together cover it by
    `minimum_nm`. A patch's own mark is told too, unless `own` is false. Marks in their order; patches with
    nothing are left out.
    """
    damage = regions((mark.outline, *mark.ground(nm_per_px)) for mark in marks)
    able = range(len(patches)) if own else _reaching_others(patches, marks, damage, nm_per_px, minimum_nm)
    crossed = _crossings(patches, able, damage, nm_per_px, minimum_nm)
    if not own:
        crossed = {(i, j) for i, j in crossed if patches[i].on.id != marks[j].id}
    asked = sorted({j for _, j in crossed})
    bare = {asked[k] for k in left_bare([marks[j] for j in asked], patches, nm_per_px, minimum_nm)}
    found: dict[str, list[str]] = defaultdict(list)
    for i, j in sorted(crossed):
        if j in bare:
            found[patches[i].id].append(marks[j].id)
    return {patch: tuple(ids) for patch, ids in found.items()}


def _reaching_others(
    patches: Sequence[PatchOnSketch],
    marks: Sequence[Placed],
    damage: Regions,
    nm_per_px: float,
    minimum_nm: int,
) -> list[int]:
    """The patches, by index, that lie anywhere near a mark that is not their own: few, on most floors."""
    if not patches or not len(damage.past):
        return []
    at = np.array([patch.on.ground(nm_per_px) for patch in patches])
    far = np.array([reach_of_patch(patch, minimum_nm) for patch in patches])
    near = shapely.STRtree(damage.boxes()).query(
        shapely.box(at[:, 0] - far, at[:, 1] - far, at[:, 0] + far, at[:, 1] + far)
    )
    pairs = zip(*near.tolist(), strict=True)
    return sorted({i for i, j in pairs if patches[i].on.id != marks[j].id})


def reach_of_patch(patch: PatchOnSketch, minimum_nm: int) -> float:
    """No less than the distance from its mark's centre to the far side of its tape."""
    shape = patch.piece.shape()
    if isinstance(shape, Sides):
        longest = max(minimum_nm if nm is None else nm for nm in shape.readings().values())
        # Past a corner of the damage's box by the longest reading both ways.
        return 2.0 * (reach_nm(patch.on.outline) + longest) + patch.tape_width_nm
    return reach_nm(shape) + math.hypot(*patch.piece.offset) + patch.tape_width_nm


def _crossings(
    patches: Sequence[PatchOnSketch],
    able: Sequence[int],
    damage: Regions,
    nm_per_px: float,
    minimum_nm: int,
) -> Pairs:
    """(patch, mark) by index, wherever a mark's damage lies under the taped band of a patch of `able`."""
    if not len(able) or not len(damage.past):
        return set()
    under = np.array([patch.tape_width_nm / 2 - TOLERANCE_NM for patch in patches])
    tree = shapely.STRtree(damage.boxes())
    discs = [i for i in able if isinstance(patches[i].piece.outline, Circle)]
    straight: list[tuple[int, Segment]] = []
    for i in able:
        patch = patches[i]
        x, y = patch.on.ground(nm_per_px)
        for x0, y0, x1, y1 in taped_edges(patch.piece, patch.on.outline, minimum_nm):
            straight.append((i, (x0 + x, y0 + y, x1 + x, y1 + y)))
    return _under_straight(straight, under, damage, tree) | _under_round(
        [(i, *_disc(patches[i], nm_per_px)) for i in discs], under, damage, tree
    )


def taped_edges(piece: Piece, damage: Outline, minimum_nm: int) -> list[Segment]:
    """The straight taped edges (x0, y0, x1, y1) from the centre of the piece's own damage, in nanometres.

    A side sealed to a wall has none. Where that wall stands is not known, only that it counts when it stands
    within the minimum: the edges beside it are taken to run as far, so that no tape is overlooked.
    """
    shape = piece.shape()
    if isinstance(shape, Circle):
        return []
    if isinstance(shape, Sides):
        return _edges_to_walls(damage, shape, minimum_nm)
    ox, oy = piece.offset
    ring = [(x + ox, y + oy) for x, y in corners(shape)]
    return [(*a, *b) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True) if a != b]


def _edges_to_walls(damage: Outline, sides: Sides, minimum_nm: int) -> list[Segment]:
    box = sides_box(damage, sides)
    extent, outward = extent_nm(damage, sides.angle_udeg), (-1, 1, -1, 1)
    u0, u1, v0, v1 = (
        end + out * minimum_nm if edge is None else edge
        for edge, end, out in zip(box, extent, outward, strict=True)
    )
    left, right, far, near = (u0, v0, u0, v1), (u1, v0, u1, v1), (u0, v0, u1, v0), (u0, v1, u1, v1)
    c, s = turn(sides.angle_udeg)
    return [
        (a * c - b * s, a * s + b * c, d * c - e * s, d * s + e * c)
        for edge, (a, b, d, e) in zip(box, (left, right, far, near), strict=True)
        if edge is not None and (a, b) != (d, e)
    ]


def _disc(patch: PatchOnSketch, nm_per_px: float) -> tuple[float, float, float]:
    """(x, y, radius) of a round patch on the sketch."""
    assert isinstance(patch.piece.outline, Circle), "a round patch"
    (x, y), (ox, oy) = patch.on.ground(nm_per_px), patch.piece.offset
    return x + ox, y + oy, patch.piece.outline.diameter_nm / 2


def _under_straight(
    straight: Sequence[tuple[int, Segment]], under: Floats, damage: Regions, tree: shapely.STRtree
) -> Pairs:
    if not straight:
        return set()
    owner = np.array([i for i, _ in straight])
    lines: NDArray[np.object_] = shapely.linestrings(
        np.array([edge for _, edge in straight]).reshape(-1, 2, 2)
    )
    s, j = tree.query(grown_boxes(lines, np.maximum(under[owner], 0.0)))
    apart = shapely.distance(lines[s], damage.shapes[j]) - damage.past[j]
    crosses = apart < under[owner[s]]
    return set(zip(owner[s[crosses]].tolist(), j[crosses].tolist(), strict=True))


def _under_round(
    discs: Sequence[tuple[int, float, float, float]], under: Floats, damage: Regions, tree: shapely.STRtree
) -> Pairs:
    """The same for round patches, by their true radius."""
    if not discs:
        return set()
    owner, radius = np.array([i for i, *_ in discs]), np.array([r for *_, r in discs])
    centres: NDArray[np.object_] = shapely.points([(x, y) for _, x, y, _ in discs])
    k, j = tree.query(grown_boxes(centres, radius + np.maximum(under[owner], 0.0)))
    shapes, past = damage.shapes[j], damage.past[j]
    # Damage hangs together: it holds every distance from the centre between its least and its greatest.
    least = np.maximum(shapely.distance(shapes, centres[k]) - past, 0.0)
    apart = np.maximum(least - radius[k], radius[k] - _farthest(shapes, centres[k]) - past)
    crosses = np.maximum(apart, 0.0) < under[owner[k]]
    return set(zip(owner[k[crosses]].tolist(), j[crosses].tolist(), strict=True))


def _farthest(shapes: NDArray[np.object_], centres: NDArray[np.object_]) -> Floats:
    """From each centre to the farthest corner of its shape."""
    points, index = shapely.get_coordinates(shapes, return_index=True)
    gaps = points - shapely.get_coordinates(centres)[index]
    far = np.zeros(len(shapes))
    np.maximum.at(far, index, np.hypot(gaps[:, 0], gaps[:, 1]))
    return far
