"""Told in time: what turned since the last look, who asked to hear of it, and what they asked for.

A zone's state is worked out, never stored: after every change somebody looks (`look`), compares each zone
with how it stood at the last look, and keeps one row a turn. Two servers that look at once keep one together.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.gate.site_parts import SiteParts
from service.domain.nouns import roles
from service.domain.nouns.site import Project, Site, Zone
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr, trn
from service.history.replay.standing import standing_of
from service.history.replay.turns import (
    BY_MAIL,
    BY_PUSH,
    EVENTS,
    HELD_EVENING,
    LOST_RELEASE,
    NOT_READY,
    OFF_SKETCH,
    ON_PAGE,
    WAYS,
    turn,
)
from service.storage.accounts import invitations, people, telling
from service.storage.accounts.telling import Message, Turn, Wish
from service.storage.history import books, slices
from service.storage.history.rows import noun_of
from service.storage.history.seen import SeenProject, project_seen_by

EVENING = time(18)  # of the day before placing, at the site: common practice, no source
MOST_SHOWN = 100
KEPT_FOR = timedelta(days=90)
# Who never said anything else: a project manager is told of everything, on the page alone.
OF_MANAGERS = Wish(frozenset(), frozenset(EVENTS), frozenset((ON_PAGE,)))
NOTHING = Wish(frozenset(), frozenset(), frozenset())


@dataclass(frozen=True, slots=True)
class WishView:
    """What somebody asked for on a project, and its zones to choose from. `email`: they have an address."""

    seen: SeenProject
    wish: Wish
    zones: tuple[Zone, ...]
    email: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """A turn on somebody's page. `new`: not marked as read."""

    turn: Turn
    new: bool
    letter: str
    project_name: str
    time_zone: str


@dataclass(frozen=True, slots=True)
class Said:
    """A turn in the words of the language being spoken."""

    title: str
    words: str


# --- looking ---------------------------------------------------------------------------------------------


def look(desk: Desk) -> int:
    """Look at every project that moved since the last look; how many turns there were to tell."""
    with desk.reading() as session:
        moved = telling.moved(session)
    return sum(_look_at(desk, project_id) for project_id in moved)


def _look_at(desk: Desk, project_id: str) -> int:
    """Compare each zone with how it stood. The slow part holds no lock: who looked further first, stands."""
    with desk.reading() as session:
        head = books.head(session, project_id)  # before the site: what comes in between is looked at again
        site = slices.judged_site(session, project_id)
    parts = SiteParts(site)
    now = {zone_id: _stands(parts.of(zone_id), zone_id) for zone_id in site.zones}
    told = 0
    with desk.writing() as session:
        books.lock_head(session, project_id)
        if telling.looked_up_to(session, project_id) >= head:
            return 0
        before = telling.states(session, project_id)
        for zone_id, (state, reasons) in now.items():
            event = turn(before.get(zone_id), state)
            if event is not None:
                seen = Turn(desk.new_id(), project_id, zone_id, event, head, head, reasons, desk.clock())
                told += _tell(desk, session, seen)
        changed = {zone: state for zone, (state, _) in now.items() if before.get(zone) != state}
        telling.keep_states(session, project_id, head, changed)
    return told


def _stands(site: Site, zone_id: str) -> tuple[str, int]:
    """A zone's state, and how many reasons the gate gives."""
    if site.zones[zone_id].withdrawn is not None:
        return OFF_SKETCH, 0
    standing = standing_of(site, zone_id)
    return standing.state, len(standing.blockers)


def look_ahead(desk: Desk) -> int:
    """Zones that are not ready on the evening before their day of placing; how many there were to tell.

    After `look`, whose states it goes by. From that evening until the hour of placing: a server that stood
    still at six tells it when it runs again.
    """
    now = desk.clock()
    with desk.reading() as session:
        soon = [
            (project, zone, day)
            for project, zone in (
                (noun_of(Project, p), noun_of(Zone, z)) for p, z in telling.zones_of_all(session)
            )
            if (day := _evening_of(project, zone, now)) is not None
            and telling.states(session, project.id).get(zone.id) in NOT_READY
            and not telling.is_told(session, zone.id, HELD_EVENING, day)
        ]
    return sum(_tell_evening(desk, project, zone, day) for project, zone, day in soon)


def _tell_evening(desk: Desk, project: Project, zone: Zone, day: int) -> int:
    with desk.reading() as session:
        head = books.head(session, project.id)
        state, reasons = _stands(slices.judged_site(session, project.id), zone.id)
    if state not in NOT_READY:
        return 0
    with desk.writing() as session:
        books.lock_head(session, project.id)
        seen = Turn(desk.new_id(), project.id, zone.id, HELD_EVENING, day, head, reasons, desk.clock())
        return int(_tell(desk, session, seen))


