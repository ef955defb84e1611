"""DEVELOPERS.md says of everything that is kept how it is protected, for how long, and how it goes."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

from service.actions.entrance import resets, throttle
from service.actions.frame import once
from service.actions.marks import uploads
from service.actions.people import people
from service.actions.telling import telling
from service.storage.accounts.people import LASTS, STRICT_LASTS
from tests.whole.stage import _open

PAGE = Path(__file__).parents[2] / "DEVELOPERS.md"
OURS = {"alembic_version", "sqlite_sequence"}  # the tools' own


def between(mark: str) -> list[list[str]]:
    """The rows of the table between two marks, without its head."""
    text = PAGE.read_text().split(f"<!-- {mark} -->")[1].split(f"<!-- /{mark} -->")[0]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.strip().splitlines()]
    return rows[2:]


def named(rows: list[list[str]]) -> list[str]:
    """Every table a row names as its own; one named behind a semicolon stands in another row."""
    return [name for row in rows for name in re.findall(r"`(\w+)`", row[1].partition(";")[0])]


def tables_of(file: Path) -> set[str]:
    with _open(file) as connection:
        asked = "SELECT name FROM sqlite_master WHERE type = 'table'"
        return {name for (name,) in connection.execute(asked)} - OURS


def test_every_table_of_the_database_stands_in_one_row_and_every_cell_says_something(
    migrated_file: Path,
) -> None:
    rows = between("kept")
    assert sorted(named(rows)) == sorted(tables_of(migrated_file))
    assert all(len(row) == 6 and all(row) for row in rows)


def test_the_times_that_are_told_are_those_that_are_kept_to() -> None:
    secrets, persons, _, under_way = (row[4] for row in between("kept"))
    assert (timedelta(days=30), timedelta(hours=24)) == (LASTS, STRICT_LASTS)
    assert "sign-ins 30 days or 24 hours" in secrets
    assert timedelta(hours=1) == resets.LASTS and "resets an hour" in secrets
    assert timedelta(days=7) == people.INVITATION_LASTS and "invitations seven days" in secrets
    assert timedelta(minutes=15) == throttle.EMAIL_SPAN and "tries 15 minutes" in persons
    assert timedelta(days=90) == telling.KEPT_FOR and "what was told 90 days" in persons
    assert once.KEPT_FOR == uploads.KEPT_FOR == timedelta(days=90) and "90 days" in under_way
    assert timedelta(days=1) == uploads.KEPT_AFTER and "shows one day" in under_way
