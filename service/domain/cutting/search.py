"""Ways of cutting a roll found by price, the bound that prices give, and whole rolls taken one by one.

Column generation (Gilmore and Gomory 1961): a program says what a piece of each length is worth by the ways
known; the way worth most is looked for; worth more than a roll, it is one more way known. The effort is
counted in cells of the tables filled, so that it never hangs on the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from math import gcd

import numpy as np

from service.domain.cutting.program import Prices, Way
from service.domain.cutting.ways import Wanted

# Cells that one search for a way may fill, roughly and finely; that all may, once for finding ways and once
# more for taking rolls one by one; and that the last bound may.
COARSE, FINE, IN_ALL, OF_BOUND = 300_000, 6_000_000, 250_000_000, 60_000_000
# Into how many parts a roll is divided for that: no table is larger, however few the lengths.
LEAST_PARTS, MOST_PARTS = 1_500, 1_000_000
WAYS_AT_ONCE = 6
# Prices become whole numbers of these parts of a roll, rounded down; worth this much more is worth more.
PRICE, MORE = 10**12, 10**12 + 10**4
# While rolls are taken one by one: how often prices are asked again before the next, and what share of a
# roll the program gives a way for it to be taken.
AGAIN, SURE = 4, 0.65


@dataclass(frozen=True, slots=True)
class _Table:
    """The pieces as parts of a roll, twice: never too long (`under`) and never too short (`over`)."""

    parts: int
    under: tuple[int, ...]
    over: tuple[int, ...]

    @classmethod
    def of(cls, wanted: Wanted, most_parts: int) -> _Table:
        step = reduce(gcd, wanted.lengths)
        exact = wanted.roll // step
        if exact <= most_parts:
            parts = tuple(length // step for length in wanted.lengths)
            return cls(exact, parts, parts)
        lengths = [length * most_parts for length in wanted.lengths]
        under = tuple(length // wanted.roll for length in lengths)
        return cls(most_parts, under, tuple(-(-length // wanted.roll) for length in lengths))


class Search:
    """Ways to cut what is wanted, from ways that give it, and what is known of how few rolls can do."""

    def __init__(self, wanted: Wanted, ways: Sequence[Way]) -> None:
        self.wanted, self.ways, self.bound = wanted, list(dict.fromkeys(ways)), 0
        self._known = set(ways)
        self._prices = Prices(wanted.counts, self.ways)
        self._copies = sum(
            len(_powers(min(n, wanted.roll // length)))
            for length, n in zip(wanted.lengths, wanted.counts, strict=True)
        )
        self._left = IN_ALL

    def run(self) -> None:
        """Find ways until no price finds another, first roughly, then finely; then the bound."""
        for cells, at_once in ((COARSE, WAYS_AT_ONCE), (FINE, 1)):
            table = self._table(cells)
            while self._left > 0 and self._more(table, self.wanted.counts, at_once):
                pass
        self.bound = self._bound()

    def _table(self, cells: int) -> _Table:
        parts = max(LEAST_PARTS, cells // self._copies)
        return _Table.of(self.wanted, min(parts, MOST_PARTS))

    def _more(self, table: _Table, counts: Sequence[int], at_once: int) -> bool:
        """Whether ways worth more than a roll were found: the one worth most, then of what it leaves."""
        worth, room, before = self._worth(), list(counts), len(self.ways)
        for _ in range(at_once):
            way = self._one_more(table, room, worth)
            if way is None:
                break
            room = [count - a for count, a in zip(room, way, strict=True)]
        return len(self.ways) > before

    def _one_more(self, table: _Table, counts: Sequence[int], worth: Sequence[int]) -> Way | None:
        for lengths in (table.under, table.over):
            self._left -= self._copies * table.parts
            value, way = _best_way(lengths, counts, worth, table.parts)
            if value <= MORE or way in self._known:
                return None
            if self.wanted.fits(way):
                self._known.add(way)
                self.ways.append(way)
                self._prices.add(way)
                return way
        return None

    def _worth(self) -> list[int]:
        return [int(price * PRICE) for price in self._prices.of_each()]

    def _bound(self) -> int:
        """No roll is worth more than the way worth most, so that the worth of all pieces over it is no more
        than the rolls (Farley 1990), whatever the prices. All in whole numbers, pieces rounded down."""
        worth, table = self._worth(), self._table(OF_BOUND)
        most = _most_worth(table.under, self.wanted.counts, worth, table.parts)
        whole = sum(a * b for a, b in zip(worth, self.wanted.counts, strict=True))
        return -(-whole // max(most, 1))

    def rolls_one_by_one(self) -> list[Way]:
        """A way for each roll, which together give all that is wanted: again and again the ways that the
        program is surest of are taken, and prices asked anew for the pieces left."""
        left, taken, table = list(self.wanted.counts), [], self._table(COARSE)
        self._left = IN_ALL
        while any(left):
            for _ in range(AGAIN):
                if self._left <= 0 or not self._more(table, left, WAYS_AT_ONCE):
                    break
            for way in self._surest(left):
                taken.append(way)
                left = [count - a for count, a in zip(left, way, strict=True)]
            self._prices.ask(left)
        return taken

    def _surest(self, left: Sequence[int]) -> list[Way]:
        """Ways to take now, none with a piece that is not wanted any more; at least one."""
        rolls = self._prices.rolls()
        order = sorted(range(len(rolls)), key=lambda i: (-rolls[i], i))
        room, found = list(left), []
        for i in order:
            for _ in range(max(int(rolls[i] + 1e-6), int(rolls[i] > SURE))):
                if all(a <= b for a, b in zip(self.ways[i], room, strict=True)):
                    found.append(self.ways[i])
                    room = [b - a for a, b in zip(self.ways[i], room, strict=True)]
            if rolls[i] <= SURE:
                break
        return found or [tuple(min(a, b) for a, b in zip(self.ways[order[0]], left, strict=True))]


@lru_cache(maxsize=4096)
def _powers(most: int) -> tuple[int, ...]:
    """Numbers whose sums are every number up to the most: 1, 2, 4 and the rest."""
    powers: list[int] = []
    while most > 0:
        powers.append(min(most, 1 << len(powers)))
        most -= powers[-1]
    return tuple(powers)


_Item = tuple[int, int, int, int]  # which length, how many of it, their parts of a roll, their worth


def _items(lengths: Sequence[int], counts: Sequence[int], worth: Sequence[int], room: int) -> list[_Item]:
    """The pieces in bundles, so that every number of them can be put together and each bundle is had once."""
    return [
        (i, n, n * length, n * worth[i])
        for i, length in enumerate(lengths)
        if worth[i] > 0
        for n in _powers(min(counts[i], room // length if length else counts[i]))
    ]


def _best_way(
    lengths: Sequence[int], counts: Sequence[int], worth: Sequence[int], room: int
) -> tuple[int, Way]:
    """The way worth most, and its worth: the bounded knapsack, by a table over every part of the room."""
    items = _items(lengths, counts, worth, room)
    best = np.zeros(room + 1, dtype=np.int64)
    taken = np.zeros((len(items), room + 1), dtype=np.bool_)
    for row, (_, _, size, value) in enumerate(items):
        with_it = best[: room + 1 - size] + value
        np.greater(with_it, best[size:], out=taken[row, size:])
        np.maximum(with_it, best[size:], out=best[size:])
    way, at = [0] * len(lengths), room
    for row in range(len(items) - 1, -1, -1):
        if taken[row, at]:
            i, n, size, _ = items[row]
            way[i] += n
            at -= size
    return int(best[room]), tuple(way)


def _most_worth(lengths: Sequence[int], counts: Sequence[int], worth: Sequence[int], room: int) -> int:
    """What the way worth most is worth."""
    best = np.zeros(room + 1, dtype=np.int64)
    for _, _, size, value in _items(lengths, counts, worth, room):
        with_it = best[: room + 1 - size] + value
        np.maximum(with_it, best[size:], out=best[size:])
    return int(best[room])
