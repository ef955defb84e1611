"""Zones by their placing day: what is left, in which order it is worked, and what does not fit together."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.gate.gate import Blocker
from service.domain.nouns.installed import Signed
from service.domain.nouns.placing import Layout, PlannedSheet, SheetsLaying
from service.domain.nouns.site import Site, Zone
from service.domain.placing import pour_plan
from service.domain.placing.pace import EDGES, MARKS, PENETRATIONS, SEAMS, SHEETS, Pace, Paces
from service.domain.placing.pour_plan import ToPlan, needs, plan, sheets_left, work_left

TODAY = date(2026, 11, 23)  # a Monday
SIX = Pace(MARKS, 10, 60, Fraction(3), Fraction(6), Fraction(9))
AT = Paces(TODAY, frozenset(range(5)), {MARKS: SIX, SEAMS: replace(SIX, kind=SEAMS)})
NOBODY = Signed("", "", datetime(2026, 11, 1, tzinfo=UTC), 1)
SQUARE = ((0, 0), (10_000, 0), (10_000, 10_000), (0, 10_000))
ZONE = Zone("b", "s", "B", "", SQUARE, None, None, 0, None, None, 1)

QUICK = settings(max_examples=60, deadline=None, derandomize=True)


def things(kind: str, count: int, name: str = "") -> dict[str, frozenset[str]]:
    return {kind: frozenset(f"{name}{number}" for number in range(count))}


def zone(name: str, day: int | None, walked: bool = True, **work: int) -> ToPlan:
    """`day`: so many days from today; `work`: how many of a kind, all this zone's own."""
    left = {kind: next(iter(things(kind, count, name).values())) for kind, count in work.items() if count}
    return ToPlan(name, None if day is None else TODAY + timedelta(days=day), walked, left)


def test_fourteen_left_at_six_a_day_are_a_day_late_for_a_placing_on_the_second_day() -> None:
    """Six on Monday, six on Tuesday, two on Wednesday; placing is on Tuesday."""
    [told] = plan([zone("b", 1, marks=14)], AT)
    assert (told.verdict, told.days_late) == (pour_plan.LATE, 1)
    assert told.span is not None and told.span.about == TODAY + timedelta(days=2)


@pytest.mark.parametrize(
    ("day", "verdict"),
    [
        (1, pour_plan.LATE),
        (2, pour_plan.ON_THE_DAY),
        (3, pour_plan.LIKELY),
        (4, pour_plan.LIKELY),
        (7, pour_plan.IN_TIME),
    ],
)
def test_in_time_is_the_day_before_even_at_the_slow_pace(day: int, verdict: str) -> None:
    """14 at six a day end on Wednesday, at three a day on Friday."""
    [told] = plan([zone("b", day, marks=14)], AT)
    assert told.verdict == verdict


def test_the_zones_before_are_worked_first() -> None:
    first, second = plan([zone("a", 7, marks=12), zone("b", 8, marks=6)], AT)
    assert first.left[0].before == 0 and second.left[0].before == 12
    assert second.span is not None and second.span.about == TODAY + timedelta(days=2)


def test_a_mark_that_holds_two_zones_is_mended_once() -> None:
    joint = frozenset({"joint"})
    _, second = plan([ToPlan("a", TODAY, True, {MARKS: joint}), ToPlan("b", TODAY, True, {MARKS: joint})], AT)
    assert (second.left[0].here, second.left[0].before) == (1, 0)


def test_the_slowest_kind_of_work_decides() -> None:
    [told] = plan([zone("b", 9, marks=1, seams=14)], AT)
    assert [one.kind for one in told.left] == [MARKS, SEAMS]
    assert told.span is not None and told.span.about == TODAY + timedelta(days=2)


def test_one_kind_without_a_pace_tells_no_day_for_the_zone() -> None:
    [told] = plan([zone("b", 9, marks=1, edges=1)], AT)
    assert told.verdict == pour_plan.NO_PACE and told.span is None


def test_nothing_left_and_no_day_are_said_as_such() -> None:
    first, second = plan([zone("a", 3), zone("b", None, marks=1)], AT)
    assert (first.verdict, second.verdict) == (pour_plan.NOTHING_LEFT, pour_plan.NO_DAY)


@pytest.mark.parametrize(
    ("asked", "conflicts"),
    [
        (zone("b", -1), (pour_plan.OVERDUE,)),
        (zone("b", 0, walked=False), (pour_plan.NO_WALK,)),
        (zone("b", 1, walked=False), (pour_plan.NO_WALK,)),
        (zone("b", 2, walked=False), ()),
        (zone("b", 2, walked=False, marks=14), (pour_plan.NO_WALK,)),  # the work ends on the day itself
        (zone("b", 3, walked=False, marks=14), ()),
        (zone("b", -1, walked=False), (pour_plan.OVERDUE, pour_plan.NO_WALK)),
        (zone("b", None, walked=False, marks=99), ()),
    ],
)
def test_a_placing_planned_before_its_punch_walk_or_past_is_told(
    asked: ToPlan, conflicts: tuple[str, ...]
) -> None:
    [told] = plan([asked], AT)
    assert told.conflicts == conflicts


