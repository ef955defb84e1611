"""Who did what on a project: everybody with roles, first and last action and counts; one person by day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from zoneinfo import ZoneInfo

from service.actions.evidence.audit import MOST_LINES, Line, line_of
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.words.refusals import NotFound
from service.history.facts.entries import Entry
from service.history.facts.facts import PersonJoined, PersonLeft
from service.history.sentences.sentences import who_did
from service.storage.history import books, deeds
from service.storage.history.deeds import Deed
from service.storage.history.seen import SeenProject, names_in, project_seen_by


@dataclass(frozen=True, slots=True)
class Stint:
    """From when somebody had a role; `role` is empty from when they were off the project."""

    role: str
    seq: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Doer:
    """A person, as named today, with what they did. `named`: false where what stands there is no name."""

    id: str
    name: str
    named: bool
    stints: tuple[Stint, ...]
    deeds: tuple[Deed, ...]

    @property
    def count(self) -> int:
        return sum(deed.count for deed in self.deeds)

    @property
    def first(self) -> Deed | None:
        """The kind of action that came first."""
        return min(self.deeds, key=lambda deed: deed.first_seq, default=None)

    @property
    def last(self) -> Deed | None:
        return max(self.deeds, key=lambda deed: deed.last_seq, default=None)


@dataclass(frozen=True, slots=True)
class WhoDidWhat:
    """Everybody who ever did anything or was let in, those with a name first, by name."""

    seen: SeenProject
    doers: tuple[Doer, ...]


@dataclass(frozen=True, slots=True)
class DayOf:
    """A day of the project's time zone on which somebody did something."""

    day: date
    count: int
    first_at: datetime
    last_at: datetime


@dataclass(frozen=True, slots=True)
class DoerByDay:
    """One person's days, newest first, and their entries, newest first; `more` when there are older ones."""

    seen: SeenProject
    doer: Doer
    days: tuple[DayOf, ...]
    lines: tuple[Line, ...]
    more: bool


def who_did_what(desk: Desk, by: str, project_id: str) -> WhoDidWhat:
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        names = names_in(session, project_id)
        counted, comings = deeds.deeds(session, project_id), deeds.comings(session, project_id)
    doers = _doers(counted, comings, names)
    return WhoDidWhat(seen, tuple(sorted(doers, key=lambda d: (not d.named, d.name.casefold(), d.id))))


def did_by_day(
    desk: Desk, by: str, project_id: str, person_id: str, before: int | None = None, limit: int = 100
) -> DoerByDay:
    """NotFound for somebody who never did anything on the project and was never let in."""
    limit = min(max(limit, 1), MOST_LINES)
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        names = names_in(session, project_id)
        counted = deeds.deeds(session, project_id, person_id)
        comings = [entry for entry in deeds.comings(session, project_id) if _whom(entry) == person_id]
        times = deeds.times_of(session, project_id, person_id)
        found = books.search(session, project_id, by=person_id, before=before, limit=limit + 1)
    doers = _doers(counted, comings, names)
    if not doers:
        raise NotFound
    lines = tuple(line_of(entry, leaf, names, seen) for entry, leaf in found[:limit])
    days = _days(times, ZoneInfo(seen.project.time_zone))
    return DoerByDay(seen, doers[0], tuple(reversed(days)), lines, len(found) > limit)


def _doers(counted: Iterable[Deed], comings: Iterable[Entry], names: Mapping[str, str]) -> list[Doer]:
    own: dict[str, list[Deed]] = defaultdict(list)
    stints: dict[str, list[Stint]] = defaultdict(list)
    for deed in counted:
        own[deed.by].append(deed)
    for entry in comings:
        role = entry.fact.role if isinstance(entry.fact, PersonJoined) else ""
        stints[_whom(entry)].append(Stint(role, entry.seq, entry.at))
    return [
        Doer(id, who_did(id, names), id in names, tuple(stints[id]), tuple(own[id]))
        for id in {**own, **stints}
    ]


def _whom(entry: Entry) -> str:
    assert isinstance(entry.fact, PersonJoined | PersonLeft), "a coming or a going"
    return entry.fact.person


def _days(times: Iterable[datetime], zone: ZoneInfo) -> list[DayOf]:
    days = []
    for day, at in groupby(times, key=lambda at: at.astimezone(zone).date()):
        own = list(at)
        days.append(DayOf(day, len(own), own[0], own[-1]))
    return days
