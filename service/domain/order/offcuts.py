"""Small pieces from what is left of rolls: which offcut gives which collar, sheet under a dam, or patch.

A plain packing, not proved least: rows across the piece of film, each as deep as its first piece; a new row
where there is least room that does. A piece comes from film that is there by its own delivery.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from service.domain.patches.roll_cuts import CutPiece, CutRow

COLLAR, DAM, REPAIR = "collar", "dam", "repair"
_ORDER = {COLLAR: 0, DAM: 1, REPAIR: 2}


@dataclass(frozen=True, slots=True)
class SmallPiece:
    """A piece to find film for; `tags` of what it is for (none for a repair that is only expected)."""

    use: str
    tags: tuple[str, ...]
    length_nm: int
    width_nm: int
    delivery: int


@dataclass(frozen=True, slots=True)
class Offcut:
    """Film left of a roll, by the roll's number, and the rows of pieces that come off it; `left_nm` of its
    length serves nothing. `use`: what a whole roll was opened for; empty of an offcut."""

    roll: int
    length_nm: int
    width_nm: int
    delivery: int
    use: str = ""
    rows: tuple[CutRow, ...] = ()

    @property
    def left_nm(self) -> int:
        """What of its length nothing comes off, nanometres."""
        return self.length_nm - sum(row.length_nm for row in self.rows)


@dataclass(frozen=True, slots=True)
class Served:
    """The offcuts with what comes off them, rolls opened besides, and the pieces no roll can give."""

    offcuts: tuple[Offcut, ...]
    whole: tuple[Offcut, ...]
    unserved: tuple[SmallPiece, ...]


@dataclass
class _Row:
    length_nm: int
    room_nm: int
    delivery: int
    pieces: list[CutPiece]


@dataclass
class _Film:
    """Film that rows are cut off."""

    offcut: Offcut
    room_nm: int
    rows: list[_Row] = field(default_factory=list)

    def done(self) -> Offcut:
        rows = tuple(CutRow(row.length_nm, tuple(row.pieces)) for row in self.rows)
        was = self.offcut
        return Offcut(was.roll, was.length_nm, was.width_nm, was.delivery, was.use, rows)


def serve(
    offcuts: Sequence[Offcut],
    pieces: Iterable[SmallPiece],
    roll_width_nm: int,
    roll_length_nm: int,
    next_roll: int,
) -> Served:
    """Film for every piece: from the offcuts as far as they do, then from whole rolls, from that number on.

    What is needed comes before what is only expected, large pieces before small ones.
    """
    films = [_Film(offcut, offcut.length_nm) for offcut in offcuts]
    open_rows: list[_Row] = []
    unserved: list[SmallPiece] = []
    ahead = sorted(pieces, key=_first)
    least = min((min(piece.length_nm, piece.width_nm) for piece in ahead), default=0)
    for piece in ahead:
        open_rows[:] = [row for row in open_rows if row.room_nm >= least]
        if _in_a_row(piece, open_rows) or _on_a_new_row(piece, films, open_rows):
            continue
        if not any(along <= roll_length_nm and across <= roll_width_nm for along, across in _ways(piece)):
            unserved.append(piece)
            continue
        roll = Offcut(next_roll, roll_length_nm, roll_width_nm, piece.delivery, piece.use)
        films.append(_Film(roll, roll_length_nm))
        next_roll += 1
        _on_a_new_row(piece, films, open_rows)
    done = [film.done() for film in films]
    return Served(tuple(done[: len(offcuts)]), tuple(done[len(offcuts) :]), tuple(unserved))


def _first(piece: SmallPiece) -> tuple[int, int, int, int, tuple[str, ...]]:
    sides = sorted((piece.length_nm, piece.width_nm))
    return piece.delivery, _ORDER[piece.use], -sides[0], -sides[1], piece.tags


def _ways(piece: SmallPiece) -> tuple[tuple[int, int], tuple[int, int]]:
    """(along, across) both ways round, the one that takes less of the length first."""
    short, long = sorted((piece.length_nm, piece.width_nm))
    return (short, long), (long, short)


def _cut(piece: SmallPiece, across: int) -> CutPiece:
    return CutPiece(piece.tags, piece.length_nm, piece.width_nm, across)


def _in_a_row(piece: SmallPiece, rows: list[_Row]) -> bool:
    """Whether a row that is begun has room for it; it is put there."""
    for row in rows:
        if row.delivery <= piece.delivery:
            for along, across in _ways(piece):
                if along <= row.length_nm and across <= row.room_nm:
                    row.pieces.append(_cut(piece, across))
                    row.room_nm -= across
                    return True
    return False


def _on_a_new_row(piece: SmallPiece, films: Sequence[_Film], rows: list[_Row]) -> bool:
    """Whether there is film for a new row that begins with it; it is put where least is left of the film."""
    best: tuple[int, _Film, int, int] | None = None
    for film in films:
        if film.offcut.delivery <= piece.delivery:
            for along, across in _ways(piece):
                if along <= film.room_nm and across <= film.offcut.width_nm:
                    left = (film.room_nm - along) * film.offcut.width_nm
                    if best is None or left < best[0]:
                        best = (left, film, along, across)
                    break
    if best is None:
        return False
    _, film, along, across = best
    row = _Row(along, film.offcut.width_nm - across, film.offcut.delivery, [_cut(piece, across)])
    film.rows.append(row)
    film.room_nm -= along
    rows.append(row)
    return True
