"""From a site and a person's choices to what an order list is worked out from: what is left to lay and seal.

What is done needs no film any more: sheets laid, seams and edges sealed, penetrations sealed, zones placed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.stretches import path_nm
from service.domain.nouns.installed import FILM, TAPE, Material
from service.domain.nouns.placing import Delivery, Layout, OrderPlan, PlannedSheet, StockCount
from service.domain.nouns.site import Site, Zone
from service.domain.order.asked import (
    TAPE_LENGTH_NM,
    TAPE_WIDTH_NM,
    DeliveryAsked,
    OrderAsked,
    RepairsExpected,
    SheetToCut,
    as_cut,
)
from service.domain.order.zones import zone_asked
from service.domain.words.measures import NM_PER_INCH, NM_PER_MM, SIXTEENTH_NM

# The hole that an expected repair is counted with: 2 in or 50 mm across (common practice, no source).
HOLE_NM = {"us": 2 * NM_PER_INCH, "metric": 50 * NM_PER_MM}
# So much of a zone may a layout leave bare and still fit it: what thousandths of a pixel come to.
BARE_M2 = 0.01


@dataclass(frozen=True, slots=True)
class OrderChoice:
    """What a person chooses of an order, as `placing.OrderPlan` keeps it."""

    material_id: str
    film_allowance_mpct: int = 0
    tape_allowance_mpct: int = 0
    repairs_per_1000ft2_m: int = 0
    stock: tuple[StockCount, ...] = ()
    deliveries: tuple[Delivery, ...] = ()


def as_chosen(plan: OrderPlan | None, site: Site) -> OrderChoice:
    """What was chosen last; before anybody chose, the one film that layouts are for, or the one there is, and
    nothing added or taken off."""
    if plan is None:
        films = {of.id for of in site.materials.values() if of.kind == FILM and of.withdrawn is None}
        laid_out = {of.material_id for of in site.layouts.values() if of.withdrawn is None} & films
        one = laid_out if len(laid_out) == 1 else films
        return OrderChoice(next(iter(one)) if len(one) == 1 else "")
    return OrderChoice(
        plan.material_id, plan.film_allowance_mpct, plan.tape_allowance_mpct, plan.repairs_per_1000ft2_m,
        plan.stock, plan.deliveries,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rolls:
    """What the order is cut from. `film`, `tape`: the materials, where there are; `tape_stated`: its roll is
    the maker's, not the usual one."""

    film: Material | None
    tape: Material | None
    width_nm: int
    length_nm: int
    tape_width_nm: int
    tape_length_nm: int
    tape_stated: bool


@dataclass(frozen=True, slots=True)
class Gathered:
    """`asked`: None where there is nothing to order from or no roll. `zones`: those in it; `without`: with no
    layout; `stale`: with one that no longer fits; `placed`: with concrete in. `names`: of each sheet, its
    layout's id and its number. `done`: sheets laid already. `other_film`: layouts made for another film than
    the one ordered."""

    asked: OrderAsked | None
    rolls: Rolls | None
    zones: tuple[Zone, ...]
    without: tuple[Zone, ...]
    stale: tuple[Zone, ...]
    placed: tuple[Zone, ...]
    names: dict[str, tuple[str, int]]
    done: int
    other_film: tuple[Layout, ...]


