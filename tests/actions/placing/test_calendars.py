"""A calendar by link: what it shows of whom, that it follows the history, and when it stops."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from service.actions.frame.desk import Desk
from service.actions.office import release
from service.actions.people import crew_codes, erasing, people
from service.actions.placing import calendars
from service.actions.sketches import zones
from service.domain.nouns.roles import CREW_LEAD, PROJECT_MANAGER
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, NotAllowed, NotFound
from service.storage.history import books
from tests.builders import NEXT_DOOR, a_mark, a_patch, a_release, a_sketch, a_walk, a_zone
from tests.cast import Cast, enter
from tests.on_disk import database_bytes
from tests.papers.ical_oracle import Component, read

AT = "http://laptight.test"
FRIDAY = datetime(2026, 11, 27, 12, 30, tzinfo=UTC)


def planned(desk: Desk, cast: Cast, letter: str = "B", at: datetime | None = FRIDAY) -> Zone:
    zone = a_zone(desk, cast, letter=letter)
    return zones.change_zone(desk, cast.manager.id, zone.id, place_at=at)


def placings(desk: Desk, token: str) -> dict[str, Component]:
    """Each placing that the link shows, by its UID."""
    written, _ = calendars.feed(desk, token, AT)
    return {found.fields["UID"]: found for found in read(written).inside}


def only(desk: Desk, token: str) -> Component:
    [found] = placings(desk, token).values()
    return found


def link(desk: Desk, cast: Cast, *, every: bool = False) -> str:
    """The secret of a new link of the crew lead's."""
    return calendars.make_link(desk, cast.lead.id, None if every else cast.project_id).token


# --- what it shows ---------------------------------------------------------------------------------------


def test_a_zone_with_a_day_stands_in_it_tentative_until_it_is_ready_and_firm_then(
    desk: Desk, cast: Cast
) -> None:
    zone, token = planned(desk, cast), link(desk, cast)
    before = only(desk, token)
    assert before.time("DTSTART") == FRIDAY and before.fields["STATUS"] == "TENTATIVE"
    assert before.text("SUMMARY") == "Place zone B (North bay), North warehouse slab: not ready"
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    ready = only(desk, token)
    assert ready.fields["STATUS"] == "CONFIRMED" and ready.text("SUMMARY").endswith(": ready to place")
    a_mark(desk, cast, zone)
    fallen = only(desk, token)
    assert fallen.fields["STATUS"] == "TENTATIVE" and fallen.text("SUMMARY").endswith(": not ready")
    assert {before.fields["UID"], ready.fields["UID"], fallen.fields["UID"]} == {f"zone-{zone.id}@laptight"}


def test_a_placed_zone_stands_at_the_time_of_its_concrete(desk: Desk, cast: Cast) -> None:
    zone, token = planned(desk, cast), link(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    poured = datetime(2026, 11, 25, 11, 15, tzinfo=UTC)
    release.mark_placed(desk, cast.manager.id, zone.id, poured, "40 cu yd")
    told = only(desk, token)
    assert told.time("DTSTART") == poured and told.fields["STATUS"] == "CONFIRMED"
    assert told.text("SUMMARY").endswith(": placed")


def test_a_zone_without_a_day_or_off_the_sketch_is_not_in_it(desk: Desk, cast: Cast) -> None:
    planned(desk, cast, at=None)
    gone, token = planned(desk, cast, "C"), link(desk, cast)
    assert len(placings(desk, token)) == 1
    zones.withdraw_zone(desk, cast.manager.id, gone.id, "Poured with the next")
    assert placings(desk, token) == {}


def test_no_name_no_mark_and_no_reason_stands_in_it(desk: Desk, cast: Cast) -> None:
    zone = planned(desk, cast)
    mark = a_mark(desk, cast, zone)
    zones.hold_zone(desk, cast.lead.id, zone.id, "frost", "White this morning")
    written = calendars.feed(desk, link(desk, cast), AT)[0].replace(b"\r\n ", b"").decode()
    for word in ("Lou", "Lead", "Max", "example.com", mark.tag, "tear", "frost", "White"):
        assert word not in written, word


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        # America/Chicago, by the rule in force since 2007: summer time from the second Sunday of March to the
        # first of November; 6:30 am is 11:30 UTC in summer and 12:30 in winter. tzdata has the same.
        (datetime(2027, 3, 13, 12, 30, tzinfo=UTC), "20270313T123000Z"),
        (datetime(2027, 3, 14, 11, 30, tzinfo=UTC), "20270314T113000Z"),
        (datetime(2027, 11, 7, 6, 30, tzinfo=UTC), "20271107T063000Z"),  # 1:30 am, the first time
        (datetime(2027, 11, 7, 7, 30, tzinfo=UTC), "20271107T073000Z"),  # 1:30 am, the second
    ],
)
def test_times_are_utc_so_that_days_on_which_clocks_change_are_told_once_and_right(
    desk: Desk, cast: Cast, typed: datetime, expected: str
) -> None:
    planned(desk, cast, at=typed)
    assert only(desk, link(desk, cast)).fields["DTSTART"] == expected


