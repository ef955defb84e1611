"""What every test may ask for: a database, a desk, the app, the cast, and clients that speak to the app.

`client` is a browser with nobody signed in; `page_of(person)` one with that person signed in;
`program_of(person)` a program with that person's bearer token.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from service.actions.entrance import accounts
from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.settings import Settings
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.doors.keys import Keyring
from service.storage.upkeep.migrate import migrate
from service.storage.upkeep.moving import carry_over
from service.web.serving.guards import PLAIN_COOKIE
from tests import object_store as object_stores
from tests import postgres, statements
from tests.cast import Cast, Clock, assemble
from tests.in_process import ADDRESS, InProcess, browser, quick_app
from tests.replaying import hold_equal

ClientOf = Callable[[Person], httpx.Client]
HERE = Path(__file__).parent
# These folders and files take a minute and more. They come first, so that no process is left alone with one.
LONG = (
    "browser/", "whole/test_permissions.py", "whole/test_stateful.py", "whole/test_races.py",
    "whole/test_command_line.py", "whole/test_fuzz.py", "whole/test_crash.py", "whole/test_statements.py",
    "media/", "api/test_contract.py",
)  # fmt: skip
# What is kept and raced is tried on both databases.
ON_BOTH = (
    "storage/", "actions/", "whole/test_races", "whole/test_at_once.py", "whole/test_stateful.py",
    "whole/test_histories.py", "whole/test_writers.py", "whole/test_crash.py", "whole/test_disk_full.py",
    "whole/test_clock_steps.py", "whole/test_keys_of_requests.py", "whole/test_stopping.py",
    "long/test_long_races.py", "long/test_long_histories.py", "long/test_long_crash.py",
    "long/test_long_writers.py", "long/test_long_stopping.py",
)  # fmt: skip
SQLITE, POSTGRES = "sqlite", "postgresql"
statements.share()


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "sqlite_only(why): about SQLite's own ways; not tried on PostgreSQL")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test that asks for a database in one of these places is two: one on each."""
    here = Path(metafunc.definition.path).relative_to(HERE).as_posix()
    if "engine" not in metafunc.fixturenames or not here.startswith(ON_BOTH):
        return
    if metafunc.definition.get_closest_marker("sqlite_only") is None:
        metafunc.parametrize("engine", (SQLITE, POSTGRES), indirect=True)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: not item.path.relative_to(HERE).as_posix().startswith(LONG))


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with every migration run, to copy: running them takes longer than most tests."""
    path = tmp_path_factory.mktemp("migrated") / "laptight.sqlite3"
    database = Database.at(path)
    migrate(database)
    database.close()
    return path


@dataclass(frozen=True)
class Assembled:
    """A data directory with the cast in it, closed, to copy."""

    folder: Path
    cast: Cast


@pytest.fixture(scope="session")
def assembled(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Assembled:
    folder = tmp_path_factory.mktemp("assembled") / "data"
    folder.mkdir()
    shutil.copy(migrated_file, folder / "laptight.sqlite3")
    database = Database.at(folder / "laptight.sqlite3")
    cast = assemble(Desk(database, Blobs(folder), Clock()))
    database.close()
    return Assembled(folder, cast)


@pytest.fixture(scope="session")
def server() -> Iterator[postgres.Server]:
    """A PostgreSQL server of this process."""
    found = postgres.binaries()
    if found is None:
        pytest.skip("PostgreSQL is not here: install Debian's postgresql")
    with postgres.running(found) as running:
        yield running


@pytest.fixture(scope="session")
def migrated_template(server: postgres.Server, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The name of a PostgreSQL database with every migration run, to copy."""
    name = server.create()
    database = Database(server.url(name), Keyring(tmp_path_factory.mktemp("keys")))
    migrate(database)
    database.close()
    return name


@pytest.fixture(scope="session")
def assembled_template(server: postgres.Server, migrated_template: str, assembled: Assembled) -> str:
    """The name of a PostgreSQL database with the cast in it: the same people, carried over."""
    name = server.create(migrated_template)
    source = Database.at(assembled.folder / "laptight.sqlite3")
    target = Database(server.url(name), source.keys)
    carry_over(source, target)
    source.close()
    target.close()
    return name


