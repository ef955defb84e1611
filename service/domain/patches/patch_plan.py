"""Which repairs together: the patches that seal all open marks with the least film, and one over neighbours.

Lengths in nanometres rounded up, film in square nanometres, angles in micro-degrees in (-90, 90] clockwise on
the sketch, places in thousandths of a pixel. Tape runs round the edge of each piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely.affinity import translate

from service.domain.patches.least_patch import Field, LeastRectangle
from service.domain.patches.patch_groups import MOST_EXACT, components, least_groups
from service.domain.shapes.film import damage_radius, damage_region
from service.domain.shapes.outlines import Outline, Point, cut_size
from service.domain.words.measures import TOLERANCE_NM

Px = tuple[int, int]
Piece = tuple[int, int]
MILLI = 1000


@dataclass(frozen=True, slots=True)
class PlanMark:
    """A mark that a patch mends: its outline round `at`, thousandths of a pixel of the base frame."""

    id: str
    tag: str
    outline: Outline
    at: Px


@dataclass(frozen=True, slots=True)
class PlanGroup:
    """Marks (ids and tags, in order) under one patch and what it takes.

    The patch's middle is `offset_nm` from the first mark's centre, along the sketch's axes; `centre` is the
    same to the nearest thousandth of a pixel, to draw by. `pieces`: what to cut, length by width: the patch
    itself, or, `seamed`, the strips it is joined from; none where the widest roll is no wider than their lap.
    """

    marks: tuple[str, ...]
    tags: tuple[str, ...]
    length_nm: int
    width_nm: int
    angle_udeg: int
    centre: Px
    offset_nm: Point
    film_nm2: int
    tape_nm: int
    pieces: tuple[Piece, ...]
    seamed: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """Every mark under one patch of the plan, beside one patch each (`single_...`).

    `exact`: no other choice of groups, one rectangle a group, takes less film, or as much with less tape;
    else the plan is a good one and never takes more film than one patch each.
    """

    groups: tuple[PlanGroup, ...]
    film_nm2: int
    tape_nm: int
    single_film_nm2: int
    single_tape_nm: int
    exact: bool

    @property
    def film_saved_nm2(self) -> int:
        """What the plan saves against one patch each; never negative."""
        return self.single_film_nm2 - self.film_nm2

    @property
    def tape_saved_nm(self) -> int:
        """Likewise of tape; negative where less film takes more tape."""
        return self.single_tape_nm - self.tape_nm


@dataclass(frozen=True, slots=True)
class Offer:
    """One patch over a mark and the neighbours its required outline reaches, beside a patch for each.

    `group.marks` holds the mark first, and the patch's middle is `group.offset_nm` from that mark's centre.
    """

    group: PlanGroup
    separate_film_nm2: int
    separate_tape_nm: int

    @property
    def saves_film(self) -> bool:
        return self.group.film_nm2 < self.separate_film_nm2

    @property
    def saves_tape(self) -> bool:
        return self.group.tape_nm < self.separate_tape_nm


def plan(
    marks: Sequence[PlanMark],
    *,
    nm_per_px: float,
    overlap_nm: int,
    allowance_nm: int = 0,
    roll_widths_nm: Sequence[int] = (),
) -> Plan:
    """The patches that seal all these marks with the least film, then the least tape.

    With rolls told, every piece fits the widest; a mark too wide for it stays alone and is seamed. The order
    in which the marks come changes nothing.
    """
    ground = _Ground.of(sorted(marks, key=_tag_then_id), nm_per_px, overlap_nm, allowance_nm, roll_widths_nm)
    fitting = [k for k in range(len(marks)) if ground.field.rectangle((k,)) is not None]
    clusters = components(ground.field, fitting)
    found: list[tuple[int, ...]] = [(k,) for k in range(len(marks)) if k not in set(fitting)]
    for cluster in clusters:
        for group in least_groups(ground.field, cluster):
            found += ground.never_worse(group)
    groups = tuple(ground.group(group) for group in sorted(found))
    alone = [ground.alone(k) for k in range(len(marks))]
    return Plan(
        groups,
        sum(group.film_nm2 for group in groups),
        sum(group.tape_nm for group in groups),
        sum(film for film, _ in alone),
        sum(tape for _, tape in alone),
        all(len(c) <= MOST_EXACT and ground.field.looked_everywhere(c) for c in clusters),
    )


def offer(
    mark: PlanMark,
    neighbours: Sequence[PlanMark],
    *,
    nm_per_px: float,
    overlap_nm: int,
    allowance_nm: int = 0,
    roll_widths_nm: Sequence[int] = (),
) -> Offer | None:
    """One patch over this mark and every neighbour that lies within the overlap of its outline.

    None where there is no such neighbour, or where one patch over them all can be cut from no roll told.
    """
    others = [other for other in neighbours if other.id != mark.id]
    reached = [other for other in others if _reaches(mark, other, nm_per_px, overlap_nm)]
    if not reached:
        return None
    together = [mark, *sorted(reached, key=_tag_then_id)]
    ground = _Ground.of(together, nm_per_px, overlap_nm, allowance_nm, roll_widths_nm)
    everything = tuple(range(len(together)))
    if ground.field.rectangle(everything) is None:
        return None
    alone = [ground.alone(k) for k in everything]
    return Offer(ground.group(everything), sum(film for film, _ in alone), sum(tape for _, tape in alone))


def _tag_then_id(mark: PlanMark) -> tuple[str, str]:
    return mark.tag, mark.id


def _reaches(mark: PlanMark, other: PlanMark, nm_per_px: float, overlap_nm: int) -> bool:
    dx, dy = _away(mark, other, nm_per_px)
    moved = translate(damage_region(other.outline), dx, dy)
    between = shapely.distance(damage_region(mark.outline), moved)
    radii = damage_radius(mark.outline) + damage_radius(other.outline)
    return bool(between - radii <= overlap_nm + TOLERANCE_NM)


def _away(one: PlanMark, other: PlanMark, nm_per_px: float) -> tuple[float, float]:
    """From one mark's centre to the other's, float nanometres."""
    step = nm_per_px / MILLI
    return (other.at[0] - one.at[0]) * step, (other.at[1] - one.at[1]) * step


def seamed_pieces(length_nm: int, width_nm: int, roll_width_nm: int, overlap_nm: int) -> tuple[Piece, ...]:
    """The strips (length, width) of a patch wider than the roll, each lapping the next by the overlap.

    Strips run along the longer side, all but the last as wide as the roll. One piece where the patch fits;
    none where the roll is no wider than the lap.
    """
    length, width = max(length_nm, width_nm), min(length_nm, width_nm)
    if width <= roll_width_nm:
        return ((length, width),)
    step = roll_width_nm - overlap_nm
    if step <= 0:
        return ()
    more = -(-(width - roll_width_nm) // step)
    return ((length, roll_width_nm),) * more + ((length, width - more * step),)


@dataclass(frozen=True, slots=True)
class _Ground:
    """The marks where they lie, in order, with the film any of them takes."""

    marks: tuple[PlanMark, ...]
    nm_per_px: float
    field: Field

    @classmethod
    def of(
        cls,
        marks: Sequence[PlanMark],
        nm_per_px: float,
        overlap_nm: int,
        allowance_nm: int,
        rolls: Sequence[int],
    ) -> _Ground:
        at = [_away(marks[0], mark, nm_per_px) for mark in marks]
        outlines = [mark.outline for mark in marks]
        field = Field.of(outlines, at, overlap_nm, allowance_nm, max(rolls, default=None))
        return cls(tuple(marks), nm_per_px, field)

    def never_worse(self, group: tuple[int, ...]) -> list[tuple[int, ...]]:
        """The group, or its marks one by one where rounding up makes one patch more than one each."""
        apart: list[tuple[int, ...]] = [(mark,) for mark in group]
        joint = self._needed(group)
        each = [self._needed(mark) for mark in apart]
        one = joint.film_nm2, joint.tape_nm
        many = sum(fit.film_nm2 for fit in each), sum(fit.tape_nm for fit in each)
        return [group] if one <= many else apart

    def _needed(self, group: tuple[int, ...]) -> LeastRectangle:
        """The least patch that fits a roll; for a mark too wide for any, the least patch."""
        found = self.field.rectangle(group) or self.field.without_roll().rectangle(group)
        assert found is not None, "with no roll to fit there is always a least patch"
        return found

    def alone(self, mark: int) -> tuple[int, int]:
        """(film, tape) of a patch over this mark alone: its cut size, or as it must be seamed."""
        length, width, _ = cut_size(self.marks[mark].outline, self.field.overlap_nm, self.field.allowance_nm)
        if self.field.fits(min(length, width)):
            return length * width, 2 * (length + width)
        single = self.group((mark,))
        return single.film_nm2, single.tape_nm

    def _pieces(self, length: int, width: int) -> tuple[Piece, ...]:
        widest = self.field.widest_nm
        if widest is None:
            return ((length, width),)
        return seamed_pieces(length, width, widest, self.field.overlap_nm)

    @staticmethod
    def _taken(length: int, width: int, pieces: tuple[Piece, ...]) -> tuple[int, int]:
        """(film, tape): all pieces, taped round the whole and along every seam between two."""
        film = sum(a * b for a, b in pieces) if pieces else length * width
        seams = sum(max(length, width) for _ in pairwise(pieces))
        return film, 2 * (length + width) + seams

    def group(self, group: tuple[int, ...]) -> PlanGroup:
        """What the patch over these marks takes."""
        fit = self._needed(group)
        pieces = self._pieces(fit.length_nm, fit.width_nm)
        film, tape = self._taken(fit.length_nm, fit.width_nm, pieces)
        first, (x, y) = self.marks[group[0]], self.field.at[group[0]]
        dx, dy = fit.middle[0] - x, fit.middle[1] - y
        step = self.nm_per_px / MILLI
        return PlanGroup(
            tuple(self.marks[k].id for k in group),
            tuple(self.marks[k].tag for k in group),
            fit.length_nm,
            fit.width_nm,
            fit.angle_udeg,
            (first.at[0] + round(dx / step), first.at[1] + round(dy / step)),
            (round(dx), round(dy)),
            film,
            tape,
            pieces,
            len(pieces) != 1,
        )
