"""The campaign behind tests/whole/test_crash.py: two hundred kills on one database, on each kind of it.

With `-s` the counts come as they grow.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from service.actions.frame.desk import Desk
from tests import postgres
from tests.builders import a_zone
from tests.cast import Cast
from tests.conftest import Assembled
from tests.whole.crash_rounds import Told, faults_in, kill_while_writing
from tests.whole.test_crash import carried_to, tmp_path

__all__ = ["tmp_path"]
ROUNDS, PLUGS, LOOK_EVERY = 200, 50, 10


def test_two_hundred_kills_lose_nothing_that_was_told(
    desk: Desk, cast: Cast, data: Path, database_url: str, engine: str
) -> None:
    zone, told = a_zone(desk, cast), Told()
    for seed in range(ROUNDS):
        told.take(kill_while_writing(data, database_url, cast.lead.id, zone.id, 1000 + seed))
        if seed % LOOK_EVERY == LOOK_EVERY - 1:
            assert not faults_in(desk, told), f"after kill {seed + 1}"
            print(f"{engine}: {seed + 1} kills, {told.count} told, 0 lost", flush=True)
    assert len(told.marks) >= ROUNDS


def test_fifty_pulled_plugs_of_a_database_server_lose_nothing_that_was_told(
    cast: Cast, data: Path, assembled: Assembled
) -> None:
    found = postgres.binaries()
    if found is None:
        pytest.skip("PostgreSQL is not here: install Debian's postgresql")
    with postgres.running(found, fsync="on") as server, carried_to(server, data) as (url, desk):
        zone, told = a_zone(desk, cast), Told()
        for seed in range(PLUGS):
            said = kill_while_writing(data, url, cast.lead.id, zone.id, seed, pull=server.pull_the_plug)
            told.take(said)
            server.start_again()
            desk.database.engine.dispose()
            if seed % LOOK_EVERY == LOOK_EVERY - 1:
                assert not faults_in(desk, told), f"after plug {seed + 1}"
                print(f"PostgreSQL: {seed + 1} plugs pulled, {told.count} told, 0 lost", flush=True)
        assert len(told.marks) >= PLUGS
