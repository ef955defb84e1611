"""As it stood: what a zone was, and what the gate said, at a time and after an entry."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.marks import defects
from service.actions.office import projects
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.storage.history import books
from tests.builders import NEXT_DOOR, a_mark, a_patch, a_release, a_sketch, a_walk, a_zone, sides
from tests.cast import Cast, Clock
from tests.conftest import ClientOf


def head(desk: Desk, cast: Cast) -> int:
    with desk.reading() as session:
        return books.head(session, cast.project_id)


def path(zone: Zone, query: str = "") -> str:
    return f"/zones/{zone.id}/as-it-stood" + (f"?{query}" if query else "")


@pytest.fixture
def story(desk: Desk, cast: Cast, clock: Clock) -> tuple[Zone, dict[str, int]]:
    """Noon UTC is 6 am in Chicago. Each step an hour after the one before; told by its entry's number."""
    at: dict[str, int] = {}
    zone = a_zone(desk, cast)
    at["outlined"] = head(desk, cast)
    clock.go_on(hours=1)
    mark = a_mark(desk, cast, zone)
    at["marked"] = head(desk, cast)
    clock.go_on(hours=1)
    a_walk(desk, cast, zone)
    a_patch(desk, cast, mark, sides(right="5 3/4 in"))
    at["short"] = head(desk, cast)
    clock.go_on(hours=1)
    a_patch(desk, cast, mark)
    a_release(desk, cast, zone)
    at["released"] = head(desk, cast)
    clock.go_on(hours=1)
    a_mark(desk, cast, zone, (500, 300))
    at["fallen"] = head(desk, cast)
    return zone, at


def test_a_zone_is_told_as_each_entry_left_it(
    cast: Cast, page_of: ClientOf, story: tuple[Zone, dict[str, int]]
) -> None:
    zone, at = story
    client = page_of(cast.inspector)
    pages = {name: client.get(path(zone, f"entry={seq}")).text for name, seq in at.items()}
    assert "zone B was still being laid. The gate gave 1 reason:" in pages["outlined"]
    assert "No mark stood in this zone." in pages["outlined"]
    assert "zone B was still being laid. The gate gave 2 reasons:" in pages["marked"]
    assert "zone B was held. The gate gave 1 reason:" in pages["short"]
    assert "short by 1/4 in on the right" in pages["short"]
    assert "zone B was released and ready to place. The gate found nothing." in pages["released"]
    assert "I have seen this zone." in pages["released"] and "B-02" not in pages["released"]
    assert (
        "zone B was held. The gate gave 1 reason:" in pages["fallen"] and "(fallen away)" in pages["fallen"]
    )


def test_a_time_of_the_site_counts_all_that_was_recorded_up_to_it(
    cast: Cast, page_of: ClientOf, story: tuple[Zone, dict[str, int]]
) -> None:
    """7 am in Chicago is when the mark was made: at 6:59 it is not there."""
    zone, _ = story
    client = page_of(cast.inspector)
    before = client.get(path(zone, "at=2026-11-25T06:59")).text
    after = client.get(path(zone, "at=2026-11-25T07:00")).text
    assert "Wed 25 Nov 2026, 6:59 am: zone B was still being laid. The gate gave 1 reason" in before
    assert "B-01" not in before and "B-01" in after
    assert 'value="2026-11-25T06:59"' in before


def test_the_rule_sheet_of_then_counts_and_not_today_s(
    desk: Desk, cast: Cast, page_of: ClientOf, clock: Clock
) -> None:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    then = head(desk, cast)
    projects.change_rule_sheet(
        desk, cast.manager.id, cast.project_id, {"patch_overlap": {"value": "12 in", "source": "spec"}}
    )
    client = page_of(cast.inspector)
    assert "zone B was clear. The gate found nothing." in client.get(path(zone, f"entry={then}")).text
    assert "zone B is held. The gate gave 1 reason:" in client.get(path(zone)).text


