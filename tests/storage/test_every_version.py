"""Databases of every earlier program, filled by that program: brought up to this one on both databases.

`earlier/` holds each as it was dumped, and beside it what that program said of it then: states, digests, how
many entries. Nothing here asks the present program for them.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ProjectView, project_view
from service.actions.sketches import zones
from service.actions.upkeep import moving
from service.actions.upkeep.checking import check_histories
from service.history.replay.standing import GATES, digest_of
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.doors.keys import Keyring
from service.storage.upkeep.migrate import MIGRATIONS, migrate
from tests import postgres
from tests.cast import Clock
from tests.conftest import POSTGRES

EARLIER = Path(__file__).parent / "earlier"
DUMPS = {"0002": EARLIER / "first.sql"} | {file.name[:4]: file for file in sorted(EARLIER.glob("*.sql.gz"))}
# No program was ever at these: 0001 came with 0002, and 0006 was laid under a 0007 that was there already.
NEVER_RUN = {"0001", "0006"}
SAID = {version: json.loads((EARLIER / f"{version}.json").read_text()) for version in DUMPS}


def asked_alembic(connection: sa.Connection) -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["connection"] = connection
    return config


@pytest.fixture(params=DUMPS)
def version(request: pytest.FixtureRequest) -> str:
    """At which an earlier program left its database."""
    return str(request.param)


Opened = Callable[[], Desk]


@pytest.fixture
def fresh(
    engine: str, version: str, tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> Iterator[Opened]:
    """Gives a desk on that program's database, brought up as a start of the service does: one of its own."""
    folder = tmp_path_factory.mktemp("old")
    made: list[Desk] = []

    def opened() -> Desk:
        made.append(brought_up(engine, version, folder, request))
        return made[-1]

    yield opened
    for desk in made:
        desk.database.close()


@pytest.fixture(scope="module")
def shared() -> Iterator[dict[tuple[str, str], Desk]]:
    """The databases that are only looked at."""
    made: dict[tuple[str, str], Desk] = {}
    yield made
    for desk in made.values():
        desk.database.close()


@pytest.fixture
def old(
    engine: str,
    version: str,
    shared: dict[tuple[str, str], Desk],
    tmp_path_factory: pytest.TempPathFactory,
    request: pytest.FixtureRequest,
) -> Desk:
    """The same, one for all tests that write nothing."""
    if (engine, version) not in shared:
        shared[engine, version] = brought_up(engine, version, tmp_path_factory.mktemp("old"), request)
    return shared[engine, version]


def brought_up(engine: str, version: str, folder: Path, request: pytest.FixtureRequest) -> Desk:
    """The file, or a PostgreSQL database of that version with the same rows; and then every migration."""
    file = laid_out(version, folder / "laptight.sqlite3")
    url = f"sqlite:///{file}"
    if engine == POSTGRES:
        server: postgres.Server = request.getfixturevalue("server")
        url = server.url(server.create())
        fill_as_it_was(version, file, url)
    desk = Desk(Database(url, Keyring(folder / "keys")), Blobs(folder), Clock())
    migrate(desk.database)
    return desk


def laid_out(version: str, path: Path) -> Path:
    """The SQLite file as it was, nothing run on it yet."""
    dump = DUMPS[version]
    text = gzip.decompress(dump.read_bytes()).decode() if dump.suffix == ".gz" else dump.read_text()
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(text)
    return path


def fill_as_it_was(version: str, file: Path, url: str) -> None:
    """PostgreSQL brought to that version and no further, then given every row. Triggers wait meanwhile."""
    source = sa.create_engine(f"sqlite:///{file}")
    target = sa.create_engine(url)
    with source.connect() as before, target.begin() as after:
        command.upgrade(asked_alembic(after), version)
        tables = sa.MetaData()
        tables.reflect(after)
        after.execute(sa.text("SET session_replication_role = replica"))
        for table in tables.sorted_tables:
            if table.name != "alembic_version":
                rows = [dict(row) for row in before.execute(sa.select(table)).mappings()]
                if rows:
                    after.execute(sa.insert(table), rows)
        after.execute(sa.text("SET session_replication_role = DEFAULT"))
        count = sa.text("SELECT setval(pg_get_serial_sequence('try', 'id'), max(id)) FROM \"try\"")
        after.execute(count)
    source.dispose()
    target.dispose()


def kept(desk: Desk) -> list[tuple[int, bytes, bytes]]:
    """Every entry's number, bytes and hash, read past the program."""
    with desk.reading() as session:
        words = sa.text("SELECT seq, content, leaf FROM entry ORDER BY seq")
        return [(row.seq, bytes(row.content), bytes(row.leaf)) for row in session.connection().execute(words)]


def the_project(desk: Desk) -> ProjectView:
    return project_view(desk, manager(desk), _only(desk, "SELECT id FROM project"))


def manager(desk: Desk) -> str:
    """By the address that every one of these programs gave her."""
    return _only(desk, "SELECT id FROM person WHERE email = 'priya@example.com'")


def _only(desk: Desk, words: str) -> str:
    with desk.reading() as session:
        return str(session.connection().execute(sa.text(words)).scalar_one())


def test_every_migration_starts_from_a_database_that_a_program_filled() -> None:
    """So whoever adds one first keeps a database of the program before: `python -m tests.storage.filled`."""
    script = ScriptDirectory(str(MIGRATIONS))
    before = {revision.down_revision for revision in script.walk_revisions()} - {None}
    assert before <= set(DUMPS) | NEVER_RUN
    assert not set(DUMPS) & NEVER_RUN


