"""Ways to cut one roll: every one where they are few, else those that a price on each length finds.

A way is a row of how many pieces of each length come off one roll. What fits is decided by whole nanometres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.domain.cutting.program import Way

# Every full way is listed up to so many, by no more than so many steps.
MOST_LISTED, MOST_STEPS = 2_000, 20_000
# Prices become whole numbers of these parts of a roll, rounded down.
PRICE = 10**12

_Whole = np.ndarray[tuple[int], np.dtype[np.int64]]


@dataclass(frozen=True, slots=True)
class Wanted:
    """So many pieces (`counts`) of each of the lengths, which are distinct and fall; nm, none over `roll`."""

    lengths: tuple[int, ...]
    counts: tuple[int, ...]
    roll: int

    def fits(self, way: Sequence[int]) -> bool:
        """Whether the pieces of this way come off one roll: exactly its length is enough."""
        return sum(a * length for a, length in zip(way, self.lengths, strict=True)) <= self.roll


def all_ways(wanted: Wanted) -> list[Way] | None:
    """Every way to which no wanted piece can be added; None where there are too many to list."""
    lengths, counts = wanted.lengths, wanted.counts
    found: list[Way] = []
    # One open way: what is taken of the lengths so far, and the room left.
    open_ways: list[tuple[tuple[int, ...], int]] = [((), wanted.roll)]
    for _ in range(MOST_STEPS):
        if not open_ways:
            return found
        taken, room = open_ways.pop()
        i = len(taken)
        if i == len(lengths):
            more = any(
                a < count and length <= room for a, count, length in zip(taken, counts, lengths, strict=True)
            )
            found += [] if more else [taken]
            continue
        most = min(counts[i], room // lengths[i])
        open_ways += [((*taken, a), room - a * lengths[i]) for a in range(most + 1)]
        if len(found) > MOST_LISTED:
            return None
    return None
