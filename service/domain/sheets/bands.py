"""Which stretch of each row film must cover: the floor cut into rows, each a roll less its lap farther on.

Row k lies from b + k * pitch to that plus the roll's width, b being where the first sheet's edge lies across.
Its *own* strip is what the row before does not reach: from b + k * pitch + lap to its far edge (the first
row's has no beginning). Own strips lie side by side without a gap, so each part of the floor has one row that
must cover it: film of a row lies wherever, along the direction, its own strip has floor. Then

- every place is under film;
- where two rows' film lies side by side it laps by the whole lap, since rows are a pitch apart;
- a sheet begins only where its own strip, and so the lap in which it lies on top, has no floor before it: no
  free edge of a top sheet faces the placing direction.

One thing is spared. Floor of an own strip that nowhere leaves the lap with the next row, and is not joined
along the direction to other floor of that strip, is left to the next row, whose sheet is under it anyway or
runs on for it at the same cost. All three still hold: the strip has no floor beside it. So 57 ft takes four
15 ft rolls that lap 12 in, if the first sheet's edge lies on the floor's.

A gap along a row that is shorter than an end lap is laid over: cutting there would save less film than a lap
takes, and zones of one slab are drawn by hand, with slits between them.

Everything is worked out for many offsets at once; floor thinner than the grain is not told.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.domain.sheets.area import Floats, Floor
from service.domain.sheets.nouns import LayoutAsked

Ints = NDArray[np.int64]
# (row, a, b, low): stretches before they are joined.
Parts = tuple[Ints, Floats, Floats, Floats]
FAR = np.inf


@dataclass(frozen=True, slots=True)
class Spans:
    """Stretches along the direction, from `a` to `b`, each of a row; sorted by row and place.

    `row` counts through the offsets: offset i has rows i * `rows` to (i + 1) * `rows` - 1. `low`: the least v
    of the floor in the stretch.
    """

    rows: int
    row: Ints
    a: Floats
    b: Floats
    low: Floats

    def of_row(self, row: int) -> list[tuple[float, float]]:
        """The stretches of one row."""
        first, last = np.searchsorted(self.row, [row, row + 1])
        return list(zip(self.a[first:last].tolist(), self.b[first:last].tolist(), strict=True))


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of one or many offsets: where their film lies, and the floor on the line where each ends."""

    film: Spans
    rims: Spans


