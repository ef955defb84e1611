"""Who did what: everybody with roles, first and last action and counts that lead to just that."""

from __future__ import annotations

import re
from html import unescape

import pytest

from service.actions.frame.desk import Desk
from service.actions.people import people
from service.actions.people.erasing import erase_person
from service.web.inspector import doers
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone
from tests.cast import Cast, Clock
from tests.conftest import ClientOf

ROW = re.compile(r"<tr><th scope=\"row\">(.*?)</tr>", re.S)


def path(cast: Cast, person: str = "") -> str:
    return f"/projects/{cast.project_id}/who-did-what" + (f"/{person}" if person else "")


def words(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def rows(page: str) -> list[str]:
    return [words(row) for row in ROW.findall(page)]


def test_everybody_is_told_with_role_first_and_last_action_and_counts(
    desk: Desk, cast: Cast, clock: Clock, page_of: ClientOf
) -> None:
    """Noon UTC is 6 am in Chicago."""
    zone = a_zone(desk, cast)
    clock.go_on(days=1)
    for _ in range(2):
        a_mark(desk, cast, zone)
    clock.go_on(minutes=30)
    a_walk(desk, cast, zone)
    page = page_of(cast.inspector).get(path(cast)).text
    assert rows(page) == [
        "Ina Inspector Inspector since Wed 25 Nov 2026 "
        "First person let in, Wed 25 Nov 2026, 6:00 am Last person let in, Wed 25 Nov 2026, 6:00 am "
        "1 action person let in: 1 by Ina Inspector",
        "Lou Lead Crew lead since Wed 25 Nov 2026 "
        "First person let in, Wed 25 Nov 2026, 6:00 am Last punch walk finished, Thu 26 Nov 2026, 6:30 am "
        "4 actions defect marked: 2 by Lou Lead person let in: 1 by Lou Lead "
        "punch walk finished: 1 by Lou Lead",
        "Max Manager Project manager since Wed 25 Nov 2026 "
        "First project started, Wed 25 Nov 2026, 6:00 am Last zone outlined, Wed 25 Nov 2026, 6:00 am "
        "5 actions person let in: 1 by Max Manager project started: 1 by Max Manager "
        "scale set: 1 by Max Manager sketch added: 1 by Max Manager zone outlined: 1 by Max Manager",
    ]


def test_a_count_leads_to_just_those_entries(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    client = page_of(cast.inspector)
    found = re.search(
        r'<a href="([^"]*kind=defect-marked[^"]*)">defect marked: 1', client.get(path(cast)).text
    )
    assert found
    page = client.get(unescape(found[1])).text
    assert "1 entry that fit" in page and "Lou Lead marked B-01" in page and "logged a patch" not in page


def test_one_person_s_actions_stand_by_day_newest_first(
    desk: Desk, cast: Cast, clock: Clock, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    clock.go_on(hours=20)  # 2 am of the 26th in Chicago
    a_patch(desk, cast, mark)
    clock.go_on(hours=2)
    a_walk(desk, cast, zone)
    page = page_of(cast.inspector).get(path(cast, cast.lead.id)).text
    assert "<h1>What Lou Lead did</h1>" in page and "4 actions, all shown, newest first." in page
    days = re.findall(r"<h2>(\w+ \d+ \w+ \d+)</h2>\s*<p class=\"soft\">(.*?)</p>", page)
    assert days == [
        ("Thu 26 Nov 2026", "2 actions, 2:00 am to 4:00 am"), ("Wed 25 Nov 2026", "2 actions, 6:00 am"),
    ]  # fmt: skip
    assert [int(n) for n in re.findall(r'id="entry-(\d+)"', page)] == [10, 9, 8, 3]
    assert f"history?person={cast.lead.id}&amp;day=2026-11-26" in page


def test_a_busy_person_is_told_in_parts_with_whole_days_counted(
    desk: Desk, cast: Cast, page_of: ClientOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    zone = a_zone(desk, cast)
    for _ in range(5):
        a_mark(desk, cast, zone)
    monkeypatch.setattr(doers, "LINES", 3)
    client = page_of(cast.inspector)
    page = client.get(path(cast, cast.lead.id)).text
    assert "3 of 6 actions, newest first." in page and "6 actions, 6:00 am" in page
    older = re.search(r'href="([^"]*before=\d+)"', page)
    assert older and "3 of 6 actions" in client.get(older[1]).text


def test_roles_given_changed_and_taken_are_told_in_order(
    desk: Desk, cast: Cast, clock: Clock, page_of: ClientOf
) -> None:
    clock.go_on(days=1)
    people.change_role(desk, cast.manager.id, cast.project_id, cast.lead.id, "inspector")
    clock.go_on(days=1)
    people.take_off(desk, cast.manager.id, cast.project_id, cast.lead.id)
    page = words(page_of(cast.inspector).get(path(cast, cast.lead.id)).text)
    told = "Crew lead since Wed 25 Nov 2026 Inspector since Thu 26 Nov 2026 Off the project since Fri 27 Nov"
    assert told in page


def test_whose_name_was_erased_is_told_without_it_and_found_all_the_same(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_mark(desk, cast, a_zone(desk, cast))
    erase_person(desk, cast.lead.email)
    client = page_of(cast.inspector)
    page = client.get(path(cast)).text
    assert "Lou Lead" not in page
    assert rows(page)[-1].startswith("The operator of the service"), "who erased it, at the command line"
    assert any(row.startswith("A person no longer named Crew lead since") for row in rows(page))
    one = client.get(path(cast, cast.lead.id)).text
    assert (
        "<h1>What a person no longer named did</h1>" in one and "A person no longer named marked B-01" in one
    )
    found = client.get(f"/projects/{cast.project_id}/history?person={cast.lead.id}").text
    assert f'<option value="{cast.lead.id}" selected>A person no longer named</option>' in found


def test_who_has_nothing_to_do_with_the_project_is_not_there(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    client = page_of(cast.inspector)
    assert client.get(path(cast, cast.outsider.id)).status_code == 404
    for person in (cast.outsider, cast.other_manager):
        assert page_of(person).get(path(cast)).status_code == 404
        assert page_of(person).get(path(cast, cast.lead.id)).status_code == 404


def test_a_release_counts_what_the_history_says_of_it(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    told = next(row for row in rows(page_of(cast.lead).get(path(cast)).text) if row.startswith("Max"))
    assert "zone released: 1" in told and "checkpoint given: 1" in told
