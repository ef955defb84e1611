"""The plan of pours as a page: a calendar sheet, zones with what they need, moving a day, the link."""

from __future__ import annotations

import html
import re
from datetime import UTC, datetime, timedelta

import httpx
import pytest
from fastapi import FastAPI

from service.actions.frame.desk import Desk
from service.actions.office.placing_start import start_placing
from service.actions.people import crew_codes
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.web.serving.guards import PLAIN_COOKIE
from tests.builders import NEXT_DOOR, a_mark, a_patch, a_release, a_sketch, a_walk, a_zone
from tests.cast import Cast, Clock
from tests.conftest import ClientOf
from tests.in_process import browser
from tests.on_disk import database_bytes
from tests.papers.ical_oracle import read
from tests.web.office.forms import actions_of, form_of
from tests.whole.asking import main_words

# 6 am of Wednesday 25 November 2026 at the site; this many hours later it is 6:30 am of a day.
HALF_PAST_SIX = datetime(2026, 11, 25, 12, 30, tzinfo=UTC)


def path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/plan-of-pours"


def links_path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/calendar-links"


def planned(desk: Desk, cast: Cast, zone: Zone, days: int) -> Zone:
    at = HALF_PAST_SIX + timedelta(days=days)
    return zones.change_zone(desk, cast.manager.id, zone.id, place_at=at)


def days_shown(page: httpx.Response) -> dict[str, str]:
    """The days that have a placing on the calendar, and the words on each."""
    found = re.findall(r'<li[^>]*><span class="date">(.*?)</span>(.*?)</li>', page.text, re.DOTALL)
    plain = [
        (re.sub(r"<[^>]*>", "", day), " ".join(re.sub(r"<[^>]*>", " ", rest).split())) for day, rest in found
    ]
    return {html.unescape(day): html.unescape(rest) for day, rest in plain if rest}


@pytest.fixture
def worked(desk: Desk, cast: Cast, clock: Clock) -> Zone:
    """Two marks closed on each of three days; it is Monday 30 November, and three are open in zone B."""
    zone = a_zone(desk, cast)
    for day in range(3):
        for n in range(2):
            a_patch(desk, cast, a_mark(desk, cast, zone, (150 + 60 * n, 200 + 60 * day)))
        clock.go_on(days=1)
    clock.go_on(days=2)
    for n in range(3):
        a_mark(desk, cast, zone, (200 + 50 * n, 500))
    return zone


# --- what it says ----------------------------------------------------------------------------------------


