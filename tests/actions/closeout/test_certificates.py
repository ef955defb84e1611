"""A release's certificate: told as it stood, proven by the signed tree, and what came since stands on it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.actions.closeout.certificates import (
    Certified,
    History,
    certificate,
    certificates_of,
    zone_certificates,
)
from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.marks import looks, patches
from service.actions.office import numbers, release
from service.actions.sketches import zones
from service.domain.nouns.site import Release, Zone
from service.domain.words.refusals import NotFound
from service.history.certificate.proof import code_text, proof_words
from service.history.certificate.told import FELL_AWAY, PLACED_UNDER, PULLED_BACK, STANDS
from service.history.certificate.words import words_of
from service.history.facts.encoding import time_text
from service.history.proofs.checkpoints import checkpoint_in, fingerprint, key_of, public_key
from service.history.proofs.notes import read_note, signed_by
from service.history.proofs.tlog_proof import read_proof
from service.storage.history import books, trees
from service.storage.history.seen import names_in
from tests import builders
from tests.cast import Cast, Clock


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    """Zone B, walked, with one patched tear: released by nobody yet."""
    zone = builders.a_zone(desk, cast)
    builders.a_patch(desk, cast, builders.a_mark(desk, cast, zone))
    builders.a_walk(desk, cast, zone)
    return zone


def released(desk: Desk, cast: Cast, zone: Zone) -> Release:
    """The zone's newest release, made now."""
    builders.a_release(desk, cast, zone)
    return builders.newest_release(desk, cast, zone)


def of(desk: Desk, cast: Cast, made: Release) -> Certified:
    return certificate(desk, cast.inspector.id, made.id).found


def column(rows: tuple[tuple[str, ...], ...]) -> dict[str, str]:
    """The second column by the first."""
    return {row[0]: row[1] for row in rows}


def history(desk: Desk, cast: Cast) -> History:
    with desk.reading() as session:
        rows = books.contents(session, cast.project_id)
        kept = trees.kept(session, cast.project_id)
        names = names_in(session, cast.project_id)
    return History([content for content, _ in rows], [leaf for _, leaf in rows], names, kept)


def test_it_tells_the_zone_as_it_stood_at_the_release_whatever_came_since(
    desk: Desk, cast: Cast, zone: Zone, clock: Clock
) -> None:
    made = released(desk, cast, zone)
    then = of(desk, cast, made)
    clock.go_on(hours=3)
    builders.a_mark(desk, cast, zone, (600, 600))
    numbers.raise_numbers(
        desk, cast.manager.id, zone.id, {"patch_overlap": {"value": "12 in", "source": "S-101"}}
    )
    zones.change_zone(desk, cast.manager.id, zone.id, name="South bay")
    now = of(desk, cast, made)
    assert replace(now.told, since=then.told.since) == then.told
    assert now.drawing == then.drawing
    assert [mark.tag for mark in now.told.zone.marks] == ["B-01"]
    assert now.told.zone.name == "North bay"
    assert ("Patch overlap", "6 in") in [(said.term, said.words) for said in now.told.numbers]


def test_it_tells_the_numbers_as_they_held_in_the_zone(desk: Desk, cast: Cast, zone: Zone) -> None:
    raised = {"patch_overlap": {"value": "6 1/8 in", "source": "S-101"}}
    numbers.raise_numbers(desk, cast.manager.id, zone.id, raised)
    builders.a_patch(desk, cast, builders.a_mark(desk, cast, zone, (600, 600)), builders.sides(*["7 in"] * 4))
    [first] = [mark for mark in zone_view(desk, cast.lead.id, zone.id).defects() if mark.tag == "B-01"]
    builders.a_patch(desk, cast, first, builders.sides(*["8 in"] * 4))
    told = of(desk, cast, released(desk, cast, zone)).told
    [number] = [said for said in told.numbers if said.term == "Patch overlap"]
    assert (number.words, number.source) == ("6 1/8 in", "S-101")
    asked = [(row[0], row[3], row[4]) for row in words_of(told, time_text).marks]
    assert asked == [("B-01", "6 in", "6 in"), ("B-01", "8 in", "6 1/8 in"), ("B-02", "7 in", "6 1/8 in")]


