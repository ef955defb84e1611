"""A stretch of a zone's edge as people tell it: its sides, its length, how it stands, what lies beyond it.

Positions are thousandths of a pixel of the base frame, lengths nanometres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
import shapely

from service.domain.installed.edges import edges_of, overlapping
from service.domain.nouns.installed import Px, Termination
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED, WITHDRAWN
from service.domain.words.measures import NM_PER_INCH

# A neighbour's outline is pressed by hand: this near it is the same joint (chosen here, no source).
BESIDE_JOINT_NM = 6 * NM_PER_INCH
ALIKE = 0.17  # sine of the angle between a joint and an outline drawn along it (chosen here, no source)


def state_of(stretch: Termination, faults: Sequence[str]) -> str:
    """open (described, nothing logged), not sealed, sealed, withdrawn. `faults`: of `termination_faults`."""
    if stretch.withdrawn is not None:
        return WITHDRAWN
    if stretch.seal is None:
        return OPEN
    return NOT_SEALED if faults else SEALED


def path_nm(path: Sequence[Px], nm_per_px: float) -> int:
    """How long a path is."""
    return round(sum(math.dist(a, b) for a, b in pairwise(path)) * nm_per_px / 1000)


def sides_of(outline: Sequence[Px], path: Sequence[Px], nm_per_px: float) -> tuple[int, ...]:
    """The numbers of the sides the path lies along, in the order in which it runs past them: 4, 1, 2 for one
    that goes on past the last corner. None for a path of an outline that was changed since."""
    edges = edges_of(outline, nm_per_px)
    found = overlapping(outline, [(edge.a, edge.b) for edge in edges], path, nm_per_px)
    numbers = tuple(edges[index].number for index in found)
    gap = next((at for at, (a, b) in enumerate(pairwise(numbers), 1) if b != a + 1), 0)
    return numbers[gap:] + numbers[:gap]


def whole_sides(outline: Sequence[Px], path: Sequence[Px], nm_per_px: float) -> bool:
    """Whether the path takes every side it lies along from corner to corner."""
    edges = edges_of(outline, nm_per_px)
    long = sum(edges[number - 1].length_nm for number in sides_of(outline, path, nm_per_px))
    return abs(long - path_nm(path, nm_per_px)) <= NM_PER_INCH // 16 * len(edges)


def neighbours_along(
    path: Sequence[Px], rings: Mapping[str, Sequence[Px]], nm_per_px: float
) -> tuple[str, ...]:
    """The keys of the rings that run along the path within 6 in for more than a foot, in order of their keys.

    A ring that only meets the path at a point or a corner does not.
    """
    near = BESIDE_JOINT_NM * 1000 / nm_per_px
    return tuple(sorted(key for key, ring in rings.items() if _along(path, ring, near) > 2.25 * near))


def _along(path: Sequence[Px], ring: Sequence[Px], near: float) -> float:
    """How much of the path, in quarters of `near`, lies so near to sides of the ring that run its way."""
    sides = [(a, b) for a, b in pairwise((*ring, ring[0])) if a != b]
    total = 0.0
    for a, b in pairwise(path):
        beside = shapely.MultiLineString([side for side in sides if _run_alike((a, b), side)])
        long = math.dist(a, b)
        parts = (np.arange(count := math.ceil(4 * long / near)) + 0.5) / count
        middles = shapely.points(np.outer(1 - parts, a) + np.outer(parts, b))
        total += long * float(np.mean(shapely.dwithin(middles, beside, near)))
    return total


def _run_alike(one: tuple[Px, Px], other: tuple[Px, Px]) -> bool:
    """Whether two straight pieces run within some ten degrees of one line."""
    (ux, uy), (vx, vy) = ((b[0] - a[0], b[1] - a[1]) for a, b in (one, other))
    return abs(ux * vy - uy * vx) <= ALIKE * math.hypot(ux, uy) * math.hypot(vx, vy)
