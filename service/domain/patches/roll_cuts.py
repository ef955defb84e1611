"""The cut list of a plan: which pieces lie side by side across the roll, and what each row takes off it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.patches.patch_plan import Plan, PlanGroup


@dataclass(frozen=True, slots=True)
class CutPiece:
    """A piece to cut, length by width in nanometres; `across_nm` is the side that lies across the roll."""

    tags: tuple[str, ...]
    length_nm: int
    width_nm: int
    across_nm: int

    @property
    def along_nm(self) -> int:
        """The side that lies along the roll."""
        return self.length_nm + self.width_nm - self.across_nm


@dataclass(frozen=True, slots=True)
class CutRow:
    """One cut across the roll: `length_nm` off it, and the pieces side by side in that length."""

    length_nm: int
    pieces: tuple[CutPiece, ...]


def cut_list(plan: Plan, roll_width_nm: int) -> tuple[CutRow, ...]:
    """The plan's pieces in rows off a roll of this width, the longest row first.

    Pieces are laid with their longer sides across where those fit, or all along, whichever takes less off the
    roll; rows are filled by first fit, deepest pieces first. Pieces of `too_wide` are not in it.
    """
    pieces = [
        (group.tags, length, width)
        for group in plan.groups
        for length, width in group.pieces
        if min(length, width) <= roll_width_nm
    ]
    across = [
        CutPiece(tags, a, b, max(a, b) if max(a, b) <= roll_width_nm else min(a, b)) for tags, a, b in pieces
    ]
    along = [CutPiece(tags, a, b, min(a, b)) for tags, a, b in pieces]
    return min((_rows(across, roll_width_nm), _rows(along, roll_width_nm)), key=off_the_roll)


def off_the_roll(rows: Sequence[CutRow]) -> int:
    """How much all the rows take off the roll, nanometres."""
    return sum(row.length_nm for row in rows)


def too_wide(plan: Plan, roll_width_nm: int) -> tuple[PlanGroup, ...]:
    """The patches of the plan that this roll cannot give: a piece of theirs is wider, or there is none."""
    return tuple(
        group
        for group in plan.groups
        if not group.pieces or any(min(piece) > roll_width_nm for piece in group.pieces)
    )


def _rows(pieces: Sequence[CutPiece], roll_width_nm: int) -> tuple[CutRow, ...]:
    """First fit, the piece that takes most of the roll's length first; it sets its row's length."""
    rows: list[list[CutPiece]] = []
    for piece in sorted(pieces, key=lambda piece: (-piece.along_nm, -piece.across_nm, piece.tags)):
        for row in rows:
            if sum(laid.across_nm for laid in row) + piece.across_nm <= roll_width_nm:
                row.append(piece)
                break
        else:
            rows.append([piece])
    return tuple(CutRow(row[0].along_nm, tuple(row)) for row in rows)
