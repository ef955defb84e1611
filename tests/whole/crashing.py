"""A process that marks and patches until it is killed, and says each thing only once it is committed.

`python -m tests.whole.crashing DATA PERSON ZONE SEED [COUNT]`: lines `mark ID` and `patch ID` on standard
output; with a COUNT it ends by itself once each writer has marked and patched so often. The database is where
LAPTIGHT_DATABASE_URL says.
"""

from __future__ import annotations

import itertools
import os
import random
import sys
import threading
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from sqlalchemy import event

from service.actions.frame.desk import Desk
from service.actions.marks import defects, patches
from service.settings import Settings
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.doors.keys import Keyring
from tests.builders import TEAR, sides

WRITERS = 2


def tell(words: str) -> None:
    """One whole line in one write, so that a kill never leaves half of one that could be misread."""
    os.write(1, f"{words}\n".encode())


def write_on(desk: Desk, person: str, zone: str, draw: random.Random, turns: Iterable[int]) -> None:
    for _ in turns:
        at = draw.uniform(110, 890), draw.uniform(110, 690)
        mark = defects.mark_defect(desk, person, zone, defects.read_mark("tear", at, TEAR))
        tell(f"mark {mark.id}")
        short = draw.choice(("6 in", "5 3/4 in"))
        tell(f"patch {patches.log_patch(desk, person, mark.id, sides(short)).patch.id}")


def _wait_less(connection: Any, _: object) -> None:
    """As SYNCHRONOUS says, in place of what the service asks of SQLite: for the control of what counts."""
    connection.execute(f"PRAGMA synchronous={os.environ['SYNCHRONOUS']}")


def main(data: Path, person: str, zone: str, seed: int, count: int | None = None) -> None:
    settings = Settings.read(data)
    database = Database(settings.database_url, Keyring(settings.keys))
    if "SYNCHRONOUS" in os.environ:
        event.listen(database.engine, "connect", _wait_less)
    for number in range(WRITERS):
        desk = Desk(database, Blobs(data))
        draw = random.Random(seed * WRITERS + number)
        turns = itertools.count() if count is None else range(count)
        threading.Thread(target=write_on, args=(desk, person, zone, draw, turns)).start()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3], *map(int, sys.argv[4:]))
