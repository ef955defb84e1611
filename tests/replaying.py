"""After every module's run: the tables are what a replay of the history gives, whatever the module did."""

from __future__ import annotations

from collections import Counter
from types import ModuleType

from service.actions.frame.desk import Desk
from service.actions.upkeep.checking import check_histories
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database

# So many databases of a module are checked at least, and past them each with a longer history than before.
MOST = 3
_checked: Counter[str] = Counter()
_longest: Counter[str] = Counter()


def hold_equal(module: ModuleType, database: Database, blobs: Blobs) -> None:
    """AssertionError naming what the tables and the history do not agree on.

    A module that spoils tables on purpose says so: `SPOILS_TABLES = True`.
    """
    if getattr(module, "SPOILS_TABLES", False):
        return
    name = module.__name__
    entries = _entries(database)
    if not entries or (_checked[name] >= MOST and entries <= _longest[name]):
        return
    _checked[name] += 1
    _longest[name] = max(_longest[name], entries)
    assert check_histories(Desk(database, blobs)).faults == ()


def _entries(database: Database) -> int:
    with database.engine.connect() as connection:
        found = connection.exec_driver_sql("SELECT count(*) FROM entry").scalar()
    return int(found or 0)
