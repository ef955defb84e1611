"""What waited on a phone while others went on: recorded as it was seen, and never more than that."""

from __future__ import annotations

import random
from datetime import UTC, datetime

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import defect_view, zone_view
from service.actions.installed import hold_points, penetrations, seams
from service.actions.installed import terminations as edges
from service.actions.marks import defects, looks, patches, repairs
from service.actions.sketches import zones
from service.domain.nouns.rules import STEPS
from service.domain.nouns.site import Defect, Zone
from service.domain.patches.repair import PatchFacts
from service.domain.words.refusals import MovedSince
from service.history.facts import facts as f
from service.history.facts.encoding import from_json, to_json
from service.history.facts.entries import Entry, FromPhone, read_entry
from service.history.replay.standing import digest_of
from service.storage.history import books
from tests.builders import (
    COLLAR,
    LAPPED,
    SLIT,
    SQUARE,
    a_mark,
    a_patch,
    a_pipe,
    a_release,
    a_repair,
    a_seam,
    a_walk,
    a_zone,
    an_edge,
    blockers_of,
    sides,
    state_of,
)  # fmt: skip
from tests.cast import Cast

SEALED = ("sealed", ())
LATE = ("not sealed", ("late",))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def head(desk: Desk, cast: Cast) -> int:
    with desk.reading() as session:
        return books.head(session, cast.project_id)


def from_phone(desk: Desk, known: int) -> Desk:
    """The desk of a request that waited since the history's head was `known`."""
    return desk.fresh(FromPhone(known, datetime(2020, 1, 1, tzinfo=UTC)))


def state(desk: Desk, cast: Cast, mark: Defect) -> tuple[str, tuple[str, ...]]:
    view, now = defect_view(desk, cast.lead.id, mark.id)
    return view.verdict(now).state, view.verdict(now).reasons


# --- patches and repairs ----------------------------------------------------------------------------------


def test_a_patch_that_waited_seals_where_nobody_opened_its_mark_meanwhile(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = a_mark(desk, cast, zone)
    known = head(desk, cast)
    a_mark(desk, cast, zone, (600, 600), by=cast.manager.id)  # another mark is another matter
    patch = patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, sides()).patch
    assert not patch.late
    assert state(desk, cast, mark) == SEALED


def test_a_patch_logged_before_others_withdrew_one_is_kept_and_does_not_seal(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = a_mark(desk, cast, zone)
    before = a_patch(desk, cast, mark)
    known = head(desk, cast)
    patches.withdraw_patch(desk, cast.manager.id, before.id, "It came off in the rain")
    late = patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, sides()).patch
    assert late.late and state(desk, cast, mark) == LATE
    looks.look_at_patch(desk, cast.manager.id, late.id, True)
    assert state(desk, cast, mark) == SEALED


def test_a_newer_patch_seals_what_a_late_one_does_not(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = a_mark(desk, cast, zone)
    before = a_patch(desk, cast, mark)
    known = head(desk, cast)
    looks.look_at_patch(desk, cast.inspector.id, before.id, False, "Lifting at the far side")
    patches.withdraw_patch(desk, cast.lead.id, before.id, "Taken up")
    looks_at = looks.look_at_patch
    late = patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, sides()).patch
    assert late.late and "late" in state(desk, cast, mark)[1]
    newer = patches.log_patch(from_phone(desk, head(desk, cast)), cast.lead.id, mark.id, sides()).patch
    assert not newer.late
    looks_at(desk, cast.inspector.id, newer.id, True)
    assert state(desk, cast, mark) == SEALED


def test_a_mark_reported_after_what_the_phone_knew_is_not_closed_by_a_patch_laid_over_both(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = a_mark(desk, cast, zone, (300, 300))
    known = head(desk, cast)
    other = a_mark(desk, cast, zone, (301, 300), by=cast.inspector.id)
    large = {"outline": {"shape": "rectangle", "length": "4 ft", "width": "4 ft"}, "also": [other.id]}
    given = {**sides(), **large}
    del given["sides"]
    late = patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, given).patch
    assert late.late
    assert state(desk, cast, other) == LATE


def test_a_mark_made_on_the_same_phone_is_no_news_to_its_patch(desk: Desk, cast: Cast, zone: Zone) -> None:
    known = head(desk, cast)
    phone = from_phone(desk, known)
    mark = defects.mark_defect(phone, cast.lead.id, zone.id, defects.read_mark("hole", (300, 300), SLIT))
    first = patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, sides()).patch
    patches.withdraw_patch(from_phone(desk, known), cast.lead.id, first.id, "Laid askew")
    second = patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, sides()).patch
    assert not second.late and state(desk, cast, mark) == SEALED


