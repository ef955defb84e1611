"""Start placing a zone: the concrete begins to come, under the release that stands."""

from __future__ import annotations

from datetime import datetime

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, zone_to_change
from service.domain.gate.during import goes_on
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, Conflict, ZoneHeld
from service.domain.words.speech import tr, trn
from service.history.facts.placing import PlacingStarted
from service.history.replay.standing import READY, Standing, standing_of


def start_placing(desk: Desk, by: str, zone_id: str, at: datetime | None = None) -> Zone:
    """From here on damage is found during placing, and does not end it. `at`: when it began, or now.

    The gate is asked in the same transaction. ZoneHeld with every blocker where it finds any; Conflict
    `not-ready`, `placing-already` or `zone-placed`. BadInput on `at`: not before the release, nor to come.
    """
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "start placing")
        standing = standing_of(site, zone_id)
        _check_ready(standing)
        release = standing.release
        assert release is not None, "a zone is ready to place by its release"
        began = _began(at, release.at, desk.clock())
        fact = PlacingStarted(zone_id, seen.zone.letter, release.id, began)
        record(desk, session, site, by, seen.role, fact)
    return site.zones[zone_id]


def _began(at: datetime | None, released: datetime, now: datetime) -> datetime:
    """When placing began: now where nobody told it. A typed minute may be the very one of the release.

    Never before the release, though the clock was set back since.
    """
    if at is None:
        return max(now, released)
    if at > now:
        raise _wrong(tr("That time has not come yet."))
    if at < to_the_minute(released):
        raise _wrong(tr("The zone was not released yet at that time."))
    return max(at, released)


def to_the_minute(at: datetime) -> datetime:
    """As a person types it."""
    return at.replace(second=0, microsecond=0)


def _check_ready(standing: Standing) -> None:
    zone = standing.zone
    if zone.placement is not None:
        raise Conflict(tr("Zone {letter} is placed already.", letter=zone.letter), code="zone-placed")
    if standing.state == READY:
        if goes_on(zone):
            told = tr("Placing of zone {letter} was started already.", letter=zone.letter)
            raise Conflict(told, code="placing-already")
        return
    if not standing.blockers:
        told = tr("Zone {letter} is not ready to place: nobody released it as it is now.", letter=zone.letter)
        raise Conflict(told, code="not-ready")
    told = trn(
        "Zone {letter} is held: {n} reason stands.",
        "Zone {letter} is held: {n} reasons stand.",
        len(standing.blockers),
        letter=zone.letter,
    )
    raise ZoneHeld(told, standing.blockers)


def _wrong(told: str) -> BadInput:
    return BadInput(told, fields={"at": told})
