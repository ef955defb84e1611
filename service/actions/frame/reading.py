"""What people look at: a zone as it stands, a project's zones, one sketch, one defect."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.domain.gate.surroundings import Surroundings, surroundings
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.installed import Penetration, Seam, Termination
from service.domain.nouns.kept import Photo
from service.domain.nouns.site import Defect, Hold, Noun, Patch, Site, Wall, Zone
from service.domain.patches.repair import WITHDRAWN, Numbers, Verdict
from service.domain.rule_sheet.effective import sheet_in
from service.history.replay.standing import Standing, standing_of, standings_of
from service.storage.history import slices
from service.storage.history.seen import (
    SeenProject,
    SeenSketch,
    SeenZone,
    defect_seen_by,
    hold_seen_by,
    names_in,
    patch_seen_by,
    project_seen_by,
    sketch_seen_by,
    wall_seen_by,
    zone_seen_by,
)


@dataclass(frozen=True, slots=True)
class ZoneView:
    """One zone with everything round it. `names`: person id to name.

    The sheet of `seen.project` is the one that holds in this zone: the strictest of the project's, the zone's
    own and its materials' numbers.
    """

    seen: SeenZone
    site: Site
    standing: Standing
    names: dict[str, str]

    @property
    def zone(self) -> Zone:
        return self.seen.zone

    def defects(self) -> list[Defect]:
        """The zone's own marks, withdrawn ones too, in tag order."""
        own = (d for d in self.site.defects.values() if d.zone_id == self.zone.id)
        return sorted(own, key=lambda d: (len(d.tag), d.tag))

    def reaching_in(self) -> list[Defect]:
        """Standing marks of neighbours whose outline reaches into this zone."""
        ids = {d.id for d in self.standing.facts.defects}
        return [d for d in self.site.defects.values() if d.id in ids and d.zone_id != self.zone.id]

    def verdict(self, defect: Defect) -> Verdict:
        return self.standing.verdicts.get(defect.id, Verdict(WITHDRAWN, None, ()))

    def around(self) -> Surroundings | None:
        """What stands round the zone's marks and decides with them; None on a sketch with no scale."""
        scale = self.seen.sketch.scale
        if scale is None:
            return None
        return surroundings(self.site, self.zone, nm_per_px(scale), Numbers.of(self.seen.project.sheet))

    def penetrations(self) -> list[Penetration]:
        """The zone's own, withdrawn ones too, in tag order."""
        own = (p for p in self.site.penetrations.values() if p.zone_id == self.zone.id)
        return sorted(own, key=lambda p: (len(p.tag), p.tag))

    def seams(self) -> list[Seam]:
        """The zone's own, withdrawn ones too, in tag order."""
        return sorted(
            (s for s in self.site.seams.values() if s.zone_id == self.zone.id),
            key=lambda s: (len(s.tag), s.tag),
        )

    def terminations(self) -> list[Termination]:
        """The stretches of the zone's edge, withdrawn ones too, in tag order."""
        own = (t for t in self.site.terminations.values() if t.zone_id == self.zone.id)
        return sorted(own, key=lambda t: (len(t.tag), t.tag))

    def patches_on(self, defect_id: str) -> list[Patch]:
        """Every patch on a mark, withdrawn ones too, oldest first."""
        on = (p for p in self.site.patches.values() if defect_id in (p.defect_id, *p.also))
        return sorted(on, key=lambda p: (p.logged_at, p.id))

    def photos_of(self, subject: str) -> list[Photo]:
        return sorted((p for p in self.site.photos.values() if p.subject == subject), key=lambda p: p.at)


@dataclass(frozen=True, slots=True)
class ProjectView:
    """A project with all its zones as they stand (withdrawn ones left out), by letter."""

    seen: SeenProject
    site: Site
    standings: list[Standing]
    names: dict[str, str]


@dataclass(frozen=True, slots=True)
class SketchView:
    """A sketch with everything on it."""

    seen: SeenSketch
    site: Site
    standings: list[Standing]


def zone_view(desk: Desk, by: str, zone_id: str) -> ZoneView:
    """Five statements, however many marks; six with the sign-in."""
    with desk.reading() as session:
        read = _round(session, zone_seen_by(session, by, zone_id))
    return _judged(*read)


def view_with(
    desk: Desk, by: str, seen_by: Callable[[Session, str, str], tuple[SeenZone, Noun]], noun_id: str
) -> ZoneView:
    """The zone that a thing is in, which one of the lookups of `seen` finds: five statements."""
    with desk.reading() as session:
        read = _round(session, seen_by(session, by, noun_id)[0])
    return _judged(*read)


def _round(session: Session, seen: SeenZone) -> tuple[SeenZone, Site, dict[str, str]]:
    site = slices.zone_site(session, seen.project.id, seen.zone, seen.sketch, seen.project)
    return seen, site, names_in(session, seen.project.id)


def _judged(seen: SeenZone, site: Site, names: dict[str, str]) -> ZoneView:
    """Worked out with the transaction over: on a zone of many marks it takes longer than reading it."""
    return ZoneView(_as_it_holds(seen, site), site, standing_of(site, seen.zone.id), names)


def _as_it_holds(seen: SeenZone, site: Site) -> SeenZone:
    """The project with the sheet that holds in this zone."""
    sheet = sheet_in(site, seen.zone)
    if sheet == seen.project.sheet:
        return seen
    return replace(seen, project=replace(seen.project, sheet=sheet))


def defect_view(desk: Desk, by: str, defect_id: str) -> tuple[ZoneView, Defect]:
    """A defect within its zone."""
    view = view_with(desk, by, defect_seen_by, defect_id)
    return view, view.site.defects[defect_id]


def patch_view(desk: Desk, by: str, patch_id: str) -> tuple[ZoneView, Patch]:
    """A patch within the zone of the mark it was logged on."""
    view = view_with(desk, by, patch_seen_by, patch_id)
    return view, view.site.patches[patch_id]


def hold_view(desk: Desk, by: str, hold_id: str) -> tuple[ZoneView, Hold]:
    """A hold within its zone."""
    view = view_with(desk, by, hold_seen_by, hold_id)
    return view, view.site.holds[hold_id]


def wall_view(desk: Desk, by: str, wall_id: str) -> tuple[ZoneView, Wall]:
    """A wall within its zone."""
    view = view_with(desk, by, wall_seen_by, wall_id)
    return view, view.site.walls[wall_id]


def project_view(desk: Desk, by: str, project_id: str) -> ProjectView:
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        site = slices.judged_site(session, project_id, seen.project)
        names = names_in(session, project_id)
    return ProjectView(seen, site, _standings(site), names)


def sketch_view(desk: Desk, by: str, sketch_id: str) -> SketchView:
    with desk.reading() as session:
        seen = sketch_seen_by(session, by, sketch_id)
        site = slices.sketch_site(session, seen.project.id, sketch_id, seen.project)
    zones = {zone.id for zone in site.zones.values() if zone.sketch_id == sketch_id}
    return SketchView(seen, site, [s for s in _standings(site) if s.zone.id in zones])


def _standings(site: Site) -> list[Standing]:
    zones = sorted(site.zones.values(), key=lambda zone: (len(zone.letter), zone.letter))
    return list(standings_of(site, [zone.id for zone in zones if zone.withdrawn is None]).values())
