"""Folds entries into the facts as they stood: the one place that says what each fact does to the site.

The tables are written from the same `changes`, so that a replay and the tables can be held equal.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from service.domain.earlier import repair_1
from service.domain.gate.during import goes_on
from service.domain.nouns.kept import Photo, ReadyLink
from service.domain.nouns.placing import Placement
from service.domain.nouns.rules import RuleSheet
from service.domain.nouns.site import (
    SHELVES,
    Defect,
    Hold,
    Member,
    Noun,
    Patch,
    Project,
    Release,
    Site,
    Sketch,
    Wall,
    Zone,
)
from service.domain.patches.repair import Numbers
from service.history.facts import evidence as e
from service.history.facts import facts as f
from service.history.facts.entries import Entry
from service.history.replay.installed import installed
from service.history.replay.placing import Placed, placing

GONE = "gone"  # the role of a member who was removed: kept, so that a slice can carry the removal


def replay(entries: Iterable[Entry]) -> Site:
    """The site after these entries, in their order. KeyError when an entry names what never was."""
    site = Site()
    for entry in entries:
        apply(site, entry)
    return site


def copied(site: Site) -> Site:
    """The same facts, to be changed apart from these. Nouns are frozen: only the shelves are copied."""
    return Site(site.project, **{name: dict(getattr(site, name)) for name in SHELVES.values()})


def apply(site: Site, entry: Entry) -> tuple[Noun, ...]:
    """Put what the entry changes into the site, and tell it: these are the rows to write."""
    changed = changes(site, entry)
    for noun in changed:
        site.put(noun)
    return changed


def changes(site: Site, entry: Entry) -> tuple[Noun, ...]:
    """The new versions of every noun that the entry changes."""
    match entry.fact:
        case (
            f.ProjectStarted()
            | f.RuleSheetChanged()
            | f.PersonInvited()
            | f.InvitationWithdrawn()
            | f.PersonJoined()
            | f.PersonLeft()
        ):
            return _project(site, entry, entry.fact)
        case f.SketchAdded() | f.SketchRevised() | f.ScaleSet() | f.GridLaid():
            return _sketch(site, entry.fact)
        case f.ZoneOutlined() | f.ZoneChanged() | f.ZoneWithdrawn() | f.WalkFinished() | f.ZonePlaced():
            return _zone(site, entry, entry.fact)
        case f.WallDrawn() | f.WallWithdrawn():
            return _wall(site, entry.fact)
        case f.DefectMarked() | f.DefectWithdrawn():
            return _defect(site, entry, entry.fact)
        case f.PatchLogged() | f.PatchWithdrawn():
            return _patch(site, entry, entry.fact)
        case f.ZoneHeld() | f.HoldLifted():
            return _hold(site, entry, entry.fact)
        case f.ZoneReleased() | f.ReleasePulledBack():
            return _release(site, entry, entry.fact)
        case e.ReadyListOpened(link, label, token):
            return (ReadyLink(link, label, token, entry.by, entry.at, None),)
        case e.ReadyListWithdrawn(link, _, reason):
            return (replace(site.ready_links[link], withdrawn=reason),)
        case e.CheckpointGiven() | e.RecordMade() | e.KeyChanged() | e.NameErased() | e.TimestampReceived():
            return ()
        case e.PasswordLinkMade() | e.PasswordLinkUsed():
            return ()
        case f.PhotoAdded() as fact:
            return (
                Photo(
                    fact.photo, fact.subject, fact.zone, fact.sha256, fact.thumb_sha256,
                    fact.width_px, fact.height_px, entry.by, entry.at,
                ),
            )  # fmt: skip
        case fact if isinstance(fact, Placed):
            return (placing(site, entry, fact),)
        case fact:
            return installed(site, entry, fact)


def _project(
    site: Site,
    entry: Entry,
    fact: f.ProjectStarted
    | f.RuleSheetChanged
    | f.PersonInvited
    | f.InvitationWithdrawn
    | f.PersonJoined
    | f.PersonLeft,
) -> tuple[Noun, ...]:
    match fact:
        case f.ProjectStarted(name, units, time_zone, sheet):
            return (Project(entry.project, name, units, time_zone, sheet, 1),)
        case f.RuleSheetChanged(sheet):
            return (_with_sheet(site, sheet),)
        case f.PersonInvited() | f.InvitationWithdrawn():
            return ()
        case f.PersonJoined(person, role):
            return (Member(person, role),)
        case f.PersonLeft(person):
            return (Member(person, GONE),)


def _with_sheet(site: Site, sheet: RuleSheet) -> Project:
    """The first gate's count stays as it was counted then: a release names it."""
    project = site.project
    assert project is not None, "a rule sheet before its project"
    old = project.sheet
    first = repair_1.Numbers.of(sheet) != repair_1.Numbers.of(old)
    return replace(
        project,
        sheet=sheet,
        numbers_revision=project.numbers_revision + first,
        sheet_revision=project.sheet_revision + (Numbers.of(sheet) != Numbers.of(old)),
    )


