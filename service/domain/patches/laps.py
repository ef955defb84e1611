"""Which patches count together: those that lap each other by at least the patch overlap."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from service.domain.patches.search import greatest
from service.domain.shapes.film import Disc, Floats, Laid
from service.domain.words.measures import TOLERANCE_NM


def lap_at_least(one: Laid, other: Laid, minimum_nm: int) -> bool:
    """Whether the two lap by the minimum: whether a circle that broad fits where both lie.

    Where two equal strips lap in line this is the distance from the edge of one to the edge of the other.
    Edges that cross are 0 apart where they cross, whatever the lap; the broadest circle under both pieces
    still tells how far edge lies from edge. A doubt beyond the tolerance counts as no lap.
    """
    radius = minimum_nm / 2
    if isinstance(one, Disc) and isinstance(other, Disc):
        if min(one.r, other.r) < radius:
            return False
        apart = float(np.hypot(one.x - other.x, one.y - other.y))
        return one.r + other.r - apart >= minimum_nm - TOLERANCE_NM
    a, b = one.bounds(), other.bounds()
    x0, y0, x1, y1 = max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3])
    if min(x1 - x0, y1 - y0) < minimum_nm - TOLERANCE_NM:
        return False

    def depth(points: Floats) -> Floats:
        return np.minimum(one.depth(points), other.depth(points))

    enough = radius - TOLERANCE_NM / 2
    middle = np.array([((x0 + x1) / 2, (y0 + y1) / 2)])
    return greatest(depth, 1.0, (x0, y0, x1, y1), TOLERANCE_NM, enough, middle)[0] >= enough


def lapped_groups(pieces: Sequence[Laid], minimum_nm: int) -> list[list[int]]:
    """Indexes of the pieces, grouped by laps that are broad enough, also from piece to piece."""
    group = list(range(len(pieces)))
    for i in range(len(pieces)):
        for j in range(i):
            if group[i] != group[j] and lap_at_least(pieces[i], pieces[j], minimum_nm):
                old, new = group[i], group[j]
                group = [new if g == old else g for g in group]
    return [[i for i, g in enumerate(group) if g == name] for name in sorted(set(group))]