# --- it follows the history ------------------------------------------------------------------------------


def test_a_moved_day_keeps_its_uid_and_comes_with_a_higher_sequence(desk: Desk, cast: Cast) -> None:
    """RFC 5546 2.1.4: SEQUENCE rises when DTSTART or STATUS changes."""
    zone, token = planned(desk, cast), link(desk, cast)
    before, version = only(desk, token), calendars.version_of(desk, token)
    moved = FRIDAY.replace(day=30)
    zones.change_zone(desk, cast.manager.id, zone.id, place_at=moved)
    after = only(desk, token)
    assert before.fields["UID"] == after.fields["UID"] and after.time("DTSTART") == moved
    assert int(before.fields["SEQUENCE"]) < int(after.fields["SEQUENCE"])
    assert calendars.version_of(desk, token) != version


def test_a_neighbours_mark_that_takes_the_release_raises_the_sequence_too(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch)
    zone = zones.change_zone(desk, cast.manager.id, zone.id, place_at=FRIDAY)
    beside = a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    token = link(desk, cast)
    ready = only(desk, token)
    edge = max(x for x, _ in zone.outline) / 1000
    a_mark(desk, cast, beside, (edge + 1, 300))
    fallen = only(desk, token)
    assert (ready.fields["STATUS"], fallen.fields["STATUS"]) == ("CONFIRMED", "TENTATIVE")
    assert int(ready.fields["SEQUENCE"]) < int(fallen.fields["SEQUENCE"])


def test_with_nothing_recorded_the_bytes_and_the_version_stay(desk: Desk, cast: Cast) -> None:
    planned(desk, cast)
    token = link(desk, cast)
    first = calendars.feed(desk, token, AT)
    assert calendars.feed(desk, token, AT) == first and calendars.version_of(desk, token) == first[1]


def test_what_the_project_said_last_dates_it(desk: Desk, cast: Cast) -> None:
    zone, token = planned(desk, cast), link(desk, cast)
    mark = a_mark(desk, cast, zone)
    a_patch(desk, cast, mark)
    with desk.reading() as session:
        newest = books.entries(session, cast.project_id)[-1]
    told = only(desk, token)
    assert told.fields["SEQUENCE"] == str(newest.seq)
    assert told.time("LAST-MODIFIED") == told.time("DTSTAMP") == newest.at.replace(microsecond=0)


# --- whose it is -----------------------------------------------------------------------------------------


@pytest.mark.sqlite_only("the bytes of its file")
def test_only_the_hash_of_the_secret_is_kept(desk: Desk, cast: Cast) -> None:
    token = link(desk, cast)
    kept = database_bytes(desk)
    assert len(token) * 6 >= 192
    assert hashlib.sha256(token.encode()).hexdigest().encode() in kept and token.encode() not in kept


