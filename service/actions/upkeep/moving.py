"""Move a whole service from one database to another, and hold what came over against its history."""

from __future__ import annotations

from dataclasses import dataclass

from service.actions.frame.desk import Desk
from service.actions.upkeep.checking import check_histories
from service.actions.upkeep.checking_pictures import lost_pictures
from service.domain.words.refusals import Conflict
from service.domain.words.speech import tr
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.upkeep.migrate import migrate
from service.storage.upkeep.moving import NotEmpty, carry_over


@dataclass(frozen=True, slots=True)
class Moved:
    """`rows` of `tables` carried over; `entries` of all histories replayed there, with the `faults` found; a
    sentence for each picture that a history names and that is `lost`."""

    tables: int
    rows: int
    entries: int
    faults: tuple[str, ...]
    lost: tuple[str, ...]


def move(source: Desk, url: str, blobs: Blobs | None = None) -> Moved:
    """Everything to the empty database at `url`, and to other `blobs` where they are given; keys stay where
    they are. The source is only read.

    Conflict where the other database holds something already: nothing is mixed.
    """
    target = Database(url, source.database.keys)
    try:
        migrate(target)
        try:
            carried = carry_over(source.database, target)
        except NotEmpty:
            told = tr("The other database holds something already. Nothing was moved: name an empty one.")
            raise Conflict(told, code="not-empty") from None
        if blobs is not None:
            source.blobs.copy_to(blobs)
        kept = blobs or source.blobs
        there = Desk(target, kept)
        found = check_histories(there)
        return Moved(carried.tables, carried.rows, found.entries, found.faults, lost_pictures(there, kept))
    finally:
        target.close()