def gather(site: Site, chosen: OrderChoice) -> Gathered:
    """Everything an order list asks, from the newest standing layout of each zone."""
    zones = sorted(
        (zone for zone in site.zones.values() if zone.withdrawn is None),
        key=lambda zone: (len(zone.letter), zone.letter),
    )
    placed = tuple(zone for zone in zones if zone.placement is not None)
    open_zones = [zone for zone in zones if zone.placement is None]
    of_zone = {zone.id: layout for zone in open_zones if (layout := layout_of(site, zone)) is not None}
    fitting = {layout.id: _fits(site, layout) for layout in of_zone.values()}
    inside = tuple(zone for zone in open_zones if zone.id in of_zone and fitting[of_zone[zone.id].id])
    layouts = tuple({of_zone[zone.id].id: of_zone[zone.id] for zone in inside}.values())
    rolls = rolls_of(site, chosen, layouts)
    names, sheets, done = _sheets(site, layouts, inside, chosen)
    asked = _asked(site, chosen, rolls, inside, of_zone, sheets) if rolls and inside else None
    return Gathered(
        asked=asked,
        rolls=rolls,
        zones=inside,
        without=tuple(zone for zone in open_zones if zone.id not in of_zone),
        stale=tuple(zone for zone in open_zones if zone.id in of_zone and zone not in inside),
        placed=placed,
        names=names,
        done=done,
        other_film=tuple(
            of
            for of in layouts
            if of.material_id and chosen.material_id and of.material_id != chosen.material_id
        ),
    )


def layout_of(site: Site, zone: Zone) -> Layout | None:
    """The newest layout of the zone that stands."""
    standing = [of for of in site.layouts.values() if of.withdrawn is None and zone.id in of.zone_ids]
    return max(standing, key=lambda of: of.signed.seq, default=None)


def rolls_of(site: Site, chosen: OrderChoice, layouts: Sequence[Layout]) -> Rolls | None:
    """The film chosen, else the roll that all the layouts are for; None where that is not known. Tape is the
    newest submitted; what its maker does not state is taken as usual."""
    film = site.materials.get(chosen.material_id)
    sizes = {(of.roll_width_nm, of.roll_length_nm) for of in layouts}
    if film is not None and film.roll_width_nm and film.roll_length_nm:
        sizes = {(film.roll_width_nm, film.roll_length_nm)}
    elif film is not None or len(sizes) != 1:
        return None
    ((width, length),) = sizes
    tape = tape_of(site)
    return Rolls(
        film,
        tape,
        width,
        length,
        (tape and tape.roll_width_nm) or TAPE_WIDTH_NM,
        (tape and tape.roll_length_nm) or TAPE_LENGTH_NM,
        bool(tape and tape.roll_width_nm and tape.roll_length_nm),
    )


def tape_of(site: Site) -> Material | None:
    """The tape that is ordered: the newest submitted that stands."""
    tapes = [of for of in site.materials.values() if of.kind == TAPE and of.withdrawn is None]
    return max(tapes, key=lambda of: of.signed.seq, default=None)


