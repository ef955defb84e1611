"""A whole record held against the standards by means not ours: hashlib, csv, html.parser, openssl."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
import re
import shutil
import subprocess
import zipfile
from collections.abc import Sequence
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text as sql

from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.office import projects
from service.actions.record import files as record_files
from service.actions.record import record as records
from service.actions.record.bundle import PIECE, Bundle
from service.actions.record.record import make_record
from service.papers.record import verify_alone
from tests.cast import NOON, Cast, Clock
from tests.papers.reading import words
from tests.record.conftest import ERASED, Sample
from tests.record.making import taken, unzipped

WITH_OPENSSL = pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not on this machine")
OUTSIDE = {"entries.jsonl", "checkpoint", "manifest.json"}


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def root_of(leaves: Sequence[bytes]) -> bytes:
    """MTH of RFC 6962 section 2.1, by its definition."""
    if len(leaves) == 1:
        return hashlib.sha256(b"\x00" + leaves[0]).digest()
    half = 1 << (len(leaves) - 1).bit_length() - 1
    return hashlib.sha256(b"\x01" + root_of(leaves[:half]) + root_of(leaves[half:])).digest()


def lines(sample: Sample) -> list[bytes]:
    return sample.files["entries.jsonl"].splitlines()


def facts(sample: Sample) -> list[dict[str, Any]]:
    return [json.loads(line) for line in lines(sample)]


def rows(sample: Sample, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(sample.files[name].decode(), newline="")))


def test_a_record_has_everything_in_it_and_nothing_else(sample: Sample) -> None:
    folders = {path.partition("/")[0] for path in sample.files if "/" in path}
    assert folders == {"keys", "checkpoints", "timestamps", "certificates", "sketches", "photos"}
    assert {path for path in sample.files if "/" not in path and not path.endswith(".csv")} == OUTSIDE | {
        "keys.txt", "leaves.txt", "README.txt", "index.html", "closeout.pdf", "project.json", "verify.py",
    }  # fmt: skip
    assert not [path for path in sample.files if not verify_alone.PATH.fullmatch(path)]


def test_every_file_is_in_the_manifest_and_the_last_entry_names_the_manifest(sample: Sample) -> None:
    manifest = json.loads(sample.files["manifest.json"])
    listed = {file["path"]: (file["sha256"], file["bytes"]) for file in manifest["files"]}
    assert listed == {
        path: (sha256(content), len(content)) for path, content in sample.files.items() if path not in OUTSIDE
    }
    *_, last = facts(sample)
    assert last["type"] == "record-made"
    assert last["fact"]["manifest_sha256"] == sha256(sample.files["manifest.json"])
    assert last["fact"]["up_to"] == manifest["up_to"] == last["seq"] - 1
    assert manifest["origin"] == f"laptight/{sample.project}"
    assert (manifest["missing"], manifest["damaged"]) == ([], [])


def test_the_checkpoint_and_every_earlier_one_is_the_root_over_the_entries(sample: Sample) -> None:
    every = lines(sample)
    notes = [path for path in sample.files if path == "checkpoint" or path.startswith("checkpoints/")]
    sizes = []
    for path in notes:
        origin, size, root, blank, *signatures = sample.files[path].decode().splitlines()
        assert (origin, blank, len(signatures)) == (f"laptight/{sample.project}", "", 1)
        assert base64.b64decode(root) == root_of(every[: int(size)]), path
        assert path in ("checkpoint", f"checkpoints/{size}")
        sizes.append(int(size))
    given = [entry["seq"] for entry in facts(sample) if entry["type"] in ("checkpoint-given", "record-made")]
    assert sorted(sizes) == given
    assert given[-1] == len(every)


def test_leaves_are_the_hashes_of_the_entries(sample: Sample) -> None:
    leaves = sample.files["leaves.txt"].decode().split()
    assert leaves == [sha256(b"\x00" + line) for line in lines(sample)[:-1]]
    assert [row["leaf_hash"] for row in rows(sample, "history.csv")] == leaves


@WITH_OPENSSL
def test_openssl_finds_every_checkpoint_signed_with_a_key_of_the_record(
    sample: Sample, tmp_path: Path
) -> None:
    """Two keys: one was changed for the other on the way."""
    keys = sorted(path for path in sample.files if path.startswith("keys/"))
    assert len(keys) == len(sample.files["keys.txt"].splitlines()) == 2
    for path in keys:
        der = run("openssl", "pkey", "-pubin", "-in", str(sample.folder / path), "-outform", "DER").stdout
        assert path == f"keys/{sha256(der)}.pem"
    used = set()
    for path in (path for path in sample.files if path == "checkpoint" or path.startswith("checkpoints/")):
        text, _, below = sample.files[path].decode().rpartition("\n\n")
        (tmp_path / "text").write_text(text + "\n")
        (tmp_path / "signature").write_bytes(base64.b64decode(below.split(" ")[2])[4:])
        right = [key for key in keys if verified(sample.folder / key, tmp_path)]
        assert len(right) == 1, f"{path} is signed by {right}"
        used |= set(right)
    assert used == set(keys)


def run(*command: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(command, capture_output=True, check=False)


def verified(key: Path, folder: Path) -> bool:
    files = ("-in", str(folder / "text"), "-sigfile", str(folder / "signature"))
    return not run("openssl", "pkeyutl", "-verify", "-pubin", "-inkey", str(key), "-rawin", *files).returncode


@WITH_OPENSSL
def test_openssl_verifies_the_timestamp_by_the_chain_beside_it_as_of_its_time(sample: Sample) -> None:
    [token] = [path for path in sample.files if path.endswith(".tsr")]
    size = Path(token).stem
    [received] = [entry["fact"] for entry in facts(sample) if entry["type"] == "timestamp-received"]
    assert received["token_sha256"] == sha256(sample.files[token])
    done = run(
        "openssl", "ts", "-verify", "-data", str(sample.folder / f"checkpoints/{size}"),
        "-in", str(sample.folder / token), "-CAfile", str(sample.folder / f"timestamps/{size}.pem"),
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Verification: OK" in done.stdout.decode()


def test_names_open_their_hashes_and_an_erased_one_is_nowhere(sample: Sample) -> None:
    told = {
        entry["fact"]["name_sha256"]: entry["fact"]["person"]
        for entry in facts(sample)
        if entry["type"] == "person-joined"
    }
    opened = rows(sample, "names.csv")
    assert {row["name"] for row in opened} == {"Priya Novak", "Sam Okafor"}
    for row in opened:
        assert sha256(bytes.fromhex(row["salt"]) + row["name"].encode()) == row["name_sha256"]
        assert told[row["name_sha256"]] == row["person"]
    for path, content in sample.files.items():
        text = words(content) if path.endswith(".pdf") else content.decode(errors="replace")
        assert not [part for part in ERASED if part in text], f"{path} still names them"
    assert "no longer named" in sample.files["index.html"].decode()


def test_pictures_are_named_by_their_hash_and_every_table_is_read_by_the_standard_library(
    sample: Sample,
) -> None:
    pictures = [path for path in sample.files if path.startswith(("photos/", "sketches/"))]
    assert len(pictures) == 2
    for path in pictures:
        assert Path(path).stem == sha256(sample.files[path])
    marks = [entry for entry in facts(sample) if entry["type"] == "defect-marked"]
    assert {row["id"] for row in rows(sample, "defects.csv")} >= {entry["fact"]["defect"] for entry in marks}
    assert len(rows(sample, "history.csv")) == len(lines(sample)) - 1
    for name in (path for path in sample.files if path.endswith(".csv")):
        assert not [row for row in rows(sample, name) if None in row or None in row.values()], name


def test_a_certificate_is_there_for_every_release_and_the_closeout_is_told(sample: Sample) -> None:
    released = [entry for entry in facts(sample) if entry["type"] == "zone-released"]
    assert {path for path in sample.files if path.startswith("certificates/")} == {
        f"certificates/{entry['fact']['letter']}-{entry['seq']}.pdf" for entry in released
    }
    assert sample.files["closeout.pdf"].startswith(b"%PDF-1.")
    assert "Alder Road workshop" in words(sample.files["closeout.pdf"])


# --- the page to read -------------------------------------------------------------------------------------


class Page(HTMLParser):
    """Links, pictures without words, headings and whatever has no place on a page opened from disk."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.mute: list[str] = []
        self.wrong: list[str] = []
        self.ids: list[str] = []
        self.headings: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self.links += [told[name] or "" for name in ("href", "src") if name in told]
        self.ids += [told["id"] or ""] if "id" in told else []
        self.headings += [tag] if tag in ("h1", "h2", "h3") else []
        if tag == "img" and not told.get("alt"):
            self.mute.append(str(told.get("src")))
        if tag in ("script", "iframe", "object", "link", "form") or any(
            name.startswith("on") for name in told
        ):
            self.wrong.append(tag)


