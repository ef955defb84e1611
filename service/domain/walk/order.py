"""The order in which to visit the marks of a zone so as to walk least, from where somebody stands.

The way ends wherever the last mark is. Walls are walked round, never through. The same marks, walls and start
give the same order, however they are handed in: what is equally short is told by tag.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from service.domain.walk.bound import shortest_is_at_least
from service.domain.walk.path_search import EXACT_UP_TO, length_of, shortest_way
from service.domain.walk.ways import NO_WAY, Flat, Ways, ways_between

Px = tuple[int, int]
MILLI = 1000  # positions are thousandths of a pixel
MOST_MARKS = 500


@dataclass(frozen=True, slots=True)
class Stop:
    """A mark to visit, in the base frame."""

    id: str
    tag: str
    at: Px


@dataclass(frozen=True, slots=True)
class Visit:
    """One mark in its turn: how far it is from the one before (nm), how far in all, and the turns of the way
    there, both ends included. The first visit of a walk that starts nowhere has no way."""

    stop: Stop
    leg_nm: int
    along_nm: int
    way: tuple[Px, ...]


@dataclass(frozen=True, slots=True)
class WalkOrder:
    """`start`: where it begins, None: at its first mark, as nobody said where they stand.

    `beyond`: marks that walls close off, by tag. `exact`: no order of the visits is less to walk.
    """

    start: Px | None
    visits: tuple[Visit, ...]
    beyond: tuple[Stop, ...]
    length_nm: int
    exact: bool


def walk_order(
    stops: Sequence[Stop], start: Px | None, walls: Sequence[tuple[Px, Px]], nm_per_px: float
) -> WalkOrder:
    """The walk over all stops. `walls`: all that stand on the sketch, whichever zone they were drawn for."""
    return _walked(_by_tag(stops), start, tuple(sorted(walls)), nm_per_px)


def least_to_walk(
    stops: Sequence[Stop], start: Px | None, walls: Sequence[tuple[Px, Px]], nm_per_px: float
) -> int:
    """A length (nm) that no order of the same visits comes below; the walk's own where it is the shortest."""
    walls = tuple(sorted(walls))
    found = _walked(_by_tag(stops), start, walls, nm_per_px)
    if found.exact:
        return found.length_nm
    return _bound(_by_tag(stops), start, walls, nm_per_px, found.length_nm)


def _by_tag(stops: Sequence[Stop]) -> tuple[Stop, ...]:
    return tuple(sorted(stops, key=lambda stop: (len(stop.tag), stop.tag, stop.id)))


@lru_cache(maxsize=64)
def _walked(
    stops: tuple[Stop, ...], start: Px | None, walls: tuple[tuple[Px, Px], ...], nm_per_px: float
) -> WalkOrder:
    if not stops:
        return WalkOrder(start, (), (), 0, exact=True)
    there, ways, far = _table(stops, start, walls, nm_per_px)
    order = shortest_way(far)
    if start is None and order[0] > order[-1]:
        order = order[::-1]
    per_px = MILLI / nm_per_px
    visits: list[Visit] = []
    length, last = 0, 0
    for row in order:
        stop, leg = stops[there[row - 1]], int(far[last, row])
        way: tuple[Px, ...] = ()
        begun = visits[-1].stop.at if visits else start
        if begun is not None:
            turns = ways.way(_place(there, last, start), _place(there, row, start))
            way = (begun, *(_px(spot, per_px) for spot in turns[1:-1]), stop.at)
        length += leg
        visits.append(Visit(stop, leg, length, way))
        last = row
    reached = set(there)
    beyond = tuple(stop for k, stop in enumerate(stops) if k not in reached)
    return WalkOrder(start, tuple(visits), beyond, length_of(far, order), exact=len(order) <= EXACT_UP_TO)


@lru_cache(maxsize=64)
def _bound(
    stops: tuple[Stop, ...],
    start: Px | None,
    walls: tuple[tuple[Px, Px], ...],
    nm_per_px: float,
    found: int,
) -> int:
    _, _, far = _table(stops, start, walls, nm_per_px)
    return shortest_is_at_least(far, found)


def _table(
    stops: tuple[Stop, ...], start: Px | None, walls: tuple[tuple[Px, Px], ...], nm_per_px: float
) -> tuple[list[int], Ways, npt.NDArray[np.int64]]:
    """(stops that are reached, the ways, distances of the start in row 0 and of these stops).

    Without a start, row 0 is no distance from anywhere and the stops reached are the most that one can walk.
    """
    per = nm_per_px / MILLI
    places = [(x * per, y * per) for x, y in ([start] if start is not None else []) + [s.at for s in stops]]
    lines = [((a[0] * per, a[1] * per), (b[0] * per, b[1] * per)) for a, b in walls]
    ways = ways_between(places, lines)
    reached = ways.far < NO_WAY
    first = 0 if start is not None else int(np.argmax(reached.sum(1)))
    rows = [int(k) for k in np.flatnonzero(reached[first]) if start is None or k]
    if start is not None:
        return [k - 1 for k in rows], ways, ways.far[np.ix_([0, *rows], [0, *rows])]
    far = np.zeros((len(rows) + 1, len(rows) + 1), dtype=np.int64)
    far[1:, 1:] = ways.far[np.ix_(rows, rows)]
    return rows, ways, far


def _place(there: list[int], row: int, start: Px | None) -> int:
    """Which place of the ways a row of the table is."""
    if start is None:
        return there[row - 1]
    return 0 if row == 0 else there[row - 1] + 1


def _px(spot: Flat, per_px: float) -> Px:
    return round(spot[0] * per_px), round(spot[1] * per_px)