def stock_offered(site: Site, material: Material) -> int:
    """Whole rolls received of a material, less what the sheets laid of it took; never below none."""
    lots = {lot.id for lot in site.lots.values() if lot.material_id == material.id and lot.withdrawn is None}
    received = sum(site.lots[lot].rolls for lot in lots)
    if material.kind != FILM or not material.roll_length_nm:
        return received
    used = sum(
        sheet.cut_length_nm
        for layout in site.layouts.values()
        for laying in layout.laid
        if laying.withdrawn is None and laying.lot_id in lots
        for sheet in layout.sheets
        if sheet.number in laying.sheets
    )
    return max(0, received - -(-used // material.roll_length_nm))


def laid_numbers(layout: Layout) -> set[int]:
    """The sheets of a layout that are logged as laid."""
    return {number for laying in layout.laid if laying.withdrawn is None for number in laying.sheets}


# --- sheets, each in one zone -----------------------------------------------------------------------------


def _fits(site: Site, layout: Layout) -> bool:
    """Whether it still covers its zones as they are outlined, at the sketch's scale as it is."""
    scale = site.sketches[layout.sketch_id].scale
    if scale is None or not layout.sheets:
        return False
    per_px = nm_per_px(scale)
    if any(
        abs(path_nm(sheet.corners[:2], per_px) - sheet.cut_length_nm) > max(SIXTEENTH_NM, per_px / 100)
        for sheet in layout.sheets
    ):
        return False
    zones = [zone for id in layout.zone_ids if (zone := site.zones[id]).withdrawn is None]
    open_to = shapely.union_all([shapely.Polygon(zone.outline) for zone in zones])
    no_film = [shapely.Polygon(ring) for ring in layout.openings]
    film = [shapely.Polygon(sheet.corners) for sheet in layout.sheets]
    bare = open_to.difference(shapely.union_all([*no_film, *film]))
    return bool(bare.area * (per_px / 1e12) ** 2 <= BARE_M2)


def _sheets(
    site: Site, layouts: Sequence[Layout], zones: Sequence[Zone], chosen: OrderChoice
) -> tuple[dict[str, tuple[str, int]], dict[str, list[SheetToCut]], int]:
    """(sheet name to layout and number, zone id to its sheets left to lay in order, how many are laid).

    A sheet that lies in several zones comes with the first delivery of them, there with the zone it covers
    most.
    """
    assert site.project is not None, "sheets of a project"
    units = site.project.units
    turn = {id: i for i, delivery in enumerate(chosen.deliveries) for id in delivery.zone_ids}
    names: dict[str, tuple[str, int]] = {}
    left: dict[str, list[SheetToCut]] = {zone.id: [] for zone in zones}
    done = 0
    for layout in layouts:
        laid = laid_numbers(layout)
        mine = [zone for zone in zones if zone.id in layout.zone_ids]
        done += len(laid)
        for sheet in sorted(layout.sheets, key=lambda sheet: sheet.number):
            zone = None if sheet.number in laid else _zone_of(sheet, mine, turn)
            if zone is not None:
                name = sheet_name(site, layout, sheet.number, alone=len(layouts) == 1)
                names[name] = layout.id, sheet.number
                long = as_cut(sheet.cut_length_nm, units)
                left[zone.id].append(SheetToCut(name, long, sheet.width_nm))
    return names, left, done


def _zone_of(sheet: PlannedSheet, zones: Sequence[Zone], turn: dict[str, int]) -> Zone | None:
    film = shapely.Polygon(sheet.corners)
    lies = [(zone, shapely.Polygon(zone.outline).intersection(film).area) for zone in zones]
    on = [(zone, area) for zone, area in lies if area > 0]
    return min(on, key=lambda each: (turn.get(each[0].id, len(turn)), -each[1]), default=(None, 0.0))[0]


def sheet_name(site: Site, layout: Layout, number: int, *, alone: bool) -> str:
    """`3`, or with several layouts by their zones' letters: `B 3`, `A+B 3`."""
    letters = "+".join(sorted(site.zones[id].letter for id in layout.zone_ids))
    return str(number) if alone else f"{letters} {number}"


# --- all of it ---------------------------------------------------------------------------------------------


def _asked(
    site: Site,
    chosen: OrderChoice,
    rolls: Rolls,
    zones: Sequence[Zone],
    of_zone: dict[str, Layout],
    sheets: dict[str, list[SheetToCut]],
) -> OrderAsked:
    assert site.project is not None, "an order of a project"
    sheet, here = site.project.sheet, {zone.id for zone in zones}
    piece = HOLE_NM[site.project.units] + 2 * (sheet.patch_overlap.nm + sheet.cut_allowance.nm)
    stock = {count.material_id: count.whole_rolls for count in chosen.stock}
    return OrderAsked(
        zones=tuple(zone_asked(site, zone, of_zone[zone.id], sheets[zone.id]) for zone in zones),
        roll_width_nm=rolls.width_nm,
        roll_length_nm=rolls.length_nm,
        tape_width_nm=rolls.tape_width_nm,
        tape_length_nm=rolls.tape_length_nm,
        repairs=RepairsExpected(chosen.repairs_per_1000ft2_m, piece, piece),
        film_allowance_mpct=chosen.film_allowance_mpct,
        tape_allowance_mpct=chosen.tape_allowance_mpct,
        film_in_stock=stock.get(chosen.material_id, 0),
        tape_in_stock=stock.get(rolls.tape.id, 0) if rolls.tape else 0,
        deliveries=tuple(
            DeliveryAsked(each.label, ids)
            for each in chosen.deliveries
            if (ids := tuple(id for id in each.zone_ids if id in here))
        ),
    )
