"""Seams drawn, walked, and what a walk marks."""

from __future__ import annotations

from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.installed import seams
from service.actions.marks import defects, repairs
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, Conflict
from tests.builders import a_mark, a_patch, a_zone, blockers_of
from tests.cast import Cast, assemble

# The zone is 80 by 60 ft, its corner at (100, 100), 10 px to the foot: a seam of 40 ft across it.
PATH = [[200, 300], [600, 300]]
WORK = {"taped": True, "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in"}


@pytest.fixture
def cast(desk: Desk) -> Cast:
    return assemble(desk, demands=("seams",))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def walked(*laps: str, **more: Any) -> dict[str, Any]:
    """Readings 10 ft apart from 5 ft on, and how the seam was made."""
    stations = [{"at": f"{5 + 10 * number} ft", "lap": lap} for number, lap in enumerate(laps)]
    return {"stations": stations, **WORK, **more}


def seam(desk: Desk, cast: Cast, zone: Zone, **more: Any) -> str:
    return seams.draw_seams(desk, cast.lead.id, zone.id, {"path": PATH, **more})[0].id


def walk(desk: Desk, cast: Cast, seam_id: str, *laps: str, **more: Any) -> seams.SeamJudged:
    return seams.walk_seam(desk, cast.lead.id, seam_id, walked(*laps, **more))


def test_a_zone_with_no_seam_drawn_and_none_stated_is_held(desk: Desk, cast: Cast, zone: Zone) -> None:
    assert "none-stated" in blockers_of(desk, cast, zone)


def test_a_seam_nobody_walked_holds_the_zone(desk: Desk, cast: Cast, zone: Zone) -> None:
    seam(desk, cast, zone)
    assert "seam-at-fault" in blockers_of(desk, cast, zone)


def test_a_seam_that_laps_by_exactly_the_minimum_holds(desk: Desk, cast: Cast, zone: Zone) -> None:
    judged = walk(desk, cast, seam(desk, cast, zone), "6 in", "6 1/2 in", "6 in", "7 in")
    assert judged.faults == ()
    assert judged.marked == ()
    assert "seam-at-fault" not in blockers_of(desk, cast, zone)


