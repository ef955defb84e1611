"""The shortest way through all stops of a table of distances, from its first row to any of the others.

Exact up to `EXACT_UP_TO` stops, by the best way to every set of stops. Beyond that a way is built
from nearest to nearest and improved: pieces are turned round and moved while that shortens it, then two
neighbouring pieces change places and it is improved again, over and over. The same table gives the same way.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Wholes = npt.NDArray[np.int64]

EXACT_UP_TO = 13
NEAR = 8  # how many neighbours of a stop are tried
LONGEST_MOVED = 3
PIECE = 50  # the longest of two pieces that change places
SLACK = 0.6  # how much longer than the best a way may be for a time, in legs


def shortest_way(far: Wholes) -> tuple[int, ...]:
    """Rows 1.. in the order to visit them from row 0; of equally short ways always the same one.

    `far`: whole distances, the same there and back.
    """
    stops = len(far) - 1
    if stops <= 1:
        return tuple(range(1, stops + 1))
    return _exact(far) if stops <= EXACT_UP_TO else _searched(far)


def length_of(far: Wholes, order: Sequence[int]) -> int:
    """How long the way from row 0 through these rows is."""
    return int(sum(far[a, b] for a, b in zip((0, *order), order, strict=False)))


def _exact(far: Wholes) -> tuple[int, ...]:
    """The best ways through every set of stops, by the one they begin at: at most 2^13 sets of 13.

    From the end backwards, so that of two equal ways the one with the lower row earlier is told.
    """
    n = len(far) - 1
    between = far[1:, 1:]
    best = np.full((1 << n, n), np.iinfo(np.int64).max // 2, dtype=np.int64)
    sets = np.arange(1 << n)
    sizes = sum((sets >> k) & 1 for k in range(n))
    for k in range(n):
        best[1 << k, k] = 0
    for size in range(2, n + 1):
        these = sets[sizes == size]
        for k in range(n):
            holding = these[(these >> k) & 1 == 1]
            best[holding, k] = (best[holding ^ (1 << k)] + between[k]).min(1)
    left, order = (1 << n) - 1, [int((far[0, 1:] + best[-1]).argmin())]
    while left & (left - 1):
        left ^= 1 << order[-1]
        order.append(int((best[left] + between[order[-1]]).argmin()))
    return tuple(k + 1 for k in order)


def _searched(far: Wholes) -> tuple[int, ...]:
    """Shaken with a slack at first, less and less of it, so that it comes out of what only looks shortest."""
    stops = len(far) - 1
    walk = _Walk(far)
    walk.settle(range(stops + 1))
    length = length_of(far, walk.path[1:-1])
    best, least, tries = walk.path.copy(), length, _tries(stops)
    slack = SLACK * length / stops
    for k in range(tries):
        length -= walk.shake(least - length + int(slack * max(0.0, 1 - 1.25 * k / tries)))
        if length < least:
            best, least = walk.path.copy(), length
    return tuple(best[1:-1])


def _tries(stops: int) -> int:
    """How often two pieces change places: measured so that the last of the gain is had in about a second."""
    return max(1500, min(30 * stops, 3000))


class _Walk:
    """A way from row 0 over all rows to an end that is no distance from anywhere, being improved."""

    def __init__(self, far: Wholes) -> None:
        n = len(far)
        table = np.zeros((n + 1, n + 1), dtype=np.int64)
        table[:n, :n] = far
        self.far: list[list[int]] = table.tolist()
        by_distance = np.argsort(far, axis=1, kind="stable").tolist()
        self.near = [[c for c in row if c != a][:NEAR] for a, row in enumerate(by_distance)]
        self.near.append([])
        self.path = [*self._nearest_first(by_distance), n]
        self.where = [0] * (n + 1)
        for place, stop in enumerate(self.path):
            self.where[stop] = place
        self.drawn = 1

    def _nearest_first(self, by_distance: list[list[int]]) -> list[int]:
        path, seen = [0], {0}
        while len(path) < len(by_distance):
            path.append(next(c for c in by_distance[path[-1]] if c not in seen))
            seen.add(path[-1])
        return path

    def settle(self, stops: Sequence[int]) -> int:
        """Improve round these stops until nothing more is gained; how much was."""
        waiting, queued, gained = list(stops), set(stops), 0
        while waiting:
            stop = waiting.pop()
            queued.discard(stop)
            while True:
                gain, touched = self._turn_round(stop)
                if not gain:
                    gain, touched = self._move_piece(stop)
                if not gain:
                    break
                gained += gain
                for other in touched:
                    if other not in queued:
                        queued.add(other)
                        waiting.append(other)
        return gained

    def _turn_round(self, a: int) -> tuple[int, tuple[int, ...]]:
        """Turn a piece round so that `a` stands beside one nearer to it, where that shortens the way."""
        far, path, where = self.far, self.path, self.where
        row, i = far[a], where[a]
        for step in (1, -1):
            if not 0 <= i + step < len(path):
                continue
            b = path[i + step]
            for c in self.near[a]:
                won = row[b] - row[c]
                if won <= 0:
                    break
                j = where[c]
                if j + step < 0:
                    continue
                d = path[j + step]
                won += far[c][d] - far[b][d]
                if won > 0:
                    low = min(i, j) + (step == 1)
                    high = max(i, j) + (step == 1)
                    self._lay(low, path[low:high][::-1])
                    return won, (a, b, c, d)
        return 0, ()

    def _move_piece(self, a: int) -> tuple[int, tuple[int, ...]]:
        """Move up to three stops, `a` at one end, to where `a` stands beside one near to it."""
        far, path, where = self.far, self.path, self.where
        row, i, last = far[a], where[a], len(path) - 1
        for longest in range(LONGEST_MOVED):
            for start in (i, i - longest):
                end = start + longest
                if start < 1 or end >= last:
                    continue
                before, behind = path[start - 1], path[end + 1]
                other = path[end] if start == i else path[start]
                freed = far[before][path[start]] + far[path[end]][behind] - far[before][behind]
                for c in self.near[a]:
                    if row[c] >= freed:
                        break
                    j = where[c]
                    if start <= j <= end:
                        continue
                    for e in (j + 1, j - 1):
                        if e < 0 or start <= e <= end:
                            continue
                        won = freed - row[c] - far[other][path[e]] + far[c][path[e]]
                        if won > 0:
                            touched = (a, other, c, path[e], before, behind)
                            self._carry(start, end, min(j, e), turn=(start == i) != (e > j))
                            return won, touched
        return 0, ()

    def _carry(self, start: int, end: int, after: int, turn: bool) -> None:
        """Take the piece from `start` to `end` out and put it in behind place `after`."""
        path = self.path
        piece = path[start : end + 1]
        if turn:
            piece.reverse()
        if after < start:
            self._lay(after + 1, piece + path[after + 1 : start])
        else:
            self._lay(start, path[end + 1 : after + 1] + piece)

    def _lay(self, start: int, piece: list[int]) -> None:
        self.path[start : start + len(piece)] = piece
        where = self.where
        for place, stop in enumerate(piece, start):
            where[stop] = place

    def shake(self, most: int) -> int:
        """Let two neighbouring pieces change places and settle again; undone where it is longer by more.

        Returns how much was gained, below zero where it is longer now.
        """
        kept, kept_where, far = self.path.copy(), self.where.copy(), self.far
        room = len(kept) - 2
        start = 1 + self._draw(room - 1)
        middle = start + 1 + self._draw(min(PIECE, room - start))
        end = middle + 1 + self._draw(min(PIECE, room + 1 - middle))
        before, a, b, c, d, behind = (kept[k] for k in (start - 1, start, middle - 1, middle, end - 1, end))
        cost = far[before][c] + far[d][a] + far[b][behind] - far[before][a] - far[b][c] - far[d][behind]
        self._lay(start, kept[middle:end] + kept[start:middle])
        gained = self.settle((before, a, b, c, d, behind)) - cost
        if -gained > most:
            self.path, self.where = kept, kept_where
            return 0
        return gained

    def _draw(self, below: int) -> int:
        """The next of a fixed row of numbers, at least 0 and less than `below`."""
        self.drawn = (self.drawn * 6364136223846793005 + 1442695040888963407) % (1 << 64)
        return (self.drawn >> 33) % below
