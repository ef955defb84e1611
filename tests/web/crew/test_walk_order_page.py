"""The walk order's page: which mark is next, which way and how far, and that the crew's list follows it.

10 px are 1 ft on this sketch: 200 px apart is 20 ft.
"""

from __future__ import annotations

import re

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.history.facts.facts import ZoneOutlined
from tests.builders import NEXT_DOOR, a_mark, a_patch, a_sketch, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    """Marks 01, 02 and 03 from left to right at 300, 700 and 500."""
    made = a_zone(desk, cast)
    for x in (300, 700, 500):
        a_mark(desk, cast, made, (x, 300))
    return made


def a_zone_without_scale(desk: Desk, cast: Cast, letter: str) -> str:
    """A zone of a sketch whose scale nobody has set: its id."""
    sketch, zone_id = a_sketch(desk, cast, scaled=False), desk.new_id()
    with desk.writing() as session:
        seen, site = project_to_change(session, cast.manager.id, cast.project_id, "outline a zone")
        corners = ((0, 0), (900_000, 0), (900_000, 900_000))
        fact = ZoneOutlined(zone_id, sketch, letter, "North bay", corners, None)
        record(desk, session, site, cast.manager.id, seen.role, fact)
    return zone_id


def next_tag(page: httpx.Response) -> str:
    (tag,) = re.findall(r'<span class="tag">([^<]+)</span></h2>', page.text)
    return str(tag)


def tags(page: httpx.Response) -> list[str]:
    """The tags of the page's lists in their order."""
    return re.findall(r'class="tag">([B]-\d+)<', page.text)


def path(zone: Zone) -> str:
    return f"/zones/{zone.id}/walk-order"


def test_with_nobody_saying_where_they_stand_it_begins_at_an_end_of_the_row(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    page = page_of(cast.lead).get(path(zone))
    assert tags(page) == ["B-01", "B-03", "B-02"]
    assert "Begin here: then the rest is least to walk" in page.text
    assert "40 ft in all. No other order is less to walk." in page.text


def test_a_place_pressed_is_kept_on_the_phone_and_told_as_way_and_distance(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    crew = page_of(cast.lead)
    sent = crew.get(f"{path(zone)}?x=900&y=300")
    assert (sent.status_code, sent.headers["location"]) == (303, path(zone))
    page = crew.get(path(zone))
    assert tags(page) == ["B-02", "B-03", "B-01"]
    assert "20 ft <small>To the left on the sketch</small>" in page.text
    assert 'transform="rotate(180)"' in page.text
    assert tags(crew.get(f"/zones/{zone.id}"))[:3] == ["B-02", "B-03", "B-01"], "the crew's list follows"
    assert "/zones/" in sent.headers["set-cookie"] and "HttpOnly" in sent.headers["set-cookie"]


def test_the_next_one_is_told_from_the_mark_before_it(cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    crew = page_of(cast.lead)
    crew.get(f"{path(zone)}?x=300&y=100")
    page = crew.get(path(zone))
    assert next_tag(page) == "B-01" and "Down on the sketch" in page.text
    page = crew.get(f"{path(zone)}?show=2")
    assert next_tag(page) == "B-03" and "From B-01" in page.text and "To the right on the sketch" in page.text
    assert next_tag(crew.get(f"{path(zone)}?show=999")) == "B-02"
    assert next_tag(crew.get(f"{path(zone)}?show=-4")) == "B-01"


def test_a_mark_that_is_sealed_falls_out_of_the_order(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    crew = page_of(cast.lead)
    late = a_mark(desk, cast, zone, (250, 300))
    assert next_tag(crew.get(path(zone))) == "B-02", "of both ends the lower tag"
    a_patch(desk, cast, late)
    assert tags(crew.get(path(zone))) == ["B-01", "B-03", "B-02"]


def test_a_wall_between_is_told_and_a_mark_behind_walls_comes_last(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    for x in (200, 400):
        a_mark(desk, cast, zone, (x, 300))
    zones.draw_wall(desk, cast.manager.id, zone.id, (300, 200), (300, 400))
    crew = page_of(cast.lead)
    crew.get(f"{path(zone)}?x=200&y=300")
    assert "You stand at it" in crew.get(path(zone)).text
    assert "then round" in crew.get(f"{path(zone)}?show=2").text
    for a, b in (((300, 400), (500, 400)), ((500, 400), (500, 200)), ((500, 200), (300, 200))):
        zones.draw_wall(desk, cast.manager.id, zone.id, a, b)
    page = crew.get(path(zone)).text
    assert "B-02</" in page.partition("<h2>Walls close off</h2>")[2]


def test_without_a_script_the_still_picture_is_pressed_and_nothing_is_kept_before_it_settles(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    crew = page_of(cast.lead)
    far = crew.get(f"{path(zone)}?x=&y=&press.x=100&press.y=100")
    assert far.status_code == 200 and "set-cookie" not in far.headers
    settled = re.findall(r'name="x" id="x" value="([\d.]+)"', far.text)
    look = re.findall(r'name="look" (?:id="look" )?value="([^"]+)"', far.text)
    assert settled or look, "the form comes again with what was pressed"


def test_no_place_pressed_is_asked_for(cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    assert (
        "Press the place on the sketch: where do you stand?"
        in page_of(cast.lead).get(f"{path(zone)}?x=&y=").text
    )


@pytest.mark.parametrize("kept", ["", "x", "1.2.3", "nan.1", "9" * 40 + ".1", "-5.7"])
def test_a_place_that_cannot_be_read_is_none(cast: Cast, page_of: ClientOf, zone: Zone, kept: str) -> None:
    crew = page_of(cast.lead)
    crew.cookies.set("stand", kept)
    assert crew.get(path(zone)).status_code == 200
    assert crew.get(f"/zones/{zone.id}").status_code == 200


def test_a_place_off_the_sketch_is_refused(cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    refused = page_of(cast.lead).get(f"{path(zone)}?x=900000&y=3")
    assert refused.status_code == 422 and "set-cookie" not in refused.headers


def test_a_neighbours_mark_that_reaches_in_is_visited_too(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch)
    other = a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    on_joint = a_mark(desk, cast, other, (NEXT_DOOR[0][0], 300))
    page = page_of(cast.lead).get(path(zone)).text
    assert on_joint.tag in page


def test_without_marks_there_is_nothing_to_walk_to_and_without_scale_it_is_refused(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    crew = page_of(cast.lead)
    empty = crew.get(path(a_zone(desk, cast)))
    assert empty.status_code == 200 and "nothing to walk to" in empty.text
    unscaled = a_zone_without_scale(desk, cast, "D")
    assert crew.get(f"/zones/{unscaled}/walk-order").status_code == 409
    assert page_of(cast.outsider).get(f"/zones/{unscaled}/walk-order").status_code == 404
