"""Marking a zone placed, and the second asking where it is not ready."""

from __future__ import annotations

import re

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.domain.nouns.placing import Placement
from service.domain.nouns.site import Zone
from tests.builders import a_mark, a_release, a_walk, a_zone, state_of
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of


def path(zone: Zone) -> str:
    return f"/zones/{zone.id}/placed"


def placement(desk: Desk, cast: Cast, zone: Zone) -> Placement | None:
    return zone_view(desk, cast.manager.id, zone.id).zone.placement


@pytest.fixture
def ready(desk: Desk, cast: Cast) -> Zone:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


@pytest.fixture
def held(desk: Desk, cast: Cast) -> Zone:
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone)
    a_walk(desk, cast, zone)
    return zone


def test_a_ready_zone_is_placed_at_the_sites_own_time(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    """Noon UTC is 6 am in Chicago, which keeps UTC-6 in November (tz database)."""
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(ready)).text, path(ready))
    assert sent["at"] == "2026-11-25T06:00"
    answers = [
        manager.post(path(ready), data=sent | {"at": "2026-11-25T05:30", "volume": "60 cu yd"})
        for _ in range(2)
    ]
    assert {answer.status_code for answer in answers} == {303}
    found = placement(desk, cast, ready)
    assert found is not None and found.at.isoformat() == "2026-11-25T11:30:00+00:00"
    assert (found.volume, found.without_release, found.blockers) == ("60 cu yd", False, ())
    page = manager.get(answers[0].headers["location"]).text
    for words in ("Zone B is placed", "60 cu yd", "Wed 25 Nov 2026, 5:30 am", "I have seen this zone."):
        assert words in page, words


def test_a_held_zone_is_asked_about_twice_and_keeps_its_blockers(
    desk: Desk, cast: Cast, page_of: ClientOf, held: Zone
) -> None:
    manager = page_of(cast.manager)
    first = form_of(manager.get(path(held)).text, path(held))
    assert "sure" not in first
    asked = manager.post(path(held), data=first | {"volume": "12 cu yd"})
    assert asked.status_code == 409 and placement(desk, cast, held) is None
    assert "placed without release" in asked.text and "is open: tear" in asked.text
    second = form_of(asked.text, path(held))
    assert second["volume"] == "12 cu yd"
    assert manager.post(path(held), data=second).status_code == 303
    assert state_of(desk, cast, held) == "placed without release"
    found = placement(desk, cast, held)
    assert found is not None and found.blockers == ("B-01 is open: tear",)
    page = manager.get(f"/zones/{held.id}/release").text
    assert "Stood against it" in page and "B-01 is open: tear" in page


def test_sure_of_other_reasons_is_asked_again(desk: Desk, cast: Cast, page_of: ClientOf, held: Zone) -> None:
    manager = page_of(cast.manager)
    first = form_of(manager.get(path(held)).text, path(held))
    second = form_of(manager.post(path(held), data=first).text, path(held))
    a_mark(desk, cast, held, (500, 500))
    again = manager.post(path(held), data=second)
    assert again.status_code == 409 and "B-02" in again.text
    for trick in ("yes", "", "true"):
        assert manager.post(path(held), data=first | {"sure": trick}).status_code == 409
    assert placement(desk, cast, held) is None


def test_a_clear_zone_nobody_released_is_placed_without_release(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    manager = page_of(cast.manager)
    first = form_of(manager.get(path(zone)).text, path(zone))
    asked = manager.post(path(zone), data=first)
    assert "nobody released it" in asked.text
    manager.post(path(zone), data=form_of(asked.text, path(zone)))
    assert state_of(desk, cast, zone) == "placed without release"


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("at", "2026-11-25T06:01", "That time has not come yet."),
        ("at", "yesterday", "Write the day and time as"),
        ("at", "2026-03-08T02:30", "The clocks go forward then"),
        ("volume", "60", "with its unit"),
        ("volume", "a truck or two", "with its unit"),
        ("volume", "0 m3", "more than 0"),
    ],
)
def test_what_cannot_be_read_is_kept_and_told(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone, field: str, typed: str, told: str
) -> None:
    sent = {"at": "2026-11-25T05:00", "volume": "60 cu yd"} | {field: typed}
    answer = page_of(cast.manager).post(path(ready), data=sent)
    assert answer.status_code == 422 and told in answer.text
    kept = form_of(answer.text, path(ready))
    assert {name: kept[name] for name in sent} == sent
    assert placement(desk, cast, ready) is None


@pytest.mark.parametrize(
    ("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404), ("other_manager", 404)]
)
def test_only_a_project_manager_may(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone, who: str, status: int
) -> None:
    other = page_of(getattr(cast, who))
    assert other.get(path(ready)).status_code == status
    assert other.post(path(ready), data={"at": "", "volume": ""}).status_code == status
    assert placement(desk, cast, ready) is None


def test_a_placed_zone_is_not_placed_again(desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone) -> None:
    manager = page_of(cast.manager)
    manager.post(path(ready), data={"at": "", "volume": "5 m3"})
    assert manager.get(path(ready)).status_code == 409
    answer = manager.post(path(ready), data={"at": "", "volume": "6 m3"})
    assert answer.status_code == 409 and "placed already" in answer.text
    found = placement(desk, cast, ready)
    assert found is not None and found.volume == "5 m3"


def test_a_placed_zone_tells_its_day_without_saying_placed_twice(
    cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    """The line begins with Placing and the state beside it says placed."""
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(ready)).text, path(ready))
    assert manager.post(path(ready), data=sent).status_code == 303
    for address in (f"/projects/{cast.project_id}/crew", f"/projects/{cast.project_id}/as-it-stood"):
        assert re.search(r"Placing: (Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d", manager.get(address).text), address
    assert re.search(
        r"Concrete is in, (Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d", manager.get(f"/zones/{ready.id}").text
    )
