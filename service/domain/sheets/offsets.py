"""Which offsets are worth trying: every one at which the film, as a function of the offset, can be least.

Let t be how far the first sheet's edge lies outside the floor. A row's film is a union of stretches along
the direction. An end of one is the farthest of a few places: tips inside the own strip, which stand still
as t moves, and crossings of the floor's edges with the strip's two limits, which move evenly. So between
two t at which a corner comes to a limit of a strip or of a lap, the film is a sum of lengths, each the
greatest of some linear functions less the least of some, and less what stretches share, which bends the sum
only downward. Such a function is least at an end of the interval, or where it bends upward, or beside a
jump. It bends upward only where the farthest place changes: where two edges cross the two limits, a pitch
apart, at one place along the direction, or an edge crosses a limit beside a tip. It jumps where stretches
come to be joined (the same places, or an end lap apart along the direction) and where a length passes a
whole number of rolls with their end laps. All these t are found here, so nothing else needs trying. Left
out is the end lap that a row takes only to be staggered.

A seam's length changes evenly between corners, so these serve for it too among offsets of equal film.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from service.domain.sheets.area import Floats, Floor
from service.domain.sheets.bands import Ints, rows_for
from service.domain.sheets.nouns import LayoutAsked

# Edges and rows looked at in one go: keeps the arrays near the processor.
AT_ONCE = 200_000
# What keeps a floor of very many corners within seconds: past so many edges its corners alone are tried, past
# so many edges times offsets only every so many of them; past so many rolls in a row no offset is sought that
# would spare the last.
MOST_EDGES, MOST_WORK, MOST_ROLLS = 2_000, 4_000_000, 20


def offsets_to_try(floor: Floor, asked: LayoutAsked) -> Ints:
    """Whole nanometres from 0 and under the pitch, ascending."""
    pitch, lap = asked.pitch_nm, asked.side_lap_nm
    corners = floor.edges[:, [1, 3]].ravel() - floor.v0
    found = [np.zeros(1), -corners, lap - corners]
    if len(floor.edges) <= MOST_EDGES:
        found += [lap - (limit - floor.v0) for limit in _limits(floor, asked)]
    tried: Ints = np.unique(np.rint(np.concatenate(found)).astype(np.int64) % pitch)
    return tried[:: 1 + len(tried) * len(floor.edges) // MOST_WORK]


def _limits(floor: Floor, asked: LayoutAsked) -> Iterator[Floats]:
    """The v of a strip's limit at which a stretch's farthest place, or its number of sheets, can change."""
    pitch = asked.pitch_nm
    yield _between_edges(floor, pitch, 0.0)
    yield _beside_tips(floor, pitch, 0.0)
    for long in _lengths(floor, asked):
        for apart in (-pitch, 0, pitch):
            yield _between_edges(floor, apart, long)
        for way in (-long, long):
            yield _beside_tips(floor, pitch, way)


def _lengths(floor: Floor, asked: LayoutAsked) -> list[float]:
    """What takes one sheet more when it is longer: a gap of an end lap, a stretch of whole rolls."""
    step = asked.roll_length_nm - asked.end_lap_nm
    past = float(np.ptp(floor.edges[:, [0, 2]])) - asked.roll_length_nm
    rolls = range(min(MOST_ROLLS, int(max(0.0, past // step + 1))))
    return [float(asked.end_lap_nm), *(float(asked.roll_length_nm + more * step) for more in rolls)]


def _between_edges(floor: Floor, apart: float, along: float) -> Floats:
    """v at which one edge, and at v + `apart` another, are `along` from each other along the direction."""
    v0, v1, slope, at_zero = _lines(floor)
    with np.errstate(divide="ignore", invalid="ignore"):
        v = (along + at_zero[:, None] - at_zero - slope * apart) / (slope - slope[:, None])
    on_one = (v >= v0[:, None]) & (v <= v1[:, None])
    on_other = (v + apart >= v0) & (v + apart <= v1)
    found: Floats = v[on_one & on_other]
    return found


def _beside_tips(floor: Floor, pitch: int, along: float) -> Floats:
    """v at which an edge is `along` from a tip along the direction, and no more than a pitch across."""
    v0, v1, slope, at_zero = _lines(floor)
    u, across = floor.tips.T
    with np.errstate(divide="ignore", invalid="ignore"):
        v = (u[:, None] - along - at_zero) / slope
    near = (np.abs(v - across[:, None]) <= pitch) & (v >= v0) & (v <= v1)
    found: Floats = v[near]
    return found


def _lines(floor: Floor) -> tuple[Floats, Floats, Floats, Floats]:
    """(v0, v1, slope, u at v = 0) of the edges that do not run along the direction."""
    u0, v0, u1, v1 = floor.edges[floor.edges[:, 3] - floor.edges[:, 1] > floor.grain].T
    slope = (u1 - u0) / (v1 - v0)
    slope[np.abs(u1 - u0) <= floor.grain] = 0.0
    return v0, v1, slope, u0 - slope * v0


def film_of(floor: Floor, asked: LayoutAsked, offsets: Ints) -> Ints:
    """The film of each offset in whole square millimetres, without end laps taken only to be staggered."""
    rows = int((floor.v1 - floor.v0) // asked.pitch_nm) + 3
    at_once = max(1, AT_ONCE // (len(floor.edges) + rows))
    parts = [offsets[i : i + at_once] for i in range(0, len(offsets), at_once)]
    return np.concatenate([_film_of(floor, asked, part) for part in parts])


def _film_of(floor: Floor, asked: LayoutAsked, offsets: Ints) -> Ints:
    film = rows_for(floor, offsets.astype(np.float64), asked).film
    long = film.b - film.a
    step = asked.roll_length_nm - asked.end_lap_nm
    laps = np.maximum(0.0, np.ceil((long - floor.grain - asked.roll_length_nm) / step))
    total = np.bincount(film.row // film.rows, long + laps * asked.end_lap_nm, len(offsets))
    whole: Ints = np.rint(total * (asked.roll_width_nm / 1e12)).astype(np.int64)
    return whole