def test_the_page_opens_every_file_there_is_and_needs_nothing_else(sample: Sample) -> None:
    page = Page(sample.files["index.html"].decode())
    inside = {link for link in page.links if not link.startswith("#")}
    assert not [link for link in inside if link.rstrip("/") != link and not _has(sample, link)]
    assert {link for link in inside if not link.endswith("/")} <= sample.files.keys()
    unlinked = sample.files.keys() - inside - {"index.html"}
    assert {path.partition("/")[0] for path in unlinked} <= {"checkpoints", "keys", "timestamps"}
    assert {link[1:] for link in page.links if link.startswith("#")} <= set(page.ids)
    assert (page.mute, page.wrong) == ([], [])
    assert page.headings[0] == "h1" and page.headings.count("h1") == 1


def _has(sample: Sample, folder: str) -> bool:
    return any(path.startswith(folder) for path in sample.files)


def test_the_page_tells_zones_key_and_history_in_words(sample: Sample) -> None:
    text = sample.files["index.html"].decode()
    for told in ("ready to place", "held", "clear", "laying", "python3 verify.py", "not engineering advice"):
        assert told in text
    key = next(iter(re.findall(r'href="keys/([0-9a-f]{64})\.pem"', text)))
    assert re.sub(r"\s", "", "".join(re.findall(r"<span>([0-9a-f ]+)</span>", text))) == key
    assert text.count('<li id="entry-') == len(lines(sample)) - 1


