"""The fewest rolls for a few pieces, by looking at every set of them. Nothing here comes from service/."""

from __future__ import annotations

from collections.abc import Sequence


def fewest_rolls(lengths: Sequence[int], roll: int) -> int:
    """Over all sets of the pieces, smallest first: the fewest rolls, then the least used of the last one.

    Whatever piece was put last, the rest is a smaller set, and of two ways to cut it the one with fewer
    rolls, then with more room, can do all that the other can.
    """
    best = {0: (0, roll)}  # no roll open: nothing fits it
    for chosen in range(1, 1 << len(lengths)):
        options = []
        for i, length in enumerate(lengths):
            if chosen >> i & 1:
                rolls, used = best[chosen & ~(1 << i)]
                options.append((rolls, used + length) if used + length <= roll else (rolls + 1, length))
        best[chosen] = min(options)
    return best[(1 << len(lengths)) - 1][0]
