"""The database of deploy/, set up by its own scripts on a real server: who gets in and what they may do."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
import pytest
import yaml

from service.storage.doors.database import Database
from service.storage.doors.keys import Keyring
from service.storage.upkeep.migrate import migrate
from tests import postgres

DEPLOY = Path(__file__).parents[2] / "deploy"
PASSWORD = "not a real password: it's the tests' own"
CHECKED = "sslmode=verify-full&sslrootcert="


@dataclass(frozen=True)
class Set:
    """The database as deploy/ sets it up. `outside`: how one on the same machine's network connects."""

    folder: Path
    port: int

    def connect(self, **given: Any) -> psycopg.Connection[Any]:
        """As the service of compose.yaml does; `given` is otherwise."""
        asked: dict[str, Any] = {
            "host": "database", "hostaddr": "127.0.0.1", "port": self.port, "user": "laptight",
            "password": PASSWORD, "dbname": "laptight", "sslmode": "verify-full",
            "sslrootcert": str(self.folder / "authority" / "authority.crt"),
        }  # fmt: skip
        return psycopg.connect(**(asked | given), connect_timeout=10)


def certificates(folder: Path) -> None:
    for name in ("tls", "authority"):
        (folder / name).mkdir(exist_ok=True)
    words: list[str | Path] = ["sh", DEPLOY / "certificates.sh", folder / "tls", folder / "authority"]
    subprocess.run(words, check=True, timeout=60)


def of_compose() -> list[str]:
    """What the database is started with, but for where its files lie."""
    compose = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
    return list(compose["services"]["database"]["command"][1:])


@pytest.fixture(scope="module")
def made() -> Iterator[Set]:
    found = postgres.binaries()
    if found is None:
        pytest.skip("PostgreSQL is not here: install Debian's postgresql")
    folder = Path(tempfile.mkdtemp(prefix="laptight-set-", dir="/tmp"))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    certificates(folder)
    shutil.copy(DEPLOY / "pg_hba.conf", folder)
    shutil.copy(DEPLOY / "database.sh", folder)
    who: dict[str, Any] = {}
    if os.geteuid() == 0:
        subprocess.run(["chown", "-R", f"{postgres.USER}:", folder], check=True)
        who = {"user": postgres.USER, "group": postgres.USER, "extra_groups": []}
    elif os.environ.get("USER") != postgres.USER:
        pytest.skip("only root, or PostgreSQL's own user, is let in as the server's owner")
    environ = {"PATH": f"{found}:{os.environ['PATH']}", "HOME": str(folder), "LC_ALL": "C.UTF-8"}

    def run(*words: Path | str, **more: str) -> None:
        subprocess.run(words, env=environ | more, cwd="/", check=True, timeout=60, stdout=-3, **who)

    asked = [each.replace("=/", f"={folder}/") for each in of_compose()]
    asked += [f"-cunix_socket_directories={folder}", "-clisten_addresses=127.0.0.1", f"-cport={port}"]
    control = (found / "pg_ctl", "-D", folder / "data", "-w", "-l", folder / "log")
    try:
        run(found / "initdb", "-D", folder / "data", "-U", postgres.USER, "--no-sync")
        run(*control, "-o", " ".join([*asked, "-cfsync=off"]), "start")
        try:
            run("sh", folder / "database.sh", SERVICE_PASSWORD=PASSWORD, PGHOST=str(folder), PGPORT=str(port))
            yield Set(folder, port)
        finally:
            run(*control, "-m", "immediate", "stop")
    finally:
        with suppress(OSError):
            shutil.rmtree(folder)


def test_compose_asks_for_a_certificate_that_is_checked_by_its_name() -> None:
    compose = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
    service = compose["services"]["service"]
    assert (
        f"@database/laptight?{CHECKED}/authority/authority.crt"
        in service["environment"]["LAPTIGHT_DATABASE_URL"]
    )
    assert "authority:/authority:ro" in service["volumes"]
    assert not any("tls" in volume for volume in service["volumes"]), (
        "the database's key is not the service's"
    )


def test_the_service_gets_in_by_tls_of_the_newest_version(made: Set) -> None:
    with made.connect() as connection:
        asked = "SELECT ssl, version FROM pg_stat_ssl WHERE pid = pg_backend_pid()"
        assert connection.execute(asked).fetchone() == (True, "TLSv1.3")


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"sslmode": "disable"}, "no pg_hba.conf entry"),
        ({"host": "another"}, "does not match host name"),
        ({"sslmode": "disable", "user": "postgres", "dbname": "postgres"}, "no pg_hba.conf entry"),
        ({"user": "postgres", "dbname": "postgres"}, "no pg_hba.conf entry"),
        ({"user": "postgres"}, "no pg_hba.conf entry"),
        ({"dbname": "postgres"}, "no pg_hba.conf entry"),
        ({"password": "another"}, "password authentication failed"),
    ],
    ids=str,
)
def test_nobody_gets_in_otherwise(made: Set, given: dict[str, str], why: str) -> None:
    with pytest.raises(psycopg.OperationalError, match=why):
        made.connect(**given)


def test_a_certificate_of_another_authority_is_not_taken(made: Set, tmp_path: Path) -> None:
    certificates(tmp_path)
    other = str(tmp_path / "authority" / "authority.crt")
    with pytest.raises(psycopg.OperationalError, match="certificate verify failed"):
        made.connect(sslrootcert=other)


@pytest.mark.parametrize(
    "words",
    [
        "CREATE ROLE another",
        "CREATE DATABASE another",
        "ALTER ROLE laptight SUPERUSER",
        "ALTER SYSTEM SET fsync = off",
        "COPY (SELECT 1) TO PROGRAM 'true'",
        "SELECT pg_read_file('/etc/hostname')",
        "SELECT rolpassword FROM pg_authid",
    ],
)
def test_the_services_role_may_do_nothing_to_the_server(made: Set, words: str) -> None:
    with made.connect(autocommit=True) as connection, pytest.raises(psycopg.errors.InsufficientPrivilege):
        connection.execute(words)


def test_that_role_is_enough_to_bring_the_tables_up_to_date(made: Set, tmp_path: Path) -> None:
    where = made.folder / "authority" / "authority.crt"
    words = f"host=database&hostaddr=127.0.0.1&port={made.port}&{CHECKED}{where}"
    database = Database(f"postgresql+psycopg://laptight@/laptight?{words}", Keyring(tmp_path / "keys"))
    os.environ["PGPASSWORD"] = PASSWORD
    try:
        migrate(database)
        with database.reading() as session:
            owned = "SELECT count(*) FROM pg_tables WHERE tableowner = 'laptight'"
            assert int(session.connection().exec_driver_sql(owned).scalar_one()) > 20
    finally:
        del os.environ["PGPASSWORD"]
        database.close()


def test_certificates_made_once_stay_and_their_authority_signs_no_more(tmp_path: Path) -> None:
    certificates(tmp_path)
    files = sorted(path for path in tmp_path.rglob("*") if path.is_file())
    before = [path.read_bytes() for path in files]
    certificates(tmp_path)
    assert [path.read_bytes() for path in files] == before
    assert [path.name for path in files] == ["authority.crt", "server.crt", "server.key"]
    assert files[-1].stat().st_mode & 0o777 == 0o600
