"""The greatest value of a function of bounded steepness over a box: found, never guessed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
MOST_CELLS = 4_000
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
    half = max(x1 - x0, y1 - y0, 1.0) / 16
    grid = np.arange(half, 16 * half, 2 * half)
    cells = np.array([(x0 + x, y0 + y) for x in grid for y in grid])
    best, at = -np.inf, (x0, y0)
    tried = cells if first is None or not len(first) else np.vstack([first, cells])
    found = value(tried)
    while True:
        top = int(np.argmax(found))
        if found[top] > best:
            best, at = float(found[top]), (float(tried[top, 0]), float(tried[top, 1]))
        if enough is not None and best >= enough:
            return best, at
        could = found[-len(cells) :] + steepness * half * np.sqrt(2)
        goal = best + near if enough is None else max(best, enough)
        keep = np.flatnonzero(could > goal)
        if not len(keep) or half < 0.5:
            return best, at
        if len(keep) > MOST_CELLS:
            keep = keep[np.argpartition(could[keep], -MOST_CELLS)[-MOST_CELLS:]]
        half /= 2
        cells = (cells[keep][:, None, :] + half * _QUARTERS[None, :, :]).reshape(-1, 2)
        tried, found = cells, value(cells)
