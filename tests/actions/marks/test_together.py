"""Which repairs go together, on a zone as people keep it."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.marks import together
from service.domain.nouns.site import Zone
from tests.builders import HOLE, a_mark, a_patch, a_zone
from tests.cast import Cast

INCH = 25_400_000


def plan(desk: Desk, cast: Cast, zone: Zone) -> together.ZonePlan:
    found = together.plan_of(zone_view(desk, cast.lead.id, zone.id))
    assert found is not None
    return found


def test_two_holes_eight_inches_apart_go_under_one_patch(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    # 1 px is 1.2 in: holes of 1/2 in, 8.4 in from middle to middle.
    for x in (300, 307):
        a_mark(desk, cast, zone, at=(x, 300), kind="hole", outline=HOLE)
    found = plan(desk, cast, zone).plan
    assert [group.tags for group in found.groups] == [("B-01", "B-02")]
    # 8.9 in across both, 6 in of overlap and 1 in to place it on every side.
    assert abs(found.groups[0].length_nm - round(22.9 * INCH)) < INCH // 1000
    assert found.groups[0].width_nm == round(14.5 * INCH)
    assert found.exact
    assert found.film_saved_nm2 > 0


def test_holes_far_apart_stay_alone_and_nothing_is_saved(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    for x in (300, 600):
        a_mark(desk, cast, zone, at=(x, 300), kind="hole", outline=HOLE)
    found = plan(desk, cast, zone).plan
    assert [group.tags for group in found.groups] == [("B-01",), ("B-02",)]
    assert found.film_saved_nm2 == 0


def test_a_sealed_mark_and_one_that_film_does_not_mend_are_left_out(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    sealed = a_mark(desk, cast, zone, at=(300, 300))
    a_patch(desk, cast, sealed)
    a_mark(desk, cast, zone, at=(600, 300), kind="displaced sheet")
    still_open = a_mark(desk, cast, zone, at=(300, 600))
    found = plan(desk, cast, zone)
    assert list(found.marks) == [still_open.id]


def test_the_mark_is_offered_one_patch_with_the_open_mark_it_reaches_and_no_other(
    desk: Desk, cast: Cast
) -> None:
    zone = a_zone(desk, cast)
    one, two, _ = (a_mark(desk, cast, zone, at=(x, 300), kind="hole", outline=HOLE) for x in (300, 304, 500))
    view = zone_view(desk, cast.lead.id, zone.id)
    offered = together.offer_at(view, one)
    assert offered is not None
    assert offered.group.marks == (one.id, two.id)
    assert offered.saves_film


def test_nothing_is_offered_at_a_mark_that_stands_alone(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    lone = a_mark(desk, cast, zone)
    assert together.offer_at(zone_view(desk, cast.lead.id, zone.id), lone) is None
