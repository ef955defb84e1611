"""verify.py names each bad record for what it is, writes nothing, and needs the standard library alone."""

from __future__ import annotations

import ast
import io
import json
import os
import re
import shutil
import stat
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from service.history.proofs.checkpoints import fingerprint, in_fours
from service.papers.record import verify_alone
from tests.history import story
from tests.record.making import Files, Log, bundle, few_facts, sealed, signer, unzipped, zipped

SOURCE = Path(verify_alone.__file__)
Say = Callable[..., tuple[int, str]]


def beginning() -> Log:
    """Twelve entries with a checkpoint that left, and two more with another."""
    return Log().tell(*few_facts()).give().tell(story.mark("x1", (300, 300), tag="B-9")).give()


LOG = beginning()
GOOD = bundle(LOG.copy())
LINES = GOOD["entries.jsonl"].splitlines(keepends=True)


@pytest.fixture
def say(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Say:
    """Exit code and words of verify.py on a record given as files or as the bytes of a ZIP."""

    def said(record: Files | bytes, *more: str) -> tuple[int, str]:
        path = tmp_path / "record.zip"
        path.write_bytes(record if isinstance(record, bytes) else zipped(record))
        code = verify_alone.main([str(path), *more])
        return code, capsys.readouterr().out

    return said


def told(lines: list[bytes]) -> Files:
    return GOOD | {"entries.jsonl": b"".join(lines)}


def fails(words: str) -> list[str]:
    return [line.removeprefix("Fails: ") for line in words.splitlines() if line.startswith("Fails: ")]


def test_a_true_record_holds_and_says_so_with_the_key_and_the_words_of_honesty(say: Say) -> None:
    code, words = say(GOOD)
    assert (code, fails(words)) == (0, [])
    assert "Holds: All 15 entries are the checkpoint's, in their order, none changed or missing." in words
    assert in_fours(fingerprint(signer().public)) in words
    assert words.index("Compare it with the one on a certificate on paper") < words.index(
        "A record is evidence"
    )
    assert "provided one checkpoint left our hands before the\nchange" in words
    assert "not engineering advice" in words


NAMED: dict[str, tuple[list[bytes], list[str]]] = {
    "one byte": (
        [*LINES[:4], LINES[4].replace(b'"lou"', b'"lox"'), *LINES[5:]], ["entry 5 was changed."]
    ),
    "its number": (
        [*LINES[:4], LINES[4].replace(b'"seq":5', b'"seq":7'), *LINES[5:]], ["entry 5 was changed."]
    ),
    "two": (
        [*LINES[:5], b"{}\n", LINES[6], b"no JSON\n", *LINES[8:]],
        ["entry 6 was changed.", "entry 8 was changed."],
    ),
    "cut": ([*LINES[:6], *LINES[7:]], ["entry 7 is missing."]),
    "swapped": ([*LINES[:3], LINES[4], LINES[3], *LINES[5:]], ["entries 4 and 5 are swapped."]),
    "doubled": ([*LINES[:9], LINES[8], *LINES[9:]], ["entry 9 is there twice."]),
    "moved": ([*LINES[:2], *LINES[3:9], LINES[2], *LINES[9:]], ["entries 3 to 9 are out of order."]),
    "added": ([*LINES[:9], b'{"seq":99}\n', *LINES[9:]], ["line 10 is no entry of this history."]),
    "line end": (
        [*LINES[:8], LINES[8].rstrip(b"\n") + b" ", *LINES[9:]],
        ["entry 10 was changed.", "entry 9 is missing."],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("lines", "words"), NAMED.values(), ids=NAMED.keys())
def test_each_thing_done_to_an_entry_is_named_with_its_number(
    say: Say, lines: list[bytes], words: list[str]
) -> None:
    code, said = say(told(lines))
    assert (code, fails(said)) == (1, words)


NO_MANIFEST = "manifest.json is not the one that the last entry names."


@pytest.mark.parametrize("left", (14, 12, 1))
def test_a_tail_cut_off_is_named_with_how_much_is_left(say: Say, left: int) -> None:
    code, said = say(told(LINES[:left]))
    assert code == 1
    assert fails(said)[:2] == [f"the end is cut off: {left} of 15 entries are here.", NO_MANIFEST]


def test_the_last_entry_changed_is_told_as_after_the_last_checkpoint_that_fits(say: Say) -> None:
    code, said = say(told([*LINES[:-1], LINES[-1].replace(b'"lou"', b'"lox"')]))
    assert code == 1
    assert fails(said) == ["the entries are not the checkpoint's: one after entry 14 was changed."]


def test_a_history_told_anew_with_all_its_hashes_fails_by_the_signature_alone(say: Say) -> None:
    """Whoever has no key can make every file fit every other, but not the checkpoint."""
    forged = Log(key=signer(2)).tell(*few_facts(5))
    code, said = say(bundle(forged) | {"checkpoint": GOOD["checkpoint"]})
    assert code == 1
    assert "the checkpoint is signed with another key than the one that the history names." in fails(said)


def test_a_checkpoint_signed_anew_with_another_key_is_named(say: Say) -> None:
    log = LOG.copy()
    record = bundle(log)
    code, said = say(record | {"checkpoint": log.note(signer(2)).encode()})
    assert code == 1
    assert fails(said) == ["the checkpoint is signed with another key than the one that the history names."]


def test_another_key_from_the_start_holds_and_its_fingerprint_is_another(say: Say) -> None:
    """The honest limit: only a fingerprint or a checkpoint kept from before shows it."""
    forged = bundle(Log(key=signer(2)).tell(*few_facts()))
    assert say(forged)[0] == 0
    code, said = say(forged, "--key", fingerprint(signer().public))
    assert (code, fails(said)) == (1, ["the key you gave signed nothing of this history."])
    assert say(forged, "--key", in_fours(fingerprint(signer(2).public)).upper())[0] == 0


def test_a_key_changed_by_an_entry_holds_and_without_one_does_not(say: Say) -> None:
    turned = beginning().turn_key(signer(2)).tell(story.mark("x2", (300, 300), tag="B-8")).give()
    record = bundle(turned)
    code, said = say(record, "--key", fingerprint(signer(1).public))
    assert (code, fails(said)) == (0, [])
    assert "The key you gave signed this history up to entry 14." in said
    taken_over = beginning()
    taken_over.key = signer(2)
    code, said = say(bundle(taken_over))
    assert code == 1
    assert fails(said) == [
        "entry 15 names another key, and no entry says that it was changed.",
        "the checkpoint is signed with another key than the one that the history names.",
    ]


def spoiled(content: bytes, bit: int) -> bytes:
    at = bit // 8
    return content[:at] + bytes([content[at] ^ 1 << bit % 8]) + content[at + 1 :]


def test_every_bit_of_the_checkpoint_counts(say: Say) -> None:
    """Canonical base64: the spare bits of the last sign before the padding count too."""
    note = GOOD["checkpoint"]
    last = len(note) * 8
    for bit in (*range(0, last, 61), *range(last - 24, last)):
        code, said = say(GOOD | {"checkpoint": spoiled(note, bit)})
        assert code == 1 and fails(said), f"bit {bit} went by"


def test_no_word_of_a_record_can_pass_for_one_of_ours(say: Say) -> None:
    """Whoever spoils a record writes the names in it, and may know what a terminal does with them."""
    forged = "x\nHolds: everything.\x1b[2J\u202e"
    manifest = json.loads(GOOD["manifest.json"])
    manifest["files"].append({"path": forged, "sha256": "", "bytes": 0})
    names = f'person,name,salt,name_sha256\n"{forged}",a,00,00\n'.encode()
    note = GOOD["checkpoint"].replace(b"laptight/", b"\x1b[8mlaptight/")
    for spoilt in (
        GOOD | {"manifest.json": json.dumps(manifest).encode(), "names.csv": names},
        GOOD | {"checkpoint": note},
    ):
        code, words = say(spoilt)
        assert code == 1
        assert "Holds: everything." not in words.splitlines()
        assert not [sign for sign in words if sign != "\n" and not sign.isprintable()]


def test_a_checkpoint_of_another_project_is_named(say: Say) -> None:
    other = bundle(Log(project="another").tell(*few_facts(7)))
    code, said = say(GOOD | {"checkpoint": other["checkpoint"]})
    assert code == 1
    assert "the checkpoint belongs to another project, laptight/another." in fails(said)


def test_files_replaced_taken_or_put_in_are_named(say: Say) -> None:
    whole = bundle(LOG.copy(), {"photos/a.jpg": b"a", "zones.csv": b"id\n"})
    assert say(whole)[0] == 0
    spoilt = {path: content for path, content in whole.items() if path != "zones.csv"}
    code, said = say(spoilt | {"photos/a.jpg": b"b", "photos/c.jpg": b"c"})
    assert code == 1
    assert fails(said) == [
        "photos/a.jpg was replaced: it is not the file listed.",
        "zones.csv is missing.",
        "photos/c.jpg is a file that the manifest does not list.",
    ]


def test_a_manifest_that_lists_what_was_put_in_is_not_the_one_that_was_logged(say: Say) -> None:
    files = {path: content for path, content in GOOD.items() if path not in verify_alone.CORE}
    files["photos/a.jpg"] = b"put in"
    code, said = say(GOOD | files | {"manifest.json": sealed(files, LOG.project, 14)})
    lost = f"sketches/{'0' * 64}, named by an entry, is not here nor told as missing."
    assert (code, fails(said)) == (1, [NO_MANIFEST, lost])


def test_an_earlier_checkpoint_that_does_not_fit_is_named(say: Say) -> None:
    """The service itself handed out two histories: the record shows it."""
    log = beginning()
    log.kept[12] = Log().tell(*few_facts(), story.mark("y", (1, 1))).note()
    code, said = say(bundle(log))
    assert (code, fails(said)) == (1, ["this history does not grow from checkpoints/12."])


def test_a_picture_that_no_file_holds_and_nobody_told_as_missing_is_named(say: Say) -> None:
    code, said = say(bundle(LOG.copy(), missing=()))
    assert code == 1
    assert fails(said) == [f"sketches/{'0' * 64}, named by an entry, is not here nor told as missing."]
    assert f"but for sketches/{'0' * 64}, told as missing or damaged" in say(GOOD)[1]


def test_a_name_that_does_not_open_its_hash_is_named(say: Say) -> None:
    names = GOOD["names.csv"].replace(b"lou,lou,", b"lou,Lew,")
    code, said = say(bundle(LOG.copy(), {"names.csv": names}))
    assert (code, fails(said)) == (1, ["the name of person lou is not the one that was logged."])


# --- an old checkpoint ------------------------------------------------------------------------------------


@pytest.fixture
def kept(tmp_path: Path) -> Callable[[str], str]:
    def at(note: str) -> str:
        (tmp_path / "old.txt").write_text(note)
        return str(tmp_path / "old.txt")

    return at


def test_an_old_checkpoint_that_this_history_grew_from_holds(say: Say, kept: Callable[[str], str]) -> None:
    code, said = say(GOOD, "--kept", kept(LOG.kept[12]))
    assert (code, fails(said)) == (0, [])
    assert "This history grew from that old checkpoint, of 12 entries." in said


def test_an_old_checkpoint_is_told_for_what_it_is(say: Say, kept: Callable[[str], str]) -> None:
    other = Log(project="another").tell(*few_facts()).note()
    rewritten = Log().tell(*few_facts(2), story.mark("z", (1, 1))).note()
    longer = LOG.copy().tell(*[story.mark(f"w{n}", (1, 1)) for n in range(9)]).note()
    forged = LOG.note(signer(3))
    for note, words in (
        (other, "that old checkpoint belongs to another project, laptight/another."),
        (rewritten, "this history does not grow from that old checkpoint."),
        (longer, "that old checkpoint is of 23 entries, and this record ends before, with entry 15."),
        (forged, "that old checkpoint is signed with another key than the one that the history names."),
    ):
        assert say(GOOD, "--kept", kept(note)) == (1, say(GOOD, "--kept", kept(note))[1])
        assert fails(say(GOOD, "--kept", kept(note))[1]) == [words]
    assert say(GOOD, "--kept", kept("no checkpoint"))[0] == 2


# --- what holds the files ---------------------------------------------------------------------------------


def with_file(
    name: str, content: bytes = b"x", mode: int = 0o100644, kind: int = zipfile.ZIP_DEFLATED
) -> bytes:
    out = io.BytesIO(zipped(GOOD))
    with zipfile.ZipFile(out, "a") as archive:
        info = zipfile.ZipInfo(name)
        info.external_attr, info.compress_type = mode << 16, kind
        archive.writestr(info, content)
    return out.getvalue()


@pytest.mark.parametrize(
    "name", ("../evil.txt", "/etc/evil", "photos/../../evil", "a\\..\\evil", "C:evil", ".hidden")
)
def test_a_path_that_climbs_is_named_and_nothing_is_read(say: Say, name: str) -> None:
    code, said = say(with_file(name))
    assert code == 1
    assert fails(said) == [f"{name!r} climbs out or is no plain path."]
    assert "Holds" not in said


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_doubled_names_links_and_bombs_are_named(say: Say) -> None:
    assert fails(say(with_file("checkpoint"))[1])[0] == "'checkpoint' is there more than once."
    assert fails(say(with_file("Checkpoint"))[1])[0] == "'checkpoint' is there more than once."
    link = with_file("photos/a.jpg", b"/etc/passwd", stat.S_IFLNK | 0o777)
    assert fails(say(link)[1]) == ["'photos/a.jpg' is no plain file but a link."]
    bomb = with_file("photos/a.jpg", bytes(64 << 20))
    assert fails(say(bomb)[1]) == ["'photos/a.jpg' unfolds too far: a ZIP bomb."]


def test_an_encrypted_file_and_files_over_one_another_are_named(say: Say) -> None:
    plain = with_file("photos/a.jpg", b"x" * 100, kind=zipfile.ZIP_STORED)
    at = plain.rindex(b"PK\x01\x02")
    locked = bytearray(plain)
    locked[at + 8] |= 1
    assert fails(say(bytes(locked))[1]) == ["'photos/a.jpg' is encrypted."]
    lying = bytearray(plain)
    lying[at + 20 : at + 28] = struct.pack("<LL", 1 << 30, 1 << 30)
    assert fails(say(bytes(lying))[1]) == ["all of it is more than it can hold: a ZIP bomb."]


def test_a_folder_is_read_as_a_zip_is_and_links_in_it_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = spread(tmp_path / "record")
    assert verify_alone.main([str(folder)]) == 0
    (folder / "photos").mkdir()
    (folder / "photos" / "a.jpg").symlink_to("/etc/hostname")
    (folder / "more").symlink_to(tmp_path)
    capsys.readouterr()
    assert verify_alone.main([str(folder)]) == 1
    assert sorted(fails(capsys.readouterr().out)) == [
        "'more' is no plain file but a link.", "'photos/a.jpg' is no plain file but a link.",
    ]  # fmt: skip


def spread(folder: Path, files: Files = GOOD) -> Path:
    for path, content in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    return folder


@pytest.mark.parametrize("what", (b"", b"no ZIP", zipped({"a": b"b"}), zipped({"entries.jsonl": b""})))
def test_what_is_no_record_cannot_be_read(say: Say, what: bytes) -> None:
    code, said = say(what)
    assert code == 2
    assert said.startswith("Cannot be read: ")


def test_a_file_that_is_not_there_cannot_be_read(tmp_path: Path) -> None:
    assert verify_alone.main([str(tmp_path / "nothing.zip")]) == 2


# --- as a program -----------------------------------------------------------------------------------------


def run(folder: Path, *args: str, **environ: str) -> subprocess.CompletedProcess[str]:
    env = {"PATH": os.environ["PATH"], "LANG": "C.UTF-8", **environ}
    command = [sys.executable, "-S", "-O", "-W", "error", *args]
    return subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, check=False)


def state_of(folder: Path) -> dict[str, tuple[int, int]]:
    return {str(path): (path.stat().st_mtime_ns, path.stat().st_size) for path in folder.rglob("*")}


def test_the_file_in_the_record_runs_where_it_lies_and_leaves_everything_as_it_was(tmp_path: Path) -> None:
    """With -O no assert is left, with -S no package: what is checked is checked by code alone."""
    whole = bundle(LOG.copy(), {"verify.py": SOURCE.read_bytes()})
    folder = spread(tmp_path / "record", whole)
    before = state_of(folder)
    done = run(folder, "verify.py")
    assert (done.returncode, done.stderr) == (0, ""), done.stdout
    assert state_of(folder) == before
    (folder / "leaves.txt").write_text("")
    assert run(tmp_path, str(folder / "verify.py")).returncode == 1
    assert run(tmp_path, str(folder / "verify.py"), "nothing.zip").returncode == 2


def test_a_file_put_beside_it_cannot_pose_as_the_standard_library(tmp_path: Path) -> None:
    folder = spread(tmp_path / "record", bundle(LOG.copy(), {"verify.py": SOURCE.read_bytes()}))
    (folder / "hashlib.py").write_text("print('taken over')\nraise SystemExit(0)\n")
    done = run(folder, "verify.py")
    assert done.returncode == 1
    assert "taken over" not in done.stdout
    assert fails(done.stdout) == ["hashlib.py is a file that the manifest does not list."]


def test_without_openssl_it_says_what_was_not_proved(tmp_path: Path) -> None:
    (tmp_path / "bin").mkdir()
    (tmp_path / "record.zip").write_bytes(zipped(GOOD))
    done = run(tmp_path, str(SOURCE), "record.zip", PATH=str(tmp_path / "bin"))
    assert done.returncode == 1
    assert fails(done.stdout) == ["no signature was proved: there is no OpenSSL 3 on this computer."]
    (tmp_path / "bin" / "openssl").write_text(f"#!{shutil.which('sh')}\necho LibreSSL 3.3.6\n")
    (tmp_path / "bin" / "openssl").chmod(0o755)
    path = f"{tmp_path / 'bin'}:{os.environ['PATH']}"
    assert fails(run(tmp_path, str(SOURCE), "record.zip", PATH=path).stdout) == fails(done.stdout)


def test_it_reads_as_python_3_9_and_asks_nothing_outside_the_standard_library() -> None:
    tree = ast.parse(SOURCE.read_text(), feature_version=(3, 9))
    named = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    named |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.split(".")[0] for name in named} <= sys.stdlib_module_names
    assert not [node for node in ast.walk(tree) if isinstance(node, ast.Assert)]
    assert not re.search(r"extract|\bsocket\b|urllib|http\b", SOURCE.read_text())


def test_unzipping_what_was_zipped_gives_the_same() -> None:
    assert unzipped(zipped(GOOD)) == GOOD
