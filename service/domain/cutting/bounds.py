"""How few rolls a set of pieces can be cut from, however it is cut: bounds in exact integers.

A bound weighs the pieces so that whatever fits one roll weighs no more than 1; then the pieces of so many
rolls weigh no more than that many. The weighings are dual feasible functions (Lueker 1983; Fekete and
Schepers 2001; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

# Steps that the finer weighings round to, and how many distinct lengths are tried as what counts as small.
STEPS = range(1, 13)
MOST_SMALL = 400

_Whole = np.ndarray[tuple[int], np.dtype[np.int64]]


def least_rolls(lengths: Sequence[int], counts: Sequence[int], roll: int) -> int:
    """No fewer rolls can do for so many pieces of each length (nm, none longer than the roll)."""
    if not lengths:
        return 0
    x, n = np.array(lengths, dtype=np.int64), np.array(counts, dtype=np.int64)
    best = -(-sum(length * count for length, count in zip(lengths, counts, strict=True)) // roll)
    small = np.unique(x[2 * x <= roll])
    step = max(1, -(-len(small) // MOST_SMALL))
    for at_least in (0, *small[::step].tolist()):
        best = max(best, _weighed(_without_small(x, roll, at_least), n, roll))
    return best


def _without_small(x: _Whole, roll: int, small: int) -> _Whole:
    """Pieces under `small` weigh nothing, and so what leaves no more than that weighs a whole roll."""
    return np.where(x > roll - small, roll, np.where(x < small, 0, x))


def _weighed(x: _Whole, n: _Whole, roll: int) -> int:
    """The best bound of the plain weight and of the weights rounded to whole steps of a roll.

    Of k steps: x goes to the whole number of (k + 1)-ths in it, over k; where it is a whole number of them
    exactly it keeps its own weight. All over k (k + 1), so that nothing is rounded.
    """
    plain = sum(a * b for a, b in zip(x.tolist(), n.tolist(), strict=True))
    best = -(-plain // roll)
    for k in STEPS:
        whole, rest = np.divmod(x * (k + 1), roll)
        weights = np.where(rest == 0, whole * k, whole * (k + 1))
        best = max(best, -(-int((weights * n).sum()) // (k * (k + 1))))
    return best
