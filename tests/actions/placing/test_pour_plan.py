"""The plan of pours told from a history: what closed on which day of the site, and what is left."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from service.actions.frame.desk import Desk
from service.actions.installed import seams
from service.actions.marks import patches
from service.actions.office.release import mark_placed
from service.actions.placing.pour_plan import PlannedZone, PourPlan, move_placing_day, pour_plan
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.domain.placing import pour_plan as plans
from service.domain.placing.pace import EDGES, MARKS, PENETRATIONS, SEAMS
from service.domain.words.refusals import Conflict, NotAllowed, NotFound
from tests.builders import (
    NEXT_DOOR,
    a_mark,
    a_patch,
    a_pipe,
    a_release,
    a_seam,
    a_sketch,
    a_walk,
    a_zone,
    an_edge,
    sides,
)
from tests.cast import Cast, Clock

# The clock stands at 6 am of Wednesday 25 November 2026 at the site (America/Chicago, UTC-6).
WALKED = {
    "stations": [{"at": f"{feet} ft", "lap": "6 in"} for feet in range(0, 41, 5)],
    "taped": True, "bonded": True, "cleaned": True, "dry": True, "tape_width": "4 in",
}  # fmt: skip


def told(desk: Desk, cast: Cast) -> PourPlan:
    return pour_plan(desk, cast.lead.id, cast.project_id)


def in_plan(plan: PourPlan, letter: str) -> PlannedZone:
    return next(zone for zone in (*plan.dated, *plan.undated) if zone.standing.zone.letter == letter)


def a_day_of_patching(desk: Desk, cast: Cast, clock: Clock, zone: Zone, count: int) -> None:
    for n in range(count):
        a_patch(desk, cast, a_mark(desk, cast, zone, (150 + 40 * n, 200 + 3 * clock.now.day)))
    clock.go_on(days=1)


@pytest.fixture
def worked(desk: Desk, cast: Cast, clock: Clock) -> Zone:
    """Two marks closed on each of Wednesday, Thursday and Friday; it is Monday 30 November now, and three
    are open in zone B."""
    zone = a_zone(desk, cast)
    for _ in range(3):
        a_day_of_patching(desk, cast, clock, zone, 2)
    clock.go_on(days=2)
    for n in range(3):
        a_mark(desk, cast, zone, (200 + 50 * n, 500))
    return zone


def test_three_left_at_two_a_day_are_done_on_the_second_day(desk: Desk, cast: Cast, worked: Zone) -> None:
    move_placing_day(desk, cast.manager.id, worked.id, datetime(2026, 12, 2, 12, 30, tzinfo=UTC))
    plan = told(desk, cast)
    assert plan.paces.today == date(2026, 11, 30) and plan.paces.of[MARKS].usual == 2
    [zone] = plan.dated
    assert zone.day == date(2026, 12, 2) and zone.needs["defect-open"] == 3
    assert zone.planned.verdict == plans.IN_TIME
    assert zone.planned.span is not None and zone.planned.span.about == date(2026, 12, 1)


def test_a_day_is_a_day_of_the_site_not_of_utc(desk: Desk, cast: Cast, worked: Zone, clock: Clock) -> None:
    """5:30 am UTC on the 3rd is half past eleven at night on the 2nd in Chicago."""
    move_placing_day(desk, cast.manager.id, worked.id, datetime(2026, 12, 3, 5, 30, tzinfo=UTC))
    assert told(desk, cast).dated[0].day == date(2026, 12, 2)
    clock.now = datetime(2026, 12, 1, 5, 30, tzinfo=UTC)
    assert told(desk, cast).paces.today == date(2026, 11, 30)


def test_a_mark_patched_twice_counts_once_on_the_last_day(
    desk: Desk, cast: Cast, worked: Zone, clock: Clock
) -> None:
    plan = told(desk, cast)
    before, site = plan.paces.of[MARKS], plan.view.site
    mark = next(d for d in site.defects.values() if d.marked_at.day == 25)
    patch = next(p for p in site.patches.values() if p.defect_id == mark.id)
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "Peeled")
    a_patch(desk, cast, mark)
    clock.go_on(days=1)
    after = told(desk, cast).paces.of[MARKS]
    assert (before.days, before.closed, after.days, after.closed) == (3, 6, 4, 6)


def test_a_patch_that_does_not_seal_closes_nothing(desk: Desk, cast: Cast, clock: Clock) -> None:
    zone = a_zone(desk, cast)
    for _ in range(3):
        a_patch(desk, cast, a_mark(desk, cast, zone), sides("5 3/4 in"))
        clock.go_on(days=1)
    plan = told(desk, cast)
    assert plan.paces.of == {} and in_plan(plan, "B").planned.verdict == plans.NO_PACE


def test_seals_walks_and_edges_are_each_a_kind_of_their_own(desk: Desk, cast: Cast, clock: Clock) -> None:
    zone = a_zone(desk, cast)
    for n in range(3):
        a_pipe(desk, cast, zone, (200 + 60 * n, 350))
        an_edge(desk, cast, zone, 1 + n)
        seam = a_seam(desk, cast, zone, ((200, 600), (600, 600)))
        seams.walk_seam(desk, cast.lead.id, seam.id, WALKED)
        clock.go_on(days=1)
    found = told(desk, cast).paces.of
    assert {kind: pace.closed for kind, pace in found.items()} == {SEAMS: 3, PENETRATIONS: 3, EDGES: 3}


def test_what_was_closed_on_another_project_sets_no_pace_here(desk: Desk, cast: Cast, worked: Zone) -> None:
    other = pour_plan(desk, cast.other_manager.id, cast.other_project_id)
    assert other.paces.of == {} and not (other.dated or other.undated or other.placed)


def test_zones_stand_by_day_those_without_one_apart_and_placed_ones_last(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    for letter, day in (("C", 30), ("D", 28), ("E", None)):
        zone = a_zone(desk, cast, sketch, letter, NEXT_DOOR)
        at = datetime(2026, 11, day, 14, 0, tzinfo=UTC) if day else None
        move_placing_day(desk, cast.manager.id, zone.id, at)
    poured = a_zone(desk, cast, sketch, "F")
    a_walk(desk, cast, poured)
    a_release(desk, cast, poured)
    mark_placed(desk, cast.manager.id, poured.id, datetime(2026, 11, 25, 11, 0, tzinfo=UTC), "40 cu yd")
    plan = told(desk, cast)
    assert [zone.standing.zone.letter for zone in plan.dated] == ["D", "C"]
    assert [zone.standing.zone.letter for zone in plan.undated] == ["E"]
    assert [standing.zone.letter for standing in plan.placed] == ["F"]
    with pytest.raises(Conflict, match="its day cannot be moved"):
        move_placing_day(desk, cast.manager.id, poured.id, None)


def test_a_day_is_moved_by_a_project_manager_alone_and_stands_in_the_history(
    desk: Desk, cast: Cast, worked: Zone
) -> None:
    at = datetime(2026, 12, 1, 14, 0, tzinfo=UTC)
    for who in (cast.lead, cast.inspector):
        with pytest.raises(NotAllowed):
            move_placing_day(desk, who.id, worked.id, at)
    with pytest.raises(NotFound):
        move_placing_day(desk, cast.outsider.id, worked.id, at)
    moved = move_placing_day(desk, cast.manager.id, worked.id, at)
    assert (moved.place_at, moved.name, moved.outline) == (at, worked.name, worked.outline)
    zones.change_zone(desk, cast.manager.id, worked.id, name="Dock", keep_place_at=True)
    assert told(desk, cast).dated[0].standing.zone.place_at == at
    assert move_placing_day(desk, cast.manager.id, worked.id, None).place_at is None


def test_who_is_not_on_the_project_sees_no_plan(desk: Desk, cast: Cast) -> None:
    with pytest.raises(NotFound):
        pour_plan(desk, cast.outsider.id, cast.project_id)


def test_a_plan_moves_no_state(desk: Desk, cast: Cast, worked: Zone) -> None:
    """No verdict depends on it: what the gate says is the same before and after a day is moved or told."""
    before = told(desk, cast).undated[0].standing
    move_placing_day(desk, cast.manager.id, worked.id, datetime(2026, 11, 26, 14, 0, tzinfo=UTC))
    after = told(desk, cast).dated[0].standing
    assert (before.state, before.blockers, before.digest) == (after.state, after.blockers, after.digest)
