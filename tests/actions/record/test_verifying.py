"""`laptight verify` as it is typed, and on a record of the first program's history."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from service.__main__ import main, plain
from service.actions.frame.desk import Desk
from service.actions.record.verifying import Verified, tell, verify_record
from service.domain.words.refusals import BadInput
from service.history.verifying.findings import fails
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.upkeep.migrate import migrate
from tests.cast import Clock
from tests.record.making import taken, zipped
from tests.record.spoiling import edited, fingerprint_of, true_files, with_lines
from tests.storage.test_earlier import FIRST, PROJECT, manager

ROOT = Path(__file__).parents[3]


def test_the_history_of_the_first_program_comes_out_right_in_a_record_of_today(tmp_path: Path) -> None:
    """Its patches, releases and placing were judged by the first gate; its people have no hashed names."""
    path = tmp_path / "laptight.sqlite3"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(FIRST.read_text())
    database = Database.at(path)
    migrate(database)
    desk = Desk(database, Blobs(tmp_path), Clock())
    record = taken(desk, manager(desk), PROJECT, tmp_path)
    database.close()
    found = verify_record(record)
    # Its dump has no pictures: that they are missing is all that is told.
    assert {finding.code for finding in found.faults} == {"file-lost"}, found.faults
    [judged] = [finding.words for finding in found.findings if finding.code == "judged"]
    assert "10 patches, 1 placing, 4 releases, 3 rule sheets" in judged


# --- what the command says ---------------------------------------------------------------------------------


def run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "service", "verify", *map(str, words)],
        capture_output=True, text=True, cwd=ROOT, timeout=300, check=False,
    )  # fmt: skip


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "record.zip"
    path.write_bytes(zipped(true_files()))
    return path


def test_the_command_tells_each_finding_and_last_whether_it_is_whole(record: Path) -> None:
    told = run(record, "--key", fingerprint_of(2))
    assert (told.returncode, told.stderr) == (0, "")
    lines = told.stdout.splitlines()
    assert all(line.startswith("holds  ") for line in lines[:-1])
    assert lines[-1] == "The record is whole."
    assert sorted(path.name for path in record.parent.iterdir()) == ["record.zip"]


def test_the_command_exits_with_one_where_something_does_not_hold(
    record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spoilt = with_lines(true_files(), lambda of: of.__setitem__(24, edited(of[24], note="nothing")))
    record.write_bytes(zipped(spoilt))
    assert main(["verify", str(record)]) == 1
    said = capsys.readouterr().out
    assert "FAULT  Entry 25 was changed: its hash is not what leaves.txt says." in said
    assert said.splitlines()[-1].startswith("The record is NOT whole: ")


def test_the_command_exits_with_two_where_there_is_nothing_to_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "no.zip").write_text("not a zip")
    assert main(["verify", str(tmp_path / "no.zip")]) == 2
    assert capsys.readouterr().out.splitlines() == [
        "FAULT  This is no ZIP.",
        "This cannot be read as a record: nothing of it was unpacked.",
    ]
    assert main(["verify", str(tmp_path / "nowhere.zip")]) == 2
    assert capsys.readouterr().err == f"There is no file {tmp_path / 'nowhere.zip'}.\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nowhere.zip"], "There is no file nowhere.zip."),
        (["{record}", "--kept", "nowhere"], "There is no file nowhere."),
        (["{record}", "--key", "abc"], "A key's fingerprint is 64 hex digits, as the certificate gives it."),
    ],
)
def test_what_cannot_be_taken_is_refused_in_a_sentence(words: list[str], said: str, record: Path) -> None:
    path, *rest = (word.replace("{record}", str(record)) for word in words)
    given = dict(zip(rest[::2], rest[1::2], strict=True))
    with pytest.raises(BadInput) as refused:
        verify_record(Path(path), Path(given["--kept"]) if "--kept" in given else None, given.get("--key"))
    assert refused.value.message == said


def test_a_fingerprint_may_be_given_in_fours_or_in_capitals(record: Path) -> None:
    text = fingerprint_of(2).upper()
    spaced = " ".join(text[at : at + 4] for at in range(0, 64, 4))
    assert verify_record(record, key=spaced).whole
    assert verify_record(record, key=":".join(text[at : at + 2] for at in range(0, 64, 2))).whole


def test_no_word_of_a_record_can_tell_a_terminal_what_to_do(capsys: pytest.CaptureFixture[str]) -> None:
    tell(Verified((fails("x", "a\x1b[2Jb\u202ec\x9b"),), readable=True), lambda line: print(plain(line)))
    said = capsys.readouterr().out
    assert "\x1b" not in said and "\u202e" not in said and "\x9b" not in said
    assert "a\\x1b[2Jb\\u202ec\\x9b" in said
