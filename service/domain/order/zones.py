"""A zone of an order list: its area, and the seams, edges and penetrations in it that are not sealed yet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import shapely

from service.domain.gate.installed_states import things_in
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.edges import undescribed, whole_perimeter
from service.domain.installed.penetration_groups import group_need, groups_too_close
from service.domain.installed.stretches import path_nm
from service.domain.nouns.installed import SIDE_LAP, Penetration
from service.domain.nouns.placing import Layout
from service.domain.nouns.site import Site, Zone
from service.domain.order.asked import (
    NOT_DESCRIBED,
    EdgeToEnd,
    GroupToDam,
    PipeToSeal,
    SeamToTape,
    SheetToCut,
    ZoneAsked,
)
from service.domain.patches.repair import SEALED, Numbers
from service.domain.rule_sheet.effective import sheet_in


def zone_asked(site: Site, zone: Zone, layout: Layout, sheets: Sequence[SheetToCut]) -> ZoneAsked:
    """The zone with these sheets left to lay, off a layout that fits it."""
    scale = site.sketches[zone.sketch_id].scale
    assert scale is not None, "a layout that fits has a scale"
    per_px, numbers = nm_per_px(scale), Numbers.of(sheet_in(site, zone))
    sealed = {thing.id for thing in things_in(site, zone, per_px, numbers) if thing.state == SEALED}
    pipes, groups = _pipes(site, zone, per_px, numbers, sealed)
    return ZoneAsked(
        zone_id=zone.id,
        area_mm2=_area_mm2(zone, layout, per_px),
        numbers=numbers,
        sheets=tuple(sheets),
        seams=_seams(site, zone, layout, per_px),
        edges=tuple(_edges(site, zone, layout, per_px, sealed)),
        pipes=pipes,
        groups=groups,
    )


def _area_mm2(zone: Zone, layout: Layout, per_px: float) -> int:
    """The zone's outline less the layout's openings."""
    openings = shapely.union_all([shapely.Polygon(ring) for ring in layout.openings])
    left = shapely.Polygon(zone.outline).difference(openings)
    return round(float(left.area) * (per_px / 1e9) ** 2)


def _seams(site: Site, zone: Zone, layout: Layout, per_px: float) -> tuple[SeamToTape, ...]:
    """The zone's seams that are drawn and were not found taped on a walk (a run at fault is mended as a mark
    is); where none is drawn, its layout's, told on its first zone."""
    own = [of for of in site.seams.values() if of.zone_id == zone.id and of.withdrawn is None]
    drawn = layout.seams or any(of.zone_id in layout.zone_ids for of in site.seams.values())
    if not own and not drawn and zone.id == layout.zone_ids[0]:
        return (SeamToTape(SIDE_LAP, layout.seam_nm),) if layout.seam_nm else ()
    left = (of for of in own if of.walk is None or not of.walk.taped)
    return tuple(SeamToTape(of.kind, path_nm(of.path, per_px)) for of in left)


def _edges(site: Site, zone: Zone, layout: Layout, per_px: float, sealed: set[str]) -> Iterable[EdgeToEnd]:
    """The stretches not sealed yet, then what nobody described. Where film of the same layout goes on into
    the next zone there is no edge of film."""
    own = [of for of in site.terminations.values() if of.zone_id == zone.id and of.withdrawn is None]
    for stretch in own:
        if stretch.id not in sealed:
            yield EdgeToEnd(stretch.kind, path_nm(stretch.path, per_px))
    beside = [
        whole_perimeter(site.zones[id].outline)
        for id in layout.zone_ids
        if id != zone.id and site.zones[id].withdrawn is None
    ]
    bare = undescribed(zone.outline, [*(of.path for of in own), *beside], per_px)
    if bare:
        yield EdgeToEnd(NOT_DESCRIBED, sum(nm for *_, nm in bare))


def _pipes(
    site: Site, zone: Zone, per_px: float, numbers: Numbers, sealed: set[str]
) -> tuple[tuple[PipeToSeal, ...], tuple[GroupToDam, ...]]:
    """What passes through the film and is not sealed: singly, and in groups too close for a collar each."""
    left: list[Penetration] = [
        of
        for of in site.penetrations.values()
        if of.zone_id == zone.id and of.withdrawn is None and of.id not in sealed
    ]
    by_id = {of.id: of for of in left}
    close = groups_too_close([(of.id, of.outline, of.at) for of in left], per_px, numbers)
    groups = []
    for ids in close:
        together = [by_id[id] for id in ids]
        need = group_need([(of.id, of.outline, of.at) for of in together], per_px, numbers)
        groups.append(GroupToDam(tuple(of.tag for of in together), need.length_nm, need.width_nm))
    grouped = {id for ids in close for id in ids}
    alone = tuple(PipeToSeal(of.tag, of.outline) for of in left if of.id not in grouped)
    return alone, tuple(groups)
