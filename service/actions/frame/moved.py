"""What moved a zone's facts since somebody looked, or since its release: found by replay of the history."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.history.facts.entries import Entry
from service.history.replay.following import Following
from service.history.replay.replay import replay
from service.history.replay.touching import step
from service.storage.history import books
from service.storage.history.seen import zone_seen_by


def moved_since(desk: Desk, by: str, zone_id: str, seq: int, most: int = 12) -> list[Entry]:
    """The entries after number `seq` that gave the zone other facts, the first `most`, oldest first."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
        entries = books.entries(session, seen.project.id)
    site = replay(entry for entry in entries if entry.seq <= seq)
    if zone_id not in site.zones:
        return []
    zone = Following(site, zone_id)
    facts, moved = zone.facts(), []
    for entry in (entry for entry in entries if entry.seq > seq):
        if not zone.after(step(site, entry)):
            continue
        now = zone.facts()
        if now != facts:
            facts = now
            moved.append(entry)
        if len(moved) == most:
            break
    return moved