def test_a_link_of_all_projects_shows_each_that_its_person_is_on_and_no_other(desk: Desk, cast: Cast) -> None:
    planned(desk, cast)
    theirs = replace(cast, manager=cast.other_manager, project_id=cast.other_project_id)
    far = planned(desk, theirs, "D")
    token, narrow = link(desk, cast, every=True), link(desk, cast)
    assert len(placings(desk, token)) == 1
    people.invite(desk, cast.other_manager.id, cast.other_project_id, cast.lead.email, CREW_LEAD)
    assert len(placings(desk, token)) == 2 and len(placings(desk, narrow)) == 1
    people.take_off(desk, cast.other_manager.id, cast.other_project_id, cast.lead.id)
    assert f"zone-{far.id}@laptight" not in placings(desk, token) and len(placings(desk, token)) == 1


def test_who_leaves_a_project_sees_its_placings_no_more_not_even_once_they_are_back(
    desk: Desk, cast: Cast
) -> None:
    planned(desk, cast)
    token = link(desk, cast)
    people.take_off(desk, cast.manager.id, cast.project_id, cast.lead.id)
    opens_nothing(desk, token)
    people.invite(desk, cast.manager.id, cast.project_id, cast.lead.email, CREW_LEAD)
    opens_nothing(desk, token)


def opens_nothing(desk: Desk, token: str) -> None:
    with pytest.raises(NotFound):
        calendars.feed(desk, token, AT)
    with pytest.raises(NotFound):
        calendars.version_of(desk, token)


def test_an_ended_link_opens_nothing_and_only_its_own_person_ends_it(desk: Desk, cast: Cast) -> None:
    made = calendars.make_link(desk, cast.lead.id, cast.project_id)
    with pytest.raises(NotFound):
        calendars.end_link(desk, cast.manager.id, made.link.id)
    assert [own.link for own in calendars.links_of(desk, cast.lead.id)] == [made.link]
    assert calendars.links_of(desk, cast.manager.id) == []
    calendars.end_link(desk, cast.lead.id, made.link.id)
    with pytest.raises(NotFound):
        calendars.feed(desk, made.token, AT)
    with pytest.raises(NotFound):
        calendars.end_link(desk, cast.lead.id, made.link.id)


def test_nobody_makes_a_link_of_a_project_they_are_not_on(desk: Desk, cast: Cast) -> None:
    for project in (cast.other_project_id, "nowhere"):
        with pytest.raises(BadInput) as refusal:
            calendars.make_link(desk, cast.lead.id, project)
        assert refusal.value.fields == {"project": "Choose a project that you are on."}


def test_a_sign_in_by_code_makes_sees_and_ends_no_link(desk: Desk, cast: Cast) -> None:
    made = calendars.make_link(desk, cast.lead.id, None)
    code = crew_codes.make_code(desk, cast.manager.id, cast.project_id, cast.lead.id)
    crew_codes.use_code(desk, code.token, "10.0.0.1")
    by_code = desk.fresh()
    by_code.only = cast.project_id
    with pytest.raises(NotAllowed):
        calendars.make_link(by_code, cast.lead.id, cast.project_id)
    with pytest.raises(NotAllowed):
        calendars.end_link(by_code, cast.lead.id, made.link.id)
    assert calendars.links_of(by_code, cast.lead.id) == []


@pytest.mark.parametrize("token", ["", "x", "\ud800", "%", "a" * 5000])
def test_a_secret_that_is_none_opens_nothing(desk: Desk, cast: Cast, token: str) -> None:
    link(desk, cast)
    with pytest.raises(NotFound):
        calendars.feed(desk, token, AT)


def test_whoever_is_erased_leaves_no_link_behind(desk: Desk, cast: Cast) -> None:
    person = enter(desk, "Ada Quill")
    people.invite(desk, cast.manager.id, cast.project_id, person.email, PROJECT_MANAGER)
    made = calendars.make_link(desk, person.id, None)
    erasing.erase_person(desk, person.email)
    with pytest.raises(NotFound):
        calendars.feed(desk, made.token, AT)
