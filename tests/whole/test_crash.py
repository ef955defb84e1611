"""Killed with SIGKILL while it writes: nothing that was told is lost, and the history has no gap.

A kill shows what a process leaves behind, not what a lost power supply does: the system keeps what it was
handed. That every commit goes on to the disk is the doing of `synchronous=FULL` (SQLite, PRAGMA synchronous).
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from service.actions.frame.desk import Desk
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.upkeep.migrate import migrate
from service.storage.upkeep.moving import carry_over
from tests import postgres
from tests.builders import a_zone
from tests.cast import Cast
from tests.conftest import Assembled
from tests.on_disk import folder_on_disk
from tests.whole.crash_rounds import Told, faults_in, kill_while_writing, writer
from tests.whole.crashing import WRITERS

ROUNDS, FEWER, EACH = 10, 3, 10


@pytest.fixture
def tmp_path() -> Iterator[Path]:
    """On a disk, where the whole suite's temporary files lie in memory."""
    with folder_on_disk() as folder:
        yield folder


def test_ten_kills_lose_nothing_that_was_told(
    desk: Desk, cast: Cast, data: Path, database_url: str, engine: str
) -> None:
    zone, told = a_zone(desk, cast), Told()
    for seed in range(ROUNDS if engine == "sqlite" else FEWER):
        told.take(kill_while_writing(data, database_url, cast.lead.id, zone.id, seed))
        assert not faults_in(desk, told)
    assert len(told.marks) >= FEWER and told.patches


def test_a_database_server_whose_plug_is_pulled_loses_nothing_that_was_told(
    cast: Cast, data: Path, assembled: Assembled
) -> None:
    """PostgreSQL's own processes, all ended at once while they write; it waits for its disk here."""
    found = postgres.binaries()
    if found is None:
        pytest.skip("PostgreSQL is not here: install Debian's postgresql")
    with postgres.running(found, fsync="on") as server, carried_to(server, data) as (url, desk):
        zone, told = a_zone(desk, cast), Told()
        for seed in range(FEWER):
            told.take(kill_while_writing(data, url, cast.lead.id, zone.id, seed, pull=server.pull_the_plug))
            server.start_again()
            desk.database.engine.dispose()  # connections to the server that was
            assert not faults_in(desk, told)
        assert len(told.marks) >= FEWER


@contextmanager
def carried_to(server: postgres.Server, data: Path) -> Iterator[tuple[str, Desk]]:
    """The data directory's database on a PostgreSQL server, and a desk there."""
    source = Database.at(data / "laptight.sqlite3")
    url = server.url(server.create())
    target = Database(url, source.keys)
    migrate(target)
    carry_over(source, target)
    source.close()
    try:
        yield url, Desk(target, Blobs(data))
    finally:
        target.close()


@pytest.mark.sqlite_only("the control spoils a file")
def test_a_lost_write_would_be_seen(desk: Desk, cast: Cast) -> None:
    """The control: a mark that was told and is not there, and one that is in the tables alone."""
    a_zone(desk, cast)
    assert not faults_in(desk, Told())
    assert faults_in(desk, Told(marks=["never kept"])) == ["mark never kept is lost"]
    assert faults_in(desk, Told(patches=["never kept"])) == ["patch never kept is lost"]
    with desk.writing() as session:
        session.connection().exec_driver_sql("UPDATE project SET seq = seq + 1")
    assert any("its head says" in fault for fault in faults_in(desk, Told()))
    with desk.writing() as session:
        session.connection().exec_driver_sql("UPDATE project SET seq = seq - 1")


@pytest.mark.sqlite_only("PostgreSQL's server has its own setting")
def test_synchronous_is_full_on_every_connection(desk: Desk) -> None:
    """2 is FULL (SQLite, PRAGMA synchronous); in WAL mode NORMAL may lose what was committed last."""
    for door in (desk.database.reading, desk.database.writing):
        with door() as session:
            assert session.connection().exec_driver_sql("PRAGMA synchronous").scalar() == 2


@pytest.mark.sqlite_only("what PostgreSQL waits for is its server's own")
@pytest.mark.parametrize("sync", ["FULL", "NORMAL"])
def test_every_commit_that_was_told_waited_for_the_disk(
    desk: Desk, cast: Cast, data: Path, database_url: str, sync: str
) -> None:
    """`strace` counts fsync and fdatasync: at least one a commit. The control is `synchronous=NORMAL`, which
    waits at checkpoints alone."""
    if (strace := shutil.which("strace")) is None:
        pytest.skip("strace is not here: install Debian's strace")
    zone, counted = a_zone(desk, cast), data / "counted"
    calls = [strace, "-f", "-qq", "-c", "-e", "trace=fsync,fdatasync", "-o", str(counted)]
    child = writer(data, database_url, cast.lead.id, zone.id, 1, EACH, under=calls, SYNCHRONOUS=sync)
    said, _ = child.communicate(timeout=120)
    told = Told()
    told.take(said)
    commits = told.count
    assert commits == EACH * WRITERS * 2
    rows = [line.split() for line in counted.read_text().splitlines()]
    waited = sum(int(row[3]) for row in rows if row[-1:] in (["fsync"], ["fdatasync"]))
    assert (waited >= commits) is (sync == "FULL"), f"{waited} calls for {commits} commits"
