"""A zone's edge: its sides by number, paths along it, and which parts of it no path lies along.

Positions are thousandths of a pixel of the base frame, lengths nanometres. Edges are numbered from 1 in the
order of the outline's corners; a corner given twice makes no edge.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from service.domain.words.measures import SIXTEENTH_NM, TOLERANCE_NM
from service.domain.words.speech import tr

Px = tuple[int, int]
Part = tuple[int, Px, Px, int]
Floats = NDArray[np.float64]


class BadStretch(ValueError):
    """A stretch that the outline does not have: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class Edge:
    """One straight side of a zone from corner to corner, in outline order."""

    number: int
    a: Px
    b: Px
    length_nm: int


def _sides(outline: Sequence[Px]) -> list[tuple[Px, Px]]:
    return [(a, b) for a, b in pairwise((*outline, outline[0])) if a != b]


def edges_of(outline: Sequence[Px], nm_per_px: float) -> tuple[Edge, ...]:
    """The zone's sides, numbered from 1."""
    return tuple(
        Edge(number, a, b, round(math.dist(a, b) * nm_per_px / 1000))
        for number, (a, b) in enumerate(_sides(outline), 1)
    )


def whole_edge(outline: Sequence[Px], number: int) -> tuple[Px, ...]:
    """The path along one side; BadStretch where there is no such side."""
    sides = _sides(outline)
    _check_edge(number, len(sides))
    return sides[number - 1]


def whole_perimeter(outline: Sequence[Px]) -> tuple[Px, ...]:
    """The path round the zone, from its first corner back to it."""
    sides = _sides(outline)
    return (*(a for a, _ in sides), sides[0][0])


def stretch_path(
    outline: Sequence[Px], first: int, from_nm: int, last: int, to_nm: int, nm_per_px: float
) -> tuple[Px, ...]:
    """The path along the outline, in its order, from a place on edge `first` to a place on edge `last`.

    Each place is so many nanometres past the start of its edge. It goes on past the last corner to the first.
    BadStretch for what the outline does not have. On one edge the lesser distance comes first: read as "all
    the way round", two distances swapped by mistake would describe everything but what was meant.
    """
    edges = edges_of(outline, nm_per_px)
    start, end = _place(edges, first, from_nm), _place(edges, last, to_nm)
    if first == last and to_nm < from_nm:
        told = tr("The stretch ends before it starts on edge {number}: swap the two.", number=first)
        raise BadStretch("backwards", told)
    steps = (last - first) % len(edges)
    turns = [edges[(first + step) % len(edges)].a for step in range(steps)]
    places = (start, *turns, end)
    path = (start, *(there for here, there in pairwise(places) if here != there))
    if sum(math.dist(a, b) for a, b in pairwise(path)) * nm_per_px / 1000 < SIXTEENTH_NM - TOLERANCE_NM:
        raise BadStretch("empty", tr("The stretch ends where it starts: give it some length."))
    return path


def _check_edge(number: int, count: int) -> None:
    if not 1 <= number <= count:
        told = tr("There is no edge {number}: this zone has edges 1 to {count}.", number=number, count=count)
        raise BadStretch("no-such-edge", told)


def _place(edges: tuple[Edge, ...], number: int, nm: int) -> Px:
    """The place on an edge. A sixteenth past its end is the end: lengths are shown and typed no finer."""
    _check_edge(number, len(edges))
    edge = edges[number - 1]
    if nm < 0:
        told = tr("Measure from the start of edge {number}: no distance is below 0.", number=number)
        raise BadStretch("before-start", told)
    if nm > edge.length_nm + SIXTEENTH_NM:
        told = tr("Edge {number} is shorter than that: measure from its own start.", number=number)
        raise BadStretch("past-end", told)
    if nm >= edge.length_nm:
        return edge.b
    (ax, ay), (bx, by) = edge.a, edge.b
    part = nm / edge.length_nm
    return round(ax + (bx - ax) * part), round(ay + (by - ay) * part)


