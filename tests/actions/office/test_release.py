"""A release names exact facts, and loses its force by itself when they move."""

from __future__ import annotations

from datetime import timedelta

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.moved import moved_since
from service.actions.frame.reading import zone_view
from service.actions.marks import defects, patches
from service.actions.office import projects, release
from service.actions.sketches import sketches, zones
from service.domain.gate.told import MOST_ON_A_MARK
from service.domain.words.refusals import BadInput, Conflict, FactsMoved, NotAllowed, NotFound, ZoneHeld
from service.storage.history import books
from tests.builders import (
    NEXT_DOOR,
    SQUARE,
    a_mark,
    a_patch,
    a_release,
    a_sketch,
    a_walk,
    a_zone,
    blockers_of,
    sides,
    state_of,
)
from tests.cast import Cast


def digest(desk: Desk, cast: Cast, zone_id: str) -> str:
    return zone_view(desk, cast.manager.id, zone_id).standing.digest


def test_a_zone_goes_from_laying_to_ready_and_back_on_hold(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    assert state_of(desk, cast, zone) == "laying"
    mark = a_mark(desk, cast, zone)
    a_walk(desk, cast, zone)
    assert state_of(desk, cast, zone) == "held"
    a_patch(desk, cast, mark)
    assert state_of(desk, cast, zone) == "clear"
    a_release(desk, cast, zone)
    assert state_of(desk, cast, zone) == "ready to place"
    a_mark(desk, cast, zone, at=(500, 500))
    assert state_of(desk, cast, zone) == "held"


# Zero-width space, word joiner, soft hyphen, a lone accent, a Hangul filler, an empty Braille cell: Cf and
# Mn in UnicodeData.txt, and two (Lo, So) that are blank all the same.
@pytest.mark.parametrize("unseen", ["\u200b", "\u2060 \u00ad", "\u0301", "\u3164", "\u2800\u2800"])
def test_words_that_nobody_can_see_are_no_statement_and_no_reason(
    desk: Desk, cast: Cast, unseen: str
) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    seen = digest(desk, cast, zone.id)
    with pytest.raises(BadInput) as refused:
        release.release_zone(desk, cast.manager.id, zone.id, seen, unseen)
    assert "statement" in refused.value.fields
    release.release_zone(desk, cast.manager.id, zone.id, seen, f"{unseen}Vu{unseen}")
    with pytest.raises(BadInput) as refused:
        release.pull_back(desk, cast.manager.id, zone.id, unseen)
    assert "reason" in refused.value.fields
    assert state_of(desk, cast, zone) == "ready to place"


def test_confirming_evidence_leaves_a_release_standing(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    a_walk(desk, cast, zone)
    zones.change_zone(desk, cast.manager.id, zone.id, name="North bay, east half")
    assert state_of(desk, cast, zone) == "ready to place"


def test_each_change_of_the_facts_takes_the_release_away(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    patch = a_patch(desk, cast, mark)
    a_walk(desk, cast, zone)

    def hold() -> None:
        zones.hold_zone(desk, cast.inspector.id, zone.id, "storm", "hail")

    def lift() -> None:
        hold_id = next(iter(zone_view(desk, cast.lead.id, zone.id).standing.facts.holds)).id
        zones.lift_hold(desk, cast.lead.id, hold_id, "walked it again")

    a_release(desk, cast, zone)
    hold()
    assert state_of(desk, cast, zone) == "held"
    lift()
    assert state_of(desk, cast, zone) == "clear", "a release that fell never rises by itself"

    a_release(desk, cast, zone)
    projects.change_rule_sheet(desk, cast.manager.id, cast.project_id, {"patch_overlap": "12 in"})
    assert state_of(desk, cast, zone) == "held"
    projects.change_rule_sheet(desk, cast.manager.id, cast.project_id, {"patch_overlap": "6 in"})
    assert state_of(desk, cast, zone) == "clear", "not even when the old number comes back"

    a_release(desk, cast, zone)
    stray = a_mark(desk, cast, zone, at=(500, 500))
    defects.withdraw_defect(desk, cast.lead.id, stray.id, "a shadow")
    assert state_of(desk, cast, zone) == "clear"

    a_release(desk, cast, zone)
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "came off")
    assert state_of(desk, cast, zone) == "held"
    a_patch(desk, cast, mark)
    assert state_of(desk, cast, zone) == "clear", "another patch is another fact: a new release is needed"


def test_a_new_outline_or_scale_voids_the_walk(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    wider = [*SQUARE[:2], (950, 700), (100, 700)]
    zones.change_zone(desk, cast.manager.id, zone.id, outline=wider)
    assert state_of(desk, cast, zone) == "laying"
    zones.change_zone(desk, cast.manager.id, zone.id, outline=SQUARE)
    a_walk(desk, cast, zone)
    assert state_of(desk, cast, zone) == "clear", "the old outline drawn again is not the old release"
    sketches.set_scale(desk, cast.manager.id, zone.sketch_id, (0, 0), (1000, 0), "101 ft")
    assert state_of(desk, cast, zone) == "laying"


def test_facts_that_moved_are_answered_before_a_held_zone(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    seen = digest(desk, cast, zone.id)
    a_mark(desk, cast, zone)
    with pytest.raises(FactsMoved):
        release.release_zone(desk, cast.manager.id, zone.id, seen, "seen")
    with pytest.raises(ZoneHeld) as held:
        release.release_zone(desk, cast.manager.id, zone.id, digest(desk, cast, zone.id), "seen")
    assert len(held.value.blockers) == 1


@pytest.mark.parametrize("role", ["crew lead", "inspector"])
def test_only_a_project_manager_releases_or_pulls_back(desk: Desk, cast: Cast, role: str) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    person = cast.roles[role].id
    with pytest.raises(NotAllowed):
        release.release_zone(desk, person, zone.id, digest(desk, cast, zone.id), "seen")
    a_release(desk, cast, zone)
    with pytest.raises(NotAllowed):
        release.pull_back(desk, person, zone.id, "no")
    assert state_of(desk, cast, zone) == "ready to place"


def test_somebody_from_another_project_sees_nothing(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    with pytest.raises(NotFound):
        release.release_zone(desk, cast.other_manager.id, zone.id, digest(desk, cast, zone.id), "seen")


def test_a_mark_on_the_joint_holds_both_zones(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    west, east = a_zone(desk, cast, sketch, "B", SQUARE), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    for zone in (west, east):
        a_walk(desk, cast, zone)
        a_release(desk, cast, zone)
    # 4 in is 3.3 px: a centre 1 px west of the joint at x = 900 reaches across it.
    mark = a_mark(desk, cast, west, at=(899, 300))
    assert (state_of(desk, cast, west), state_of(desk, cast, east)) == ("held", "held")
    a_patch(desk, cast, mark)
    assert (state_of(desk, cast, west), state_of(desk, cast, east)) == ("clear", "clear")


def test_a_mark_well_inside_holds_its_own_zone_only(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    west, east = a_zone(desk, cast, sketch, "B", SQUARE), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_walk(desk, cast, east)
    a_mark(desk, cast, west, at=(890, 300))
    assert blockers_of(desk, cast, east) == []


def test_what_moved_since_the_release_is_told(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    release_seq = next(iter(zone_view(desk, cast.manager.id, zone.id).site.releases.values())).seq
    a_walk(desk, cast, zone)
    a_mark(desk, cast, zone)
    projects.change_rule_sheet(desk, cast.manager.id, cast.project_id, {"cut_allowance": "2 in"})
    moved = [entry.type for entry in moved_since(desk, cast.manager.id, zone.id, release_seq)]
    assert moved == ["defect-marked"], "a walk and an allowance confirm or do not matter; the mark moved it"


def test_placing_a_ready_zone_is_final(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    placed = release.mark_placed(desk, cast.manager.id, zone.id, volume="60 cu yd")
    assert placed.placement is not None and not placed.placement.without_release
    late = a_mark(desk, cast, zone)
    assert late.after_placing
    assert state_of(desk, cast, zone) == "placed"
    with pytest.raises(Conflict):
        release.pull_back(desk, cast.manager.id, zone.id, "too late")


def test_a_held_zone_concreted_anyway_keeps_its_blockers_for_ever(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    with pytest.raises(Conflict):
        release.mark_placed(desk, cast.manager.id, zone.id, sure=False)
    release.mark_placed(desk, cast.manager.id, zone.id)
    a_patch(desk, cast, mark)
    placement = zone_view(desk, cast.manager.id, zone.id).zone.placement
    assert placement is not None and placement.without_release
    assert placement.blockers == ("Zone B has no finished punch walk", "B-01 is open: tear")
    assert state_of(desk, cast, zone) == "placed without release"


def test_a_zone_is_not_placed_in_the_future(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    with pytest.raises(BadInput):
        release.mark_placed(desk, cast.manager.id, zone.id, desk.clock() + timedelta(hours=1))


def test_every_withdrawal_is_listed_at_the_release(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    defects.withdraw_defect(desk, cast.lead.id, mark.id, "a fold, not a tear")
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    with desk.reading() as session:
        released, given = books.entries(session, cast.project_id)[-2:]
    assert (released.type, given.type) == ("zone-released", "checkpoint-given")
    assert getattr(released.fact, "withdrawn", None) == ("B-01: a fold, not a tear",)


def test_a_patch_sealed_to_a_wall_no_longer_holds_when_the_wall_goes(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    # 3 px is 3.6 in: the wall stands that far west of the hole's centre.
    wall = zones.draw_wall(desk, cast.lead.id, zone.id, (297, 250), (297, 350))
    mark = a_mark(desk, cast, zone, kind="hole", outline={"shape": "circle", "diameter": "1 in"})
    a_patch(desk, cast, mark, sides(left="wall"))
    a_walk(desk, cast, zone)
    assert blockers_of(desk, cast, zone) == []
    zones.withdraw_wall(desk, cast.manager.id, wall.id, "drawn in the wrong bay")
    assert blockers_of(desk, cast, zone) == ["defect-not-sealed"]


def test_a_side_is_sealed_to_a_wall_only_where_one_is_drawn(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    with pytest.raises(BadInput) as refused:
        a_patch(desk, cast, mark, sides(left="wall"))
    assert refused.value.code == "no-wall-there"


def test_the_gate_of_a_zone_taken_off_the_sketch_refuses_what_comes_late(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    zones.withdraw_zone(desk, cast.manager.id, zone.id, "merged into C")
    for late in (
        lambda: a_mark(desk, cast, zone),
        lambda: a_patch(desk, cast, mark),
        lambda: a_walk(desk, cast, zone),
    ):
        with pytest.raises(Conflict) as refused:
            late()
        assert refused.value.code == "zone-withdrawn"


def test_a_mark_never_takes_more_pieces_than_can_be_judged_together(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    for _ in range(MOST_ON_A_MARK):
        a_patch(desk, cast, mark)
    with pytest.raises(BadInput) as refused:
        a_patch(desk, cast, mark)
    assert refused.value.code == "too-many-points"