def rows_for(floor: Floor, offsets: Floats, asked: LayoutAsked) -> Rows:
    """Where film must lie with the first sheet's edge so far outside the floor, for each offset (nm)."""
    pitch, lap = asked.pitch_nm, asked.side_lap_nm
    count = int((floor.v1 - floor.v0) // pitch) + 3
    own = floor.v0 - offsets + lap  # where the own strip of each offset's first row would begin
    cut = _cut(floor, own, pitch, count)
    rims = _on_line(floor, cut, cut.high)
    row, a, b, low = zip(cut.parts(floor), _on_line(floor, cut, cut.low), rims, strict=True)
    parts = np.concatenate(row), np.concatenate(a), np.concatenate(b), np.concatenate(low)
    film = _spared(_joined(count, parts, floor.grain), own, pitch, lap, floor.grain)
    laid_over = max(floor.grain, asked.end_lap_nm - floor.grain)
    film = _joined(count, (film.row, film.a, film.b, film.low), laid_over)
    return Rows(film, _joined(count, rims, floor.grain))


@dataclass(frozen=True, slots=True)
class _Cut:
    """Edges by the row whose own strip they may meet: indices of both, the strip from `low` to `high`."""

    edge: Ints
    row: Ints
    low: Floats
    high: Floats

    def parts(self, floor: Floor) -> Parts:
        """What each edge takes of its strip along the direction."""
        u0, v0, u1, v1 = floor.edges[self.edge].T
        meets = (v1 >= self.low) & (v0 <= self.high)
        bottom, top = np.maximum(v0, self.low), np.minimum(v1, self.high)
        flat = v0 == v1
        p = np.where(flat, u0, _at(u0, v0, u1, v1, bottom))
        q = np.where(flat, u1, _at(u0, v0, u1, v1, top))
        return self.row[meets], np.minimum(p, q)[meets], np.maximum(p, q)[meets], bottom[meets]


def _at(u0: Floats, v0: Floats, u1: Floats, v1: Floats, v: Floats) -> Floats:
    """Where along the direction an edge is at v, kept between its ends."""
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.clip((v - v0) / (v1 - v0), 0.0, 1.0)
    return u0 + part * (u1 - u0)


def _cut(floor: Floor, own: Floats, pitch: int, count: int) -> _Cut:
    """Every edge with every row whose own strip it may meet, strips narrowed by the grain on both sides."""
    v0, v1 = floor.edges[:, 1], floor.edges[:, 3]
    more = 2 * floor.grain  # past the narrowing, so that no crossing of a line is lost to rounding
    first = np.clip((v0 - more - own[:, None]) // pitch, 0, count - 1).astype(np.int64)
    last = np.clip((v1 + more - own[:, None]) // pitch, 0, count - 1).astype(np.int64)
    many = (last - first + 1).ravel()
    each = np.repeat(np.arange(many.size), many)
    step = np.arange(each.size) - np.repeat(np.cumsum(many) - many, many)
    k = first.ravel()[each] + step
    which, edge = each // len(v0), each % len(v0)
    begins = own[which] + k * pitch
    low = np.where(k == 0, -FAR, begins + floor.grain)
    return _Cut(edge, which * count + k, low, begins + pitch - floor.grain)


def _on_line(floor: Floor, cut: _Cut, line: Floats) -> Parts:
    """The floor along each row's line, between crossings taken two by two."""
    u0, v0, u1, v1 = floor.edges[cut.edge].T
    meets = (v0 <= line) & (line < v1)
    row, v = cut.row[meets], line[meets]
    u = _at(u0[meets], v0[meets], u1[meets], v1[meets], v)
    order = np.lexsort((u, row))
    row, u, v = row[order], u[order], v[order]
    return row[::2], u[::2], u[1::2], v[::2]


def _joined(rows: int, parts: Parts, apart: float) -> Spans:
    """The union of stretches row by row; those no farther apart than this are one."""
    row, a, b, low = parts
    if not row.size:
        return Spans(rows, row, a, b, low)
    least = a.min()
    aside = row * (2.0 * (b.max() - least) + apart + 1.0)  # so that all rows are joined in one sweep
    place = a - least + aside
    order = np.argsort(place)
    row, a, b, low = row[order], a[order], b[order], low[order]
    place, aside = place[order], aside[order]
    reached = np.maximum.accumulate(b - least + aside)
    new = np.ones(row.size, dtype=np.bool_)
    new[1:] = place[1:] > reached[:-1] + apart
    at = np.flatnonzero(new)
    return Spans(rows, row[at], a[at], np.maximum.reduceat(b, at), np.minimum.reduceat(low, at))


def _spared(film: Spans, own: Floats, pitch: int, lap: int, grain: float) -> Spans:
    """The film with stretches that never leave the lap with the next row left to that row."""
    ends = own[film.row // film.rows] + (film.row % film.rows + 1) * pitch
    # Past the strip's first limit too: a roll of hardly two laps has own strips no wider than the lap.
    least = np.maximum(ends - lap - grain, ends - pitch + 2 * grain)
    able = np.flatnonzero((film.low >= least) & (film.row % film.rows < film.rows - 1))
    if not able.size:
        return film
    row = film.row.copy()
    left: dict[int, list[tuple[float, float]]] = {}
    for i in able.tolist():
        a, b, before = film.a[i], film.b[i], left.get(int(film.row[i]) - 1, [])
        if all(b < p - grain or a > q + grain for p, q in before):
            left.setdefault(int(film.row[i]), []).append((a, b))
            row[i] += 1
    return _joined(film.rows, (row, film.a, film.b, film.low), grain)