def test_the_days_of_the_week_stand_side_by_side_with_what_is_placed_on_them(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    sketch = a_sketch(desk, cast)
    ready = planned(desk, cast, a_zone(desk, cast, sketch), 2)
    a_walk(desk, cast, ready)
    a_release(desk, cast, ready)
    planned(desk, cast, a_zone(desk, cast, sketch, "C", NEXT_DOOR), 26)
    page = page_of(cast.lead).get(path(cast))
    shown = days_shown(page)
    assert shown == {
        "Fri 27 Nov": "B North bay, 6:30 am ready to place",
        "Mon 21 Dec": "C North bay, 6:30 am laying",
    }
    words = main_words(page)
    assert "Wed 25 Nov today" in words and "3 weeks with no placing" in words
    assert re.findall(r"Week of (\w+ \d+ \w+)", words) == ["Mon 23 Nov", "Mon 21 Dec"]


def test_a_late_zone_says_by_how_many_days_and_how_sure_that_is(
    desk: Desk, cast: Cast, page_of: ClientOf, worked: Zone
) -> None:
    """Three left at two a day, from Monday: Tuesday. It is planned for that Monday."""
    planned(desk, cast, worked, 5)
    page = page_of(cast.lead).get(path(cast))
    words = main_words(page)
    assert "Late: about Tue 1 Dec; placing is Mon 30 Nov, 1 day before." in words
    assert "3 left, about Tue 1 Dec" in words
    assert "2 a working day, over 3 working days; soonest Tue 1 Dec, latest Tue 1 Dec" in words
    assert "1 zone has a day. 1 is not expected in time." in words
    assert "It is planned before its punch walk: none that counts is finished." in words
    assert days_shown(page)["Mon 30 Nov today"] == "B North bay, 6:30 am laying , late"


def test_a_zone_that_can_be_clear_in_time_says_so_even_at_the_slow_pace(
    desk: Desk, cast: Cast, page_of: ClientOf, worked: Zone
) -> None:
    planned(desk, cast, worked, 8)
    assert "In time: about Tue 1 Dec, Tue 1 Dec at the slow pace." in main_words(
        page_of(cast.lead).get(path(cast))
    )


def test_too_little_history_predicts_nothing_and_says_so(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = planned(desk, cast, a_zone(desk, cast), 5)
    a_mark(desk, cast, zone)
    words = main_words(page_of(cast.lead).get(path(cast)))
    assert "When it will be clear cannot be told: too little was closed lately." in words
    assert "1 left too little of it was closed lately to tell a pace" in words
    assert not re.search(r"about \w+ \d+ \w+", words)


def test_what_a_zone_still_needs_is_counted_by_kind(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone)
    a_mark(desk, cast, zone, (400, 400))
    zones.hold_zone(desk, cast.lead.id, zone.id, "frost", "White this morning")
    words = main_words(page_of(cast.lead).get(path(cast)))
    assert "Still needs: 1 hold to lift, 2 marks to mend, its punch walk." in words
    assert "No pace tells when a hold is lifted. The punch walk is still to come and may find more." in words


def test_two_zones_of_a_day_are_told_and_a_day_gone_by_is(
    desk: Desk, cast: Cast, clock: Clock, page_of: ClientOf
) -> None:
    sketch = a_sketch(desk, cast)
    planned(desk, cast, a_zone(desk, cast, sketch), 1)
    planned(desk, cast, a_zone(desk, cast, sketch, "C", NEXT_DOOR), 1)
    clock.go_on(days=2)
    words = main_words(page_of(cast.lead).get(path(cast)))
    assert "Zone C is planned for the same day." in words and "Zone B is planned for the same day." in words
    assert words.count("Its planned day is over, and nobody logged that it was placed.") == 2


def test_zones_without_a_day_stand_apart(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    a_zone(desk, cast)
    page = page_of(cast.lead).get(path(cast))
    assert "Zones without a day" in main_words(page) and days_shown(page) == {}


def test_an_empty_project_says_what_a_zone_is(cast: Cast, page_of: ClientOf) -> None:
    assert "No zone is outlined yet." in main_words(page_of(cast.manager).get(path(cast)))


def test_it_says_that_it_is_a_forecast_and_how_it_is_worked_out(cast: Cast, page_of: ClientOf) -> None:
    words = main_words(page_of(cast.inspector).get(path(cast)))
    assert "It releases nothing and holds nothing" in words and "Holidays are not known here." in words


def test_office_and_crew_lead_to_it(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    a_zone(desk, cast)
    for who, part in ((cast.manager, "office"), (cast.lead, "crew")):
        assert f'href="{path(cast)}"' in page_of(who).get(f"/projects/{cast.project_id}/{part}").text


# --- moving a day ----------------------------------------------------------------------------------------


def test_the_project_manager_moves_a_day_from_here_and_the_plan_shows_it(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, manager = planned(desk, cast, a_zone(desk, cast), 2), page_of(cast.manager)
    here = f"/zones/{zone.id}/move-day"
    assert f'href="{here}"' in manager.get(path(cast)).text
    sent = form_of(manager.get(here).text, here)
    assert sent["place_at"] == "2026-11-27T06:30"
    answers = [manager.post(here, data=sent | {"place_at": "2026-12-01T07:00"}) for _ in range(2)]
    assert {answer.headers["location"] for answer in answers} == {f"{path(cast)}?did=moved#zone-B"}
    assert days_shown(manager.get(path(cast))) == {"Tue 1 Dec": "B North bay, 7:00 am laying"}
    manager.post(here, data={"place_at": ""})
    assert days_shown(manager.get(path(cast))) == {}


def test_a_day_that_cannot_be_read_comes_back_as_it_was_typed(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, manager = a_zone(desk, cast), page_of(cast.manager)
    here = f"/zones/{zone.id}/move-day"
    for typed, why in (
        ("tomorrow", "Write the day and time as"),
        ("2027-03-14T02:30", "The clocks go forward"),
    ):
        answer = manager.post(here, data={"place_at": typed})
        assert answer.status_code == 422 and why in main_words(answer)
        assert form_of(answer.text, here)["place_at"] == typed


@pytest.mark.parametrize("who", ["lead", "inspector"])
def test_the_others_read_the_plan_and_move_nothing(
    desk: Desk, cast: Cast, page_of: ClientOf, who: str
) -> None:
    zone, client = planned(desk, cast, a_zone(desk, cast), 2), page_of(getattr(cast, who))
    page = client.get(path(cast))
    assert "/move-day" not in page.text and actions_of(page.text) == ["/sign-out", links_path(cast)]
    here = f"/zones/{zone.id}/move-day"
    assert client.get(here).status_code == client.post(here, data={"place_at": ""}).status_code == 403


# --- the calendar by link --------------------------------------------------------------------------------


def link_in(page: httpx.Response) -> str:
    found = re.search(r'value="http://laptight\.test(/calendar/[^"]+\.ics)"', page.text)
    assert found, "no link on the page"
    return found[1]


def test_a_link_is_shown_once_and_a_calendar_program_reads_it_without_signing_in(
    desk: Desk, cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    planned(desk, cast, a_zone(desk, cast), 2)
    lead = page_of(cast.lead)
    sent = form_of(lead.get(path(cast)).text, links_path(cast)) | {"covers": "project"}
    first = lead.post(links_path(cast), data=sent)
    assert first.status_code == 200 and first.headers["cache-control"] == "no-store"
    link = link_in(first)
    again = lead.post(links_path(cast), data=sent)
    shown = lead.get(again.headers["location"])
    assert again.status_code == 303 and "/calendar/" not in shown.text.replace("/calendar-links", "")
    assert link.split("/")[2].removesuffix(".ics").encode() not in database_bytes(desk)
    answer = client.get(link)
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    [placing] = read(answer.content).inside
    assert placing.fields["DTSTART"] == "20261127T123000Z"
    assert placing.fields["URL"] == f"http://laptight.test{path(cast)}"


def test_a_calendar_program_that_asks_again_is_told_that_nothing_changed(
    desk: Desk, cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    zone = planned(desk, cast, a_zone(desk, cast), 2)
    link = link_in(page_of(cast.lead).post(links_path(cast), data={"covers": "all"}))
    first = client.get(link)
    same = client.get(link, headers={"If-None-Match": first.headers["etag"]})
    assert (same.status_code, same.content) == (304, b"")
    planned(desk, cast, zone, 3)
    moved = client.get(link, headers={"If-None-Match": first.headers["etag"]})
    assert moved.status_code == 200 and moved.content != first.content
    for name, value in (("cache-control", "private, no-cache"), ("referrer-policy", "no-referrer")):
        assert first.headers[name] == same.headers[name] == value


def test_it_is_english_whatever_language_is_asked_for(
    desk: Desk, cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    planned(desk, cast, a_zone(desk, cast), 2)
    link = link_in(page_of(cast.lead).post(links_path(cast), data={"covers": "project"}))
    spanish = client.get(link, headers={"Accept-Language": "es"})
    assert spanish.content == client.get(link).content and b"not ready" in spanish.content


def test_a_link_is_ended_on_the_page_and_answers_like_one_that_never_was(
    cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    lead = page_of(cast.lead)
    link = link_in(lead.post(links_path(cast), data={"covers": "all"}))
    page = lead.get(path(cast))
    assert "All my projects made Wed 25 Nov 2026, 6:00 am" in main_words(page)
    [end] = [action for action in actions_of(page.text) if action.endswith("/end")]
    assert page_of(cast.manager).post(end).status_code == 404
    sent = form_of(page.text, end)
    ended = [lead.post(end, data=sent) for _ in range(2)]
    assert {answer.headers["location"] for answer in ended} == {f"{path(cast)}?did=ended"}
    gone, never = client.get(link), client.get("/calendar/never-was.ics")
    assert (gone.status_code, gone.content) == (never.status_code, never.content) and gone.status_code == 404
    assert actions_of(lead.get(path(cast)).text) == ["/sign-out", links_path(cast)]


def test_a_crew_signed_in_by_code_reads_the_plan_and_is_offered_no_link(
    desk: Desk, cast: Cast, page_of: ClientOf, app: FastAPI
) -> None:
    page_of(cast.lead).post(links_path(cast), data={"covers": "all"})
    code = crew_codes.make_code(desk, cast.manager.id, cast.project_id, cast.lead.id)
    secret, _, _ = crew_codes.use_code(desk, code.token, "10.0.0.1")
    with browser(app) as phone:
        phone.cookies.set(PLAIN_COOKIE, secret)
        page = phone.get(path(cast))
        assert "A link takes a sign-in with a password." in main_words(page)
        assert actions_of(page.text) == ["/sign-out"]
        assert phone.post(links_path(cast), data={"covers": "project"}).status_code == 403


def test_a_zone_that_is_being_placed_says_since_when_and_is_not_called_late(
    desk: Desk, cast: Cast, clock: Clock, page_of: ClientOf
) -> None:
    """Damage found while concrete comes is mended then: no forecast is made of it."""
    zone = planned(desk, cast, a_zone(desk, cast), 0)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    start_placing(desk, cast.lead.id, zone.id)
    a_mark(desk, cast, zone)
    page = page_of(cast.lead).get(path(cast))
    words = main_words(page)
    assert "placing since Wed 25 Nov 2026, 6:00 am" in words and "cannot be told" not in words
    assert days_shown(page) == {"Wed 25 Nov today": "B North bay, 6:30 am ready to place"}
