"""Carries everything that one database holds over to another, SQLite or PostgreSQL, row by row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlmodel import SQLModel

import service.storage.tables.calendar
import service.storage.tables.factors
import service.storage.tables.placing
import service.storage.tables.told  # noqa: F401 - all fill the metadata
from service.storage.doors.database import Database
from service.storage.tables.tables import ReleaseRow, TryRow, VerdictRow

BATCH = 500


@dataclass(frozen=True, slots=True)
class Carried:
    """How many rows of how many tables were carried over."""

    tables: int
    rows: int


class NotEmpty(RuntimeError):
    """The database to carry things to holds something already."""


def carry_over(source: Database, target: Database) -> Carried:
    """Copy every row; both databases are at the present version. One snapshot is read and one transaction
    written, so that a copy that ends early leaves nothing. NotEmpty when the target holds a row already.

    The second wall stands in the target too: it takes a release only beside a clear verdict at its place, so
    each release is carried over with one, and the verdicts are then put as they are in the source. What the
    gate said of a release is in its history, which whoever moves a site replays afterwards.
    """
    tables = [table for table in SQLModel.metadata.sorted_tables if table is not _verdicts()]
    tables.append(_verdicts())
    count = 0
    with source.reading() as before, target.writing() as after:
        for table in tables:
            if after.connection().execute(sa.select(sa.literal(1)).select_from(table).limit(1)).first():
                raise NotEmpty(table.name)
        for table in tables:
            for rows in _batches(before.connection(), table):
                if table.name == ReleaseRow.__tablename__:
                    _say_clear(after.connection(), rows)
                after.connection().execute(sa.insert(table), rows)
                count += len(rows)
            if table.name == ReleaseRow.__tablename__:
                after.connection().execute(sa.delete(_verdicts()))
        _go_on_counting(after.connection(), target)
    return Carried(len(tables), count)


def _batches(connection: sa.Connection, table: sa.Table) -> Iterator[list[dict[str, Any]]]:
    """Read as they are written: PostgreSQL would otherwise hand over the whole table at once."""
    asked = sa.select(table).order_by(*table.primary_key.columns).execution_options(yield_per=BATCH)
    for part in connection.execute(asked).mappings().partitions():
        yield [dict(row) for row in part]


def _verdicts() -> sa.Table:
    return SQLModel.metadata.tables[str(VerdictRow.__tablename__)]


def _say_clear(connection: sa.Connection, releases: list[dict[str, Any]]) -> None:
    said = [
        {"project_id": row["project_id"], "seq": row["seq"], "zone_id": row["zone_id"], "clear": True}
        for row in releases
    ]
    connection.execute(sa.insert(_verdicts()), said)


def _go_on_counting(connection: sa.Connection, target: Database) -> None:
    """PostgreSQL counts by itself only what it numbered itself."""
    if not target.is_sqlite:
        name = str(TryRow.__tablename__)
        connection.execute(
            sa.text(f"SELECT setval(pg_get_serial_sequence('{name}', 'id'), max(id)) FROM \"{name}\"")  # noqa: S608 # our own name
        )
