"""Which repairs go together: the patches that seal a zone's open marks with the least film, and offers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from service.actions.frame.reading import ZoneView
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.site import PATCHABLE, Defect
from service.domain.patches.patch_plan import Offer, Plan, PlanMark, offer, plan
from service.domain.patches.repair import NOT_SEALED, OPEN
from service.domain.patches.roll_cuts import CutRow, cut_list
from service.domain.rule_sheet.effective import films_laid
from service.domain.words.measures import NM_PER_INCH

# What a piece of film laid over is the usual repair of. An open seam is taped, and dirt is cleaned off.
LAID_OVER = (*PATCHABLE, "short lap")
# Widths in which film comes, widest first: common practice, no source.
USUAL_ROLLS_NM = tuple(feet * 12 * NM_PER_INCH for feet in (20, 16, 15, 14, 12, 10, 8))


@dataclass(frozen=True, slots=True)
class ZonePlan:
    """A zone's plan. `roll_nm`: the roll its pieces are cut from; `known`: that roll was laid in the zone.

    `marks`: the open marks it covers, by id.
    """

    plan: Plan
    marks: dict[str, Defect]
    roll_nm: int
    known: bool
    cuts: tuple[CutRow, ...]


def open_marks(view: ZoneView) -> list[Defect]:
    """The marks that hold this zone and that film laid over mends, a neighbour's that reach in too."""
    verdicts = view.standing.verdicts
    return [
        mark
        for mark in (*view.defects(), *view.reaching_in())
        if mark.kind in LAID_OVER and mark.id in verdicts and verdicts[mark.id].state in (OPEN, NOT_SEALED)
    ]


def rolls_of(view: ZoneView) -> tuple[int, ...]:
    """The roll widths of the film laid in the zone, widest first; none where nobody told."""
    widths = {film.roll_width_nm for film in films_laid(view.site, view.zone)}
    return tuple(sorted((width for width in widths if width is not None), reverse=True))


def plan_of(view: ZoneView, roll_nm: int | None = None) -> ZonePlan | None:
    """The plan for the zone as it stands, cut from its own widest roll or from the one given.

    None on a sketch with no scale, where nothing has a size.
    """
    scale = view.seen.sketch.scale
    if scale is None:
        return None
    marks, known = open_marks(view), rolls_of(view)
    roll = known[0] if known and roll_nm is None else roll_nm or USUAL_ROLLS_NM[2]
    sheet = view.seen.project.sheet
    found = _planned(
        tuple(_mark(mark) for mark in marks),
        nm_per_px(scale),
        sheet.patch_overlap.nm,
        sheet.cut_allowance.nm,
        roll,
    )
    return ZonePlan(found, {mark.id: mark for mark in marks}, roll, bool(known), cut_list(found, roll))


def offer_at(view: ZoneView, mark: Defect) -> Offer | None:
    """One patch over this mark and the open ones its required outline reaches; None where it reaches none."""
    scale, standing = view.seen.sketch.scale, open_marks(view)
    if scale is None or mark.id not in {found.id for found in standing}:
        return None
    others = [_mark(other) for other in standing if other.id != mark.id]
    sheet = view.seen.project.sheet
    return offer(
        _mark(mark),
        others,
        nm_per_px=nm_per_px(scale),
        overlap_nm=sheet.patch_overlap.nm,
        allowance_nm=sheet.cut_allowance.nm,
        roll_widths_nm=rolls_of(view),
    )


def _mark(mark: Defect) -> PlanMark:
    return PlanMark(mark.id, mark.tag, mark.outline, mark.at)


@lru_cache(maxsize=64)
def _planned(
    marks: Sequence[PlanMark], per_px: float, overlap_nm: int, allowance_nm: int, roll_nm: int
) -> Plan:
    """Kept at hand: the page, its print and the forms it leads to ask the same."""
    return plan(
        marks, nm_per_px=per_px, overlap_nm=overlap_nm, allowance_nm=allowance_nm, roll_widths_nm=(roll_nm,)
    )
