"""Ready lists: a page by link that tells those who place concrete which zones are ready, and nothing else.

Whoever holds the link reads it without an account, so what is gathered here holds no person, mark or reason.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from service.actions.entrance.accounts import new_token, token_sha256
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, project_to_change, record, words
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.kept import ReadyLink
from service.domain.nouns.site import Px, Site, Sketch
from service.domain.sketch.zones import area_m2
from service.domain.words.measures import Units
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.history.facts.evidence import ReadyListOpened, ReadyListWithdrawn
from service.history.replay.standing import READY, Standing, release_mark, standings_of
from service.storage.accounts import ready_links
from service.storage.accounts.ready_links import OpenLink
from service.storage.history import slices
from service.storage.history.seen import SeenProject, names_in, project_seen_by

State = Literal["not ready", "ready to place", "placed"]
NOT_READY: State = "not ready"
READY_TO_PLACE: State = "ready to place"
IS_PLACED: State = "placed"
LONGEST_LABEL = 60
# A restart may bring another gate or other words: what an earlier run told is never called unchanged.
_RUN = secrets.token_hex(4)


# --- for the project's own people ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Opened:
    """`token` is the secret of the link (`/ready/TOKEN`), told this once and never again."""

    link: ReadyLink
    token: str


@dataclass(frozen=True, slots=True)
class ReadyListsView:
    """Every ready list of a project, the newest first."""

    seen: SeenProject
    links: list[ReadyLink]
    names: dict[str, str]


def ready_lists_of(desk: Desk, by: str, project_id: str) -> ReadyListsView:
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read")
        return ReadyListsView(seen, ready_links.links_of(session, project_id), names_in(session, project_id))


def one_ready_list(desk: Desk, by: str, link_id: str) -> tuple[SeenProject, ReadyLink]:
    with desk.reading() as session:
        seen, link = ready_links.link_seen_by(session, by, link_id)
    allow(seen, "read")
    return seen, link


def open_ready_list(desk: Desk, by: str, project_id: str, label: str) -> Opened:
    """A link by which the zones' states can be read. `label`: what whoever gets it does, not who they are."""
    label = _label(label)
    token = new_token()
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "open a ready list")
        fact = ReadyListOpened(desk.new_id(), label, token_sha256(token))
        record(desk, session, site, by, seen.role, fact)
    return Opened(site.ready_links[fact.link], token)


def _label(text: str) -> str:
    """The history keeps it for ever, so nothing that is somebody's own belongs in it. BadInput on `label`."""
    told = tr("Say what they do who get this link, such as ready-mix dispatcher.")
    label = " ".join(words(text, "label", most=LONGEST_LABEL, needed=told).split())
    if "@" in label or not label.isprintable():
        told = tr("Write what they do, such as concrete sub: no address and no name. The history keeps it.")
        raise BadInput(told, fields={"label": told})
    return label


def withdraw_ready_list(desk: Desk, by: str, link_id: str, reason: str) -> ReadyLink:
    """The link stops working at once. Conflict when it was withdrawn before."""
    reason = words(reason, "reason", needed=tr("Say why the link is withdrawn."))
    with desk.writing() as session:
        seen, _ = ready_links.link_seen_by(session, by, link_id)
        seen, site = project_to_change(session, by, seen.project.id, "withdraw a ready list")
        _, link = ready_links.link_seen_by(session, by, link_id)
        if link.withdrawn is not None:
            raise Conflict(tr("This link is withdrawn already."), code="withdrawn-already")
        site.put(link)
        record(desk, session, site, by, seen.role, ReadyListWithdrawn(link.id, link.label, reason))
    return site.ready_links[link_id]


# --- for whoever holds the link --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ReadyZone:
    """One zone for those who place it. `since`: released, or placed; `mark`: of the release, where ready."""

    letter: str
    name: str
    sketch_id: str
    outline: tuple[Px, ...]
    area_m2: float | None
    place_at: datetime | None
    state: State
    since: datetime | None
    mark: str


@dataclass(frozen=True, slots=True)
class ReadyList:
    """All that the link shows. `head`: the newest entry of the history, recorded at `head_at`."""

    project_name: str
    units: Units
    time_zone: str
    asked_at: datetime
    head: int
    head_at: datetime
    zones: tuple[ReadyZone, ...]
    sketches: tuple[Sketch, ...]
    version: str


def version_of(desk: Desk, token: str) -> str:
    """Names what `ready_list` would tell now: as long as it is the same, nothing was recorded. NotFound."""
    with desk.reading() as session:
        return _version(ready_links.by_token(session, token_sha256(token)))


def ready_list(desk: Desk, token: str) -> ReadyList:
    """Every zone as it stands at this moment, asked of the gate anew. NotFound for a link that is not ours
    or was withdrawn, the two told apart by nobody."""
    with desk.reading() as session:
        found = ready_links.by_token(session, token_sha256(token))
        site = slices.judged_site(session, found.project_id)
    project = site.project
    assert project is not None, "a link is a project's"
    zones = sorted(site.zones.values(), key=lambda zone: (len(zone.letter), zone.letter))
    standing_here = [zone.id for zone in zones if zone.withdrawn is None]
    return ReadyList(
        project_name=project.name,
        units=project.units,
        time_zone=project.time_zone,
        asked_at=desk.clock(),
        head=found.head,
        head_at=found.head_at,
        zones=tuple(_zone(site, standing) for standing in standings_of(site, standing_here).values()),
        sketches=tuple(site.sketches.values()),
        version=_version(found),
    )


def _version(found: OpenLink) -> str:
    told = f"{_RUN} {found.link_id} {found.head}"
    return f"{found.head}-{hashlib.sha256(told.encode()).hexdigest()[:16]}"


def _zone(site: Site, standing: Standing) -> ReadyZone:
    zone, scale = standing.zone, site.sketches[standing.zone.sketch_id].scale
    state, since, mark = _stands(standing)
    return ReadyZone(
        letter=zone.letter,
        name=zone.name,
        sketch_id=zone.sketch_id,
        outline=zone.outline,
        area_m2=None if scale is None else area_m2(zone.outline, nm_per_px(scale)),
        place_at=zone.place_at,
        state=state,
        since=since,
        mark=mark,
    )


def _stands(standing: Standing) -> tuple[State, datetime | None, str]:
    """Laying, held and clear are one to a placer: not ready."""
    if standing.zone.placement is not None:
        return IS_PLACED, standing.zone.placement.at, ""
    release = standing.release
    if standing.state == READY and release is not None:
        return READY_TO_PLACE, release.at, release_mark(release.seq, release.digest)
    return NOT_READY, None, ""
