"""Which damage all the patches laid near it leave too bare, wherever each of them was logged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from service.domain.patches.laps import lapped_groups
from service.domain.patches.overlap import Piece, judge, judge_many, too_many_corners
from service.domain.shapes.film import laid
from service.domain.shapes.nearby import MILLI, Floats, Indexes, Placed, Regions, near_pairs, regions
from service.domain.shapes.outlines import (
    Circle,
    Outline,
    Point,
    Polygon,
    Sides,
    corners,
    extent_nm,
    sides_and_angle,
    sides_as_rectangle,
)
from service.domain.words.measures import TOLERANCE_NM

# More pieces than this over one damage are not judged as one: it would take seconds, and is never a pass.
MOST_TOGETHER = 40
# Directions in which film is looked for round each corner before anything is judged with care.
DIRECTIONS = np.array([(np.cos(turn), np.sin(turn)) for turn in np.arange(8) * np.pi / 4])
MOST_CORNERS_TRIED = 64


@dataclass(frozen=True, slots=True)
class PatchOnSketch:
    """A patch where it lies: `piece` as seen from the mark it was logged on, and that mark.

    The tape is centred on the patch's edge: half its width (nanometres) on the patch, half on the film.
    """

    id: str
    piece: Piece
    on: Placed
    tape_width_nm: int


def seen_from(piece: Piece, own: Placed, mark: Placed, nm_per_px: float) -> Piece:
    """The piece placed from a mark's centre: exact on its own mark, by the sketch's scale on the others."""
    if mark.id == own.id:
        return piece
    dx = round((own.at[0] - mark.at[0]) / MILLI * nm_per_px)
    dy = round((own.at[1] - mark.at[1]) / MILLI * nm_per_px)
    outline, (ox, oy) = film_outline(piece, own.outline)
    return Piece(outline, (dx + ox, dy + oy))


def film_outline(piece: Piece, damage: Outline) -> tuple[Outline, Point]:
    """The piece as an outline and its offset from its own damage's centre.

    A side sealed to a wall reaches no further than the damage itself.
    """
    shape = piece.shape()
    if not isinstance(shape, Sides):
        return shape, piece.offset
    left, right, near, far = (reading or 0 for reading in shape.readings().values())
    return sides_as_rectangle(damage, Sides(left, right, near, far, shape.angle_udeg))


def left_bare(
    marks: Sequence[Placed], patches: Sequence[PatchOnSketch], nm_per_px: float, minimum_nm: int
) -> set[int]:
    """Indexes of the marks whose damage the patches together do not cover by the minimum (nanometres).

    Only patches within the minimum of a mark are asked: film farther off covers none of what is required. One
    patch alone mostly settles it; a place with no film at all settles it too; what is left needs a union.
    """
    if not marks or not patches:
        return set(range(len(marks)))
    damage = regions((mark.outline, *mark.ground(nm_per_px)) for mark in marks)
    film = regions(_film(patch, nm_per_px) for patch in patches)
    a, b = near_pairs(damage, film, minimum_nm)
    near: dict[int, dict[int, Piece]] = {k: {} for k in range(len(marks))}
    for k, n in sorted(zip(a.tolist(), b.tolist(), strict=True)):
        near[k][n] = seen_from(patches[n].piece, patches[n].on, marks[k], nm_per_px)
    wide = _wide_enough(damage, film, a, b, minimum_nm)
    left = set(near) - _covered_alone(marks, near, wide, minimum_nm)
    # A piece narrower than the minimum laps nothing by that much: it never counts with others, nor does one
    # of no breadth at all (a closed slit's, between two walls).
    narrow = max(1, minimum_nm - TOLERANCE_NM)
    lapping = {n for n, patch in enumerate(patches) if _narrowest(patch) >= narrow}
    several = sorted(k for k in left if len(near[k].keys() & lapping) > 1)
    covering = _covering([marks[k] for k in several], film, lapping, nm_per_px, minimum_nm)
    together = {
        several[i]
        for i, spots in covering.items()
        if _together(marks[several[i]].outline, near[several[i]], lapping, spots, minimum_nm)
    }
    return left - together


def _narrowest(patch: PatchOnSketch) -> float:
    """No circle broader than this lies within the piece."""
    outline, _ = film_outline(patch.piece, patch.on.outline)
    if isinstance(outline, Circle):
        return outline.diameter_nm
    if isinstance(outline, Polygon):
        u0, u1, v0, v1 = extent_nm(outline, 0)
        return min(u1 - u0, v1 - v0)
    length, width, _ = sides_and_angle(outline)
    return min(length, width)


def _film(patch: PatchOnSketch, nm_per_px: float) -> tuple[Outline, float, float]:
    outline, (ox, oy) = film_outline(patch.piece, patch.on.outline)
    x, y = patch.on.ground(nm_per_px)
    return outline, x + ox, y + oy


def _wide_enough(
    damage: Regions, film: Regions, a: Indexes, b: Indexes, minimum_nm: int
) -> set[tuple[int, int]]:
    """The pairs whose film's box holds the box of the damage grown by the minimum: no other covers alone."""
    needed = shapely.bounds(damage.boxes(minimum_nm - 2.0 * TOLERANCE_NM))[a]
    found = shapely.bounds(film.boxes())[b]
    holds = np.all((found[:, :2] <= needed[:, :2]) & (found[:, 2:] >= needed[:, 2:]), axis=1)
    return set(zip(a[holds].tolist(), b[holds].tolist(), strict=True))


