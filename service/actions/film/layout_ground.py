"""The ground that sheets are laid out on: zones of one sketch, how far their film laps and runs past."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.edges import undescribed
from service.domain.nouns.installed import FILM, Lot, Material
from service.domain.nouns.placing import Layout, PastEdge
from service.domain.nouns.site import Site, Zone
from service.domain.rule_sheet.effective import sheet_in
from service.domain.sheets.layout import default_past_nm
from service.domain.sketch.places import turn_of
from service.domain.words.measures import NM_PER_INCH, NM_PER_MM
from service.domain.words.refusals import Conflict, NoScale, NotFound
from service.domain.words.speech import tr
from service.storage.history import onto, slices
from service.storage.history.seen import SeenSketch, layout_seen_by, names_in, sketch_seen_by, zone_seen_by

# A slab whose thickness nobody planned: common practice, no source.
USUAL_SLAB_NM = {"us": 4 * NM_PER_INCH, "metric": 100 * NM_PER_MM}


@dataclass(frozen=True, slots=True)
class LeastLap:
    """The least lap, and whose number it is."""

    nm: int
    source: str


@dataclass(frozen=True, slots=True)
class Ground:
    """Zones of one sketch, in letter order, with everything on it. `names`: person id to name."""

    seen: SeenSketch
    site: Site
    zones: tuple[Zone, ...]
    names: Mapping[str, str]

    @property
    def per_px(self) -> float:
        """Nanometres of ground under a pixel of the base frame; NoScale."""
        if self.seen.sketch.scale is None:
            raise NoScale
        return nm_per_px(self.seen.sketch.scale)

    def direction_shown(self, udeg: int) -> int:
        """A direction of the base frame as today's picture shows it, in micro-degrees."""
        return (udeg + turn_of(self.seen.sketch)) % 360_000_000

    @property
    def letters(self) -> tuple[str, ...]:
        return tuple(zone.letter for zone in self.zones)

    def films(self) -> list[Material]:
        """Film that stands, in the order submitted."""
        found = (m for m in self.site.materials.values() if m.kind == FILM and m.withdrawn is None)
        return sorted(found, key=lambda material: material.signed.seq)

    def film_lots(self) -> list[Lot]:
        """Lots of film that stand, the newest first."""
        films = {material.id for material in self.films()}
        found = (lot for lot in self.site.lots.values() if lot.material_id in films and lot.withdrawn is None)
        return sorted(found, key=lambda lot: -lot.signed.seq)

    def least_lap(self, material: Material | None) -> LeastLap:
        """The largest lap that a zone or the film asks for."""
        rules = [sheet_in(self.site, zone).lap for zone in self.zones]
        asked = [LeastLap(rule.nm, rule.source) for rule in rules]
        if material is not None and material.least_lap_nm is not None:
            own = tr("{material}: its maker's own", material=material.name)
            asked.append(LeastLap(material.least_lap_nm, own))
        return max(asked, key=lambda lap: lap.nm)

    def slab_nm(self) -> tuple[int, bool]:
        """The thickest slab planned in these zones, and whether it was planned at all."""
        plans = (self.site.placing_plans.get(zone.id) for zone in self.zones)
        planned = [plan.thickness_nm for plan in plans if plan is not None]
        return (max(planned), True) if planned else (USUAL_SLAB_NM[self.seen.project.units], False)

    def kinds_there(self) -> tuple[str, ...]:
        """The kinds of edge that are described here, "" among them where some are not."""
        return tuple(dict.fromkeys(kind for kind, _ in self._edges()))

    def past_default_nm(self, kind: str, lap_nm: int) -> int:
        """How far film is offered to run past an edge of this kind; to the line where nobody described it."""
        return default_past_nm(kind, slab_nm=self.slab_nm()[0], lap_nm=lap_nm) if kind else 0

    def past_edges(self, past: Mapping[str, int], lap_nm: int) -> tuple[PastEdge, ...]:
        """Every straight piece of edge that film runs past; `past`: by kind, where it was chosen."""
        found = []
        for kind, path in self._edges():
            nm = past[kind] if kind in past else self.past_default_nm(kind, lap_nm)
            if nm:
                found += [PastEdge(a, b, nm) for a, b in pairwise(path) if a != b]
        return tuple(found)

    def _edges(self) -> Iterable[tuple[str, Sequence[tuple[int, int]]]]:
        """(kind, path) of every stretch, "" for what nobody described. What runs past a joint inside a slab
        lies over the next zone, which is covered anyway."""
        for zone in self.zones:
            own = [t for t in self.site.terminations.values() if t.zone_id == zone.id and t.withdrawn is None]
            yield from ((stretch.kind, stretch.path) for stretch in own)
            for _, a, b, _ in undescribed(zone.outline, [stretch.path for stretch in own], self.per_px):
                yield "", (a, b)

    def over(self, zone_ids: Collection[str]) -> Ground:
        """The same sketch, of these zones those that stand."""
        zones = [z for z in self.site.zones.values() if z.id in zone_ids and z.withdrawn is None]
        return replace(self, zones=tuple(sorted(zones, key=lambda zone: (len(zone.letter), zone.letter))))

    def standing_layouts(self) -> list[Layout]:
        """Layouts of these zones that were not withdrawn, oldest first."""
        own = {zone.id for zone in self.zones}
        found = (x for x in self.site.layouts.values() if x.withdrawn is None and own & set(x.zone_ids))
        return sorted(found, key=lambda layout: layout.signed.seq)


