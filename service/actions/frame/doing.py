"""The frame of every change: who, in which role, on what, and one entry at the head."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.domain.nouns import roles
from service.domain.nouns.site import Site, Zone
from service.domain.words.measures import BadLength, parse_length
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from service.domain.words.speech import later, tr
from service.domain.words.temperatures import BadTemperature, parse_temperature
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.storage.doors.locks import is_alone
from service.storage.history import books, slices
from service.storage.history.seen import (
    SeenProject,
    SeenSketch,
    SeenZone,
    project_seen_by,
    sketch_seen_by,
    zone_seen_by,
)

_CHOSEN = re.compile(r"[0-9a-f]{32}")
# Letters and signs by their class in Unicode, and blank to the eye: Hangul fillers, the empty Braille cell.
_BLANK = frozenset("\u115f\u1160\u3164\uffa0\u2800")
LONGEST_NOTE = 2000
LONGEST_NAME = 120
_CANNOT = {
    roles.CREW_LEAD: later("A crew lead cannot {action}."),
    roles.PROJECT_MANAGER: later("A project manager cannot {action}."),
    roles.INSPECTOR: later("An inspector cannot {action}."),
}


def allow(seen: SeenProject, action: str) -> None:
    """NotAllowed unless the role this person sees the project in may do this."""
    if not roles.may(seen.role, action):
        raise NotAllowed(tr(_CANNOT[seen.role], action=tr(action)))


def record(desk: Desk, session: Session, site: Site, by: str, role: str, fact: Fact) -> Entry:
    """Append one fact at the head of this site's project, in the open transaction."""
    assert site.project is not None, "a change needs its project"
    return books.append(session, site, site.project.id, desk.clock(), by, role, fact, desk.phone)


def chosen_id(text: str) -> str:
    """The id that a phone chose for something it made, or nothing. BadInput for what is no such id."""
    if text and not _CHOSEN.fullmatch(text):
        told = tr("An id chosen on a phone is 32 hexadecimal digits, in lower case.")
        raise BadInput(told, fields={"new_id": told})
    return text


def free_id(session: Session, noun_id: str) -> None:
    """Conflict where something has this id already, anywhere."""
    if books.is_taken(session, noun_id):
        raise Conflict(tr("Something else has this id already. Nothing was recorded."), code="id-taken")


class TakenOff(Conflict):
    """The zone is off the sketch. `right_zone` is where the place lies now, if that is known."""

    code = "zone-withdrawn"

    def __init__(self, zone: Zone, right_zone: Zone | None = None) -> None:
        told = later("Zone {letter} was taken off the sketch: {reason}. Nothing was recorded.")
        if right_zone:
            told = later(
                "Zone {letter} was taken off the sketch: {reason}. Nothing was recorded. That place lies in "
                "zone {right} now."
            )
        right = right_zone.letter if right_zone else ""
        super().__init__(tr(told, letter=zone.letter, reason=zone.withdrawn, right=right))
        self.right_zone = right_zone


def standing_zone(seen: SeenZone) -> Zone:
    """The zone, unless somebody took it off the sketch meanwhile."""
    if seen.zone.withdrawn is not None:
        raise TakenOff(seen.zone)
    return seen.zone


def zone_to_change(
    session: Session, by: str, zone_id: str, action: str, *, standing: bool = True
) -> tuple[SeenZone, Site]:
    """The zone and the slice of the site round it, read under the head's lock, for who may do this.

    `standing` false: the caller itself refuses a zone that is off the sketch.
    """
    seen = _zone_under_lock(session, by, zone_id, action)
    if standing:
        standing_zone(seen)
    return seen, slices.zone_site(session, seen.project.id, seen.zone, seen.sketch, seen.project)


def place_to_change(session: Session, by: str, zone_id: str, action: str) -> tuple[SeenZone, Site]:
    """As `zone_to_change`, with no more of the site than the zone and its sketch: for a change that nothing
    else decides about. The caller itself refuses a zone that is off the sketch."""
    seen = _zone_under_lock(session, by, zone_id, action)
    site = Site(project=seen.project)
    site.put(seen.sketch)
    site.put(seen.zone)
    return seen, site


def _zone_under_lock(session: Session, by: str, zone_id: str, action: str) -> SeenZone:
    seen = zone_seen_by(session, by, zone_id)
    books.lock_head(session, seen.project.id)
    if not is_alone(session):
        seen = zone_seen_by(session, by, zone_id)  # again: what was read before the lock may have moved
    allow(seen, action)
    return seen


def sketch_to_change(session: Session, by: str, sketch_id: str, action: str) -> tuple[SeenSketch, Site]:
    """A sketch with everything on it, read under the head's lock."""
    seen = sketch_seen_by(session, by, sketch_id)
    books.lock_head(session, seen.project.id)
    if not is_alone(session):
        seen = sketch_seen_by(session, by, sketch_id)
    allow(seen, action)
    return seen, slices.sketch_site(session, seen.project.id, sketch_id)


def project_to_change(session: Session, by: str, project_id: str, action: str) -> tuple[SeenProject, Site]:
    """A project with its people, sketches and zones, read under the head's lock."""
    seen = project_seen_by(session, by, project_id)
    books.lock_head(session, project_id)
    if not is_alone(session):
        seen = project_seen_by(session, by, project_id)
    allow(seen, action)
    return seen, slices.project_site(session, project_id)


def words(text: str, field: str, *, most: int = LONGEST_NOTE, needed: str | None = None) -> str:
    """Free text, trimmed. BadInput when it is too long, or where `needed` says why it matters and nothing of
    it can be seen: a statement of zero-width spaces says nothing to whoever reads the history."""
    trimmed = text.strip()
    if needed is not None and not _shows(trimmed):
        raise BadInput(needed, fields={field: needed})
    if len(trimmed) > most:
        told = tr(
            "Keep it to {most} characters; this has {text}.", most=f"{most:,}", text=f"{len(trimmed):,}"
        )
        raise BadInput(told, fields={field: told})
    if "\x00" in trimmed:
        raise BadInput(
            tr("That text holds a character that cannot be kept."), fields={field: tr("Not text.")}
        )
    return trimmed


def _shows(text: str) -> bool:
    """Whether any letter, digit or sign of the text leaves ink."""
    return any(unicodedata.category(sign)[0] in "LNPS" and sign not in _BLANK for sign in text)


def length(text: str, field: str, *, zero_ok: bool = False) -> int:
    """A typed length in nanometres. BadInput names the field."""
    try:
        return parse_length(text, zero_ok=zero_ok)
    except BadLength as bad:
        raise BadInput(str(bad), fields={field: str(bad)}, code=bad.code) from None


def temperature(text: str, field: str) -> int | None:
    """A typed temperature in thousandths of a degree Fahrenheit, or None; BadInput names the field."""
    try:
        return parse_temperature(text) if text.strip() else None
    except BadTemperature as bad:
        raise BadInput(str(bad), fields={field: str(bad)}, code="no-temperature") from None


def locked_projects(session: Session, project_ids: Iterable[str]) -> dict[str, Site]:
    """Each project with its people, under its head's lock, always in the same order: two of us never wait for
    each other."""
    ordered = sorted(project_ids)
    for project_id in ordered:
        books.lock_head(session, project_id)
    return {project_id: slices.project_site(session, project_id) for project_id in ordered}
