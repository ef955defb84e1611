"""The seams of laid sheets: each free edge of a top sheet, wherever there is floor and film under it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from service.domain.nouns.installed import END_LAP, SIDE_LAP
from service.domain.sheets.area import Floor
from service.domain.sheets.bands import Spans
from service.domain.sheets.ends import Piece

Stretch = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Joint:
    """A seam: a side lap at a v of the frame, from u `a` to `b`; an end lap at a u, from v `a` to `b`."""

    kind: str
    at: float
    a: float
    b: float
    over: Piece
    under: Piece


def side_joints(
    rows: Sequence[Sequence[Piece]], rims: Spans, edge: float, pitch: int, grain: float
) -> list[Joint]:
    """The side laps: along the far edge of each row, where the next row's film lies under it.

    `rims`: the floor on those edges; `edge`: where the first row's own strip ends.
    """
    found = []
    for row, (over, under) in enumerate(pairwise(rows)):
        at = edge + row * pitch
        if over and under:
            for a, b in rims.of_row(row):
                for top, first, last in _shown(over, a, b):
                    for below, start, end in _shown(under, first, last):
                        if end - start > grain:
                            found.append(Joint(SIDE_LAP, at, start, end, top, below))
    return found


def _shown(pieces: Sequence[Piece], a: float, b: float) -> Iterator[tuple[Piece, float, float]]:
    """The pieces of a row that show between a and b, each with where it does."""
    begins = [piece.shows for piece in pieces]
    for piece in pieces[max(0, bisect_right(begins, a) - 1) :]:
        if piece.shows >= b:
            return
        if min(b, piece.b) > max(a, piece.shows):
            yield piece, max(a, piece.shows), min(b, piece.b)


def end_joints(
    rows: Sequence[Sequence[Piece]], floor: Floor, first: float, pitch: int, width: int
) -> list[Joint]:
    """The end laps: across the row at the end of the piece on top, where there is floor.

    `first`: where the first row begins across.
    """
    pairs = [(over, under) for pieces in rows for over, under in pairwise(pieces) if under.shows != under.a]
    if not pairs:
        return []
    found = []
    lines = np.array([over.b for over, _ in pairs]) - floor.grain
    for (over, under), stretches in zip(pairs, _across(floor, lines), strict=True):
        low = first + over.row * pitch
        for a, b in stretches:
            start, end = max(a, low), min(b, low + width)
            if end - start > floor.grain:
                found.append(Joint(END_LAP, over.b, start, end, over, under))
    return found


def _across(floor: Floor, lines: np.ndarray[tuple[int], np.dtype[np.float64]]) -> list[list[Stretch]]:
    """The floor on each line across the direction, as stretches of v; those within the grain are one."""
    u0, v0, u1, v1 = floor.edges.T
    low, high = np.minimum(u0, u1)[:, None], np.maximum(u0, u1)[:, None]
    edge, line = np.nonzero((low <= lines) & (lines < high))
    part = (lines[line] - u0[edge]) / (u1[edge] - u0[edge])
    v = v0[edge] + part * (v1[edge] - v0[edge])
    order = np.lexsort((v, line))
    found: list[list[Stretch]] = [[] for _ in lines]
    for i, a, b in zip(
        line[order][::2].tolist(), v[order][::2].tolist(), v[order][1::2].tolist(), strict=True
    ):
        if found[i] and a - found[i][-1][1] <= floor.grain:
            found[i][-1] = (found[i][-1][0], b)
        else:
            found[i].append((a, b))
    return found
