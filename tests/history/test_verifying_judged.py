"""What a keeper who holds the true key may write: judgements, releases and times are worked out again."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from service.domain.nouns.rules import ready_made
from service.domain.shapes.sides import Sides
from service.history.facts import facts as f
from service.history.facts import installed as g
from service.history.facts.evidence import CheckpointGiven, RecordMade
from service.history.facts.placing import PlacingStarted
from service.history.verifying.records import CHECKPOINT, ENTRIES, NAMES
from tests.history import story
from tests.history.story import INCH, MANAGER
from tests.record.making import NOON, Files, Log, bundle, few_facts, name_hash, signer
from tests.record.spoiling import (
    FIRST_PHOTO,
    ZONE,
    begun,
    changed,
    digest,
    faults,
    lines_of,
    next_entry,
    picture_files,
    pictured,
    put,
    record_of,
    released,
    true_files,
    with_lines,
)


def marked() -> Log:
    """With one more mark, m0, that nothing is logged on."""
    return begun().tell(story.mark("m0", (300, 500), tag="B-100"))


def kept_by(log: Log) -> dict[str, str]:
    """The faults of the record of a log that its keeper wrote as they pleased."""
    return faults(record_of(log))


def test_a_wrong_overlap_is_told_with_entry_tag_and_both_answers() -> None:
    lie = story.patch("p9", "m0", (300, 300), tag="B-100", sides=Sides(*[5 * INCH] * 4))
    told = kept_by(marked().tell(lie))
    assert told["judged-otherwise"] == (
        "Entry 45 (B-100) tells an overlap of 6 in (152,400,000 nm) of 6 in (152,400,000 nm) asked, which is "
        "enough. Worked out again from the entries before it: an overlap of 5 in (127,000,000 nm) of 6 in "
        "(152,400,000 nm) asked, which is not enough."
    )


def test_a_patch_is_judged_together_with_those_that_stood_before_it_and_no_others() -> None:
    """The second meets only with the first; the first is withdrawn before the third."""
    sides = Sides(20 * INCH, 6 * INCH, 6 * INCH, 5 * INCH)
    left = story.patch("p8", "m0", (300, 300), tag="B-100", sides=sides,
                       overlap_nm=5 * INCH, meets=False)  # fmt: skip
    far = replace(left, patch="p9", sides=Sides(6 * INCH, 6 * INCH, 5 * INCH, 6 * INCH))
    log = marked().tell(left)
    told = kept_by(log.copy().tell(far))
    assert "an overlap of 6 in (152,400,000 nm)" in told["judged-otherwise"].split("Worked out again")[1]
    right = replace(far, overlap_nm=6 * INCH, meets=True)
    assert "judged-otherwise" not in kept_by(log.copy().tell(right))
    gone = f.PatchWithdrawn("p8", "m0", ZONE, "B-100", "lifted")
    assert "judged-otherwise" not in kept_by(log.copy().tell(gone, far))
    assert "judged-otherwise" in kept_by(log.copy().tell(gone, right))


@pytest.mark.parametrize(
    ("fact", "words"),
    [
        (
            replace(story.repair("q9", "02"), meets=False),
            "tells a repair that does not mend it. Worked out again",
        ),
        (
            story.seal("c9", "1", fingers=False),
            "tells no fault. Worked out again from the entries before it: its fi",
        ),
        (
            story.edge_seal("es9", "1", sealed=False),
            "Worked out again from the entries before it: it is not sealed",
        ),
        (
            story.seam_walk("w9", "1", lap_nm=5 * INCH),
            "tells 0 of 1 run with a short lap marked. Worked out again",
        ),
        (
            f.RuleSheetChanged(replace(ready_made("us"), second_look=False), ("lap",)),
            "a change of lap. Worked out",
        ),
        (g.NumbersRaised(ZONE, "B", (), ("lap",)), "a change of lap. Worked out again"),
    ],
    ids=["repair", "seal", "edge", "walk", "sheet", "zone's numbers"],
)
def test_every_other_judgement_is_worked_out_again_too(fact: object, words: str) -> None:
    told = kept_by(begun().tell(fact))  # type: ignore[arg-type]
    assert words in told["judged-otherwise"]


def test_a_release_of_other_facts_than_stand_is_told() -> None:
    log = begun()
    told = kept_by(released(log, digest="2:" + "0" * 64))
    assert f"tells the facts 2:{'0' * 64}. Worked out again from the entries before it: the facts 2:" in told[
        "release-otherwise"
    ]  # fmt: skip


def test_a_release_against_the_gate_is_told_with_what_stood_against_it() -> None:
    log = begun().tell(f.ZoneHeld("h9", ZONE, "B", "frost", "rime"))
    told = kept_by(released(log))["release-otherwise"]
    assert "(zone B) tells a release with nothing against it." in told
    assert "Zone B is on hold: frost" in told


def test_a_release_that_lists_less_than_was_withdrawn_or_left_unasked_is_told() -> None:
    log = marked().tell(f.DefectWithdrawn("m0", ZONE, "B-100", "a shadow"))
    told = kept_by(released(log, withdrawn=(), not_asked_for=("film",)))["release-otherwise"]
    assert (
        "tells withdrawn: nothing. Worked out again from the entries before it: withdrawn: B-100: a shadow."
        in told
    )
    assert (
        "tells not asked for: film. Worked out again from the entries before it: not asked for: nothing."
        in told
    )


def test_a_release_under_an_older_gate_than_the_program_had_is_told() -> None:
    told = kept_by(released(begun(), version=1))["release-otherwise"]
    assert "a history in which a program with a newer gate had written already" in told
    told = kept_by(released(begun(), version=3))["release-otherwise"]
    assert "a version this program does not know" in told


def test_a_placing_told_as_ready_that_was_not_is_told() -> None:
    log = begun().tell(f.ZonePlaced(ZONE, "B", NOON, "", False, ()), by="max", role=MANAGER[1])
    told = kept_by(log)["placing-otherwise"]
    assert (
        "tells placed while ready. Worked out again from the entries before it: placed without release:"
        in told
    )


def started(log: Log, **changes: object) -> Log:
    """Placing begun now under release r1, or otherwise as told."""
    fact = PlacingStarted(ZONE, "B", "r1", NOON + timedelta(seconds=len(log.entries)))
    return log.tell(replace(fact, **changes))  # type: ignore[arg-type]


def test_a_true_placing_with_damage_found_and_left_holds() -> None:
    log = started(released(begun())).tell(story.mark("m0", (300, 500), tag="B-100"))
    left = f.ZonePlaced(ZONE, "B", NOON + timedelta(hours=1), "", False, ("B-100 is open: hole",))
    assert kept_by(log.tell(left, by="max", role=MANAGER[1])) == {}


def test_damage_that_a_placing_covered_and_did_not_tell_is_told() -> None:
    log = started(released(begun())).tell(story.mark("m0", (300, 500), tag="B-100"))
    silent = f.ZonePlaced(ZONE, "B", NOON, "", False, ())
    told = kept_by(log.copy().tell(silent, by="max", role=MANAGER[1]))["placing-otherwise"]
    assert told.endswith("placed while ready, found during placing and not mended: B-100 is open: hole.")
    anyway = f.ZonePlaced(ZONE, "B", NOON, "", True, ("B-100 is open: hole",))
    assert "placing-otherwise" in kept_by(log.tell(anyway, by="max", role=MANAGER[1]))


def test_a_placing_begun_where_the_zone_was_not_ready_is_told() -> None:
    held = released(begun()).tell(story.mark("m0", (300, 500), tag="B-100"))
    told = kept_by(started(held))["placing-otherwise"]
    assert (
        "tells placing begun under the release r1. Worked out again from the entries before it: held." in told
    )
    assert "placing-otherwise" in kept_by(started(started(released(begun())))), "it goes on already"
    assert "placing-otherwise" in kept_by(started(released(begun()), release="r0")), "another release"


def test_a_placing_begun_before_its_release_or_after_it_was_told_is_told() -> None:
    told = kept_by(started(released(begun()), started_at=NOON))["placing-otherwise"]
    assert "tells placing begun" in told and "a release made" in told
    late = started(released(begun()), started_at=NOON + timedelta(days=1))
    assert "placing-otherwise" in kept_by(late)


def test_an_entry_about_what_never_was_does_not_follow() -> None:
    told = kept_by_entries(put(begun(), next_entry(begun(), f.DefectWithdrawn("x", ZONE, "B-09", "gone"))))
    assert "Entry 44 does not follow from the entries before it (KeyError)" in told["cannot-follow"]


def kept_by_entries(log: Log) -> dict[str, str]:
    """Faults of a record without tables: of a history that cannot be replayed there are none."""
    return faults(bundle(log, picture_files()))


def test_a_history_whose_time_runs_back_or_that_takes_in_another_project_s_entry_is_told() -> None:
    log = begun()
    early = next_entry(log, f.WalkFinished(ZONE, "B", ""), at=NOON - timedelta(days=1))
    assert "time-order" in kept_by_entries(put(log, early))
    log = begun()
    foreign = next_entry(log, f.WalkFinished(ZONE, "B", ""), project="elsewhere")
    assert "other-project" in kept_by_entries(put(log, foreign))


def test_a_key_changed_without_an_entry_is_told() -> None:
    log = begun()
    log.key = signer(5)
    told = faults(bundle(log.tell(CheckpointGiven("download", signer(5).public_text)), picture_files()))
    assert told["key-changed-unsaid"].startswith("Entry 44 says that the key ")
    assert told["key-changed-unsaid"].endswith("did, and no entry tells of a change.")


def test_a_name_that_the_history_tells_no_hash_of_is_told_and_one_quoted_for_spreadsheets_opens() -> None:
    told = f.PersonJoined("eve", "crew lead", name_hash("=HYPERLINK"))
    files = bundle(Log().tell(*pictured(few_facts()), told), picture_files())
    assert faults(changed(NAMES, b"eve,eve,", b"eve,'=HYPERLINK,")(files)).keys() == {"file-changed"}


def test_pictures_lost_before_the_record_was_made_are_told_so() -> None:
    files = bundle(Log().tell(*pictured(few_facts())))
    told = faults(files)
    assert told.keys() == {"file-lost"}
    assert "was missing already when the record was made, as the record says itself." in told["file-lost"]
    silent = bundle(Log().tell(*pictured(few_facts())), missing=())
    assert "and the record does not hold it." in faults(silent)["file-lost"]


def test_a_picture_under_another_s_name_is_told_though_the_manifest_lists_it_so() -> None:
    files = bundle(begun(), picture_files() | {FIRST_PHOTO: b"another"})
    told = faults(files)["photo-replaced"]
    assert told == f"{FIRST_PHOTO} is another picture than its name says, and the manifest lists it so."
    said = bundle(begun(), picture_files() | {FIRST_PHOTO: b"another"}, damaged=[FIRST_PHOTO])
    assert faults(said) == {
        "file-lost": f"{FIRST_PHOTO} was damaged already when the record was made, as the record says itself."
    }


def test_a_checkpoint_that_left_and_that_no_entry_tells_of_is_told() -> None:
    log = begun().tell(f.WalkFinished(ZONE, "B", ""))
    log.kept[len(log.lines)] = log.note()
    told = faults(bundle(log, picture_files()))["earlier-unsaid"]
    assert told == "checkpoints/44 is here, and no entry says that a checkpoint left then."


def test_a_key_that_is_none_is_told() -> None:
    log = begun().tell(CheckpointGiven("download", "AAAA"))
    assert faults(without_keys(log))["key-unreadable"] == "Entry 44 names a key that is none."


def without_keys(log: Log) -> Files:
    """The builder reads every key that entries name: one that is none is put in after it."""
    good = begun()
    files = bundle(good.give(), picture_files())
    put(log, next_entry(log, good.entries[-1].fact))
    return {**files, ENTRIES: b"".join(x + b"\n" for x in log.lines), CHECKPOINT: log.note().encode()}


def test_a_record_that_no_entry_tells_of_is_none() -> None:
    files = true_files()
    cut = with_lines(files, lambda of: of.__delitem__(slice(47, None)))
    assert "The last entry does not say that a record was made." in faults(cut)["record-not-logged"]


def test_a_manifest_of_another_moment_than_its_entry_says_is_told() -> None:
    log = begun()
    files = bundle(log, picture_files())
    up_to = log.entries[-1].fact
    assert isinstance(up_to, RecordMade)
    other_log = begun()
    fact = replace(up_to, up_to=12)
    put(other_log, next_entry(other_log, fact))
    files = {
        **files,
        ENTRIES: b"".join(x + b"\n" for x in other_log.lines),
        CHECKPOINT: other_log.note().encode(),
    }
    assert (
        "tells the site after entry 43, and entry 44 says after entry 12."
        in faults(files)["manifest-not-logged"]
    )


def test_the_digest_of_a_release_is_the_one_that_the_gate_gives() -> None:
    """Control of the builder: the true record's release names the facts as `standing_of` has them."""
    entry = json.loads(lines_of(true_files())[43])
    assert (entry["type"], entry["fact"]["digest"]) == ("zone-released", digest(begun()))