def _evening_of(project: Project, zone: Zone, now: datetime) -> int | None:
    """The placing day as 20261126, when this is the evening before it or later, and it is still to come."""
    if zone.place_at is None or zone.withdrawn is not None or zone.placement is not None:
        return None
    local = zone.place_at.astimezone(ZoneInfo(project.time_zone))
    evening = datetime.combine(local.date() - timedelta(days=1), EVENING, local.tzinfo)
    if not evening <= now < zone.place_at:
        return None
    return local.year * 10_000 + local.month * 100 + local.day


def _tell(desk: Desk, session: Session, seen: Turn) -> bool:
    """Keep a turn and what each who asked is told by which way. False where it was told already."""
    if not telling.add_turn(session, seen):
        return False
    asked = telling.wishes(session, seen.project_id)
    for person, role in invitations.members_of(session, seen.project_id):
        wish = asked.get(person.id) or _unasked(role)
        if not wish.wants(seen.zone_id, seen.event):
            continue
        if ON_PAGE in wish.ways:
            telling.add_telling(session, desk.new_id(), seen, person.id, ON_PAGE, telling.NEW)
        if BY_MAIL in wish.ways and person.email:
            telling.add_telling(session, desk.new_id(), seen, person.id, BY_MAIL, telling.WAITING)
        if BY_PUSH in wish.ways:
            for phone in telling.phones_of(session, person.id):
                telling.add_telling(
                    session, desk.new_id(), seen, person.id, BY_PUSH, telling.WAITING, phone.id
                )
    return True


def _unasked(role: str) -> Wish:
    return OF_MANAGERS if role == roles.PROJECT_MANAGER else NOTHING


# --- asking to be told -----------------------------------------------------------------------------------


def wish_of(desk: Desk, by: str, project_id: str) -> WishView:
    """What this person asked to be told of a project."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "ask to be told")
        wish = telling.wishes(session, project_id).get(by) or _unasked(seen.role)
        site = slices.project_site(session, project_id)
        person = people.by_id(session, by)
    zones = [zone for zone in site.zones.values() if zone.withdrawn is None]
    zones.sort(key=lambda zone: (len(zone.letter), zone.letter))
    return WishView(seen, wish, tuple(zones), bool(person and person.email))


def ask_to_be_told(
    desk: Desk,
    by: str,
    project_id: str,
    zones: Collection[str],
    events: Collection[str],
    ways: Collection[str],
) -> None:
    """Be told of these events in these zones (none: all of them) by these ways; of nothing without events.
    BadInput on `events`, `ways` or `zones`."""
    if set(events) - set(EVENTS) or set(ways) - set(WAYS):
        raise BadInput(
            tr("Choose among what is offered."), fields={"events": tr("Choose among what is offered.")}
        )
    if events and not ways:
        told = tr("Choose how you want to be told.")
        raise BadInput(told, fields={"ways": told})
    with desk.writing() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "ask to be told")
        if set(zones) - set(slices.project_site(session, project_id).zones):
            told = tr("Choose zones of this project.")
            raise BadInput(told, fields={"zones": told})
        wish = Wish(frozenset(zones), frozenset(events), frozenset(ways))
        telling.keep_wish(session, project_id, by, wish)


# --- on the page -----------------------------------------------------------------------------------------


def told_to(desk: Desk, by: str) -> list[Shown]:
    """What this person was told, the newest first."""
    with desk.reading() as session:
        found = telling.messages(session, by, desk.only, MOST_SHOWN)
    return [
        _shown(message, noun_of(Project, message.project), noun_of(Zone, message.zone)) for message in found
    ]


def _shown(message: Message, project: Project, zone: Zone) -> Shown:
    return Shown(message.turn, message.new, zone.letter, project.name, project.time_zone)


def mark_read(desk: Desk, by: str) -> None:
    with desk.writing() as session:
        telling.mark_read(session, by, desk.only)
        telling.forget_old(session, desk.clock() - KEPT_FOR)


def said(seen: Turn, letter: str) -> Said:
    """A turn in words."""
    if seen.event == HELD_EVENING:
        return Said(
            tr("Zone {letter} is held the evening before placing", letter=letter),
            trn("{n} reason stands against it.", "{n} reasons stand against it.", seen.reasons),
        )
    if seen.event == LOST_RELEASE:
        return Said(
            tr("Zone {letter} lost its release", letter=letter),
            tr("It was pulled back, or something it rested on changed. It is not ready to place any more."),
        )
    return Said(
        tr("Zone {letter} is clear", letter=letter), tr("Nothing holds it any more: it can be released.")
    )
