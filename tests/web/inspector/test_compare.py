"""Two moments of a zone side by side: what came, what went, what stands otherwise, and who did it."""

from __future__ import annotations

from service.actions.evidence.comparing import compare_zone
from service.actions.frame.desk import Desk
from service.actions.marks import defects, patches
from service.domain.nouns.site import Zone
from service.storage.history import books
from tests.builders import NEXT_DOOR, a_mark, a_patch, a_release, a_sketch, a_walk, a_zone, sides
from tests.cast import Cast, Clock
from tests.conftest import ClientOf


def head(desk: Desk, cast: Cast) -> int:
    with desk.reading() as session:
        return books.head(session, cast.project_id)


def path(zone: Zone, query: str) -> str:
    return f"/zones/{zone.id}/compare?{query}"


def test_what_came_and_went_between_two_entries(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    kept, wrong = a_mark(desk, cast, zone), a_mark(desk, cast, zone, (500, 300))
    first = head(desk, cast)
    short = a_patch(desk, cast, kept, sides(right="5 3/4 in"))
    a_patch(desk, cast, kept)
    patches.withdraw_patch(desk, cast.lead.id, short.id, "taken off again")
    defects.withdraw_defect(desk, cast.lead.id, wrong.id, "a leaf")
    new = a_mark(desk, cast, zone, (600, 500))
    a_walk(desk, cast, zone)
    found = compare_zone(desk, cast.inspector.id, zone.id, first, head(desk, cast))
    change = found.change
    assert [mark.id for mark in change.marked] == [new.id]
    assert [mark.id for mark in change.withdrawn] == [wrong.id]
    assert [(t.mark.id, t.before, t.after) for t in change.turned] == [(kept.id, "open", "sealed")]
    assert len(change.patched) == 2 and [p.id for p in change.unpatched] == [short.id]
    assert {(b.code, b.name) for b in change.gone} == {
        ("defect-open", "B-01"), ("defect-open", "B-02"), ("not-walked", "B"),
    }  # fmt: skip
    assert [(b.code, b.name) for b in change.come] == [("defect-open", "B-03")]
    assert [line.entry.seq for line in found.lines] == list(range(first + 1, head(desk, cast) + 1))


def test_what_was_withdrawn_before_the_first_moment_is_no_change(desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    kept, wrong = a_mark(desk, cast, zone), a_mark(desk, cast, zone, (500, 300))
    patch = a_patch(desk, cast, kept)
    patches.withdraw_patch(desk, cast.lead.id, patch.id, "taken off again")
    defects.withdraw_defect(desk, cast.lead.id, wrong.id, "a leaf")
    first = head(desk, cast)
    a_walk(desk, cast, zone)
    change = compare_zone(desk, cast.inspector.id, zone.id, first, head(desk, cast)).change
    assert (change.marked, change.withdrawn, change.patched, change.unpatched) == ((), (), (), ())
    assert [blocker.code for blocker in change.gone] == ["not-walked"]


def test_a_neighbour_s_entries_stay_out_unless_its_mark_reaches_in(desk: Desk, cast: Cast) -> None:
    """1 px is 1.2 in: a hole of 4 ft across, 10 px (1 ft) from the joint, reaches over it."""
    sketch = a_sketch(desk, cast)
    zone, beside = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    first = head(desk, cast)
    a_mark(desk, cast, beside, (1500, 400))
    wide = a_mark(desk, cast, beside, (910, 400), "hole", {"shape": "circle", "diameter": "4 ft"})
    found = compare_zone(desk, cast.inspector.id, zone.id, first, head(desk, cast))
    assert [mark.id for mark in found.change.marked] == [wide.id]
    assert [line.entry.tag for line in found.lines] == ["C-02"]


def test_nothing_between_is_told_as_nothing(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    now = head(desk, cast)
    page = page_of(cast.inspector).get(path(zone, f"entry={now}")).text
    assert "Nothing of zone B changed between the two: it was clear at both." in page
    assert 'class="changed"' not in page


def test_a_release_and_what_took_it_away_stand_side_by_side(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    then = head(desk, cast)
    a_mark(desk, cast, zone)
    page = page_of(cast.inspector).get(path(zone, f"entry={then}")).text
    assert "Zone B was ready to place at the first time and held at the second." in page
    assert "fallen away" in page and "Marked in between" in page
    assert "Lou Lead marked B-01" in page


def test_times_given_the_wrong_way_round_are_turned_and_it_is_said(
    desk: Desk, cast: Cast, page_of: ClientOf, clock: Clock
) -> None:
    zone = a_zone(desk, cast)
    clock.go_on(hours=2)
    a_walk(desk, cast, zone)
    page = page_of(cast.inspector).get(path(zone, "at=2026-11-25T08:00&to=2026-11-25T07:00")).text
    assert "they were turned round" in page
    assert page.index("as-it-stood?at=2026-11-25T07%3A00") < page.index("as-it-stood?at=2026-11-25T08%3A00")
    assert "Zone B was still being laid at the first time and clear at the second." in page


def test_before_the_zone_was_outlined_everything_is_new(
    desk: Desk, cast: Cast, page_of: ClientOf, clock: Clock
) -> None:
    clock.go_on(hours=1)
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone)
    client = page_of(cast.inspector)
    page = client.get(path(zone, "at=2026-11-25T06:30")).text
    assert "Zone B was not outlined yet at the first time" in page and "Marked in between" in page
    both = client.get(path(zone, "at=2026-11-25T06:10&to=2026-11-25T06:30")).text
    assert "was not outlined yet at that time" in both


def test_a_second_time_that_cannot_be_read_is_told(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    answer = page_of(cast.lead).get(path(a_zone(desk, cast), "to=later"))
    assert answer.status_code == 422 and 'value="later"' in answer.text


def test_nobody_from_outside_compares(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    assert page_of(cast.outsider).get(path(a_zone(desk, cast), "entry=1")).status_code == 404
