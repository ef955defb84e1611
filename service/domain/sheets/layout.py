"""Lays out sheets of film over a floor: along the placing direction, lapped away from it, with least film.

Sheets lie in rows with their long side along the placing direction (`sheets/bands`), cut where a row is
longer than the roll (`sheets/ends`); of two that lap, the one nearer to where placing begins lies on top, so
that the concrete runs over the free edge and not under it (`sheets/seams`). Where the first row lies is free:
the least film is sought, then the shortest seam, then the fewest sheets (`sheets/offsets`). Which sheet is
laid first is not: what lies under is laid before what lies on it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.domain.nouns.installed import JOINT, OVER_FOOTING, SIDE_LAP, SLAB_TOP, TO_WALL
from service.domain.sheets.area import NM2_PER_M2, Floor, floor_of
from service.domain.sheets.bands import rows_for
from service.domain.sheets.bound import least_film_m2
from service.domain.sheets.ends import Piece, pieces_of
from service.domain.sheets.nouns import (
    MOST_SHEETS,
    BadLayout,
    Cost,
    EdgeRun,
    Flat,
    LaidSeam,
    LayoutAsked,
    Ring,
    Sheet,
    SheetLayout,
    check_asked,
    too_many_sheets,
)
from service.domain.sheets.offsets import film_of, offsets_to_try
from service.domain.sheets.seams import Joint, end_joints, side_joints

__all__ = [
    "BadLayout",
    "Cost",
    "EdgeRun",
    "Flat",
    "LaidSeam",
    "LayoutAsked",
    "Ring",
    "Sheet",
    "SheetLayout",
    "costs",
    "default_past_nm",
    "lay_out",
]


def lay_out(asked: LayoutAsked) -> SheetLayout:
    """The sheets and seams that cover what is asked; BadLayout where none can."""
    floor = _floor(asked)
    laid = _best(floor, asked) if asked.offset_nm is None else _laid(floor, asked, asked.offset_nm)
    sheets = _sheets(laid, floor, asked)
    return SheetLayout(
        asked=asked,
        offset_nm=laid.offset_nm,
        sheets=tuple(sheets.values()),
        seams=tuple(_seam(joint, sheets, floor, asked) for joint in laid.joints),
        area_m2=floor.area_m2,
        to_cover_m2=floor.to_cover_m2,
        film_m2=laid.film_m2,
        seam_nm=laid.seam_nm,
        bound_m2=least_film_m2(floor, asked),
    )


def costs(asked: LayoutAsked, offsets: Sequence[int]) -> tuple[Cost, ...]:
    """What each of these offsets would come to, whatever offset is asked; BadLayout as `lay_out`."""
    floor = _floor(asked)
    laid = (_laid(floor, asked, offset % asked.pitch_nm) for offset in offsets)
    return tuple(Cost(one.offset_nm, one.film_m2, one.seam_nm, one.count) for one in laid)


def default_past_nm(kind: str, *, slab_nm: int, lap_nm: int) -> int:
    """How far film is offered to run past an edge ended so (`installed.TERMINATION_KINDS`).

    Turned up by the slab's thickness where it is sealed at the top of the slab (ASTM E1643 6.5, paraphrased
    from an excerpt), past a joint by the lap, to the line elsewhere (common practice, no source).
    """
    if kind in (OVER_FOOTING, TO_WALL, SLAB_TOP):
        return slab_nm
    return lap_nm if kind == JOINT else 0


def _floor(asked: LayoutAsked) -> Floor:
    """The floor; refuses at once what would take more sheets than anybody lays."""
    check_asked(asked)
    floor = floor_of(asked)
    # Every row of one outline has a sheet; rows between outlines far apart may have none.
    if floor.to_cover_m2 > MOST_SHEETS * asked.roll_width_nm * asked.roll_length_nm / NM2_PER_M2:
        raise too_many_sheets()
    if (floor.v1 - floor.v0) / asked.pitch_nm > MOST_SHEETS:
        raise too_many_sheets()
    return floor


@dataclass(frozen=True, slots=True)
class _Laid:
    """One offset worked out: the pieces by row, their seams, and what they come to."""

    offset_nm: int
    rows: list[list[Piece]]
    joints: list[Joint]
    film_m2: float
    seam_nm: int

    @property
    def count(self) -> int:
        return sum(map(len, self.rows))

    def rank(self) -> tuple[int, int, int, int]:
        """Least film to the square millimetre, then least seam, then fewest sheets."""
        return round(self.film_m2 * 1e6), self.seam_nm, self.count, self.offset_nm


def _best(floor: Floor, asked: LayoutAsked) -> _Laid:
    """The best of the offsets worth trying, from those whose rows take the least film on."""
    offsets = offsets_to_try(floor, asked)
    film = film_of(floor, asked, offsets)
    best: _Laid | None = None
    for i in np.lexsort((offsets, film)).tolist():
        if best is not None and film[i] > best.rank()[0]:
            break
        laid = _laid(floor, asked, int(offsets[i]))
        best = laid if best is None or laid.rank() < best.rank() else best
    assert best is not None, "nothing was tried"
    return best


def _laid(floor: Floor, asked: LayoutAsked, offset: int) -> _Laid:
    """The pieces and seams with the first sheet's edge so far outside the floor."""
    rows = rows_for(floor, np.array([float(offset)]), asked)
    pieces = pieces_of(rows.film, asked.roll_length_nm, asked.end_lap_nm, floor.grain)
    if sum(map(len, pieces)) > MOST_SHEETS:
        raise too_many_sheets()
    first = floor.v0 - offset
    joints = side_joints(pieces, rows.rims, first + asked.roll_width_nm, asked.pitch_nm, floor.grain)
    joints += end_joints(pieces, floor, first, asked.pitch_nm, asked.roll_width_nm)
    long = sum(_cut_length(piece, asked) for row in pieces for piece in row)
    seam = round(sum(joint.b - joint.a for joint in joints))
    return _Laid(offset, pieces, joints, long * asked.roll_width_nm / NM2_PER_M2, seam)


def _cut_length(piece: Piece, asked: LayoutAsked) -> int:
    """Whole nanometres up, past float noise; no longer than the roll where it fits to the grain."""
    return min(math.ceil(piece.b - piece.a - 0.01), asked.roll_length_nm)


def _sheets(laid: _Laid, floor: Floor, asked: LayoutAsked) -> dict[Piece, Sheet]:
    """The sheets in laying order: the last row first, in each row the last piece along it first."""
    found: dict[Piece, Sheet] = {}
    for row in reversed(laid.rows):
        for piece in reversed(row):
            low = floor.v0 - laid.offset_nm + piece.row * asked.pitch_nm
            high = low + asked.roll_width_nm
            places = ((piece.a, low), (piece.b, low), (piece.b, high), (piece.a, high))
            a, b, c, d = (floor.frame.back(*place) for place in places)
            long = _cut_length(piece, asked)
            found[piece] = Sheet(len(found) + 1, piece.row, (a, b, c, d), long, asked.roll_width_nm)
    return found


def _seam(joint: Joint, sheets: dict[Piece, Sheet], floor: Floor, asked: LayoutAsked) -> LaidSeam:
    """The seam on the sketch."""
    side, back = joint.kind == SIDE_LAP, floor.frame.back
    a, b = (back(end, joint.at) if side else back(joint.at, end) for end in (joint.a, joint.b))
    lap = asked.side_lap_nm if side else asked.end_lap_nm
    return LaidSeam(joint.kind, (a, b), sheets[joint.over].number, sheets[joint.under].number, lap)
