"""How far patches reach past damage in the least direction: exact at the rule, never through a buffer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from service.domain.outlines import Outline, Point, Sides
from service.domain.union import judged_union


@dataclass(frozen=True, slots=True)
class Piece:
    """A patch as seen from one mark: an outline with its offset from the damage's centre, or tape readings.

    Exactly one of `outline` and `sides`. The offset is in nanometres along the sketch's axes, not turned.
    """

    outline: Outline | None = None
    offset: Point = (0, 0)
    sides: Sides | None = None

    def shape(self) -> Outline | Sides:
        """Whichever it is; ValueError when it is neither."""
        found = self.sides if self.sides is not None else self.outline
        if found is None:
            raise ValueError("a piece has an outline or sides")
        return found


@dataclass(frozen=True, slots=True)
class Overlap:
    """What the judge found, in nanometres.

    `overlap_nm`: None with no piece; negative when damage shows (minus the greatest distance from bare
    damage to patch). `nearest`: the uncovered place nearest the damage, from the damage's centre.
    `side`: which side of the damage that is, in the frame of `side_angle` (or of the readings).
    """

    overlap_nm: int | None
    meets: bool
    short_by_nm: int
    nearest: Point | None
    side: str | None


def judge(damage: Outline, pieces: Sequence[Piece], minimum_nm: int) -> Overlap:
    """The overlap of these pieces over this damage against the minimum; their order changes nothing."""
    return _judged(damage, frozenset(pieces), minimum_nm)


@lru_cache(maxsize=200_000)
def _judged(damage: Outline, pieces: frozenset[Piece], minimum_nm: int) -> Overlap:
    if not pieces:
        return Overlap(None, False, minimum_nm, None, None)
    found_nm, nearest, side = judged_union(damage, [(p.shape(), p.offset) for p in pieces], minimum_nm)
    return Overlap(found_nm, found_nm >= minimum_nm, max(0, minimum_nm - found_nm), nearest, side)


def judge_many(items: Iterable[tuple[Outline, Sequence[Piece], int]]) -> list[Overlap]:
    """`judge` for many (damage, pieces, minimum) at once."""
    return [judge(*item) for item in items]
