"""Which repairs go together, as JSON: the plan of a zone, and one patch offered over marks that meet."""

from __future__ import annotations

from fastapi import APIRouter

from service.actions.frame.reading import ZoneView, defect_view, zone_view
from service.actions.marks import together
from service.api.answers.sites import Answer, Area, Length
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute
from service.api.shared.errors import READS, told
from service.api.telling.telling import length
from service.domain.patches.patch_plan import PlanGroup
from service.domain.patches.roll_cuts import CutRow, off_the_roll
from service.domain.shapes.outlines import into_half_turn
from service.domain.sketch.places import turn_of, turned_point
from service.domain.words.measures import NM_PER_M, Units, say_area
from service.domain.words.refusals import NoScale

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["together"])


class PieceTold(Answer):
    """A piece to cut: length and width, rounded up."""

    length: Length
    width: Length


class GroupTold(Answer):
    """One patch of the plan. `angle_deg` and `offset`, its middle from the first mark's centre, are those of
    the present picture, as the outline of a patch takes them; `seamed`: joined from `pieces` that lap."""

    marks: list[str]
    tags: list[str]
    cut_size: PieceTold
    angle_deg: float
    offset: list[Length]
    film: Area
    tape_length: Length
    seamed: bool
    pieces: list[PieceTold]


class SavedTold(Answer):
    """Against one patch each. `patches`: how many fewer. Tape may be negative: less film can take more."""

    film: Area
    tape_length: Length
    patches: int


class RollRow(Answer):
    """A length taken off the roll, and the tags of the pieces that lie across it."""

    length: Length
    tags: list[list[str]]


class PlanTold(Answer):
    """`exact`: no other choice of groups, one rectangle each, takes less film. `roll_known`: that roll's film
    was laid in the zone."""

    groups: list[GroupTold]
    film: Area
    tape_length: Length
    saved: SavedTold
    exact: bool
    roll_width: Length
    roll_known: bool
    cut_list: list[RollRow]
    off_the_roll: Length


class OfferTold(Answer):
    """One patch over this mark and the open ones it reaches, beside a patch for each; null where none is."""

    group: GroupTold
    separate_film: Area
    separate_tape_length: Length
    saves_film: bool
    saves_tape: bool


class Offers(Answer):
    offer: OfferTold | None


@router.get("/zones/{zone_id}/together", responses=told((*READS, 409)))
def which_repairs_together(zone_id: Id, call: Reads) -> PlanTold:
    """The set of patches that seals every open mark that film mends, with the least film, then tape."""
    view = zone_view(call.desk, call.by, zone_id)
    found = together.plan_of(view)
    if found is None:
        raise NoScale
    units, plan = view.seen.project.units, found.plan
    return PlanTold(
        groups=[_group(view, group) for group in plan.groups],
        film=_area(plan.film_nm2, units),
        tape_length=length(plan.tape_nm, units, "up"),
        saved=SavedTold(
            film=_area(plan.film_saved_nm2, units),
            tape_length=length(plan.tape_saved_nm, units, "down"),
            patches=len(found.marks) - len(plan.groups),
        ),
        exact=plan.exact,
        roll_width=length(found.roll_nm, units),
        roll_known=found.known,
        cut_list=[_row(row, units) for row in found.cuts],
        off_the_roll=length(off_the_roll(found.cuts), units, "up"),
    )


@router.get("/defects/{defect_id}/offers", responses=told((*READS, 409)))
def one_patch_over_neighbours(defect_id: Id, call: Reads) -> Offers:
    """Where the outline that a patch must reach meets other open marks: one patch over them all."""
    view, mark = defect_view(call.desk, call.by, defect_id)
    found, units = together.offer_at(view, mark), view.seen.project.units
    if found is None:
        return Offers(offer=None)
    return Offers(
        offer=OfferTold(
            group=_group(view, found.group),
            separate_film=_area(found.separate_film_nm2, units),
            separate_tape_length=length(found.separate_tape_nm, units, "up"),
            saves_film=found.saves_film,
            saves_tape=found.saves_tape,
        )
    )


def _group(view: ZoneView, group: PlanGroup) -> GroupTold:
    units, turn = view.seen.project.units, turn_of(view.seen.sketch)
    return GroupTold(
        marks=list(group.marks),
        tags=list(group.tags),
        cut_size=_piece(group.length_nm, group.width_nm, units),
        angle_deg=into_half_turn(group.angle_udeg + turn) / 1_000_000,
        offset=[length(nm, units) for nm in turned_point(group.offset_nm, turn)],
        film=_area(group.film_nm2, units),
        tape_length=length(group.tape_nm, units, "up"),
        seamed=group.seamed,
        pieces=[_piece(long, wide, units) for long, wide in group.pieces],
    )


def _piece(long: int, wide: int, units: Units) -> PieceTold:
    return PieceTold(length=length(long, units, "up"), width=length(wide, units, "up"))


def _area(nm2: int, units: Units) -> Area:
    m2 = nm2 / NM_PER_M**2
    return Area(text=say_area(m2, units), m2=m2)


def _row(row: CutRow, units: Units) -> RollRow:
    return RollRow(length=length(row.length_nm, units, "up"), tags=[list(piece.tags) for piece in row.pieces])