def test_without_a_time_it_is_now(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    page = page_of(cast.inspector).get(path(zone)).text
    assert "Zone B as it stands" in page and "zone B is still being laid" in page
    assert f'href="/zones/{zone.id}/mark"' in page, "an inspector marks what is seen"


def test_a_time_to_come_is_told_as_now(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    page = page_of(cast.lead).get(path(a_zone(desk, cast), "at=2027-01-01T00:00")).text
    assert "That time is still to come" in page and "Zone B as it stands" in page


def test_a_time_before_the_zone_says_so(desk: Desk, cast: Cast, page_of: ClientOf, clock: Clock) -> None:
    clock.go_on(hours=1)
    zone = a_zone(desk, cast)
    answer = page_of(cast.lead).get(path(zone, "at=2026-11-25T06:30"))
    assert answer.status_code == 200
    assert "Zone B was not outlined yet at that time. Choose a later time." in answer.text


def test_a_time_that_cannot_be_read_is_told_and_kept(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    answer = page_of(cast.lead).get(path(a_zone(desk, cast), "at=noon"))
    assert answer.status_code == 422 and 'value="noon"' in answer.text
    assert "Write the day and time as 2026-11-26 06:30." in answer.text
    assert "The gate" not in answer.text, "an unread time shows no zone as if it were that time's"


@pytest.mark.parametrize("entry", ["0", "-3", "x", "999", "9" * 40, "²"])
def test_an_entry_that_never_was_is_not_there(desk: Desk, cast: Cast, page_of: ClientOf, entry: str) -> None:
    assert page_of(cast.lead).get(path(a_zone(desk, cast), f"entry={entry}")).status_code == 404


def test_a_zone_taken_off_is_told_off_and_as_it_was(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    then = head(desk, cast)
    zones.withdraw_zone(desk, cast.manager.id, zone.id, "drawn twice")
    client = page_of(cast.inspector)
    now = client.get(path(zone)).text
    assert "Taken off" in now and "drawn twice" in now
    assert "still being laid" in client.get(path(zone, f"entry={then}")).text


def test_a_neighbour_s_hold_is_not_told_as_this_zone_s(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast)
    zone, beside = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    zones.hold_zone(desk, cast.lead.id, beside.id, "standing water", "low spot")
    client = page_of(cast.inspector)
    assert "standing water" in client.get(path(beside)).text
    assert "standing water" not in client.get(path(zone)).text


def test_all_zones_stand_with_their_states_of_then(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch)
    a_walk(desk, cast, zone)
    then = head(desk, cast)
    gone = a_mark(desk, cast, zone)
    client = page_of(cast.inspector)
    root = f"/projects/{cast.project_id}/as-it-stood"
    before, now = client.get(f"{root}?entry={then}").text, client.get(root).text
    assert "1 zone, 1 clear." in before and "1 zone, 1 held." in now
    assert f'href="/zones/{zone.id}/as-it-stood?entry={then}"' in before, "the moment goes along"
    assert f'href="/zones/{zone.id}/mark"' in now and f'href="/zones/{zone.id}/mark"' not in before
    defects.withdraw_defect(desk, cast.lead.id, gone.id, "a leaf")
    assert "1 zone, 1 clear." in client.get(root).text


def test_before_the_project_there_is_nothing_and_it_says_so(cast: Cast, page_of: ClientOf) -> None:
    answer = page_of(cast.lead).get(f"/projects/{cast.project_id}/as-it-stood?at=2020-01-01T00:00")
    assert answer.status_code == 422 and "not started yet" in answer.text


def test_nobody_from_outside_sees_how_it_stood(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    for person in (cast.outsider, cast.other_manager):
        client = page_of(person)
        assert client.get(path(zone)).status_code == 404
        assert client.get(f"/projects/{cast.project_id}/as-it-stood").status_code == 404