def _sketch(site: Site, fact: f.SketchAdded | f.SketchRevised | f.ScaleSet | f.GridLaid) -> tuple[Noun, ...]:
    match fact:
        case f.SketchAdded(sketch, name, sha256, page, width, height, levels):
            return (Sketch(sketch, name, sha256, page, width, height, levels, 1, None, None, (), 0),)
        case f.SketchRevised(sketch, sha256, page, width, height, levels, alignment):
            old = site.sketches[sketch]
            return (
                replace(
                    old, sha256=sha256, page=page, width_px=width, height_px=height, levels=levels,
                    revision=old.revision + 1, alignment=alignment,
                ),
            )  # fmt: skip
        case f.ScaleSet(sketch, scale):
            # A new scale changes every length on the sketch, so a walk made under the old one is void.
            zones = (zone for zone in site.zones.values() if zone.sketch_id == sketch)
            voided = tuple(replace(zone, walked_at=None) for zone in zones)
            old = site.sketches[sketch]
            return (replace(old, scale=scale, scale_revision=old.scale_revision + 1), *voided)
        case f.GridLaid(sketch, lines):
            return (replace(site.sketches[sketch], grid=lines),)


def _zone(
    site: Site,
    entry: Entry,
    fact: f.ZoneOutlined | f.ZoneChanged | f.ZoneWithdrawn | f.WalkFinished | f.ZonePlaced,
) -> tuple[Noun, ...]:
    match fact:
        case f.ZoneOutlined(zone, sketch, letter, name, outline, place_at):
            return (Zone(zone, sketch, letter, name, outline, place_at, None, 0, None, None, 1),)
        case f.ZoneChanged(zone, name, outline, place_at):
            old = site.zones[zone]
            changed = replace(old, name=name, outline=outline, place_at=place_at)
            if outline == old.outline:
                return (changed,)
            # Who stated that there are none spoke of the old outline, and walked no further.
            redrawn = old.outline_revision + 1
            return (replace(changed, walked_at=None, none_here=(), outline_revision=redrawn),)
        case f.ZoneWithdrawn(zone, reason):
            return (replace(site.zones[zone], withdrawn=reason),)
        case f.WalkFinished(zone):
            return (replace(site.zones[zone], walked_at=entry.at),)
        case f.ZonePlaced(zone, _, placed_at, volume, without_release, blockers):
            placement = Placement(placed_at, entry.by, volume, without_release, blockers)
            return (replace(site.zones[zone], placement=placement),)


def _wall(site: Site, fact: f.WallDrawn | f.WallWithdrawn) -> tuple[Noun, ...]:
    match fact:
        case f.WallDrawn(wall, sketch, zone, a, b):
            return (Wall(wall, sketch, zone, a, b, None),)
        case f.WallWithdrawn(wall, _, reason):
            return (replace(site.walls[wall], withdrawn=reason),)


def _defect(site: Site, entry: Entry, fact: f.DefectMarked | f.DefectWithdrawn) -> tuple[Noun, ...]:
    match fact:
        case f.DefectMarked(defect, sketch, zone, tag, kind, at, outline, note):
            home = site.zones[zone]
            mark = Defect(
                defect, sketch, zone, tag, kind, at, outline, note, entry.by, entry.role, entry.at,
                after_placing=home.placement is not None, withdrawn=None, seq=entry.seq,
                during_placing=goes_on(home),
            )  # fmt: skip
            return mark, replace(home, marks=home.marks + 1)
        case f.DefectWithdrawn(defect, _, _, reason):
            return (replace(site.defects[defect], withdrawn=reason),)


def _patch(site: Site, entry: Entry, fact: f.PatchLogged | f.PatchWithdrawn) -> tuple[Noun, ...]:
    match fact:
        case f.PatchLogged():
            return (
                Patch(
                    fact.patch, fact.defect, fact.zone, fact.at, fact.also, fact.sides, fact.outline,
                    fact.offset, fact.cleaned, fact.dry, fact.edges_taped, fact.tape_width_nm, fact.method,
                    fact.lot,
                    fact.film_temperature, fact.note, fact.overlap_nm, entry.by, entry.role, entry.at, None,
                    seq=entry.seq, late=fact.late,
                ),
            )  # fmt: skip
        case f.PatchWithdrawn(patch, _, _, _, reason):
            return (replace(site.patches[patch], withdrawn=reason),)


def _hold(site: Site, entry: Entry, fact: f.ZoneHeld | f.HoldLifted) -> tuple[Noun, ...]:
    match fact:
        case f.ZoneHeld(hold, zone, _, cause, reason):
            return (Hold(hold, zone, cause, reason, entry.by, entry.at, None),)
        case f.HoldLifted(hold, _, _, _, reason):
            return (replace(site.holds[hold], lifted=reason),)


def _release(site: Site, entry: Entry, fact: f.ZoneReleased | f.ReleasePulledBack) -> tuple[Noun, ...]:
    match fact:
        case f.ZoneReleased(release, zone, _, digest, version, statement, not_asked_for):
            return (
                Release(
                    release,
                    zone,
                    digest,
                    version,
                    statement,
                    not_asked_for,
                    entry.by,
                    entry.at,
                    entry.seq,
                    None,
                ),
                *_placing_ended(site.zones[zone]),
            )
        case f.ReleasePulledBack(release, zone, _, reason):
            ended = _placing_ended(site.zones[zone], release)
            return (replace(site.releases[release], pulled_back=reason), *ended)


def _placing_ended(zone: Zone, by: str = "") -> tuple[Zone, ...]:
    """The zone without the placing that went on: by another release, or by pulling back the one it began
    under."""
    if not goes_on(zone) or (by and zone.placing and zone.placing.release_id != by):
        return ()
    return (replace(zone, placing=None),)