def test_two_zones_of_one_day_are_told_of_each_other_and_those_without_a_day_are_not() -> None:
    zones = [zone("a", 5), zone("b", 5), zone("c", 6), zone("d", None), zone("e", None)]
    told = plan(zones, AT)
    assert [one.same_day for one in told] == [("b",), ("a",), (), (), ()]
    assert [pour_plan.SAME_DAY in one.conflicts for one in told] == [True, True, False, False, False]


@given(
    st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=2, max_size=5), st.integers(1, 20)
)
def test_more_left_in_a_zone_is_never_earlier_there_or_after_it(
    work: list[tuple[int, int]], more: int
) -> None:
    def zones(extra: int) -> list[ToPlan]:
        return [
            zone(str(n), n, marks=marks + extra * (n == 0), seams=seams)
            for n, (marks, seams) in enumerate(work)
        ]

    for before, after in zip(plan(zones(0), AT), plan(zones(more), AT), strict=True):
        if before.span is not None:
            assert after.span is not None and before.span.about <= after.span.about


# --- what is left ----------------------------------------------------------------------------------------


def test_what_is_left_is_counted_by_kind_off_the_reasons_of_the_gate() -> None:
    blockers = [
        Blocker("defect-open", ("defect", "m1"), "B-01", "hole"),
        Blocker("defect-not-sealed", ("defect", "m2"), "B-02", "hole"),
        Blocker("seam-at-fault", ("seam", "s1"), "B-S1"),
        Blocker("penetration-not-sealed", ("penetration", "p1"), "B-P1"),
        Blocker("edge-not-described", ("zone", "b"), "B", "1", length_nm=5),
        Blocker("edge-not-described", ("zone", "b"), "B", "1", length_nm=5),
        Blocker("hold-point-open", ("zone", "b"), "B", "film laid"),
        Blocker("not-walked", ("zone", "b"), "B"),
    ]
    left = work_left(Site(), ZONE, blockers)
    assert {kind: len(found) for kind, found in left.items()} == {
        MARKS: 2,
        SEAMS: 1,
        PENETRATIONS: 1,
        EDGES: 2,
    }
    assert needs(blockers)["edge-not-described"] == 2 and needs(blockers)["hold-point-open"] == 1


def layout(name: str, seq: int, zones: tuple[str, ...], *, laid: tuple[int, ...] = ()) -> Layout:
    """Three sheets side by side, each a third of the square; the third lies past its right side."""
    sheets = tuple(
        PlannedSheet(n, 0, ((x, 0), (x + 5_000, 0), (x + 5_000, 10_000), (x, 10_000)), 1, 1)
        for n, x in ((1, 0), (2, 5_000), (3, 10_000))
    )
    logged = SheetsLaying("l", laid, "lot", zones[0], "", NOBODY, None)
    return Layout(
        name, "s", zones, "", 1, 1, 1, 1, 0, "left", 0, (), (), False, sheets, (), 1, 1,
        (logged,) if laid else (), replace(NOBODY, seq=seq), None,
    )  # fmt: skip


def kept(*layouts: Layout) -> Site:
    site = Site()
    for one in layouts:
        site.put(one)
    return site


def test_sheets_left_are_those_of_the_newest_layout_that_nobody_logged_as_laid() -> None:
    old, new = layout("old", 1, ("b",)), layout("new", 2, ("b",), laid=(1, 3))
    assert sheets_left(kept(old, new), ZONE) == {"new 2"}
    assert sheets_left(kept(old, replace(new, withdrawn="drawn wrong")), ZONE) == {"old 1", "old 2", "old 3"}
    assert work_left(kept(new), ZONE, []) == {SHEETS: {"new 2"}}


def test_laying_that_was_taken_back_leaves_its_sheets_to_lay() -> None:
    new = layout("new", 2, ("b",), laid=(1, 2))
    back = replace(new, laid=tuple(replace(one, withdrawn="another zone") for one in new.laid))
    assert len(sheets_left(kept(back), ZONE)) == 3


def test_of_a_slabs_layout_a_zone_has_the_sheets_that_lie_in_it() -> None:
    """The third sheet only touches the zone's right side: it lies in the next zone."""
    assert sheets_left(kept(layout("slab", 1, ("b", "c"))), ZONE) == {"slab 1", "slab 2"}
    assert sheets_left(kept(layout("other", 1, ("c",))), ZONE) == set()
