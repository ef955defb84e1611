"""A site moves from SQLite to PostgreSQL and back with every row, byte and proof."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from sqlmodel import SQLModel

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.sketches import sketches
from service.actions.upkeep import moving
from service.actions.upkeep.checking import check_histories
from service.app import blobs_at
from service.domain.words.refusals import Conflict, NotSignedIn
from service.history.replay.standing import READY
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.upkeep import moving as storage_moving
from tests import postgres
from tests.builders import a_mark, a_patch, a_release, a_sketch, a_walk, a_zone, state_of
from tests.cast import Cast
from tests.object_store import a_bucket
from tests.web.sketches.plans import plan_png


@pytest.fixture
def elsewhere(server: postgres.Server, data: Path) -> Iterator[str]:
    """The address of an empty PostgreSQL database."""
    name = server.create()
    yield server.url(name)
    server.drop(name)


def everything(database: Database) -> dict[str, list[Any]]:
    """Every row of every table, in an order of their own."""
    with database.reading() as session:
        return {
            table.name: sorted(map(tuple, session.connection().execute(sa.select(table))), key=repr)
            for table in SQLModel.metadata.sorted_tables
        }


def at_work(desk: Desk, cast: Cast) -> None:
    """A zone marked, patched, walked and released, and a sign-in that failed."""
    zone = a_zone(desk, cast, a_sketch(desk, cast))
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    assert state_of(desk, cast, zone) == READY
    with pytest.raises(NotSignedIn):
        accounts.sign_in(desk, cast.lead.email, "not the password", "127.0.0.1")


@pytest.mark.sqlite_only("it goes from one to the other by itself")
def test_a_site_moves_to_postgresql_and_back_with_every_row(
    desk: Desk, cast: Cast, data: Path, elsewhere: str, tmp_path: Path
) -> None:
    at_work(desk, cast)
    before = everything(desk.database)
    assert before["release"] and before["try"] and before["verdict"]
    there = moving.move(desk, elsewhere)
    assert there.faults == () and there.rows == sum(map(len, before.values()))
    on = Desk(Database(elsewhere, desk.database.keys), desk.blobs, desk.clock)
    assert everything(on.database) == before
    back = moving.move(on, f"sqlite:///{tmp_path / 'back.sqlite3'}")
    again = Database(f"sqlite:///{tmp_path / 'back.sqlite3'}", desk.database.keys)
    assert back.faults == () and everything(again) == before
    again.close()
    # And it goes on where it was: the history grows, numbers that the database gives go on too.
    zone = a_zone(on, cast, a_sketch(on, cast), letter="C")
    a_mark(on, cast, zone)
    with pytest.raises(NotSignedIn):
        accounts.sign_in(on, cast.lead.email, "not the password", "127.0.0.1")
    assert check_histories(Desk(on.database, Blobs(data))).faults == ()
    on.database.close()


@pytest.mark.sqlite_only("it goes from one to the other by itself")
def test_nothing_is_mixed_into_a_database_that_holds_something(
    desk: Desk, cast: Cast, elsewhere: str
) -> None:
    moving.move(desk, elsewhere)
    with pytest.raises(Conflict) as refused:
        moving.move(desk, elsewhere)
    assert refused.value.code == "not-empty"


@pytest.mark.sqlite_only("it goes from one to the other by itself")
def test_a_move_that_ends_early_leaves_nothing_there(
    desk: Desk, cast: Cast, elsewhere: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_work(desk, cast)

    def power_gone(*_: object) -> None:
        raise RuntimeError("power gone")

    monkeypatch.setattr("service.storage.upkeep.moving._go_on_counting", power_gone)
    with pytest.raises(RuntimeError, match="power gone"):
        moving.move(desk, elsewhere)
    monkeypatch.undo()
    assert moving.move(desk, elsewhere).faults == ()


@pytest.mark.sqlite_only("it goes from one to the other by itself")
def test_a_row_changed_on_the_way_is_named(
    desk: Desk, cast: Cast, elsewhere: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_work(desk, cast)
    as_they_are = storage_moving._batches

    def changed(connection: sa.Connection, table: sa.Table) -> Iterator[list[dict[str, Any]]]:
        for rows in as_they_are(connection, table):
            if table.name == "defect":
                rows[0]["body"] = rows[0]["body"].replace("hole", "tear").replace('"tear"', '"burn"')
            yield rows

    monkeypatch.setattr(storage_moving, "_batches", changed)
    assert any("differs from its history" in words for words in moving.move(desk, elsewhere).faults)


@pytest.mark.sqlite_only("it goes from one to the other by itself")
def test_pictures_move_to_an_object_store_and_back(
    desk: Desk, cast: Cast, elsewhere: str, object_store: str, tmp_path: Path
) -> None:
    plan = tmp_path / "plan.png"
    plan.write_bytes(plan_png())
    sketch = sketches.add_sketch(desk, cast.manager.id, cast.project_id, plan, "Slab")
    with desk.blobs.coming() as folder:
        (folder / "came").write_bytes(b"a photo")
        desk.blobs.put_waiting(folder / "came", cast.lead.id, sketch.sha256)
    there = blobs_at(tmp_path / "machine", a_bucket(object_store))
    assert moving.move(desk, elsewhere, there).faults == ()
    bare = Blobs(tmp_path / "another machine", there.store)
    assert bare.read(sketch.sha256) == plan.read_bytes()
    assert bare.waiting(cast.lead.id, sketch.sha256).read_bytes() == b"a photo"
    on = Desk(Database(elsewhere, desk.database.keys), bare, desk.clock)
    back = blobs_at(tmp_path, str(tmp_path / "back"))
    assert moving.move(on, f"sqlite:///{tmp_path / 'back.sqlite3'}", back).faults == ()
    on.database.close()
    for part in ("blobs", "tiles", "uploads"):
        assert back.names(part) == desk.blobs.names(part) != set()
    assert files_in(back.tiles(sketch.sha256)) == files_in(desk.blobs.tiles(sketch.sha256))


def files_in(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