def test_what_people_type_is_text_on_the_page(desk: Desk, cast: Cast, tmp_path: Path) -> None:
    typed = '<script>alert(1)</script><img src=x onerror=alert(2)>"&'
    project = projects.start_project(desk, cast.manager.id, typed, "us", "UTC")
    files = unzipped(taken(desk, cast.manager.id, project.id, tmp_path).read_bytes())
    assert Page(files["index.html"].decode()).wrong == []
    assert "Record of &lt;script&gt;alert(1)&lt;/script&gt;" in files["index.html"].decode()


# --- by hand, as README.txt says --------------------------------------------------------------------------


@WITH_OPENSSL
def test_the_steps_of_the_readme_work_in_a_shell(sample: Sample, tmp_path: Path) -> None:
    readme = sample.files["README.txt"].decode()
    blocks = re.findall(r"(?m)(?:^    .*\n)+", readme.partition("BY HAND")[2])
    script = "set -eu\n" + "echo ---\n".join(re.sub(r"(?m)^    ", "", block) for block in blocks)
    before = {path: path.stat().st_mtime_ns for path in sample.folder.rglob("*")}
    done = subprocess.run(
        ["bash", "-c", script], cwd=sample.folder, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    listed, manifest, count, signed, key, leaf, stamp = done.stdout.split("---\n")
    assert listed == ""
    first, second = manifest.splitlines()
    assert first[:64] == second[-65:-1]
    assert len(set(count.split())) == 1
    assert signed == "Signature Verified Successfully\n"
    assert f"keys/{key.split()[-1]}.pem" in sample.files
    assert len({line[:64] for line in leaf.splitlines()}) == 1
    assert re.fullmatch(r"\w+ +\d+ [\d:.]+ \d{4} GMT\nVerification: OK\n", stamp)
    assert {path: path.stat().st_mtime_ns for path in sample.folder.rglob("*")} == before


@WITH_OPENSSL
def test_the_steps_of_the_readme_fail_where_a_file_was_replaced(sample: Sample, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(sample.folder, tmp_path / "copy"))
    (folder / "zones.csv").write_text("id\n")
    step = re.search(r"(?m)^1\. .*\n\n((?:    .*\n)+)", sample.files["README.txt"].decode())
    assert step is not None
    done = subprocess.run(["bash", "-c", step[1]], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode != 0
    assert "zones.csv: FAILED" in done.stdout


@WITH_OPENSSL
def test_verify_py_holds_all_of_it_and_sees_a_photo_replaced(
    sample: Sample, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verify_alone.main([str(sample.zip)]) == verify_alone.main([str(sample.folder)]) == 0
    said = capsys.readouterr().out
    assert "An authority saw checkpoint" in said
    assert "The 2 names told open their hashes" in said
    assert "The 2 pictures that entries name are here." in said
    folder = Path(shutil.copytree(sample.folder, tmp_path / "copy"))
    [photo] = (folder / "photos").iterdir()
    photo.write_bytes(photo.read_bytes() + b"!")
    [token] = (folder / "timestamps").glob("*.tsr")
    token.write_bytes(token.read_bytes()[:-1] + b"!")
    assert verify_alone.main([str(folder)]) == 1
    said = capsys.readouterr().out
    assert f"Fails: photos/{photo.name} was replaced: it is not the file listed." in said
    assert f"Fails: the timestamp of checkpoint {token.stem} was not proved." in said


# --- how it is made ---------------------------------------------------------------------------------------


def test_the_same_history_gives_the_same_bytes_on_another_day(desk: Desk, cast: Cast, clock: Clock) -> None:
    first = content_of(desk, cast)
    clock.go_on(days=400)
    assert content_of(desk, cast) == first


def content_of(desk: Desk, cast: Cast) -> bytes:
    made = make_record(desk.fresh(), cast.inspector.id, cast.project_id)
    with made.file:
        return made.file.read()


def test_what_happens_while_a_record_is_made_is_in_its_entries_and_not_in_its_tables(
    desk: Desk, cast: Cast, monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    def meanwhile(on: Desk, bundle: Bundle, told: record_files.Told) -> None:
        record_files.fill(on, bundle, told)
        signing.keep_checkpoint(desk.fresh(), cast.lead.id, cast.project_id)

    monkeypatch.setattr(records, "fill", meanwhile)
    path = taken(desk, cast.manager.id, cast.project_id, tmp_path)
    files = unzipped(path.read_bytes())
    types = [json.loads(line)["type"] for line in files["entries.jsonl"].splitlines()]
    up_to = json.loads(files["manifest.json"])["up_to"]
    assert types[up_to:] == ["checkpoint-given", "record-made"]
    assert len(files["leaves.txt"].split()) == up_to
    assert verify_alone.main([str(path)]) == 0, capsys.readouterr().out


def test_a_key_changed_while_a_record_is_made_is_in_it(
    desk: Desk, cast: Cast, monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    turned: list[bool] = []

    def meanwhile(on: Desk, bundle: Bundle, told: record_files.Told) -> None:
        record_files.fill(on, bundle, told)
        if not turned:
            turned.append(True)
            signing.rotate(desk.fresh())

    monkeypatch.setattr(records, "fill", meanwhile)
    path = taken(desk, cast.manager.id, cast.project_id, tmp_path)
    assert len(unzipped(path.read_bytes())["keys.txt"].splitlines()) == 2
    assert verify_alone.main([str(path)]) == 0, capsys.readouterr().out


def test_a_file_is_never_held_whole_and_no_path_can_climb() -> None:
    class Long(io.RawIOBase):
        """Says how much was asked of it at once."""

        left, most = 5 * PIECE, 0

        def read(self, size: int = -1) -> bytes:
            self.most = max(self.most, size if size >= 0 else self.left)
            given = min(self.left, size)
            self.left -= given
            return bytes(given)

    long = Long()
    with zipfile.ZipFile(io.BytesIO(), "w") as archive:
        bundle = Bundle(archive, NOON)
        bundle.put("photos/a.jpg", long)  # type: ignore[arg-type]  # it reads, which is all that is asked
        assert (long.left, long.most) == (0, PIECE)
        for path in ("../a", "/a", "a/../b", "a/b/c", "a\\b", ".a", "photos/.a", ""):
            with pytest.raises(ValueError):
                bundle.put(path, io.BytesIO(b""))
        assert [file["path"] for file in bundle.files] == ["photos/a.jpg"]


def test_an_entry_changed_in_the_database_is_named_by_the_record_itself(
    desk: Desk, cast: Cast, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its hash went into the tree when it was recorded: what is handed out since no longer fits it."""
    with desk.database.engine.begin() as connection:
        connection.execute(sql("DROP TRIGGER entry_is_never_updated"))
        wanted = {"p": cast.project_id}
        told = connection.execute(sql("SELECT content FROM entry WHERE project_id = :p AND seq = 2"), wanted)
        forged = bytes(told.scalar_one()).replace(b"project manager", b"project leader!")
        connection.execute(
            sql("UPDATE entry SET content = :forged WHERE project_id = :p AND seq = 2"),
            {"forged": forged, **wanted},
        )
    path = taken(desk, cast.manager.id, cast.project_id, tmp_path)
    assert verify_alone.main([str(path)]) == 1
    assert "Fails: entry 2 was changed." in capsys.readouterr().out
