"""A process that marks and patches until it is killed, and says each thing only once it is committed.

`python -m tests.whole.crashing DATA PERSON ZONE SEED`: lines `mark ID` and `patch ID` on standard output.
"""

from __future__ import annotations

import os
import random
import sys
import threading
from pathlib import Path

from service.actions import defects, patches
from service.actions.desk import Desk
from service.storage.blobs import Blobs
from service.storage.database import Database
from tests.builders import TEAR, sides

WRITERS = 2


def tell(words: str) -> None:
    """One whole line in one write, so that a kill never leaves half of one that could be misread."""
    os.write(1, f"{words}\n".encode())


def write_for_ever(desk: Desk, person: str, zone: str, draw: random.Random) -> None:
    while True:
        at = draw.uniform(110, 890), draw.uniform(110, 690)
        mark = defects.mark_defect(desk, person, zone, defects.read_mark("tear", at, TEAR))
        tell(f"mark {mark.id}")
        short = draw.choice(("6 in", "5 3/4 in"))
        tell(f"patch {patches.log_patch(desk, person, mark.id, sides(short)).patch.id}")


def main(data: Path, person: str, zone: str, seed: int) -> None:
    database = Database.at(data / "laptight.sqlite3")
    for number in range(WRITERS):
        desk = Desk(database, Blobs(data))
        draw = random.Random(seed * WRITERS + number)
        threading.Thread(target=write_for_ever, args=(desk, person, zone, draw)).start()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3], int(sys.argv[4]))
