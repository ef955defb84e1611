"""Killed with SIGKILL while it writes: nothing that was told is lost, and the history has no gap.

A kill shows what a process leaves behind, not what a lost power supply does: the system keeps what it was
handed. That every commit goes on to the disk is the doing of `synchronous=FULL` (SQLite, PRAGMA synchronous).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from service.actions.desk import Desk
from tests.builders import a_zone
from tests.cast import Cast
from tests.on_disk import folder_on_disk
from tests.whole.crash_rounds import Told, faults_in, kill_while_writing
from tests.whole.test_command_line import run

ROUNDS = 10


@pytest.fixture
def tmp_path() -> Iterator[Path]:
    """On a disk, where the whole suite's temporary files lie in memory."""
    with folder_on_disk() as folder:
        yield folder


def test_ten_kills_lose_nothing_that_was_told(desk: Desk, cast: Cast, data: Path) -> None:
    zone, told = a_zone(desk, cast), Told()
    for seed in range(ROUNDS):
        told.take(kill_while_writing(data, cast.lead.id, zone.id, seed))
        assert not faults_in(data, desk, told)
    assert len(told.marks) >= ROUNDS and told.patches
    checked = run("check", "--data", data)
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_a_lost_write_would_be_seen(desk: Desk, cast: Cast, data: Path) -> None:
    """The control: a mark that was told and is not there, and one that is in the tables alone."""
    a_zone(desk, cast)
    assert not faults_in(data, desk, Told())
    assert faults_in(data, desk, Told(marks=["never kept"])) == ["mark never kept is lost"]
    assert faults_in(data, desk, Told(patches=["never kept"])) == ["patch never kept is lost"]
    with desk.writing() as session:
        session.connection().exec_driver_sql("UPDATE project SET seq = seq + 1")
    assert any("its head says" in fault for fault in faults_in(data, desk, Told()))
    with desk.writing() as session:
        session.connection().exec_driver_sql("UPDATE project SET seq = seq - 1")


def test_synchronous_is_full_on_every_connection(desk: Desk) -> None:
    """2 is FULL (SQLite, PRAGMA synchronous); in WAL mode NORMAL may lose what was committed last."""
    for door in (desk.database.reading, desk.database.writing):
        with door() as session:
            assert session.connection().exec_driver_sql("PRAGMA synchronous").scalar() == 2
