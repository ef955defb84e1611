"""A full disk: told as an outage, nothing half written, pages go on, and room again is enough.

SQLite's disk is filled by PRAGMA max_page_count (SQLITE_FULL, as of a true one). PostgreSQL has no quota of
its own; there the server itself is made to answer every insert into the history as it does on a full disk,
with SQLSTATE 53100 (PostgreSQL documentation, appendix A, class 53).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import event

from service.actions.frame.desk import Desk
from service.domain.nouns.site import Zone
from service.storage.doors.database import Database
from tests.builders import a_zone
from tests.cast import Cast
from tests.conftest import ClientOf

NOTE = "x" * 1_900  # some two marks a page of SQLite's
TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
FULL_ON_POSTGRES = (
    "CREATE FUNCTION full_disk() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION "
    "'could not extend file: No space left on device' USING ERRCODE = '53100'; END $$",
    "CREATE TRIGGER full_disk BEFORE INSERT ON entry FOR EACH ROW EXECUTE FUNCTION full_disk()",
)
ROOM_ON_POSTGRES = ("DROP TRIGGER full_disk ON entry", "DROP FUNCTION full_disk()")


@contextmanager
def full(database: Database) -> Iterator[None]:
    """No page more for anybody until the block ends."""
    if not database.is_sqlite:
        _say(database, FULL_ON_POSTGRES)
        yield
        _say(database, ROOM_ON_POSTGRES)
        return
    most = [1]  # SQLite takes it for the size it has: smaller is not possible (PRAGMA max_page_count)

    def limit(connection: Any) -> None:
        connection.exec_driver_sql(f"PRAGMA max_page_count={most[0]}")

    event.listen(database.engine, "begin", limit)
    yield
    most[0] = 4_294_967_294  # the most there is


def _say(database: Database, statements: tuple[str, ...]) -> None:
    with database.engine.begin() as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def rows_of(database: Database) -> list[int]:
    """How many rows a mark adds to."""
    with database.engine.connect() as connection:
        counts = (f"SELECT count(*) FROM {table}" for table in ("entry", "defect", "tree_node"))
        return [int(connection.exec_driver_sql(count).scalar_one()) for count in counts]


def test_a_full_disk_is_told_as_one_and_room_again_is_enough(
    app: FastAPI, zone: Zone, cast: Cast, program_of: ClientOf, page_of: ClientOf
) -> None:
    program, page, database = program_of(cast.lead), page_of(cast.lead), app.state.desk.database

    def mark(key: str = "") -> httpx.Response:
        body = {"kind": "tear", "at": [300, 300], "outline": TEAR, "note": NOTE}
        headers = {"Idempotency-Key": key} if key else {}
        return program.post(f"/api/v1/zones/{zone.id}/defects", json=body, headers=headers)

    refused: list[httpx.Response] = []
    with full(database):
        for number in range(200):
            before = rows_of(database)
            answer = mark(f"k{number}" if number % 2 else "")
            if answer.status_code != 201:
                refused.append(answer)
                assert rows_of(database) == before, "half of a mark was written"
            if len(refused) == 6:
                break
        assert [answer.status_code for answer in refused] == [503] * 6
        assert {answer.json()["error"]["code"] for answer in refused} == {"busy"}
        assert page.get(f"/zones/{zone.id}").status_code == 200, "pages go on"
        assert program.get(f"/api/v1/zones/{zone.id}/gate").status_code == 200
    tags = {mark().json()["tag"], mark("k1").json()["tag"]}
    assert len(tags) == 2, "it goes on without being started again, under the same key too"
