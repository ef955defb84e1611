"""How far patches reach past damage in the least direction: exact at the rule, never through a buffer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from service.domain.patches.alone import Reach, reach_of_box, reach_of_disc, reach_of_sides
from service.domain.patches.laps import lapped_groups
from service.domain.patches.sweep import swept_reaches
from service.domain.patches.union import reach_of_union
from service.domain.shapes.film import laid
from service.domain.shapes.outlines import (
    Circle,
    Outline,
    Point,
    Polygon,
    Sides,
    extent_nm,
    sides_and_angle,
    sides_box,
)
from service.domain.shapes.sides import side_angle
from service.domain.words.measures import turn


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


# A union of this many corners is judged in about a second on one core: no more is taken on at once.
MOST_CORNERS = 2_500


def too_many_corners(damage: Outline, pieces: Sequence[Piece]) -> bool:
    """True when judging these together would take longer than anybody should wait."""
    shapes = [damage, *(piece.shape() for piece in pieces)]
    return sum(len(shape.points) for shape in shapes if isinstance(shape, Polygon)) > MOST_CORNERS


@dataclass(frozen=True, slots=True)
class Overlap:
    """What the judge found, in nanometres.

    `overlap_nm`: None with no piece; negative when damage shows (minus the greatest distance from bare
    damage to patch). `short_by_nm`: 0 when it meets, all of the minimum with no piece.
    """

    overlap_nm: int | None
    meets: bool
    short_by_nm: int
    _place: Callable[[], tuple[Point, str] | None] = field(default=lambda: None, repr=False, compare=False)

    @property
    def nearest(self) -> Point | None:
        """The uncovered place nearest the damage, from its centre; its barest place when damage shows."""
        found = self._place()
        return found and found[0]

    @property
    def side(self) -> str | None:
        """Which side of the damage that is, in the frame of `side_angle` (or of the readings)."""
        found = self._place()
        return found and found[1]


def judge(damage: Outline, pieces: Sequence[Piece], minimum_nm: int) -> Overlap:
    """The overlap of these pieces over this damage against the minimum; their order changes nothing."""
    if len(pieces) == 1 and (sides := pieces[0].sides) is not None and minimum_nm >= 0:
        # A least reading is found sooner than what was found before is looked up.
        return _found(damage, (pieces[0],), minimum_nm, reach_of_sides(damage, sides))
    if len(pieces) > 1:
        pieces = sorted(set(pieces), key=repr)
    return _judged(damage, tuple(pieces), minimum_nm)


def judge_many(items: Iterable[tuple[Outline, Sequence[Piece], int]]) -> list[Overlap]:
    """`judge` for many (damage, pieces, minimum) at once: lone cornered patches in one sweep."""
    asked = list(items)
    cornered = {
        i: (damage, pieces[0].outline, pieces[0].offset, minimum_nm)
        for i, (damage, pieces, minimum_nm) in enumerate(asked)
        if len(pieces) == 1 and isinstance(pieces[0].outline, Polygon)
    }
    swept = dict(zip(cornered, swept_reaches(list(cornered.values())), strict=True))
    return [
        judge(*item) if (reach := swept.get(i)) is None else _found(item[0], tuple(item[1]), item[2], reach)
        for i, item in enumerate(asked)
    ]


@lru_cache(maxsize=16_384)
def _judged(damage: Outline, pieces: tuple[Piece, ...], minimum_nm: int) -> Overlap:
    if minimum_nm < 0:
        raise ValueError("a minimum overlap is never below nothing")
    if not pieces:
        return Overlap(None, False, minimum_nm)
    if len(pieces) == 1:
        return _found(damage, pieces, minimum_nm, _alone(damage, pieces[0], minimum_nm))
    return _found(damage, pieces, minimum_nm, _together(damage, pieces, minimum_nm))


def _found(damage: Outline, pieces: tuple[Piece, ...], minimum_nm: int, reach: Reach) -> Overlap:
    overlap, spot = reach

    def place() -> tuple[Point, str]:
        nearest, read = spot(), pieces[0].sides if len(pieces) == 1 else None
        return nearest, _side(damage, nearest, read.angle_udeg if read else side_angle(damage))

    meets = overlap >= minimum_nm
    return Overlap(overlap, meets, 0 if meets else minimum_nm - overlap, place)


def _alone(damage: Outline, piece: Piece, minimum_nm: int) -> Reach:
    match shape := piece.shape():
        case Sides():
            return reach_of_sides(damage, shape)
        case Circle():
            return reach_of_disc(damage, shape, piece.offset, minimum_nm)
        case Polygon():
            return reach_of_union(damage, [laid(shape, piece.offset, damage)], minimum_nm)
        case _:
            return reach_of_box(damage, shape, piece.offset, minimum_nm)


def _together(damage: Outline, pieces: Sequence[Piece], minimum_nm: int) -> Reach:
    """The best of the groups that count as one, each as its union. What has no breadth laps nothing."""
    broad = [piece for piece in pieces if _has_breadth(piece.shape(), damage)]
    placed = [laid(piece.shape(), piece.offset, damage) for piece in broad]
    found = [
        _alone(damage, broad[group[0]], minimum_nm)
        if len(group) == 1
        else reach_of_union(damage, [placed[i] for i in group], minimum_nm)
        for group in lapped_groups(placed, minimum_nm)
    ]
    found += [_alone(damage, piece, minimum_nm) for piece in pieces if piece not in broad]
    return max(found, key=lambda reach: reach[0])


def _has_breadth(shape: Outline | Sides, damage: Outline) -> bool:
    """False for a closed slit logged as a patch, and for readings of nothing on both sides of one."""
    if isinstance(shape, Sides):
        u0, u1, v0, v1 = sides_box(damage, shape)
        return (u0 is None or u0 != u1) and (v0 is None or v0 != v1)
    return isinstance(shape, Circle | Polygon) or min(sides_and_angle(shape)[:2]) > 0


def _side(damage: Outline, nearest: Point, angle_udeg: int) -> str:
    """The side of the damage's box that the place lies farthest past."""
    c, s = turn(angle_udeg)
    u, v = nearest[0] * c + nearest[1] * s, nearest[1] * c - nearest[0] * s
    u0, u1, v0, v1 = extent_nm(damage, angle_udeg)
    past = ((u - u1, "right"), (u0 - u, "left"), (v - v1, "near"), (v0 - v, "far"))
    return max(past)[1]
