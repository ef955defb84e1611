"""Ask the gate; record a release, its pull-back, and the placing of a zone."""

from __future__ import annotations

from datetime import datetime

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, words, zone_to_change
from service.actions.office.placing_start import to_the_minute
from service.domain.gate.told import found_in_placing, why_not_released, withdrawn_in
from service.domain.nouns.rules import not_asked_for
from service.domain.nouns.site import Release, Zone
from service.domain.words.refusals import BadInput, Conflict, FactsMoved, ZoneHeld
from service.domain.words.speech import tr, trn
from service.domain.words.volume import BadVolume, check_volume
from service.history.facts import facts as f
from service.history.replay.standing import (
    GATES,
    PLACED,
    PLACED_WITHOUT_RELEASE,
    READY,
    Standing,
    standing_of,
)
from service.storage.history import books

GATE_VERSION = max(GATES)


def release_zone(desk: Desk, by: str, zone_id: str, digest: str, statement: str) -> Release:
    """Release a clear zone by confirming the exact facts seen. The gate is asked inside the same transaction.

    FactsMoved where the digest is no longer the zone's; ZoneHeld with every blocker where the gate finds any.
    """
    statement = words(statement, "statement", needed=tr("State what you confirm."))
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "release a zone")
        standing = standing_of(site, zone_id)
        if digest != standing.digest:
            raise FactsMoved
        _check_clear(standing)
        seq = books.next_seq(session, seen.project.id)
        books.note_verdict(session, seen.project.id, seq, zone_id, clear=not standing.blockers)
        fact = f.ZoneReleased(
            desk.new_id(),
            zone_id,
            seen.zone.letter,
            digest,
            GATE_VERSION,
            statement,
            not_asked_for(seen.project.sheet),
            withdrawn_in(site, zone_id),
        )
        record(desk, session, site, by, seen.role, fact)
        signing.give(desk, session, site, by, seen.role, signing.CERTIFICATE)
    return site.releases[fact.release]


def _check_clear(standing: Standing) -> None:
    letter = standing.zone.letter
    if standing.state in (PLACED, PLACED_WITHOUT_RELEASE):
        raise Conflict(tr("Zone {letter} is placed already.", letter=letter), code="zone-placed")
    if standing.state == READY:
        raise Conflict(
            tr("Zone {letter} is released, and nothing changed since.", letter=letter),
            code="released-already",
        )
    if standing.blockers:
        count = len(standing.blockers)
        raise ZoneHeld(
            trn(
                "Zone {letter} is held: {n} reason stands.",
                "Zone {letter} is held: {n} reasons stand.",
                count,
                letter=letter,
            ),
            standing.blockers,
        )


def pull_back(desk: Desk, by: str, zone_id: str, reason: str) -> Release:
    """Undo the zone's release, with a reason."""
    reason = words(reason, "reason", needed=tr("Say why the release is pulled back."))
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "pull back a release")
        standing = standing_of(site, zone_id)
        if standing.state in (PLACED, PLACED_WITHOUT_RELEASE):
            raise Conflict(
                tr("Zone {letter} is placed: its release stands as it was.", letter=seen.zone.letter),
                code="zone-placed",
            )
        if standing.release is None:
            raise Conflict(
                tr("Zone {letter} has no release to pull back.", letter=seen.zone.letter), code="not-released"
            )
        fact = f.ReleasePulledBack(standing.release.id, zone_id, seen.zone.letter, reason)
        record(desk, session, site, by, seen.role, fact)
        signing.give(desk, session, site, by, seen.role, signing.CERTIFICATE)
    return site.releases[standing.release.id]


def mark_placed(
    desk: Desk, by: str, zone_id: str, at: datetime | None = None, volume: str = "", *, sure: bool = True
) -> Zone:
    """Concrete is in. A zone not ready to place is kept as placed without release, blockers attached; one
    that was, with what was found during placing and is not mended.

    `sure` false: Conflict `not-ready` instead, so that a page can ask first.
    """
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "mark a zone placed")
        standing = standing_of(site, zone_id)
        if seen.zone.placement is not None:
            raise Conflict(
                tr("Zone {letter} is placed already.", letter=seen.zone.letter), code="zone-placed"
            )
        _check_time(at, desk.clock(), seen.zone)
        ready = standing.state == READY
        if not ready and not sure:
            raise Conflict(
                tr("Zone {letter} is not ready to place.", letter=seen.zone.letter), code="not-ready"
            )
        units = seen.project.units
        against = (
            found_in_placing(standing.found, units) if ready else why_not_released(standing.blockers, units)
        )
        placed_at = at or _now(desk.clock(), standing)
        fact = f.ZonePlaced(zone_id, seen.zone.letter, placed_at, _volume(volume), not ready, against)
        record(desk, session, site, by, seen.role, fact)
    return site.zones[zone_id]


def _now(now: datetime, standing: Standing) -> datetime:
    """Never before the release or the start of placing, though the clock was set back since."""
    placing, given = standing.zone.placing, standing.release
    told = ([placing.started_at] if placing else []) + ([given.at] if given else [])
    return max([now, *told])


def _check_time(at: datetime | None, now: datetime, zone: Zone) -> None:
    if at is None:
        return
    if at > now:
        raise BadInput(tr("That time has not come yet."), fields={"at": tr("That time has not come yet.")})
    if zone.placing is not None and at < to_the_minute(zone.placing.started_at):
        told = tr("Placing of the zone was started later than that.")
        raise BadInput(told, fields={"at": told})


def _volume(text: str) -> str:
    try:
        return check_volume(text) if text.strip() else ""
    except BadVolume as bad:
        raise BadInput(str(bad), fields={"volume": str(bad)}) from None