@pytest.fixture(scope="session")
def object_store() -> Iterator[str]:
    """Where an S3-compatible server of this process listens."""
    with object_stores.running() as endpoint:
        yield endpoint


@pytest.fixture
def engine(request: pytest.FixtureRequest) -> str:
    """Which database: SQLite, unless the test is one of two."""
    return getattr(request, "param", SQLITE)


@pytest.fixture
def data(request: pytest.FixtureRequest, tmp_path: Path, migrated_file: Path) -> Path:
    """A data directory with a migrated database: empty, or with the cast in it where the test asks for it."""
    folder = tmp_path / "data"
    if "assembled" in request.fixturenames:
        shutil.copytree(request.getfixturevalue("assembled").folder, folder)
        return folder
    folder.mkdir()
    shutil.copy(migrated_file, folder / "laptight.sqlite3")
    return folder


@pytest.fixture
def database_url(engine: str, data: Path, request: pytest.FixtureRequest) -> Iterator[str]:
    """Where the test's database is: the file in `data`, or a PostgreSQL database with the same in it."""
    if engine == SQLITE:
        yield f"sqlite:///{data / 'laptight.sqlite3'}"
        return
    (data / "laptight.sqlite3").unlink()
    on: postgres.Server = request.getfixturevalue("server")
    with_cast = "assembled" in request.fixturenames
    name = on.create(request.getfixturevalue("assembled_template" if with_cast else "migrated_template"))
    yield on.url(name)
    on.drop(name)


@pytest.fixture
def database(database_url: str, data: Path, request: pytest.FixtureRequest) -> Iterator[Database]:
    opened = Database(database_url, Keyring(data / "keys"))
    yield opened
    hold_equal(request.module, opened, Blobs(data))
    opened.close()


@pytest.fixture
def clock() -> Clock:
    """Noon UTC on 25 November 2026, until a test moves it."""
    return Clock()


@pytest.fixture
def desk(database: Database, data: Path, clock: Clock) -> Desk:
    return Desk(database, Blobs(data), clock)


@pytest.fixture
def cast(assembled: Assembled) -> Cast:
    """Everybody, in the data directory since noon: a module that wants them otherwise has its own `cast`."""
    return assembled.cast


@pytest.fixture
def app(data: Path, database_url: str, clock: Clock, request: pytest.FixtureRequest) -> Iterator[FastAPI]:
    """The real app on the same database as `desk`, and on the same clock."""
    made = quick_app(Settings.read(data, environ={"LAPTIGHT_DATABASE_URL": database_url}), clock=clock)
    yield made
    hold_equal(request.module, made.state.desk.database, made.state.desk.blobs)
    made.state.desk.database.close()


@pytest.fixture
def client(app: FastAPI) -> Iterator[httpx.Client]:
    with browser(app) as opened:
        yield opened


@pytest.fixture
def page_of(app: FastAPI, desk: Desk) -> Iterator[ClientOf]:
    opened: list[httpx.Client] = []

    def client_of(person: Person) -> httpx.Client:
        token, _ = accounts.open_sign_in(desk.fresh(), person.id, accounts.PAGE)
        made = browser(app)
        made.cookies.set(PLAIN_COOKIE, token)
        opened.append(made)
        return made

    yield client_of
    for made in opened:
        made.close()


@pytest.fixture
def program_of(app: FastAPI, desk: Desk) -> Iterator[ClientOf]:
    opened: list[httpx.Client] = []

    def client_of(person: Person) -> httpx.Client:
        token, _ = accounts.open_sign_in(desk.fresh(), person.id, accounts.PROGRAM)
        headers = {"Authorization": f"Bearer {token}"}
        made = httpx.Client(transport=InProcess(app), base_url=ADDRESS, headers=headers)
        opened.append(made)
        return made

    yield client_of
    for made in opened:
        made.close()
