"""A zone's life on its page: drawn, and the same in words with what began and ended each state."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape

import pytest

from service.actions.frame.desk import Desk
from service.actions.office import release
from service.domain.nouns.site import Zone
from service.storage.history import books
from service.web.inspector import timeline
from service.web.inspector.timeline import lasting
from tests.builders import NEXT_DOOR, a_mark, a_patch, a_release, a_sketch, a_walk, a_zone
from tests.cast import Cast, Clock
from tests.conftest import ClientOf

STATE = re.compile(r'<li id="state-(\d+)">(.*?)</li>', re.S)


def path(zone: Zone, query: str = "") -> str:
    return f"/zones/{zone.id}/timeline" + (f"?{query}" if query else "")


def states(page: str) -> dict[int, str]:
    """The list of states: number to words."""
    tidy = {int(number): unescape(re.sub(r"<[^>]+>", " ", inner)) for number, inner in STATE.findall(page)}
    return {number: " ".join(words.split()) for number, words in tidy.items()}


@pytest.fixture
def zone(desk: Desk, cast: Cast, clock: Clock) -> Zone:
    """Noon UTC is 6 am in Chicago. Outlined, marked an hour later, walked, patched, released the next day."""
    zone = a_zone(desk, cast)
    clock.go_on(hours=1)
    mark = a_mark(desk, cast, zone)
    clock.go_on(minutes=62)
    a_walk(desk, cast, zone)
    clock.go_on(hours=1)
    a_patch(desk, cast, mark)
    clock.go_on(days=1)
    a_release(desk, cast, zone)
    clock.go_on(hours=2)
    return zone


def test_each_state_is_told_with_how_long_what_began_and_what_ended_it(
    cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    page = page_of(cast.inspector).get(path(zone)).text
    told = states(page)
    assert told[1] == (
        "State 1 Laying , 2 h 2 min From Wed 25 Nov 2026, 6:00 am to 8:02 am. As it ended: 1 mark open. "
        'Began: Max Manager outlined zone B, "North bay" (entry 7). Ended: punch walk finished (entry 9). '
        "As entry 7 left it As entry 9 left it"
    )
    assert "Ended: patch logged, B-01 (entry 10)." in told[2]
    assert told[3].startswith(
        "State 3 Clear , 1 day From Wed 25 Nov 2026, 9:02 am to Thu 26 Nov 2026, 9:02 am."
    )
    assert "From Thu 26 Nov 2026, 9:02 am until now, 11:02 am. Now: no mark open." in told[4]
    assert "Ended:" not in told[4] and len(told) == 4
    assert f'href="/zones/{zone.id}/as-it-stood?entry=9"' in page
    assert "zone B is ready to place since Thu 26 Nov 2026, 9:02 am" in page


def test_a_state_of_another_zone_s_mark_leads_to_this_zone_as_it_stood(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    sketch = a_sketch(desk, cast)
    zone, beside = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_walk(desk, cast, zone)
    a_mark(desk, cast, beside, (905, 400), "hole", {"shape": "circle", "diameter": "4 ft"})
    with desk.reading() as session:
        newest = books.head(session, cast.project_id)
    page = page_of(cast.inspector).get(path(zone)).text
    assert "Began: Lou Lead marked C-01" in states(page)[3]
    assert f'href="/zones/{zone.id}/as-it-stood?entry={newest}"' in page


def test_the_drawing_says_what_it_shows_and_nothing_of_it_is_a_script_or_a_style(
    cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    page = page_of(cast.inspector).get(path(zone)).text
    main = page[page.index("<main") : page.index("</main>")]
    assert main.count('role="img"') == 3, "the whole life and two days"
    assert 'aria-label="Wed 25 Nov 2026. States: 1 laying, 2 held, 3 clear. Done: ' in main
    assert "<script" not in main and " style=" not in main
    assert 'fill="url(#life-held)"' in main, "held is hatched"
    assert 'class="edges is-ready"' in main and main.count('y1="31"') == 2, (
        "ready is double-ruled, here and whole"
    )


def test_days_are_chosen_and_what_is_beside_them_is_led_to(cast: Cast, zone: Zone, page_of: ClientOf) -> None:
    client = page_of(cast.inspector)
    first = client.get(path(zone, "to=2026-11-25")).text
    assert "Wed 25 Nov 2026</h3>" in first and "Thu 26 Nov 2026</h3>" not in first
    assert sorted(states(first)) == [1, 2, 3] and "States 1 to 3 of 4." in first
    assert f'href="/zones/{zone.id}/timeline?from=2026-11-26"' in first, "later days"
    second = client.get(path(zone, "from=2026-11-26")).text
    assert sorted(states(second)) == [3, 4] and f'href="/zones/{zone.id}/timeline?to=2026-11-25"' in second


@pytest.mark.parametrize("query", ["from=noon", "to=2026-13-01", "from=2027-01-01", "state=x", "state=0"])
def test_what_cannot_be_read_is_told(cast: Cast, zone: Zone, page_of: ClientOf, query: str) -> None:
    answer = page_of(cast.inspector).get(path(zone, query))
    assert answer.status_code == 422 and "There is a problem" in answer.text


def test_a_long_life_is_told_in_parts(
    cast: Cast, zone: Zone, page_of: ClientOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timeline, "MOST_STATES", 2)
    monkeypatch.setattr(timeline, "MOST_DAYS", 1)
    client = page_of(cast.inspector)
    newest = client.get(path(zone)).text
    assert "Thu 26 Nov 2026</h3>" in newest and "Wed 25 Nov 2026</h3>" not in newest
    assert "1 day of 2 with something recorded." in newest
    page = client.get(path(zone, "to=2026-11-25")).text
    assert sorted(states(page)) == [1, 2] and "States 1 to 2 of 4; more stand on these days." in page
    more = f"/zones/{zone.id}/timeline?from=2026-11-25&amp;to=2026-11-25&amp;state=3#words"
    assert f'href="{more}"' in page
    assert sorted(states(client.get(more.replace("&amp;", "&")).text)) == [3]


def test_a_placed_zone_stays_placed(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf, clock: Clock
) -> None:
    release.mark_placed(desk, cast.manager.id, zone.id)
    told = states(page_of(cast.inspector).get(path(zone)).text)
    assert told[5].startswith("State 5 Placed , under a minute From Thu 26 Nov 2026, 11:02 am until now")


def test_nobody_from_outside_sees_a_zone_s_life(cast: Cast, zone: Zone, page_of: ClientOf) -> None:
    for person in (cast.outsider, cast.other_manager):
        assert page_of(person).get(path(zone)).status_code == 404


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(59, "under a minute"), (60, "1 min"), (3_719, "1 h 1 min"), (86_400, "1 day"), (180_300, "2 days 2 h")],
)
def test_how_long_is_rounded_down_to_two_units(seconds: int, words: str) -> None:
    assert lasting(timedelta(seconds=seconds)) == words