def test_a_lap_one_sixteenth_short_becomes_a_mark_to_the_good_readings_beside_it(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    judged = walk(desk, cast, seam(desk, cast, zone), "6 in", "5 15/16 in", "6 in", "6 in")
    assert [(mark.kind, mark.tag) for mark in judged.marked] == [("short lap", "B-01")]
    mark = judged.marked[0]
    assert mark.at == (350_000, 300_000)  # 15 ft along: between the good readings at 5 and at 25 ft
    assert "defect-open" in blockers_of(desk, cast, zone) or "needs-other-repair" in blockers_of(
        desk, cast, zone
    )


def test_walked_again_at_the_same_fault_no_second_mark_is_made(desk: Desk, cast: Cast, zone: Zone) -> None:
    one = seam(desk, cast, zone)
    first = walk(desk, cast, one, "6 in", "5 in", "6 in", "6 in").marked[0]
    again = walk(desk, cast, one, "6 in", "5 1/2 in", "6 in", "6 in")
    assert again.marked == ()
    assert [mark.id for mark in again.stood] == [first.id]


def test_a_short_lap_lapped_again_clears_the_zone_of_the_seam(desk: Desk, cast: Cast, zone: Zone) -> None:
    one = seam(desk, cast, zone)
    mark = walk(desk, cast, one, "6 in", "5 in", "6 in", "6 in").marked[0]
    given = {"method": "lap again", "lap": "6 1/4 in", **{k: v for k, v in WORK.items() if k != "bonded"}}
    repairs.log_repair(desk, cast.lead.id, mark.id, given)
    assert blockers_of(desk, cast, zone) == ["not-walked"]


def test_a_fault_found_again_after_its_repair_is_marked_anew_and_holds(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    """The tape came loose, or the sheet slipped, after it was mended: that repair speaks for it no more."""
    one = seam(desk, cast, zone)
    taped = {k: v for k, v in WORK.items() if k != "bonded"}
    loose = {"fault": "unbonded", "from": "10 ft", "to": "12 ft"}
    first = walk(desk, cast, one, "6 in", "6 in", "6 in", "6 in", runs=[loose]).marked[0]
    repairs.log_repair(desk, cast.lead.id, first.id, {"method": "tape the seam", "lap": "6 in", **taped})
    again = walk(desk, cast, one, "6 in", "6 in", "6 in", "6 in", runs=[loose])
    assert [(mark.tag, mark.kind) for mark in again.marked] == [("B-02", "unbonded tape")]
    repairs.log_repair(
        desk, cast.lead.id, again.marked[0].id, {"method": "tape the seam", "lap": "6 in", **taped}
    )
    assert blockers_of(desk, cast, zone) == ["not-walked"]
    short = walk(desk, cast, one, "6 in", "5 in", "6 in", "6 in").marked[0]
    repairs.log_repair(desk, cast.lead.id, short.id, {"method": "lap again", "lap": "6 in", **taped})
    slipped = walk(desk, cast, one, "6 in", "2 in", "6 in", "6 in")
    assert [mark.kind for mark in slipped.marked] == ["short lap"]
    assert blockers_of(desk, cast, zone) == ["not-walked", "needs-other-repair"]


def test_a_short_lap_under_a_cover_strip_is_found_short_again_and_stays_sealed(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    """The strip covers it; the lap beneath still reads short, and that is no new fault."""
    one = seam(desk, cast, zone)
    mark = walk(desk, cast, one, "6 in", "5 in", "6 in", "6 in").marked[0]
    a_patch(desk, cast, mark)
    again = walk(desk, cast, one, "6 in", "5 in", "6 in", "6 in")
    assert ([found.id for found in again.stood], again.marked) == ([mark.id], ())
    assert blockers_of(desk, cast, zone) == ["not-walked"]


def test_a_hole_patched_over_a_short_reading_does_not_lengthen_the_lap(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    one = seam(desk, cast, zone)
    judged = walk(desk, cast, one, "6 in", "5 in", "6 in", "6 in")
    hole = a_mark(desk, cast, zone, at=(350, 300), kind="hole")
    a_patch(desk, cast, hole)
    defects.withdraw_defect(desk, cast.lead.id, judged.marked[0].id, "Entered twice")
    assert "seam-at-fault" in blockers_of(desk, cast, zone)


@pytest.mark.parametrize(
    ("fault", "kind"),
    [("untaped", "open seam"), ("unbonded", "unbonded tape"), ("fishmouth", "unbonded tape")],
)
def test_a_run_at_fault_becomes_the_mark_that_its_repair_is_known_by(
    desk: Desk, cast: Cast, zone: Zone, fault: str, kind: str
) -> None:
    run = {"fault": fault, "from": "10 ft", "to": "12 ft"}
    judged = walk(desk, cast, seam(desk, cast, zone), "6 in", "6 in", "6 in", "6 in", runs=[run])
    assert [mark.kind for mark in judged.marked] == [kind]
    assert judged.seam.walk is not None
    assert [found.mark for found in judged.seam.walk.runs] == [judged.marked[0].id]


def test_a_run_round_a_bend_is_a_mark_for_each_straight_piece(desk: Desk, cast: Cast, zone: Zone) -> None:
    bent = seam(desk, cast, zone, path=[[200, 300], [400, 300], [400, 500]])
    run = {"fault": "untaped", "from": "15 ft", "to": "25 ft"}
    judged = walk(desk, cast, bent, "6 in", "6 in", "6 in", "6 in", runs=[run])
    assert judged.seam.walk is not None
    assert {found.mark for found in judged.seam.walk.runs} == {mark.id for mark in judged.marked}
    assert len(judged.marked) == 2


def test_copies_lie_as_far_beside_as_was_said(desk: Desk, cast: Cast, zone: Zone) -> None:
    copies = {"count": 2, "spacing": "14 ft", "side": "right"}
    drawn = seams.draw_seams(desk, cast.lead.id, zone.id, {"path": PATH, "copies": copies})
    # Going east on the sketch, right is south: 14 ft is 140 px down.
    assert [found.path[0] for found in drawn] == [(200_000, 300_000), (200_000, 440_000), (200_000, 580_000)]
    assert [found.tag for found in drawn] == ["B-S01", "B-S02", "B-S03"]


def test_copies_that_leave_the_zone_are_refused_and_none_is_drawn(desk: Desk, cast: Cast, zone: Zone) -> None:
    copies = {"count": 5, "spacing": "14 ft", "side": "right"}
    with pytest.raises(BadInput) as refused:
        seams.draw_seams(desk, cast.lead.id, zone.id, {"path": PATH, "copies": copies})
    assert set(refused.value.fields) == {"copies.count"}
    assert "none-stated" in blockers_of(desk, cast, zone)


@pytest.mark.parametrize(
    ("given", "field"),
    [
        (walked("wide"), "stations.0.lap"),
        ({**walked("6 in"), "stations": [{"at": "41 ft", "lap": "6 in"}]}, "stations.0.at"),
        ({**walked("6 in"), "stations": []}, "stations"),
        (walked("6 in", runs=[{"fault": "gone", "from": "1 ft", "to": "2 ft"}]), "runs.0.fault"),
        (walked("6 in", runs=[{"fault": "untaped", "from": "2 ft", "to": "2 ft"}]), "runs.0.to"),
        (walked("6 in", runs=[{"fault": "untaped", "from": "2 ft", "to": "90 ft"}]), "runs.0.to"),
        ({**walked("6 in"), "taped": "perhaps"}, "taped"),
    ],
)
def test_a_walk_that_cannot_be_is_refused_by_its_field_and_nothing_is_kept(
    desk: Desk, cast: Cast, zone: Zone, given: dict[str, Any], field: str
) -> None:
    one = seam(desk, cast, zone)
    with pytest.raises(BadInput) as refused:
        seams.walk_seam(desk, cast.lead.id, one, given)
    assert set(refused.value.fields) == {field}
    assert seams.seam_view(desk, cast.lead.id, one)[1].walk is None


def test_a_withdrawn_seam_holds_nothing_and_takes_no_walk(desk: Desk, cast: Cast, zone: Zone) -> None:
    one = seam(desk, cast, zone)
    seams.withdraw_seam(desk, cast.lead.id, one, "Drawn twice")
    assert "seam-at-fault" not in blockers_of(desk, cast, zone)
    with pytest.raises(Conflict):
        walk(desk, cast, one, "6 in", "6 in", "6 in", "6 in")
