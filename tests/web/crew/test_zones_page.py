"""The crew's list of zones: how each stands, in words."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.actions.sketches import zones
from tests.builders import NEXT_DOOR, a_mark, a_patch, a_sketch, a_walk, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf


def test_each_zone_tells_what_it_is_held_by(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast)
    held, laying = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    a_mark(desk, cast, held)
    a_walk(desk, cast, held)
    zones.hold_zone(desk, cast.inspector.id, laying.id, "frost", "white at the edge")
    page = page_of(cast.lead).get(f"/projects/{cast.project_id}/crew")
    assert page.status_code == 200
    assert "<b>Held</b>: 1 mark open" in page.text
    assert "<b>Laying</b>: on hold: frost, not walked yet" in page.text


def test_a_zone_with_everything_sealed_and_walked_is_clear_and_not_released_yet(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    page = page_of(cast.lead).get(f"/projects/{cast.project_id}/crew").text
    assert "<b>Clear</b>: not released yet" in page
    assert "1 zone, 0 not clear yet" in page


def test_a_project_without_zones_says_who_makes_them(cast: Cast, page_of: ClientOf) -> None:
    address = f"/projects/{cast.project_id}/crew"
    assert "The project manager outlines" in page_of(cast.lead).get(address).text
    assert f'href="/projects/{cast.project_id}/office"' in page_of(cast.manager).get(address).text


def test_an_outsider_finds_nothing_there(cast: Cast, page_of: ClientOf) -> None:
    assert page_of(cast.outsider).get(f"/projects/{cast.project_id}/crew").status_code == 404
