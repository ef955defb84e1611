"""What is recorded does not hang on the language of whoever did it: entries and records, byte for byte."""

from __future__ import annotations

import secrets
import shutil
import zipfile
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import pytest
from pysqlite3 import dbapi2

from service.actions.demo import demo
from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.frame.reading import project_view
from service.actions.office import projects
from service.actions.office.release import mark_placed
from service.actions.record.record import make_record
from service.actions.record.verifying import verify_record
from service.domain.nouns import roles
from service.domain.words.speech import IN_ENGLISH, Speech, speaking
from service.history.proofs.checkpoints import fingerprint
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from tests.cast import Clock
from tests.made_up import MADE_UP

FILE = "laptight.sqlite3"


@dataclass(frozen=True)
class Done:
    """The invented site as one person after another made it, all speaking one language."""

    entries: list[bytes]
    record: Path
    files: dict[str, bytes]
    key: str


def _do(data: Path, speech: Speech) -> Done:
    """The demo, a held zone placed without release, and the record taken; ids and salts are counted off."""
    ids, salts = count(), count()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(secrets, "token_bytes", lambda size: next(salts).to_bytes(size, "big"))
        desk = Desk(Database.at(data / FILE), Blobs(data), Clock(), lambda: f"{next(ids):020x}")
        with speaking(speech):
            told = demo.fill(desk.fresh())
            email = next(email for email, _, role in told.people if role == roles.PROJECT_MANAGER)
            token, _ = accounts.sign_in(desk.fresh(), email, demo.PASSWORD, "10.0.0.1")
            manager = accounts.person_for(desk.fresh(), token)
            assert manager is not None
            (project,) = projects.my_projects(desk.fresh(), manager.id)
            view = project_view(desk.fresh(), manager.id, project.project.id)
            held = next(standing for standing in view.standings if standing.zone.letter == "C")
            mark_placed(desk.fresh(), manager.id, held.zone.id)
            with make_record(desk.fresh(), manager.id, project.project.id).file as file:
                (data / "record.zip").write_bytes(file.read())
    key = fingerprint(desk.database.keys.current().public)
    desk.database.close()
    with zipfile.ZipFile(data / "record.zip") as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    return Done(_entries(data / FILE), data / "record.zip", files, key)


def _entries(file: Path) -> list[bytes]:
    connection = dbapi2.connect(str(file))
    rows = [bytes(row[0]) for row in connection.execute("SELECT content FROM entry ORDER BY seq")]
    connection.close()
    return rows


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> tuple[Done, Done]:
    """The same deeds in English and in a made-up language, signed by one key."""
    first, other = tmp_path_factory.mktemp("english"), tmp_path_factory.mktemp("made-up")
    shutil.copy(migrated_file, first / FILE)
    opened = Database.at(first / FILE)
    opened.keys.current()
    opened.close()
    shutil.copytree(first, other, dirs_exist_ok=True)
    return _do(first, IN_ENGLISH), _do(other, MADE_UP)


def test_the_same_deeds_in_another_language_give_the_same_entries_byte_for_byte(
    both: tuple[Done, Done],
) -> None:
    english, made_up = both
    assert b"C-P01 is not sealed" in b"".join(english.entries), "a zone placed without release tells why"
    differ = [(a, b) for a, b in zip(english.entries, made_up.entries, strict=True) if a != b]
    assert not differ, differ[0]


def test_a_record_taken_in_another_language_has_the_same_files_byte_for_byte(both: tuple[Done, Done]) -> None:
    english, made_up = both
    assert english.files.keys() == made_up.files.keys()
    differ = [name for name in english.files if english.files[name] != made_up.files[name]]
    assert not differ


def test_a_record_is_verified_alike_by_whoever_speaks_another_language(both: tuple[Done, Done]) -> None:
    english, _ = both
    with speaking(MADE_UP):
        found = verify_record(english.record, key=english.key)
    assert found.whole, found.faults
