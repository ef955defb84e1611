"""A length that no way through all stops comes below: the least tree that joins them, made as dear as can be.

Every way is a tree. Its stops are charged for each line that meets them and the charge is given back once for
each end of a line that a way has there; what the least tree then costs, no way undercuts. Raising the charge
where the tree meets a stop too often, and lowering it at loose ends, lifts the bound.
Source: M. Held, R. M. Karp, The traveling-salesman problem and minimum spanning trees, Operations Research
18 (1970) 1138-1162; here for a way with one end fixed and the other free.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Wholes = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


def shortest_is_at_least(far: Wholes, found: int) -> int:
    """Whole distance below which no way from row 0 through all other rows is; `found`: one that there is."""
    n = len(far)
    if n < 2:
        return 0
    table = far.astype(np.float64)
    charge, best, step, stale = np.zeros(n), 0.0, 1.0, 0
    for _ in range(_rounds(n)):
        tree, meets = _least_tree(table + charge[:, None] + charge[None, :])
        end = 1 + int(np.argmin(charge[1:]))
        bound = tree - 2 * charge.sum() + charge[0] + charge[end]
        if bound > best:
            best, stale = bound, 0
        else:
            stale += 1
            if stale >= 10:
                step, stale = step * 0.7, 0
        asked = np.full(n, 2.0)
        asked[0] = 1.0
        asked[end] -= 1.0
        miss = meets - asked
        square = float(miss @ miss)
        if not square or step < 1e-3:
            break
        charge += step * max(found - bound, 0.001 * found) / square * miss
    # Whole distances add up to a whole one; a hair for how floats add.
    return min(found, math.ceil(best * (1 - 1e-9)))


def _rounds(n: int) -> int:
    """Fewer on large ones, so that a bound takes about a second."""
    return max(60, min(600, 60_000 // n))


def _least_tree(table: Floats) -> tuple[float, Floats]:
    """(what the least tree costs, how many of its lines meet each row)."""
    n = len(table)
    meets = np.zeros(n)
    near, by = table[0].copy(), np.zeros(n, dtype=np.int64)
    near[0] = np.inf
    joined = np.zeros(n, dtype=np.bool_)
    joined[0] = True
    cost = 0.0
    for _ in range(n - 1):
        k = int(near.argmin())
        cost += float(near[k])
        meets[k] += 1
        meets[by[k]] += 1
        joined[k] = True
        near[k] = np.inf
        closer = (table[k] < near) & ~joined
        near[closer] = table[k][closer]
        by[closer] = k
    return cost, meets