def _covered_alone(
    marks: Sequence[Placed],
    near: Mapping[int, Mapping[int, Piece]],
    wide: set[tuple[int, int]],
    minimum_nm: int,
) -> set[int]:
    """The marks that one piece covers by itself; what was measured by its sides on its own mark is asked."""
    asked = [
        (k, piece)
        for k, pieces in near.items()
        for n, piece in pieces.items()
        if piece.sides is not None or (k, n) in wide
    ]
    found = judge_many([(marks[k].outline, (piece,), minimum_nm) for k, piece in asked])
    return {k for (k, _), overlap in zip(asked, found, strict=True) if overlap.meets}


def _covering(
    marks: Sequence[Placed], film: Regions, lapping: set[int], nm_per_px: float, minimum_nm: int
) -> dict[int, dict[int, set[int]]]:
    """For each mark, by index, which of its spots each lapping piece covers; not told where one is bare.

    A spot lies nearer than the minimum to the damage: one with no film on it settles that the mark is bare.
    """
    if not marks:
        return {}
    spots = [_spots(mark, nm_per_px, minimum_nm) for mark in marks]
    owner = np.repeat(np.arange(len(marks)), [len(some) for some in spots])
    points = np.vstack(spots)
    s, n = near_pairs(Regions(shapely.points(points), np.zeros(len(points))), film, 0.0)
    laps = np.isin(n, sorted(lapping))
    s, n = s[laps], n[laps]
    bare = set(owner[np.bincount(s, minlength=len(points)) == 0].tolist())
    found: dict[int, dict[int, set[int]]] = {i: defaultdict(set) for i in range(len(marks)) if i not in bare}
    for spot, i, piece in zip(s.tolist(), owner[s].tolist(), n.tolist(), strict=True):
        if i not in bare:
            found[i][piece].add(spot)
    return found


def _spots(mark: Placed, nm_per_px: float, minimum_nm: int) -> Floats:
    """Places (n, 2) on the sketch within the minimum of the damage, less what the tolerance could decide."""
    far = max(0.0, minimum_nm - 3.0 * TOLERANCE_NM)
    if isinstance(mark.outline, Circle):
        base, far = np.zeros((1, 2)), far + mark.outline.diameter_nm / 2
    else:
        ring = np.array(corners(mark.outline))
        ring = np.vstack((ring, (ring + np.roll(ring, -1, axis=0)) / 2))
        base = ring[:: -(-len(ring) // MOST_CORNERS_TRIED)]
    around = (base[:, None, :] + far * DIRECTIONS[None, :, :]).reshape(-1, 2)
    return np.asarray(np.vstack((base, around)) + np.array(mark.ground(nm_per_px)), dtype=np.float64)


def _together(
    damage: Outline,
    pieces: Mapping[int, Piece],
    lapping: set[int],
    covering: Mapping[int, set[int]],
    minimum_nm: int,
) -> bool:
    """Whether the pieces that lap cover as one: first the few that cover every spot, then all of them."""
    few, every = _fewest(covering), sorted(pieces.keys() & lapping)
    asked = [few, every] if len(few) < len(every) else [every]
    return any(_cover(damage, {n: pieces[n] for n in some}, covering, minimum_nm) for some in asked)


def _cover(
    damage: Outline, pieces: Mapping[int, Piece], covering: Mapping[int, set[int]], minimum_nm: int
) -> bool:
    """Whether a group of them that lap each other covers; only one with film on every spot is worth judging.

    What is too much to judge at once is never a pass.
    """
    every, shapes = list(pieces), list(pieces.values())
    if len(shapes) > MOST_TOGETHER or too_many_corners(damage, shapes):
        return False
    spots = set().union(*covering.values())
    placed = [laid(piece.shape(), piece.offset, damage) for piece in shapes]
    return any(
        spots <= set().union(*(covering.get(every[i], set()) for i in group))
        and judge(damage, [shapes[i] for i in group], minimum_nm).meets
        for group in lapped_groups(placed, minimum_nm)
        if len(group) > 1
    )


def _fewest(covering: Mapping[int, set[int]]) -> list[int]:
    """Pieces that cover every spot between them, each time the one with most of those still bare."""
    left = set().union(*covering.values())
    chosen: list[int] = []
    while left:
        best = max(covering, key=lambda piece: (len(covering[piece] & left), -piece))
        chosen.append(best)
        left -= covering[best]
    return chosen
