"""A scene on the real app, set once and copied for every test, and a client for each person of the cast."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from service.actions.frame.desk import Authority, Desk
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from tests.api.scene import EYE, LEAD, MANAGER, Scene, set_up
from tests.authority import Running, running
from tests.cast import Cast, Clock, assemble
from tests.conftest import ClientOf


@dataclass(frozen=True)
class Programs:
    """A program of each role on the project, and of somebody who is on no project."""

    by_role: dict[str, httpx.Client]
    outsider: httpx.Client

    @property
    def manager(self) -> httpx.Client:
        return self.by_role[MANAGER]

    @property
    def lead(self) -> httpx.Client:
        return self.by_role[LEAD]

    @property
    def inspector(self) -> httpx.Client:
        return self.by_role[EYE]


@dataclass(frozen=True)
class Stage:
    """A data directory with the cast and the scene in it, closed."""

    folder: Path
    cast: Cast
    scene: Scene


@pytest.fixture(scope="session")
def stage(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Stage:
    folder = tmp_path_factory.mktemp("stage") / "data"
    folder.mkdir()
    shutil.copy(migrated_file, folder / "laptight.sqlite3")
    database = Database.at(folder / "laptight.sqlite3")
    desk = Desk(database, Blobs(folder), Clock())
    cast = assemble(desk)
    scene = set_up(desk, cast)
    database.close()
    return Stage(folder, cast, scene)


@pytest.fixture
def data(tmp_path: Path, stage: Stage) -> Path:
    """In place of the empty one of every other test."""
    shutil.copytree(stage.folder, tmp_path / "data")
    return tmp_path / "data"


@pytest.fixture
def cast(stage: Stage) -> Cast:
    return stage.cast


@pytest.fixture
def scene(stage: Stage) -> Scene:
    return stage.scene


@pytest.fixture(scope="session")
def authority(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """Who gives timestamps, on 127.0.0.1."""
    with running(tmp_path_factory.mktemp("authority") / "ts") as told:
        yield told


@pytest.fixture
def app(app: FastAPI, authority: Running) -> FastAPI:
    """As of every other test, and told of the authority."""
    app.state.desk.authority = Authority(authority.url, authority.chain)
    return app


@pytest.fixture
def programs(program_of: ClientOf, cast: Cast) -> Programs:
    by_role = {role: program_of(person) for role, person in cast.roles.items()}
    return Programs(by_role, program_of(cast.outsider))
