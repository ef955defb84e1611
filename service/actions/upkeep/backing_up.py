"""A backup while the service goes on: a data directory that can be served, checked and moved as it is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from service.actions.frame.desk import Desk
from service.actions.upkeep.checking import check_histories
from service.actions.upkeep.checking_pictures import lost_pictures
from service.domain.words.refusals import Conflict
from service.domain.words.speech import tr
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.upkeep.migrate import migrate
from service.storage.upkeep.moving import carry_over

FILE = "laptight.sqlite3"


@dataclass(frozen=True, slots=True)
class BackedUp:
    """`entries` of all histories replayed from the backup, with the `faults` found; `pictures` kept, and a
    sentence for each that a history names and that is `lost`: gone, or no longer itself."""

    entries: int
    pictures: int
    faults: tuple[str, ...]
    lost: tuple[str, ...]


def back_up(desk: Desk, folder: Path) -> BackedUp:
    """Everything but the signing key into a new data directory, as of one moment; then it is held against its
    own history. The database comes first: a picture is kept before anything names it, so none is missed.

    Conflict where the folder holds something already.
    """
    if folder.exists() and any(folder.iterdir()):
        raise Conflict(tr("That folder holds something already. Name a new one."), code="not-empty")
    folder.mkdir(parents=True, exist_ok=True)
    if desk.database.is_sqlite:
        desk.database.copy_into(folder / FILE)
    copy = Database(f"sqlite:///{folder / FILE}", desk.database.keys)
    try:
        if not desk.database.is_sqlite:
            migrate(copy)
            carry_over(desk.database, copy)
        blobs = Blobs(folder)
        desk.blobs.copy_to(blobs)
        made = Desk(copy, blobs)
        found = check_histories(made)
        return BackedUp(found.entries, len(blobs.names("blobs")), found.faults, lost_pictures(made, blobs))
    finally:
        copy.close()