def test_every_repair_is_told_with_its_overlap_and_the_minimum_asked_then(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mended = builders.a_mark(desk, cast, zone, (700, 300), "short lap", builders.SLIT)
    builders.a_repair(desk, cast, mended)
    words = words_of(of(desk, cast, released(desk, cast, zone)).told, time_text)
    assert [(row[0], row[3], row[4]) for row in words.marks] == [
        ("B-01", "6 in", "6 in"),
        ("B-02", "lap 6 in", "lap 6 in"),
    ]
    assert words.marks[0][1] == "tear, 4 by 2 in: sealed, overlap 6 in"
    assert "4 in tape" in words.marks[0][2] and "Lou Lead" in words.marks[0][2]


def test_what_the_gate_did_not_ask_for_is_said(desk: Desk, cast: Cast, zone: Zone) -> None:
    told = of(desk, cast, released(desk, cast, zone)).told
    assert told.not_asked == ("penetrations", "seams", "terminations", "hold points", "film")
    words = words_of(told, time_text)
    assert "does not speak of it" in words.not_asked
    assert column(words.installed)["Penetrations"] == "none logged; the gate did not ask"


def test_its_entry_is_in_the_tree_that_the_key_signed_in_the_same_transaction(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    made = released(desk, cast, zone)
    told = of(desk, cast, made).told
    proven = told.proof
    assert proven is not None and proven.with_release
    read = read_proof(proven.proof.text)
    assert (read.seq, read.extra.decode()) == (made.seq, told.entry)
    assert read.check(bytes.fromhex(told.leaf)) == checkpoint_in(read.note) == proven.checkpoint
    assert proven.checkpoint.size == made.seq + 1
    assert signed_by(read_note(read.note), [key_of(cast.project_id, proven.key)])
    with desk.writing() as session:
        assert proven.key == public_key(books.signing_key(session))


def test_the_code_holds_the_fingerprint_and_the_root_in_plain_lines(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    told = of(desk, cast, released(desk, cast, zone)).told
    assert told.proof is not None
    lines = code_text(told).splitlines()
    assert lines[0] == "laptight release 1"
    found = dict(line.split(" ", 1) for line in lines[1:])
    assert found == {
        "log": f"laptight/{cast.project_id}",
        "entry": str(told.seq),
        "leaf": told.leaf,
        "size": str(told.seq + 1),
        "root": told.proof.proof.note.splitlines()[2],
        "key": fingerprint(told.proof.key),
    }


def test_a_pull_back_stands_on_it_for_ever(desk: Desk, cast: Cast, zone: Zone, clock: Clock) -> None:
    made = released(desk, cast, zone)
    assert of(desk, cast, made).told.since.word == STANDS
    clock.go_on(minutes=30)
    release.pull_back(desk, cast.manager.id, zone.id, "Rain in the night")
    builders.a_walk(desk, cast, zone)
    later = released(desk, cast, zone)
    since = of(desk, cast, made).told.since
    assert since.word == PULLED_BACK and since.pulled_back is not None
    assert (since.pulled_back.act.who, since.pulled_back.why) == ("Max Manager", "Rain in the night")
    assert since.later is not None and since.later.seq == later.seq
    struck = words_of(of(desk, cast, made).told, time_text).struck
    assert struck is not None and struck.word == "PULLED BACK"
    assert "Max Manager, project manager" in struck.lines[0] and "Rain in the night" in struck.lines[0]
    assert of(desk, cast, later).told.since.word == STANDS


def test_a_fall_names_the_first_entry_that_moved_the_facts(desk: Desk, cast: Cast, zone: Zone) -> None:
    made = released(desk, cast, zone)
    zones.change_zone(desk, cast.manager.id, zone.id, name="South bay")  # a name is no fact of the gate's
    assert of(desk, cast, made).told.since.word == STANDS
    mark = builders.a_mark(desk, cast, zone, (600, 600))
    builders.a_mark(desk, cast, zone, (650, 600))
    since = of(desk, cast, made).told.since
    assert since.word == FELL_AWAY and since.fell is not None
    assert (since.fell.seq, since.fell.words) == (mark.seq, "Lou Lead marked B-02: tear, 4 by 2 in.")


def test_a_neighbours_mark_that_reaches_in_is_told_and_takes_its_force(desk: Desk, cast: Cast) -> None:
    sketch = builders.a_sketch(desk, cast)
    zone = builders.a_zone(desk, cast, sketch)
    beside = builders.a_zone(desk, cast, sketch, "C", builders.NEXT_DOOR)
    builders.a_patch(desk, cast, builders.a_mark(desk, cast, beside, (900, 300)))
    builders.a_walk(desk, cast, zone)
    made = released(desk, cast, zone)
    told = of(desk, cast, made).told
    assert [mark.tag for mark in told.reaching_in] == ["C-01"] and not told.zone.marks
    assert [row[0] for row in words_of(told, time_text).marks] == ["C-01"]
    builders.a_mark(desk, cast, beside, (1200, 300))
    assert of(desk, cast, made).told.since.word == STANDS
    reaching = builders.a_mark(desk, cast, beside, (900, 500))
    since = of(desk, cast, made).told.since
    assert since.fell is not None and since.fell.seq == reaching.seq


def test_a_second_look_that_refuses_takes_its_force(desk: Desk, cast: Cast, zone: Zone) -> None:
    made = released(desk, cast, zone)
    [patch] = zone_view(desk, cast.manager.id, zone.id).site.patches
    looks.look_at_patch(desk, cast.inspector.id, patch, accepted=False, note="Edge lifts")
    since = of(desk, cast, made).told.since
    assert since.word == FELL_AWAY and since.fell is not None and "Edge lifts" in since.fell.words


def test_concrete_placed_under_it_is_told_and_is_no_fall(desk: Desk, cast: Cast, zone: Zone) -> None:
    made = released(desk, cast, zone)
    release.mark_placed(desk, cast.manager.id, zone.id, volume="60 cu yd")
    builders.a_mark(desk, cast, zone, (600, 600))
    told = of(desk, cast, made).told
    assert told.since.word == PLACED_UNDER and told.since.fell is None
    assert "60 cu yd, under this release" in column(words_of(told, time_text).signed)["Placed"]


def test_concrete_placed_after_it_had_fallen_is_not_told_as_placed_under_it(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    made = released(desk, cast, zone)
    builders.a_mark(desk, cast, zone, (600, 600))
    release.mark_placed(desk, cast.manager.id, zone.id)
    told = of(desk, cast, made).told
    assert told.since.word == FELL_AWAY and not told.since.under
    assert "after this release had lost its force" in column(words_of(told, time_text).signed)["Placed"]


def test_a_zone_taken_off_the_sketch_takes_its_force(desk: Desk, cast: Cast, zone: Zone) -> None:
    made = released(desk, cast, zone)
    zones.withdraw_zone(desk, cast.manager.id, zone.id, "Drawn twice")
    since = of(desk, cast, made).told.since
    assert since.word == FELL_AWAY and since.fell is not None and "Drawn twice" in since.fell.words


def test_a_record_tells_every_certificate_from_its_entries_alone(desk: Desk, cast: Cast, zone: Zone) -> None:
    first = released(desk, cast, zone)
    release.pull_back(desk, cast.manager.id, zone.id, "Rain")
    second = released(desk, cast, zone)
    told = certificates_of(history(desk, cast))
    assert told == [of(desk, cast, first), of(desk, cast, second)]
    assert [one.told.release for one in zone_certificates(desk, cast.lead.id, zone.id)[1]] == [
        second.id,
        first.id,
    ]
    assert told[0].told.name == f"B-{first.seq}"


def test_before_histories_were_signed_no_checkpoint_was_given(desk: Desk, cast: Cast, zone: Zone) -> None:
    """As an old database is: entries and leaves are there, and no checkpoint left with the release."""
    made = released(desk, cast, zone)
    zones.change_zone(desk, cast.manager.id, zone.id, name="South bay")
    size = signing.keep_checkpoint(desk, cast.inspector.id, cast.project_id)
    as_now = history(desk, cast)
    [never] = certificates_of(replace(as_now, kept=[]))
    assert never.told.proof is None
    words = proof_words(never.told)
    assert words.lead.startswith("No checkpoint was given at this release") and not words.steps
    assert "root" not in code_text(never.told) and never.pdf()
    [late] = certificates_of(replace(as_now, kept=[row for row in as_now.kept if row[0] > made.seq + 1]))
    assert late.told.proof is not None and not late.told.proof.with_release
    assert late.told.proof.checkpoint.size == size
    assert "earliest that left afterwards" in proof_words(late.told).lead


def test_an_erased_name_is_told_as_nobodys(desk: Desk, cast: Cast, zone: Zone) -> None:
    released(desk, cast, zone)
    as_now = history(desk, cast)
    names = {person: name for person, name in as_now.names.items() if person != cast.manager.id}
    [told] = certificates_of(replace(as_now, names=names))
    assert told.told.act.who == "A person no longer named"
    assert "Max" not in words_of(told.told, time_text).signed[0][1]


def test_nobody_else_may_see_it(desk: Desk, cast: Cast, zone: Zone) -> None:
    made = released(desk, cast, zone)
    for stranger in (cast.outsider, cast.other_manager):
        with pytest.raises(NotFound):
            certificate(desk, stranger.id, made.id)
        with pytest.raises(NotFound):
            zone_certificates(desk, stranger.id, zone.id)
    with pytest.raises(NotFound):
        certificate(desk, cast.manager.id, "no such release")


def test_what_was_withdrawn_before_it_is_listed(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = builders.a_mark(desk, cast, zone, (600, 600))
    patch = builders.a_patch(desk, cast, mark)
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "On the wrong mark")
    builders.a_patch(desk, cast, mark)
    told = of(desk, cast, released(desk, cast, zone)).told
    assert told.withdrawn == ("patch on B-02: On the wrong mark",)
