"""One stage a module, put back after every test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cast import Clock
from tests.replaying import hold_equal
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
