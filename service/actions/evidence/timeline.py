"""A zone's life as its history tells it: read once, replayed once, in the words and names of today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.words.refusals import NotFound
from service.history.facts.entries import Entry
from service.history.replay.spans import Life, life_of
from service.history.sentences.sentences import sentence
from service.storage.history import books
from service.storage.history.seen import SeenZone, names_in, zone_seen_by


@dataclass(frozen=True, slots=True)
class ZoneLife:
    """`as_of`: when it was read, up to which the last state stands; never before the newest entry."""

    seen: SeenZone
    life: Life
    names: dict[str, str]
    as_of: datetime

    def told(self, entry: Entry) -> str:
        """The entry as the history tells it."""
        return sentence(entry, self.names, self.seen.project.units)


def zone_life(desk: Desk, by: str, zone_id: str) -> ZoneLife:
    """A zone's life up to the newest entry of its project."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
        allow(seen, "read the history")
        names = names_in(session, seen.project.id)
        entries = books.entries(session, seen.project.id)
    life = life_of(entries, zone_id)
    if life is None:
        raise NotFound
    # A clock set back never runs behind the history.
    return ZoneLife(seen, life, names, max(desk.clock(), entries[-1].at))
