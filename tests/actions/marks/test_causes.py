"""What damage came from: said of a mark, counted by cause, zone and the week on site."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import defect_view
from service.actions.marks import causes, defects
from service.domain.words.refusals import BadInput, Conflict, NotFound
from tests.builders import NEXT_DOOR, TEAR, a_mark, a_patch, a_sketch, a_zone
from tests.cast import Cast, Clock


def test_the_count_tells_the_worst_cause_first_by_zone_and_week_on_site(
    desk: Desk, cast: Cast, clock: Clock
) -> None:
    """Week of Mon 23 Nov 2026. In Chicago (UTC-6) Mon 30 Nov 5:59 am UTC is still Sunday the 29th."""
    sketch = a_sketch(desk, cast)
    north, east = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    said = (
        (datetime(2026, 11, 25, 12, 0, tzinfo=UTC), north, (300, 300), "steel"),
        (datetime(2026, 11, 30, 5, 59, tzinfo=UTC), north, (350, 300), "steel"),
        (datetime(2026, 11, 30, 6, 0, tzinfo=UTC), north, (400, 300), "steel"),
        (datetime(2026, 11, 30, 6, 0, tzinfo=UTC), east, (1000, 300), "wind"),
        (datetime(2026, 11, 30, 6, 0, tzinfo=UTC), east, (1100, 300), ""),
    )
    for at, zone, place, cause in said:
        clock.now = at
        entry = defects.read_mark("tear", place, TEAR, "", cause)
        mark = defects.mark_defect(desk, cast.lead.id, zone.id, entry)
        assert mark.cause == cause
    found = causes.causes_of(desk, cast.manager.id, cast.project_id)
    assert found.totals == (("steel", 3), ("wind", 1), ("", 1))
    assert [(row.cause, row.zone, row.week, row.marks) for row in found.rows] == [
        ("steel", "B", date(2026, 11, 23), 2),
        ("steel", "B", date(2026, 11, 30), 1),
        ("wind", "C", date(2026, 11, 30), 1),
        ("", "C", date(2026, 11, 30), 1),
    ]


def test_a_mended_mark_still_counts_and_a_withdrawn_one_does_not(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    mended, mistaken = a_mark(desk, cast, zone), a_mark(desk, cast, zone, (400, 300))
    for mark in (mended, mistaken):
        causes.tell_cause(desk, cast.lead.id, mark.id, "forming")
    a_patch(desk, cast, mended)
    defects.withdraw_defect(desk, cast.lead.id, mistaken.id, "A shadow")
    assert causes.causes_of(desk, cast.manager.id, cast.project_id).totals == (("forming", 1),)


def test_the_last_word_said_counts_and_the_same_word_is_recorded_once(desk: Desk, cast: Cast) -> None:
    mark = a_mark(desk, cast, a_zone(desk, cast))
    for cause in ("steel", "steel", "plumbing"):
        assert causes.tell_cause(desk, cast.inspector.id, mark.id, cause).cause == cause
    view, now = defect_view(desk, cast.lead.id, mark.id)
    assert now.cause == "plumbing"
    assert view.seen.head == mark.seq + 2


def test_a_cause_of_ones_own_words_a_withdrawn_mark_and_a_strangers_are_refused(
    desk: Desk, cast: Cast
) -> None:
    mark = a_mark(desk, cast, a_zone(desk, cast))
    with pytest.raises(BadInput, match="steel, plumbing") as strange:
        causes.tell_cause(desk, cast.lead.id, mark.id, "gremlins")
    assert list(strange.value.fields) == ["cause"]
    with pytest.raises(BadInput):
        defects.read_mark("tear", (300, 300), TEAR, "", "gremlins")
    for ask in (
        lambda: causes.tell_cause(desk, cast.outsider.id, mark.id, "steel"),
        lambda: causes.causes_of(desk, cast.outsider.id, cast.project_id),
    ):
        with pytest.raises(NotFound):
            ask()
    defects.withdraw_defect(desk, cast.lead.id, mark.id, "A shadow")
    with pytest.raises(Conflict, match="A shadow"):
        causes.tell_cause(desk, cast.lead.id, mark.id, "steel")


def test_saying_what_it_came_from_changes_nothing_that_was_released(desk: Desk, cast: Cast) -> None:
    """A likely cause is no input of the gate: the digest stays."""
    mark = a_mark(desk, cast, a_zone(desk, cast))
    before = defect_view(desk, cast.lead.id, mark.id)[0].standing.digest
    causes.tell_cause(desk, cast.lead.id, mark.id, "steel")
    assert defect_view(desk, cast.lead.id, mark.id)[0].standing.digest == before
