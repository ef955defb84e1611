"""`laptight verify` on a record that the service made: whole as it is, and told of when it is not."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from service.actions.record.verifying import Verified, last_line, verify_record
from service.history.proofs.checkpoints import fingerprint
from service.history.verifying.findings import Finding
from tests.record.conftest import Sample
from tests.record.making import Files, zipped

WITH_OPENSSL = pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl stamps the sample")


def by_code(found: Verified) -> dict[str, Finding]:
    return {finding.code: finding for finding in found.findings}


def verified(files: Files, folder: Path) -> Verified:
    path = folder / "spoilt.zip"
    path.write_bytes(zipped(files))
    return verify_record(path)


def test_it_is_whole_and_every_judgement_comes_out_again(sample: Sample, tmp_path: Path) -> None:
    """Held against the smallest checkpoint that left, as somebody kept it, and the key that signs."""
    [first, *_] = sorted((sample.folder / "checkpoints").iterdir(), key=lambda path: int(path.name))
    key = fingerprint(sample.desk.database.keys.current().public)
    found = verify_record(sample.zip, first, key)
    assert found.whole, found.faults
    told = by_code(found)
    assert {"zip", "history", "checkpoint", "keys", "earlier", "manifest", "files", "leaves"} <= told.keys()
    assert {"names", "kept", "key", "judged", "tables"} <= told.keys()
    for kind in ("patches", "releases", "seals", "sealed edges", "walked seams", "placing", "repair"):
        assert kind in told["judged"].words
    assert last_line(found) == "The record is whole."


def test_one_changed_word_of_its_history_is_told(sample: Sample, tmp_path: Path) -> None:
    changed = sample.files["entries.jsonl"].replace(b'"kind":"hole"', b'"kind":"burn"', 1)
    found = verified({**sample.files, "entries.jsonl": changed}, tmp_path)
    assert found.readable and "entry-changed" in by_code(found)


def test_a_state_told_otherwise_in_a_table_is_told(sample: Sample, tmp_path: Path) -> None:
    changed = sample.files["zones.csv"].replace(b",held,", b",clear,", 1)
    assert changed != sample.files["zones.csv"]
    found = verified({**sample.files, "zones.csv": changed}, tmp_path)
    words = [finding.words for finding in found.faults]
    assert any('as "clear", and a replay of the entries as "held".' in said for said in words), words


@WITH_OPENSSL
def test_its_timestamp_holds_as_of_its_own_moment_and_no_other_does(sample: Sample, tmp_path: Path) -> None:
    said = by_code(verify_record(sample.zip))["timestamp"]
    assert said.holds and said.words.startswith("An authority saw checkpoint ")
    [token] = [name for name in sample.files if name.endswith(".tsr")]
    found = by_code(verified({**sample.files, token: sample.files[token][:-1] + b"!"}, tmp_path))
    assert {"timestamp-changed", "file-changed"} <= found.keys()
    chain = token.replace(".tsr", ".pem")
    assert "timestamp-changed" in by_code(verified({**sample.files, chain: b"none"}, tmp_path))


@WITH_OPENSSL
def test_a_timestamp_over_another_checkpoint_does_not_hold(sample: Sample, tmp_path: Path) -> None:
    """The checkpoint's text with another signature is another note, and was stamped by nobody."""
    [token] = [name for name in sample.files if name.endswith(".tsr")]
    size = token.removeprefix("timestamps/").removesuffix(".tsr")
    note = sample.files[f"checkpoints/{size}"]
    other = note[:-3] + (b"Q=\n" if note.endswith(b"A=\n") else b"A=\n")
    found = by_code(verified({**sample.files, f"checkpoints/{size}": other}, tmp_path))
    assert f"The timestamp of checkpoint {size} does not hold: " in found["timestamp"].words
