"""Calendars by link: a person's calendar reads when zones of their projects are placed, without signing in.

Whoever holds the link reads it, so what is gathered here holds no person, mark or reason. It is made by its
person alone, ended by them, and shows a project only while they are on it.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterator
from dataclasses import dataclass

from sqlmodel import Session

from service.actions.entrance.accounts import new_token, not_by_code, token_sha256
from service.actions.frame.desk import Desk
from service.domain.gate.site_parts import SiteParts
from service.domain.nouns.site import Site
from service.domain.words.refusals import BadInput, NotFound
from service.domain.words.speech import tr
from service.history.replay.standing import READY, standing_of
from service.papers.calendar import Pour, calendar_file
from service.storage.accounts import calendars, people
from service.storage.accounts.calendars import CalendarLink, Head
from service.storage.history import slices
from service.storage.history.seen import projects_of

__all__ = ["CalendarLink", "Made", "OwnLink", "end_link", "feed", "links_of", "make_link", "version_of"]

# A restart may bring another gate or other words: what an earlier run told is never called unchanged.
_RUN = secrets.token_hex(4)


@dataclass(frozen=True, slots=True)
class Made:
    """`token` is the secret of the link (`/calendar/TOKEN.ics`), told this once and never again."""

    link: CalendarLink
    token: str


@dataclass(frozen=True, slots=True)
class OwnLink:
    """One of a person's links; `project_name` is None where it is of all their projects."""

    link: CalendarLink
    project_name: str | None


def make_link(desk: Desk, by: str, project_id: str | None) -> Made:
    """A link of one project that the person is on, or of all of them. NotAllowed for a sign-in by code;
    BadInput on `project`."""
    not_by_code(desk)
    token = new_token()
    with desk.writing() as session:
        if project_id is not None and project_id not in people.roles_of(session, by):
            told = tr("Choose a project that you are on.")
            raise BadInput(told, fields={"project": told})
        link = CalendarLink(desk.new_id(), by, project_id, desk.clock())
        calendars.add(session, link, token_sha256(token))
    return Made(link, token)


def links_of(desk: Desk, by: str) -> list[OwnLink]:
    """The links of whoever asks, the newest first; none for a sign-in by code, which may end none."""
    if desk.only:
        return []
    with desk.reading() as session:
        names = {seen.project.id: seen.project.name for seen in projects_of(session, by)}
        found = calendars.links_of(session, by)
    return [OwnLink(link, names[link.project_id] if link.project_id else None) for link in found]


def end_link(desk: Desk, by: str, link_id: str) -> CalendarLink:
    """The link opens nothing any more. NotFound where it is not theirs, or was ended."""
    not_by_code(desk)
    with desk.writing() as session:
        return calendars.end(session, by, link_id)


# --- for whoever holds the link --------------------------------------------------------------------------


def version_of(desk: Desk, token: str) -> str:
    """Names what `feed` would hold now: while it is the same, nothing was recorded. NotFound."""
    with desk.reading() as session:
        return _version(*_open(session, token))


def feed(desk: Desk, token: str, address: str) -> tuple[bytes, str]:
    """The calendar and the version of it. `address`: where this service is reached, for the way back to it.

    NotFound for a link that is not ours, was ended, or is of a project its person is not on, all alike.
    """
    with desk.reading() as session:
        link, heads = _open(session, token)
        sites = [(head, slices.judged_site(session, head.project_id)) for head in heads]
    name = "Placings" if link.project_id is None else f"Placings: {_name(sites[0][1])}"
    pours = [pour for head, site in sites for pour in _pours(site, head, address)]
    return calendar_file(name, pours), _version(link, heads)


def _open(session: Session, token: str) -> tuple[CalendarLink, list[Head]]:
    link = calendars.by_token(session, token_sha256(token))
    heads = calendars.heads(session, link)
    if link.project_id is not None and not heads:
        raise NotFound
    return link, heads


def _version(link: CalendarLink, heads: list[Head]) -> str:
    told = " ".join((_RUN, link.id, *(f"{head.project_id}:{head.seq}" for head in heads)))
    return hashlib.sha256(told.encode()).hexdigest()[:24]


def _name(site: Site) -> str:
    assert site.project is not None, "a project has its start"
    return site.project.name


def _pours(site: Site, head: Head, address: str) -> Iterator[Pour]:
    """Every zone that has a time: of its concrete, or the one it is planned for."""
    parts = SiteParts(site)
    for zone in sorted(site.zones.values(), key=lambda zone: (len(zone.letter), zone.letter)):
        placed = zone.placement
        starts = placed.at if placed else zone.place_at
        if zone.withdrawn is not None or starts is None:
            continue
        ready = placed is None and standing_of(parts.of(zone.id), zone.id).state == READY
        word = "placed" if placed else "ready to place" if ready else "not ready"
        named = f"zone {zone.letter} ({zone.name})" if zone.name else f"zone {zone.letter}"
        yield Pour(
            uid=f"zone-{zone.id}@laptight",
            starts=starts,
            summary=f"Place {named}, {_name(site)}: {word}",
            description=(
                f"{word.capitalize()}, as of entry {head.seq} of the history. A quality record, not an order "
                "to place: look at the project again before the trucks leave."
            ),
            href=f"{address}/projects/{head.project_id}/plan-of-pours",
            firm=placed is not None or ready,
            sequence=head.seq,
            changed_at=head.at,
        )
