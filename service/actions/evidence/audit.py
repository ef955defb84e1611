"""Read the history in sentences, and see a zone as it stood at any moment."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.reading import ProjectView, ZoneView
from service.domain.nouns.site import Site
from service.domain.rule_sheet.effective import sheet_in
from service.domain.words.refusals import BadInput, Conflict, NotFound
from service.history.facts.entries import Entry
from service.history.replay.replay import replay
from service.history.replay.standing import standing_of, standings_of
from service.history.sentences.sentences import sentence, who_did
from service.storage.history import books, slices
from service.storage.history.seen import SeenProject, SeenZone, names_in, project_seen_by, zone_seen_by

MOST_LINES = 500
# A time, or the number of the last entry that counts: entries of one second are told apart by number only.
Moment = datetime | int


@dataclass(frozen=True, slots=True)
class Line:
    """One entry as people read it. `hash`: its leaf hash in hex."""

    entry: Entry
    who: str
    sentence: str
    hash: str


@dataclass(frozen=True, slots=True)
class Filters:
    """What to show. Times are aware; `before`: only entries with a smaller number, for the next page."""

    zone_id: str | None = None
    tag: str | None = None
    by: str | None = None
    type: str | None = None
    from_at: datetime | None = None
    to_at: datetime | None = None
    before: int | None = None


@dataclass(frozen=True, slots=True)
class HistoryView:
    """`lines` newest first; `more` when older ones fit the filters too."""

    seen: SeenProject
    site: Site
    names: dict[str, str]
    lines: list[Line]
    more: bool


def history(
    desk: Desk, by: str, project_id: str, filters: Filters | None = None, limit: int = 100
) -> HistoryView:
    wanted = filters or Filters()
    limit = min(max(limit, 1), MOST_LINES)
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        names = names_in(session, project_id)
        found = books.search(
            session, project_id, zone_id=wanted.zone_id, tag=wanted.tag, by=wanted.by, type=wanted.type,
            from_at=wanted.from_at, to_at=wanted.to_at, before=wanted.before, limit=limit + 1,
        )  # fmt: skip
        site = slices.project_site(session, project_id, seen.project)
    lines = [line_of(entry, leaf, names, seen) for entry, leaf in found[:limit]]
    return HistoryView(seen, site, names, lines, len(found) > limit)


def history_of(desk: Desk, view: ZoneView, tag: str, limit: int = 50) -> list[Line]:
    """The newest lines about one thing of a zone that somebody sees, by its tag."""
    allow(view.seen, "read the history")
    with desk.reading() as session:
        found = books.search(session, view.seen.project.id, tag=tag, limit=limit)
    return [line_of(entry, leaf, view.names, view.seen) for entry, leaf in found]


def entries_after(desk: Desk, by: str, project_id: str, after: int, limit: int) -> tuple[list[Line], Line]:
    """Entries in their order, for programs, and the newest one of the same moment."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        names = names_in(session, project_id)
        most = min(max(limit, 1), MOST_LINES)
        found = books.hashed_entries(session, project_id, after=after, limit=most)
        [(newest, leaf)] = books.search(session, project_id, limit=1)
    lines = [line_of(entry, hashed, names, seen) for entry, hashed in found]
    return lines, line_of(newest, leaf, names, seen)


def line_of(entry: Entry, leaf: bytes, names: dict[str, str], seen: SeenProject) -> Line:
    """`leaf`: the hash as it was recorded. Hashing what was read of an entry may give another."""
    return Line(entry, who_did(entry.by, names), sentence(entry, names, seen.project.units), leaf.hex())


def head_seen(desk: Desk, by: str, project_id: str) -> SeenProject:
    """The project and how far its history has come, read in one statement: what an ETag is made of."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
    allow(seen, "read the history")
    return seen


def zone_seen(desk: Desk, by: str, zone_id: str) -> SeenZone:
    """The zone as it is now, for its project's time zone before a moment is read."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
    allow(seen, "read the history")
    return seen


def entry_numbered(desk: Desk, by: str, project_id: str, seq: int) -> Entry:
    """One entry by its number. NotFound when the history has not come so far."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        found = books.entries(session, project_id, after=seq - 1, up_to=seq)
    if not found:
        raise NotFound
    return found[0]


def entries_until(session: Session, project_id: str, moment: Moment) -> list[tuple[Entry, bytes]]:
    """Every entry up to a time or a number, both inclusive, with its leaf hash."""
    if isinstance(moment, int):
        return books.hashed_entries(session, project_id, up_to=moment)
    return books.hashed_entries(session, project_id, until=moment)


def as_it_stood(desk: Desk, by: str, zone_id: str, moment: Moment) -> ZoneView:
    """The zone, its marks and what the gate said at a moment: the gate run on replayed facts."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
        allow(seen, "read the history")
        names = names_in(session, seen.project.id)
        entries = entries_until(session, seen.project.id, moment)
    site = replay(entry for entry, _ in entries)
    if zone_id not in site.zones or site.project is None:
        raise Conflict(f"Zone {seen.zone.letter} was not outlined yet at that time.", code="not-yet")
    return zone_then(site, zone_id, seen.role, len(entries), names)


def zone_then(site: Site, zone_id: str, role: str, head: int, names: dict[str, str]) -> ZoneView:
    """A zone within a replayed site. KeyError when the site does not hold it."""
    zone = site.zones[zone_id]
    assert site.project is not None, "a zone has its project"
    project = replace(site.project, sheet=sheet_in(site, zone))  # the sheet as it held in this zone then
    then = SeenZone(project, role, head, site.sketches[zone.sketch_id], zone)
    return ZoneView(then, site, standing_of(site, zone_id), names)


def project_as_it_stood(desk: Desk, by: str, project_id: str, moment: Moment) -> ProjectView:
    """Every zone of a project at a moment."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        names = names_in(session, project_id)
        entries = entries_until(session, project_id, moment)
    site = replay(entry for entry, _ in entries)
    if site.project is None:
        raise BadInput("The project was not started yet at that time.", fields={"moment": "Too early."})
    zones = sorted(site.zones.values(), key=lambda zone: (len(zone.letter), zone.letter))
    standings = list(standings_of(site, [zone.id for zone in zones if zone.withdrawn is None]).values())
    return ProjectView(SeenProject(site.project, seen.role, len(entries)), site, standings, names)
