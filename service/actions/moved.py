"""What moved a zone's facts since somebody looked, or since its release: found by replay of the history."""

from __future__ import annotations

from service.actions.desk import Desk
from service.domain.zone_facts import zone_facts
from service.history import facts as f
from service.history import facts_evidence as e
from service.history.entries import Entry
from service.history.replay import apply, replay
from service.history.standing import digest_of
from service.storage import books
from service.storage.seen import zone_seen_by

# What never moves any zone's facts, and what moves a neighbour's only where a mark reaches across.
STILL = (
    f.PersonInvited,
    f.PersonJoined,
    f.PersonLeft,
    f.PhotoAdded,
    f.GridLaid,
    f.ZoneReleased,
    f.ZonePlaced,
    e.CheckpointGiven,
    e.RecordMade,
    e.KeyChanged,
    e.NameErased,
    e.TimestampReceived,
    e.ReadyListOpened,
    e.ReadyListWithdrawn,
)
ACROSS = (f.DefectMarked, f.DefectWithdrawn, f.PatchLogged, f.PatchWithdrawn, f.WallDrawn, f.WallWithdrawn)


def moved_since(desk: Desk, by: str, zone_id: str, seq: int, most: int = 12) -> list[Entry]:
    """The entries after number `seq` that gave the zone other facts, the first `most`, oldest first."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
        entries = books.entries(session, seen.project.id)
    site = replay(entry for entry in entries if entry.seq <= seq)
    if zone_id not in site.zones:
        return []
    digest, moved = digest_of(zone_facts(site, zone_id)), []
    for entry in (entry for entry in entries if entry.seq > seq):
        apply(site, entry)
        if not _may_move(entry, zone_id):
            continue
        now = digest_of(zone_facts(site, zone_id))
        if now != digest:
            digest = now
            moved.append(entry)
        if len(moved) == most:
            break
    return moved


def _may_move(entry: Entry, zone_id: str) -> bool:
    if isinstance(entry.fact, STILL):
        return False
    return entry.zone in (None, zone_id) or isinstance(entry.fact, ACROSS)