@dataclass(frozen=True, slots=True)
class _Line:
    """The outline pulled straight: edge i runs from ends[i] to ends[i + 1]; all in thousandths of a pixel.

    `near`: 1/16 in, or one thousandth of a pixel where that is more. `fine`: the tolerance of the rule.
    """

    a: Floats
    b: Floats
    ends: Floats
    near: float
    fine: float

    @classmethod
    def of(cls, outline: Sequence[Px], nm_per_px: float) -> _Line:
        sides = np.array(_sides(outline), dtype=float).reshape(-1, 2, 2)
        a, b = sides[:, 0], sides[:, 1]
        ends = np.concatenate(([0.0], np.cumsum(np.hypot(*(b - a).T))))
        per_nm = 1000 / nm_per_px
        return cls(a, b, ends, max(SIXTEENTH_NM * per_nm, 1.0), TOLERANCE_NM * per_nm)

    def spans(self, paths: Sequence[Sequence[Px]]) -> tuple[Floats, Floats, NDArray[np.int64]]:
        """(from, to, index of the path) of each part of the line that a straight piece of a path lies along.

        A piece with one end farther than `near` off an edge's line does not lie along that edge, not even in
        part: such a path belongs to an outline that was changed since.
        """
        pieces = [(p, q, index) for index, path in enumerate(paths) for p, q in pairwise(path) if p != q]
        ends = np.array([(p, q) for p, q, _ in pieces], dtype=float).reshape(-1, 2, 2)
        owner = np.array([index for *_, index in pieces], dtype=np.int64)
        tree = shapely.STRtree(shapely.linestrings(np.stack((self.a, self.b), axis=1)))
        piece, edge = tree.query(shapely.linestrings(ends), predicate="dwithin", distance=self.near + 1e-6)
        low, high, off = self._along(ends[piece], edge)
        lies = (off <= self.near) & (high > low)
        return (self.ends[edge] + low)[lies], (self.ends[edge] + high)[lies], owner[piece][lies]

    def _along(self, ends: Floats, edge: NDArray[np.int64]) -> tuple[Floats, Floats, Floats]:
        """(from, to) along the edge of each piece, cut to it, and how far its farther end is off the line."""
        length = np.diff(self.ends)[edge]
        way = (self.b - self.a)[edge] / length[:, None]
        there = ends - self.a[edge][:, None, :]
        along = np.clip(there[..., 0] * way[:, None, 0] + there[..., 1] * way[:, None, 1], 0, length[:, None])
        off = np.abs(there[..., 1] * way[:, None, 0] - there[..., 0] * way[:, None, 1])
        return along.min(axis=1), along.max(axis=1), off.max(axis=1)

    def split(self, low: float, high: float, nm_per_px: float) -> Iterator[Part]:
        """(edge number, a, b, nanometres rounded up) of each edge's share of a part of the line."""
        first, last = np.searchsorted(self.ends, low, "right") - 1, np.searchsorted(self.ends, high, "left")
        for index in range(int(first), int(last)):
            start, end = max(low, self.ends[index]), min(high, self.ends[index + 1])
            if end - start > self.fine:
                # Less than a thousandth of a nanometre is the float's, not the ground's.
                nm = math.ceil((end - start) * nm_per_px / 1000 - 1e-3)
                yield index + 1, self._at(index, start), self._at(index, end), nm

    def _at(self, index: int, along: float) -> Px:
        start, end = self.ends[index], self.ends[index + 1]
        x, y = self.a[index] + (self.b[index] - self.a[index]) * ((along - start) / (end - start))
        return round(float(x)), round(float(y))


def _joined(low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """The spans' union, in order, those that touch made one."""
    if not low.size:
        return low, high
    order = np.argsort(low)
    low, high = low[order], np.maximum.accumulate(high[order])
    apart = low[1:] > high[:-1]
    return low[np.append(True, apart)], high[np.append(apart, True)]


def undescribed(outline: Sequence[Px], paths: Sequence[Sequence[Px]], nm_per_px: float) -> tuple[Part, ...]:
    """(edge number, a, b, nanometres rounded up) of every part of the outline that no path lies along.

    What lies open from corner to corner counts as one gap, whatever the corners; under 1/16 in it is no gap.
    """
    line = _Line.of(outline, nm_per_px)
    low, high = _joined(*line.spans(paths)[:2])
    gaps = np.stack((np.append(0.0, high), np.append(low, line.ends[-1])), axis=1)
    runs = gaps[:, 1] - gaps[:, 0]
    if len(runs) > 1:  # the first and the last gap meet at the first corner
        runs[0] = runs[-1] = runs[0] + runs[-1]
    open_gaps = gaps[runs >= line.near - line.fine]
    return tuple(part for start, end in open_gaps for part in line.split(start, end, nm_per_px))


def overlapping(
    outline: Sequence[Px], paths: Sequence[Sequence[Px]], new_path: Sequence[Px], nm_per_px: float
) -> tuple[int, ...]:
    """The indices of the paths that share more than 1/16 in of the outline with the new one."""
    line = _Line.of(outline, nm_per_px)
    starts, ends = _joined(*line.spans([new_path])[:2])
    low, high, owner = line.spans(paths)
    if not starts.size or not low.size:
        return ()
    # How much of the new path lies before a place of the line: it grows only along the new path's own spans.
    before = np.append(0.0, np.cumsum(ends - starts))
    places, grown = np.stack((starts, ends), axis=1).ravel(), np.repeat(before, 2)[1:-1]
    shared = np.interp(high, places, grown) - np.interp(low, places, grown)
    total = np.bincount(owner, weights=shared, minlength=len(paths))
    return tuple(int(index) for index in np.flatnonzero(total > line.near + line.fine))
