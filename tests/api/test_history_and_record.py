"""The history in its order, and the record: its files fit their hashes, its tables their entries."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import zipfile
from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.sketches import zones
from tests.api.conftest import Programs
from tests.api.scene import Scene
from tests.cast import Cast


@pytest.fixture
def record(scene: Scene, programs: Programs) -> zipfile.ZipFile:
    return fetch(scene, programs)


def fetch(scene: Scene, programs: Programs) -> zipfile.ZipFile:
    answer = programs.inspector.get(scene.path("/projects/{project}/record"))
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/zip")
    assert int(answer.headers["content-length"]) == len(answer.content)
    return zipfile.ZipFile(io.BytesIO(answer.content))


def rows(record: zipfile.ZipFile, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(record.read(name).decode())))


def test_entries_come_in_order_without_a_gap_however_they_are_paged(scene: Scene, programs: Programs) -> None:
    path = scene.path("/projects/{project}/history")
    whole = programs.lead.get(path, params={"limit": 500}).json()
    assert [entry["seq"] for entry in whole["entries"]] == list(range(1, whole["checkpoint"]["size"] + 1))
    paged: list[dict[str, Any]] = []
    while page := programs.lead.get(path, params={"after": len(paged), "limit": 7}).json()["entries"]:
        paged += page
    assert paged == whole["entries"]
    assert whole["checkpoint"]["last_hash"] == whole["entries"][-1]["hash"]


def test_an_entry_tells_who_did_what_to_which_thing(scene: Scene, programs: Programs) -> None:
    entries = programs.lead.get(scene.path("/projects/{project}/history?limit=500")).json()["entries"]
    [mark] = [e for e in entries if e["type"] == "defect-marked" and e["tag"] == "B-01"]
    assert mark["by"] == "Lou Lead"
    assert mark["role"] == "crew lead"
    assert mark["subject"] == {"kind": "defect", "id": scene.ids["defect"]}
    assert mark["zone"] == scene.ids["zone"]
    assert mark["sentence"] == "Lou Lead marked B-01: tear, 4 by 2 in."


def test_every_leaf_hash_is_that_of_the_line_in_the_record(
    record: zipfile.ZipFile, scene: Scene, programs: Programs
) -> None:
    """RFC 6962 section 2.1: the leaf hash is SHA-256 of 0x00 and the entry."""
    told = programs.lead.get(scene.path("/projects/{project}/history?limit=500")).json()["entries"]
    lines = record.read("entries.jsonl").split(b"\n")
    assert lines.pop() == b""
    assert told[-1]["type"] == "record-made"
    assert [hashlib.sha256(b"\x00" + line).hexdigest() for line in lines] == [entry["hash"] for entry in told]
    assert [json.loads(line)["seq"] for line in lines] == list(range(1, len(lines) + 1))


def test_every_file_of_a_record_fits_its_hash_in_the_manifest_that_the_last_entry_names(
    record: zipfile.ZipFile,
) -> None:
    manifest = json.loads(record.read("manifest.json"))
    outside = {"entries.jsonl", "checkpoint", "manifest.json"}
    assert {file["path"] for file in manifest["files"]} == set(record.namelist()) - outside
    for file in manifest["files"]:
        content = record.read(file["path"])
        assert (hashlib.sha256(content).hexdigest(), len(content)) == (file["sha256"], file["bytes"])
    last = json.loads(record.read("entries.jsonl").splitlines()[-1])
    assert last["fact"]["manifest_sha256"] == hashlib.sha256(record.read("manifest.json")).hexdigest()
    assert (manifest["record"], manifest["up_to"]) == (2, last["fact"]["up_to"])


def test_a_photo_goes_out_under_the_hash_of_its_bytes(record: zipfile.ZipFile, scene: Scene) -> None:
    [name] = [name for name in record.namelist() if name.startswith("photos/")]
    assert name == f"photos/{hashlib.sha256(record.read(name)).hexdigest()}.jpg"
    assert record.read(name).startswith(b"\xff\xd8\xff")


def test_a_picture_that_is_gone_or_was_altered_is_told_and_never_passed_over(
    scene: Scene, programs: Programs, desk: Desk
) -> None:
    """The scene's sketch has no picture behind it; the photo's bytes are turned into others."""
    [photo] = [name for name in fetch(scene, programs).namelist() if name.startswith("photos/")]
    sha256 = photo.removeprefix("photos/").removesuffix(".jpg")
    desk.blobs.path(sha256).write_bytes(b"\xff\xd8\xff something else")
    record = fetch(scene, programs)
    manifest = json.loads(record.read("manifest.json"))
    assert manifest["missing"] == [f"sketches/{'0' * 64}"]
    assert manifest["damaged"] == [photo]
    readme = record.read("README.txt").decode()
    assert f"sketches/{'0' * 64}" in readme
    assert f"no longer fit its name: {photo}" in readme
    assert "Every picture that the history names is here" not in readme


def test_the_tables_tell_the_facts_as_they_stand(record: zipfile.ZipFile, scene: Scene) -> None:
    states = {row["letter"]: row["state"] for row in rows(record, "zones.csv")}
    assert states == {"B": "held", "C": "clear", "D": "ready to place"}
    assert [(row["tag"], row["state"]) for row in rows(record, "defects.csv")] == [
        ("B-01", "open"),
        ("B-02", "not sealed"),
        ("C-01", "sealed"),
    ]
    [patch] = rows(record, "patches.csv")
    assert (patch["tag"], patch["overlap_as_logged"], patch["overlap_as_logged_nm"]) == (
        "B-02",
        "5 3/4 in",
        "146050000",
    )
    assert [row["cause"] for row in rows(record, "holds.csv")] == ["frost"]
    assert {row["name"] for row in rows(record, "people.csv")} == {"Lou Lead", "Max Manager", "Ina Inspector"}
    sentences = [row["sentence"] for row in rows(record, "history.csv")]
    assert "Lou Lead marked B-01: tear, 4 by 2 in." in sentences


def test_a_note_that_a_spreadsheet_would_run_is_put_out_as_text(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    zones.hold_zone(desk, cast.lead.id, scene.ids["clear"], "other", '=HYPERLINK("http://example.com")')
    record = fetch(scene, programs)
    reasons = {row["reason"] for row in rows(record, "holds.csv")}
    assert reasons == {"White this morning", '\'=HYPERLINK("http://example.com")'}
    assert b'"=HYPERLINK(' in record.read("entries.jsonl")


def test_a_record_says_what_it_is_and_what_its_gate_did_not_ask_for(record: zipfile.ZipFile) -> None:
    readme = record.read("README.txt").decode()
    assert "not engineering advice" in readme
    assert "provided one checkpoint left our hands before the\nchange" in readme
    assert "penetrations, seams, terminations, hold points, film" in readme


def test_the_record_is_the_one_get_that_appends_and_gives_the_same_bytes_again(
    scene: Scene, programs: Programs, desk: Desk, cast: Cast
) -> None:
    """Once and no more: whoever asks again gets the same file, until something happens."""
    path = scene.path("/projects/{project}/record")

    def head() -> int:
        history = programs.lead.get(scene.path("/projects/{project}/history?limit=500")).json()
        return int(history["checkpoint"]["size"])

    before, first = head(), programs.manager.get(path).content
    assert head() == before + 1
    assert programs.inspector.get(path).content == programs.manager.get(path).content == first
    assert head() == before + 1
    zones.hold_zone(desk, cast.lead.id, scene.ids["clear"], "frost", "White again")
    assert programs.manager.get(path).content != first
    assert head() == before + 3


def test_a_record_leaves_no_file_behind(scene: Scene, programs: Programs, desk: Desk) -> None:
    fetch(scene, programs)
    assert list((desk.blobs.folder / "coming").iterdir()) == []
