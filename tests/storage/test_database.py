"""The two doors: what a write promises, and what happens where it cannot be kept."""

from __future__ import annotations

import threading

import pytest
from sqlalchemy import text

from service.storage.doors import database as doors
from service.storage.doors.database import Database, WriterBusy, sqlite_is_safe
from service.storage.upkeep.outages import is_outage


@pytest.mark.parametrize(
    ("version", "safe"),
    [
        ((3, 40, 1), False),
        ((3, 44, 5), False),
        ((3, 44, 6), True),
        ((3, 50, 6), False),
        ((3, 50, 7), True),
        ((3, 51, 2), False),
        ((3, 51, 3), True),
        ((3, 53, 4), True),
    ],
)
def test_a_library_that_can_lose_commits_is_told_from_one_that_cannot(
    version: tuple[int, ...], safe: bool
) -> None:
    """The WAL-reset fix: SQLite release notes, 3.51.3, with backports 3.50.7 and 3.44.6."""
    assert sqlite_is_safe(version) is safe


@pytest.mark.sqlite_only("a pragma")
def test_every_connection_writes_through_to_the_disk(database: Database) -> None:
    with database.reading() as session:
        found = {
            name: session.execute(text(f"PRAGMA {name}")).scalar_one()
            for name in ("synchronous", "journal_mode")
        }
    assert found == {"synchronous": 2, "journal_mode": "wal"}, (
        "2 is FULL: an acknowledged commit survives a power cut"
    )


def test_a_write_that_raises_leaves_nothing(database: Database) -> None:
    with pytest.raises(ZeroDivisionError), database.writing() as session:
        session.execute(text("INSERT INTO try (subject, at) VALUES ('x', '2026-01-01')"))
        raise ZeroDivisionError
    with database.reading() as session:
        assert session.execute(text("SELECT count(*) FROM try")).scalar_one() == 0


def test_what_is_done_through_the_reading_door_is_not_kept(database: Database) -> None:
    with database.reading() as session:
        session.execute(text("INSERT INTO try (subject, at) VALUES ('x', '2026-01-01')"))
    with database.reading() as session:
        assert session.execute(text("SELECT count(*) FROM try")).scalar_one() == 0


@pytest.mark.sqlite_only("the lock of the one writer")
def test_a_writer_that_never_ends_is_an_outage_not_a_hang(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doors, "WAIT_S", 0.05)
    held, done = threading.Event(), threading.Event()

    def hold() -> None:
        with database.writing():
            held.set()
            done.wait(10)

    holder = threading.Thread(target=hold)
    holder.start()
    held.wait(10)
    with pytest.raises(WriterBusy) as busy, database.writing():
        pass
    done.set()
    holder.join()
    assert is_outage(busy.value)
    with database.writing() as session:
        session.execute(text("SELECT 1"))
