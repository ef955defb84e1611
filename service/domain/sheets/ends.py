"""Where a row is cut: stretches longer than the roll are split by end laps, staggered between rows.

The piece that begins first along the placing direction lies on top, so no end lap faces the concrete.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.sheets.bands import Spans
from service.domain.words.measures import NM_PER_FOOT

# End laps of neighbouring rows lie at least this far apart (3 ft; common practice, no source).
STAGGER_NM = 3 * NM_PER_FOOT


@dataclass(frozen=True, slots=True)
class Piece:
    """One sheet of a row, from `a` to `b` along the direction; it shows on top from `shows` on to `b`."""

    row: int
    a: float
    b: float
    shows: float


def laps_for(length: float, roll_nm: int, lap_nm: int, grain: float) -> int:
    """How many end laps a stretch so long takes at least."""
    return max(0, math.ceil((length - grain - roll_nm) / (roll_nm - lap_nm)))


def pieces_of(film: Spans, roll_nm: int, lap_nm: int, grain: float) -> list[list[Piece]]:
    """The pieces of each row of one offset, in order along the direction."""
    found: list[list[Piece]] = []
    beside: list[float] = []
    for row in range(film.rows):
        pieces: list[Piece] = []
        for a, b in film.of_row(row):
            pieces += _split(row, a, b, roll_nm, lap_nm, beside, grain)
        beside = [piece.a for piece in pieces if piece.a != piece.shows]
        found.append(pieces)
    return found


def _split(
    row: int, a: float, b: float, roll: int, lap: int, beside: Sequence[float], grain: float
) -> list[Piece]:
    """The pieces of one stretch; `beside`: where pieces of the row before begin under an end lap."""
    laps = laps_for(b - a, roll, lap, grain)
    if not laps:
        return [Piece(row, a, b, a)]
    starts, apart = _starts(a, b, laps, roll, lap, beside)
    if apart < STAGGER_NM - grain:
        # One piece more lets all laps move; where even that is too little, the roll is too short to stagger.
        more, wider = _starts(a, b, laps + 1, roll, lap, beside)
        starts = more if wider > apart + grain else starts
    begins = [a, *starts]
    ends = [start + lap for start in starts] + [b]
    shows = [a, *ends[:-1]]
    return [Piece(row, *three) for three in zip(begins, ends, shows, strict=True)]


def _starts(
    a: float, b: float, laps: int, roll: int, lap: int, beside: Sequence[float]
) -> tuple[list[float], float]:
    """(where the pieces after the first begin, how far their laps lie from those beside).

    Whole rolls first, all moved back alike by the least that staggers them, and that leaves no piece at the
    end shorter than the stagger where there is room for it.
    """
    step = roll - lap
    whole = [a + i * step for i in range(1, laps + 1)]
    # No less than leaves a last piece; no more than leaves a first one, and no piece past the roll.
    least, most = max(0.0, whole[-1] + lap - b), min(max(0.0, whole[-1] + roll - b), step)
    moves = {least, most, whole[-1] + lap + STAGGER_NM - b}
    moves |= {there - other + way for there in whole for other in beside for way in (-STAGGER_NM, STAGGER_NM)}

    def apart(move: float) -> float:
        return min((abs(there - move - other) for there in whole for other in beside), default=math.inf)

    def judged(move: float) -> tuple[float, float, float]:
        ends = min(b - whole[-1] - lap + move, whole[0] - move - a)
        return -min(apart(move), STAGGER_NM), -min(ends, STAGGER_NM), move

    best = min((move for move in moves if least <= move <= most), key=judged)
    return [there - best for there in whole], apart(best)