def test_what_the_same_person_opened_at_a_desk_meanwhile_counts(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = a_mark(desk, cast, zone)
    first = a_patch(desk, cast, mark)
    known = head(desk, cast)
    patches.withdraw_patch(desk, cast.lead.id, first.id, "Taken up for a pipe")
    assert patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, sides()).patch.late


def test_a_late_repair_waits_for_a_look_too(desk: Desk, cast: Cast, zone: Zone) -> None:
    mark = a_mark(desk, cast, zone, (400, 300), "short lap", SLIT)
    before = a_repair(desk, cast, mark)
    known = head(desk, cast)
    repairs.withdraw_repair(desk, cast.manager.id, mark.id, before.id, "Opened for the plumber")
    logged = repairs.log_repair(from_phone(desk, known), cast.lead.id, mark.id, LAPPED)
    assert logged.repair.late and state(desk, cast, mark)[0] == "not sealed"
    looks.look_at_repair(desk, cast.inspector.id, mark.id, logged.repair.id, True)
    assert state(desk, cast, mark) == SEALED


def test_a_report_that_waited_takes_ready_back_and_is_never_late(desk: Desk, cast: Cast, zone: Zone) -> None:
    known = head(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    assert state_of(desk, cast, zone) == "ready to place"
    read = defects.read_mark("hole", (300, 300), SLIT)
    defects.mark_defect(from_phone(desk, known), cast.lead.id, zone.id, read)
    assert blockers_of(desk, cast, zone) == ["defect-open"]
    assert state_of(desk, cast, zone) == "held"


def test_no_order_of_late_patches_makes_a_zone_clear_while_a_mark_was_opened_after_they_were_made(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    """Whatever others did, and whatever the phone knew: clear only if some patch was made knowing of it."""
    draw = random.Random(20261126)
    mark = a_mark(desk, cast, zone)
    a_walk(desk, cast, zone)
    opened = mark.seq
    standing: dict[str, int] = {}
    for _ in range(60):
        if draw.random() < 0.6 or not standing:
            known = draw.randint(0, head(desk, cast))
            laid = patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, sides()).patch
            standing[laid.id] = known
            assert laid.late == (known < opened)
            if laid.late:
                del standing[laid.id]
        else:
            gone = draw.choice(sorted(standing))
            del standing[gone]
            patches.withdraw_patch(desk, cast.manager.id, gone, "Opened")
            opened = head(desk, cast)
        assert (state_of(desk, cast, zone) == "clear") == bool(standing)


def test_a_patch_on_a_mark_withdrawn_meanwhile_is_told_who_withdrew_it(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = a_mark(desk, cast, zone)
    known = head(desk, cast)
    defects.withdraw_defect(desk, cast.manager.id, mark.id, "Marked twice")
    with pytest.raises(MovedSince) as refused:
        patches.log_patch(from_phone(desk, known), cast.lead.id, mark.id, sides())
    theirs = refused.value.theirs
    assert (theirs.by, theirs.seq) == (cast.manager.name, known + 1) and "Marked twice" in theirs.what
    assert head(desk, cast) == known + 1


# --- walks, signatures, seals -----------------------------------------------------------------------------


def test_a_walk_of_another_outline_or_scale_is_refused_with_what_changed(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    known = head(desk, cast)
    zones.change_zone(desk, cast.manager.id, zone.id, name="North bay, new", keep_place_at=True)
    zones.finish_walk(from_phone(desk, known), cast.lead.id, zone.id)  # a name is no outline
    ring = [(x + 10, y) for x, y in SQUARE]
    zones.change_zone(desk, cast.manager.id, zone.id, outline=ring, keep_place_at=True)
    told = head(desk, cast)
    with pytest.raises(MovedSince) as refused:
        zones.finish_walk(from_phone(desk, known), cast.lead.id, zone.id)
    theirs = refused.value.theirs
    assert (theirs.seq, theirs.by, theirs.href) == (told, cast.manager.name, f"/zones/{zone.id}")
    assert cast.manager.name in theirs.what and theirs.at.endswith("Z")
    assert head(desk, cast) == told
    assert state_of(desk, cast, zone) == "laying"
    zones.finish_walk(from_phone(desk, told), cast.lead.id, zone.id)
    assert state_of(desk, cast, zone) == "clear"


def test_a_signature_is_refused_where_what_it_is_about_changed_and_a_refusal_never_is(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    known = head(desk, cast)
    pipe = a_pipe(desk, cast, zone)
    a_mark(desk, cast, zone)
    ground, covered, laps, pipes = STEPS[:4]
    phone = from_phone(desk, known)
    for step in (ground, covered, laps):
        hold_points.sign_hold_point(phone, cast.inspector.id, zone.id, step, True)
    with pytest.raises(MovedSince) as refused:
        hold_points.sign_hold_point(phone, cast.inspector.id, zone.id, pipes, True)
    assert refused.value.theirs.href == f"/penetrations/{pipe.id}"
    hold_points.sign_hold_point(phone, cast.inspector.id, zone.id, pipes, False, "Collar loose")
    hold_points.sign_hold_point(from_phone(desk, head(desk, cast)), cast.inspector.id, zone.id, pipes, True)


def test_a_seal_or_a_walk_of_a_seam_does_not_go_over_what_others_recorded_after_it_was_made(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    pipe, edge, seam = a_pipe(desk, cast, zone), an_edge(desk, cast, zone), a_seam(desk, cast, zone)
    walk = {
        "stations": [{"at": f"{at} ft", "lap": "6 in"} for at in (0, 10, 20, 30, 40)],
        "taped": True, "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in",
    }  # fmt: skip
    known = head(desk, cast)
    penetrations.withdraw_seal(desk, cast.manager.id, pipe.id, "Cut open for a test")
    edges.unseal_edge(desk, cast.manager.id, edge.id, "Torn off")
    seams.walk_seam(desk, cast.manager.id, seam.id, {**walk, "bonded": False})
    phone, done = (
        from_phone(desk, known),
        {"sealed": True, "cleaned": True, "dry": True, "tape_width": "4 in"},
    )
    told = head(desk, cast)
    for act in (
        lambda on: penetrations.log_seal(on, cast.lead.id, pipe.id, COLLAR),
        lambda on: edges.seal_edge(on, cast.lead.id, edge.id, done),
        lambda on: seams.walk_seam(on, cast.lead.id, seam.id, walk),
    ):
        with pytest.raises(MovedSince):
            act(phone)
        assert head(desk, cast) == told
        act(from_phone(desk, told))
        told = head(desk, cast)


# --- evidence ---------------------------------------------------------------------------------------------


def test_an_entry_that_did_not_wait_has_the_bytes_it_always_had(desk: Desk, cast: Cast, zone: Zone) -> None:
    at = datetime(2026, 11, 26, tzinfo=UTC)
    fact = f.WalkFinished("z", "B", "")
    plain = Entry("p", 1, at, "x", "crew lead", fact)
    assert b"known" not in plain.content() and read_entry(plain.content()) == plain
    waited = Entry("p", 1, at, "x", "crew lead", fact, FromPhone(7, at))
    assert waited.content() == plain.content().replace(b'"by"', b'"by"').replace(
        b'"fact"', b'"device_at":"2026-11-26T00:00:00.000000Z","fact"'
    ).replace(b'"project"', b'"known":7,"project"')
    assert read_entry(waited.content()) == waited
    no_clock = Entry("p", 1, at, "x", "crew lead", fact, FromPhone(0))
    assert read_entry(no_clock.content()) == no_clock


def test_a_fact_written_before_there_were_late_ones_is_read_as_not_late(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    mark = a_mark(desk, cast, zone)
    a_patch(desk, cast, mark)
    with desk.reading() as session:
        logged = next(e.fact for e in books.entries(session, cast.project_id) if e.type == "patch-logged")
    old = {name: value for name, value in to_json(logged).items() if name != "late"}
    assert from_json(f.PatchLogged, old) == logged
    assert isinstance(logged, f.PatchLogged) and not logged.late


def test_what_a_release_names_has_no_field_for_it(desk: Desk, cast: Cast, zone: Zone) -> None:
    """The word stands where a look's does: digests of everything that is not late stay as they were."""
    assert "late" not in PatchFacts.__slots__
    mark = a_mark(desk, cast, zone)
    a_patch(desk, cast, mark)
    before = digest_of(zone_view(desk, cast.lead.id, zone.id).standing.facts)
    assert before.startswith("2:")
