"""The greatest value of a function of bounded steepness over a box: found, never guessed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
MOST_CELLS = 4_000
# The first grid: cells across the short side, and at most this many times as many along the other.
LEAST_ACROSS, MOST_ACROSS = 6, 64
_QUARTERS = np.array([(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)])


def greatest(
    value: Callable[[Floats], Floats],
    steepness: float,
    box: tuple[float, float, float, float],
    near: float,
    enough: float | None = None,
    first: Floats | None = None,
) -> tuple[float, tuple[float, float]]:
    """(greatest value found, where) over the box (x0, y0, x1, y1), within `near` unless cells ran out.

    `value` takes (n, 2) points and changes by at most `steepness` per unit moved. Stops early at `enough`.
    `first` are points to try before the grid. What comes back was really found: never more than the truth.
    """
    x0, y0, x1, y1 = box
    across = max(min(x1 - x0, y1 - y0), max(x1 - x0, y1 - y0) / MOST_ACROSS, 1.0) / LEAST_ACROSS
    (xs, half_x), (ys, half_y) = _middles(x0, x1, across), _middles(y0, y1, across)
    half = np.array((half_x, half_y))
    cells = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    best, at = -np.inf, (x0, y0)
    tried = cells if first is None or not len(first) else np.vstack([first, cells])
    found = value(tried)
    while True:
        top = int(np.argmax(found))
        if found[top] > best:
            best, at = float(found[top]), (float(tried[top, 0]), float(tried[top, 1]))
        if enough is not None and best >= enough:
            return best, at
        could = found[-len(cells) :] + steepness * np.hypot(*half)
        goal = best + near if enough is None else max(best, enough)
        keep = np.flatnonzero(could > goal)
        if not len(keep) or half.max() < 0.5:
            return best, at
        if len(keep) > MOST_CELLS:
            keep = keep[np.argpartition(could[keep], -MOST_CELLS)[-MOST_CELLS:]]
        half = half / 2
        cells = (cells[keep][:, None, :] + half * _QUARTERS[None, :, :]).reshape(-1, 2)
        tried, found = cells, value(cells)


def _middles(low: float, high: float, width: float) -> tuple[Floats, float]:
    """(middles of cells about this wide from low to high, half their width)."""
    count = max(1, int(np.ceil((high - low) / width)))
    half = (high - low) / count / 2
    return np.asarray(low + half * (2 * np.arange(count) + 1), dtype=np.float64), half