def ground_of_zone(desk: Desk, by: str, zone_id: str) -> Ground:
    """One zone; Conflict when it was taken off the sketch."""
    with desk.reading() as session:
        return on_ground(session, zone_seen_by(session, by, zone_id), (zone_id,))


def ground_of_sketch(desk: Desk, by: str, sketch_id: str, zone_ids: Sequence[str] = ()) -> Ground:
    """These zones of a sketch, or all that have no concrete in them yet."""
    with desk.reading() as session:
        return on_ground(session, sketch_seen_by(session, by, sketch_id), zone_ids)


def ground_of_layout(desk: Desk, by: str, layout_id: str) -> tuple[Ground, Layout]:
    """The zones of a layout as they are now, those taken off the sketch left out, and the layout."""
    with desk.reading() as session:
        seen, layout = layout_seen_by(session, by, layout_id)
        ground = on_ground(session, seen, layout.zone_ids, standing=False)
        return ground, ground.site.layouts[layout_id]


def on_ground(
    session: Session, seen: SeenSketch, zone_ids: Sequence[str], *, site: Site | None = None,
    standing: bool = True,
) -> Ground:  # fmt: skip
    """The ground within an open transaction. NotFound for a zone that is not of this sketch."""
    if site is None:
        site = slices.sketch_site(session, seen.project.id, seen.sketch.id, seen.project)
    onto.put_layouts(session, site, seen.project.id)
    here = [zone for zone in site.zones.values() if zone.sketch_id == seen.sketch.id]
    if zone_ids:
        zones = [zone for zone in here if zone.id in zone_ids]
        if len(zones) != len(set(zone_ids)):
            raise NotFound
    else:
        zones = [zone for zone in here if zone.withdrawn is None and zone.placement is None]
    gone = next((zone for zone in zones if zone.withdrawn is not None), None)
    if gone is not None and standing:
        told = tr(
            "Zone {letter} was taken off the sketch: {reason}.", letter=gone.letter, reason=gone.withdrawn
        )
        raise Conflict(told, code="zone-withdrawn")
    zones = [zone for zone in zones if zone.withdrawn is None]
    zones.sort(key=lambda zone: (len(zone.letter), zone.letter))
    return Ground(seen, site, tuple(zones), names_in(session, seen.project.id))