def test_what_an_earlier_program_recorded_keeps_its_bytes_and_what_it_said(
    version: str, old: Desk, tmp_path: Path
) -> None:
    said, entries = SAID[version], kept(old)
    with closing(sqlite3.connect(laid_out(version, tmp_path / "as it was.sqlite3"))) as before:
        assert before.execute("SELECT seq, content, leaf FROM entry ORDER BY seq").fetchall() == entries
    assert len(entries) == said["entries"]
    assert all(hashlib.sha256(b"\x00" + content).digest() == leaf for _, content, leaf in entries)
    view, asked = the_project(old), said["gate"]
    now = {
        one.zone.letter: [one.state, digest_of(GATES[asked].gather(view.site, one.zone.id), asked)]
        for one in view.standings
    }
    assert now == said["zones"]
    released = {o.zone.letter: [o.release.version, o.release.digest] for o in view.standings if o.release}
    assert released == said["released"]
    assert [one.zone.letter for one in view.standings if one.fallen] == [
        letter for letter, (_, digest) in said["released"].items() if digest != said["zones"][letter][1]
    ]


def test_a_replay_of_an_earlier_history_equals_the_tables_brought_up(version: str, old: Desk) -> None:
    checked = check_histories(old)
    assert (checked.faults, checked.entries, checked.projects) == ((), SAID[version]["entries"], 1)


def test_an_earlier_database_brought_up_is_built_as_a_new_one(old: Desk, database: Database) -> None:
    """Tables, columns, keys, indexes and triggers: a table made anew by a migration can lose its triggers."""
    assert built(old.database) == built(database)
    assert any(kind == "trigger" for kind, *_ in built(old.database))


def built(database: Database) -> set[tuple[Any, ...]]:
    """What the database is made of, by its own catalogue."""
    if database.is_sqlite:
        asked = ["SELECT type, name, tbl_name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"]
    else:
        asked = [
            "SELECT 'column', table_name, column_name, data_type, is_nullable, column_default"
            " FROM information_schema.columns WHERE table_schema = 'public'",
            "SELECT 'key', conrelid::regclass::text, conname, pg_get_constraintdef(oid) FROM pg_constraint"
            " WHERE connamespace = 'public'::regnamespace",
            "SELECT 'index', indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'",
            "SELECT 'trigger', tgname, pg_get_triggerdef(oid), tgenabled::text"
            " FROM pg_trigger WHERE NOT tgisinternal",
        ]
    with database.reading() as session:
        rows = [tuple(row) for words in asked for row in session.connection().execute(sa.text(words))]
    return set(rows)


FORBIDDEN = {
    "an entry changed": ("entry", "UPDATE entry SET content = content WHERE seq = 1"),
    "an entry deleted": ("entry", "DELETE FROM entry WHERE seq = 1"),
    "a node of the tree deleted": ("tree_node", "DELETE FROM tree_node"),
    "a checkpoint changed": ("checkpoint", "UPDATE checkpoint SET size = size"),
    "a release moved to another place": ('"release"', 'UPDATE "release" SET seq = seq + 1'),
}


def test_the_second_wall_stands_in_an_earlier_database(old: Desk) -> None:
    """Of checkpoints, once one was signed: an empty table has no row to guard."""
    for name, (table, words) in FORBIDDEN.items():
        with old.reading() as session:
            rows = session.connection().execute(sa.text(f"SELECT count(*) FROM {table}")).scalar_one()
        assert rows or table == "checkpoint"
        if not rows:
            continue
        with pytest.raises(sa.exc.DBAPIError) as refused, old.writing() as session:
            session.connection().execute(sa.text(words))
        assert re.search("append-only|keeps its zone", str(refused.value)), name


def test_no_release_is_put_into_an_earlier_database_past_the_gate(old: Desk) -> None:
    """Of a zone that is not clear, as a copy of the row of one that was."""
    [zone] = [one.zone.id for one in the_project(old).standings if one.zone.letter == "C"]
    with old.reading() as session:
        row = dict(session.connection().execute(sa.text('SELECT * FROM "release" LIMIT 1')).mappings().one())
    row |= {"id": "f" * 20, "zone_id": zone}
    named = ", ".join(row), ", ".join(f":{name}" for name in row)
    with pytest.raises(sa.exc.DBAPIError, match="has not said clear"), old.writing() as session:
        session.connection().execute(sa.text(f'INSERT INTO "release" ({named[0]}) VALUES ({named[1]})'), row)


def test_work_goes_on_at_the_head_of_an_earlier_history(version: str, fresh: Opened) -> None:
    """With another signing key than the one it was filled under, which the history is told of."""
    old = fresh()
    signing.agree(old)
    [zone] = [one.zone.id for one in the_project(old).standings if one.zone.letter == "E"]
    zones.finish_walk(old, manager(old), zone, "walked again")
    checked = check_histories(old)
    assert checked.faults == () and checked.entries > SAID[version]["entries"]


@pytest.mark.parametrize("version", ("0002", "0009"), indirect=True)
def test_an_earlier_site_moves_to_the_other_database_once_it_is_brought_up(
    engine: str, version: str, old: Desk, server: postgres.Server, tmp_path: Path
) -> None:
    name = server.create()
    there = f"sqlite:///{tmp_path / 'there.sqlite3'}" if engine == POSTGRES else server.url(name)
    moved = moving.move(old, there)
    assert (moved.faults, moved.entries) == ((), SAID[version]["entries"])
    server.drop(name)
