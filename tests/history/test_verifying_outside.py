"""A record held against what somebody kept outside: a checkpoint, or the fingerprint of the key."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.history.facts import facts as f
from service.history.proofs.checkpoints import Checkpoint, checkpoint_in, fingerprint
from tests.record.making import Log, bundle, few_facts, signer
from tests.record.spoiling import (
    begun,
    faults,
    fingerprint_of,
    found,
    picture_files,
    pictured,
    record_of,
    true_files,
)


def test_a_checkpoint_that_was_kept_shows_that_the_log_only_grew() -> None:
    kept = true_files()["checkpoints/41"]
    [told] = [x for x in found(true_files(), kept=kept) if x.code.startswith("kept")]
    assert told.holds
    assert told.words == (
        "The history grows from the checkpoint that was kept: its first 41 entries are unchanged."
    )


def test_a_history_written_anew_with_the_true_key_is_found_by_a_checkpoint_that_was_kept() -> None:
    """Nothing in the record itself can show it: that is why somebody keeps a checkpoint."""
    log = Log()
    for fact in begun().entries:
        lie = replace(fact.fact, note="elsewhere") if isinstance(fact.fact, f.DefectMarked) else fact.fact
        log.key = signer(2) if fact.seq > 42 else log.key
        log.tell(lie, by=fact.by, role=fact.role)
    files = record_of(log)
    assert faults(files) == {} or set(faults(files)) == {"other-key"}
    told = faults(files, kept=true_files()["checkpoints/41"])
    assert "This history does not grow from the checkpoint that was kept" in told["kept-does-not-fit"]


@pytest.mark.parametrize(
    ("kept", "code", "words"),
    [
        (b"nonsense", "kept-unreadable", "The checkpoint that was kept cannot be read"),
        (
            Checkpoint("laptight/other", 3, b"0" * 32).signed([signer(1)]).encode(), "kept-other-project",
            "is of another project: laptight/other. It says nothing about this one.",
        ),
        (
            Checkpoint("laptight/a1b2c3d4e5f6a7b8c9d0", 90, b"0" * 32).signed([signer(2)]).encode(),
            "kept-newer", "is of 90 entries, and this history has 48: either the record is",
        ),
    ],
    ids=["unreadable", "other project", "newer"],
)  # fmt: skip
def test_a_kept_checkpoint_that_cannot_vouch_is_told_why(kept: bytes, code: str, words: str) -> None:
    assert words in faults(true_files(), kept=kept)[code]


def test_a_kept_checkpoint_signed_with_a_key_the_history_does_not_name_is_told() -> None:
    true = checkpoint_in(true_files()["checkpoints/41"].decode())
    assert "other-key" in faults(true_files(), kept=true.signed([signer(9)]).encode())


def test_the_key_on_a_certificate_is_the_key_that_signs() -> None:
    [told] = [x for x in found(true_files(), key=fingerprint_of(2)) if x.code == "key"]
    assert told.holds and told.words.startswith("It is signed with the key that was given, ")
    assert (
        "This history is not signed with the key" in faults(true_files(), key=fingerprint_of(9))["key-other"]
    )


def test_a_history_rebuilt_from_the_ground_with_another_key_is_found_by_the_key_alone() -> None:
    """Entries, keys, checkpoints: all name the other key, and all fits."""
    log = Log(key=signer(9)).tell(*pictured(few_facts())).give()
    files = bundle(log, picture_files())
    assert faults(files) == {}
    assert faults(files, key=fingerprint(signer(1).public)).keys() == {"key-other"}


def test_an_older_key_counts_only_where_it_is_shown_that_it_handed_over() -> None:
    assert "no checkpoint that both signed is in the record" in faults(true_files(), key=fingerprint_of(1))[
        "key-not-handed-over"
    ]  # fmt: skip
    log = Log().tell(*pictured(few_facts())).give().turn_key(signer(2))
    log.kept[len(log.lines)] = log.note(signer(1), signer(2))
    files = bundle(log, picture_files())
    assert faults(files) == {}
    assert faults(files, key=fingerprint_of(1)) == {}
