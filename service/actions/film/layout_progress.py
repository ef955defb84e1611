"""How far the film of a layout is: what is laid by sheet and lot, what is left to lay, tape and seal."""

from __future__ import annotations

from dataclasses import dataclass

from service.actions.film.layout_ground import Ground
from service.actions.film.sheets_laid import laid_numbers
from service.domain.gate.installed_facts import bare_edges
from service.domain.gate.installed_states import PENETRATION, SEAM, TERMINATION, Thing, things_in
from service.domain.installed.seams import length_nm
from service.domain.nouns.placing import Layout, PlannedSheet
from service.domain.nouns.site import Zone
from service.domain.patches.repair import SEALED, WITHDRAWN, Numbers
from service.domain.rule_sheet.effective import sheet_in

NM2_PER_MM2 = 10**12


@dataclass(frozen=True, slots=True)
class LotUsed:
    """A lot of film by the sheets that were cut from it."""

    lot_id: str
    sheets: tuple[int, ...]
    film_mm2: int


@dataclass(frozen=True, slots=True)
class Progress:
    """`next`: sheets not laid, in laying order. Seams are the zones' own, whether the layout drew them or
    somebody by hand; `edge_left_nm`: described and not sealed, or not described."""

    laid: frozenset[int]
    next: tuple[PlannedSheet, ...]
    film_laid_mm2: int
    film_left_mm2: int
    by_lot: tuple[LotUsed, ...]
    seams_left: int
    seam_left_nm: int
    pipes_left: int
    edge_left_nm: int

    @property
    def sheets(self) -> int:
        return len(self.laid) + len(self.next)


def progress_of(ground: Ground, layout: Layout) -> Progress:
    """The progress of a layout's zones as they are now."""
    laid = laid_numbers(layout)
    left = tuple(sheet for sheet in layout.sheets if sheet.number not in laid)
    film = {sheet.number: film_mm2(sheet) for sheet in layout.sheets}
    things = [thing for zone in ground.zones for thing in _not_sealed(ground, zone)]
    seams = {thing.id for thing in things if thing.kind == SEAM}
    edges = {thing.id for thing in things if thing.kind == TERMINATION}
    per_px, site = ground.per_px, ground.site
    bare = sum(edge.length_nm for zone in ground.zones for edge in bare_edges(site, zone, per_px))
    return Progress(
        laid=frozenset(laid),
        next=left,
        film_laid_mm2=sum(film[number] for number in laid),
        film_left_mm2=sum(film[sheet.number] for sheet in left),
        by_lot=_by_lot(layout, film),
        seams_left=len(seams),
        seam_left_nm=round(sum(length_nm(site.seams[seam].path, per_px) for seam in seams)),
        pipes_left=len({thing.id for thing in things if thing.kind == PENETRATION}),
        edge_left_nm=bare + round(sum(length_nm(site.terminations[edge].path, per_px) for edge in edges)),
    )


def film_mm2(sheet: PlannedSheet) -> int:
    """The film a sheet takes off the roll, in square millimetres."""
    return sheet.cut_length_nm * sheet.width_nm // NM2_PER_MM2


def _not_sealed(ground: Ground, zone: Zone) -> list[Thing]:
    numbers = Numbers.of(sheet_in(ground.site, zone))
    things = things_in(ground.site, zone, ground.per_px, numbers)
    kinds = (SEAM, TERMINATION, PENETRATION)
    return [one for one in things if one.kind in kinds and one.state not in (SEALED, WITHDRAWN)]


def _by_lot(layout: Layout, film: dict[int, int]) -> tuple[LotUsed, ...]:
    """In the order in which the lots were first laid."""
    sheets: dict[str, list[int]] = {}
    for laying in layout.laid:
        if laying.withdrawn is None:
            sheets.setdefault(laying.lot_id, []).extend(laying.sheets)
    return tuple(
        LotUsed(lot, tuple(sorted(numbers)), sum(film[number] for number in numbers))
        for lot, numbers in sheets.items()
    )
