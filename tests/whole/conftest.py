"""One stage a module, put back after every test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.storage.doors.database import Database
from service.storage.upkeep.moving import carry_over
from tests import postgres
from tests.cast import Clock
from tests.conftest import SQLITE
from tests.replaying import hold_equal
from tests.whole.race_ground import Copies, Ground, lay_out
from tests.whole.racing import CHANGES
from tests.whole.stage import Stage, set_up


@pytest.fixture(scope="module")
def set_stage(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Iterator[Stage]:
    data = tmp_path_factory.mktemp("stage")
    shutil.copy(migrated_file, data / "laptight.sqlite3")
    yield from set_up(data, Clock())


@pytest.fixture
def stage(set_stage: Stage, request: pytest.FixtureRequest) -> Iterator[Stage]:
    """The stage as it was set up."""
    yield set_stage
    hold_equal(request.module, set_stage.desk.database, set_stage.desk.blobs)
    set_stage.put_back()


@pytest.fixture(scope="session")
def ground(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Ground:
    """A plot for each change that may race a release."""
    folder = tmp_path_factory.mktemp("ground")
    shutil.copy(migrated_file, folder / "laptight.sqlite3")
    return lay_out(folder, len(CHANGES))


@pytest.fixture(scope="session")
def ground_template(server: postgres.Server, migrated_template: str, ground: Ground) -> str:
    """The name of a PostgreSQL database with the ground in it."""
    name = server.create(migrated_template)
    source = Database.at(ground.folder / "laptight.sqlite3")
    target = Database(server.url(name), source.keys)
    carry_over(source, target)
    source.close()
    target.close()
    return name


@pytest.fixture
def copies(engine: str, ground: Ground, tmp_path: Path, request: pytest.FixtureRequest) -> Copies:
    """Copies of the ground on this test's database."""
    if engine == SQLITE:
        return Copies(ground, tmp_path)
    server, template = (request.getfixturevalue(name) for name in ("server", "ground_template"))
    return Copies(ground, tmp_path, server, template)
