"""Shortest walks found another way: integer programs for the order, a graph search for the ways round walls.

Nothing here comes from service/. The order: SciPy's `milp` (HiGHS), each stop met by two lines, with a cut
for every ring that comes off the way, until none does: then the way is the shortest there is. The ways: lines
between spots round the ends of walls that Shapely finds to touch none, searched by SciPy's `shortest_path`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import Any

import numpy as np
import shapely
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, shortest_path

Flat = tuple[float, float]


def shortest_length(far: Any) -> float:
    """Length of the shortest way from row 0 through all other rows, ending at any of them."""
    n = len(far)
    lines = list(combinations(range(n + 1), 2))  # row n: an end that is no distance from anywhere
    cost = np.array([0.0 if b == n else float(far[a][b]) for a, b in lines])
    unit = max(float(cost.max()), 1.0)
    least = np.array([1.0 if line == (0, n) else 0.0 for line in lines])
    meets = np.zeros((n + 1, len(lines)))
    for k, (a, b) in enumerate(lines):
        meets[a, k] = meets[b, k] = 1
    rules = [LinearConstraint(csr_array(meets), 2, 2)]
    whole = np.zeros(len(lines))
    while True:
        found = milp(
            cost / unit,
            constraints=rules,
            bounds=Bounds(least, 1),
            integrality=whole,
            options={"mip_rel_gap": 0.0},
        )
        assert found.success, found.message
        rings = _cut_off(found.x, lines, n + 1)
        if rings:
            inside = [[(a in ring) and (b in ring) for a, b in lines] for ring in rings]
            most = np.array([len(ring) - 1 for ring in rings])
            rules.append(LinearConstraint(csr_array(np.array(inside, dtype=float)), -np.inf, most))
        elif not whole.any() and (abs(found.x - found.x.round()) > 1e-6).any():
            whole = np.ones(len(lines))
        else:
            return float(cost[found.x > 0.5].sum())


def _cut_off(chosen: Any, lines: Sequence[tuple[int, int]], n: int) -> list[set[int]]:
    """The groups of rows that no chosen line joins with the others."""
    used = [(a, b) for (a, b), x in zip(lines, chosen, strict=True) if x > 1e-6]
    rows, cols = zip(*used, strict=True)
    count, group = connected_components(csr_array((np.ones(len(used)), (rows, cols)), shape=(n, n)))
    return [] if count == 1 else [set(np.flatnonzero(group == k).tolist()) for k in range(count)]


def distances_round(places: Sequence[Flat], walls: Sequence[tuple[Flat, Flat]], off: float) -> Any:
    """Shortest distances between the places where ways turn `off` the ends of walls and touch no wall."""
    turns = [k * math.pi / 8 for k in range(16)]
    ends = sorted({end for wall in walls for end in wall})
    beside = [(x + off * math.cos(t), y + off * math.sin(t)) for x, y in ends for t in turns]
    spots = np.array([*places, *beside])
    drawn = shapely.MultiLineString([list(wall) for wall in walls])
    shapely.prepare(drawn)
    one, other = np.triu_indices(len(spots), 1)
    lines = shapely.linestrings(np.stack([spots[one], spots[other]], 1))
    free = ~shapely.intersects(lines, drawn)
    long = shapely.length(lines)
    table = csr_array((long[free] + 1e-9, (one[free], other[free])), shape=(len(spots), len(spots)))
    return shortest_path(table, directed=False)[: len(places), : len(places)]
