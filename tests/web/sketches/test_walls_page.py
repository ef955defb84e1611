"""Drawing the walls that film is sealed to, and taking them away."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.domain.nouns.site import Zone
from tests.builders import a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of
from tests.web.sketches.plans import press

ENDS = {"x1": "100", "y1": "100", "x2": "900", "y2": "100"}


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def walls_of(desk: Desk, cast: Cast, zone: Zone) -> list[str]:
    site = zone_view(desk, cast.manager.id, zone.id).site
    return [wall.id for wall in site.walls.values() if wall.withdrawn is None]


@pytest.mark.parametrize("who", ["lead", "manager"])
def test_a_wall_is_drawn_once_and_told_by_its_length(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, who: str
) -> None:
    client, path = page_of(getattr(cast, who)), f"/zones/{zone.id}/walls"
    sent = form_of(client.get(path).text, path) | ENDS
    answers = [client.post(path, data=sent) for _ in range(2)]
    assert {answer.headers["location"] for answer in answers} == {f"{path}?said=drawn"}
    assert len(walls_of(desk, cast, zone)) == 1
    assert "Wall, 80 ft long" in client.get(path).text


def test_a_wall_is_taken_away_with_a_reason(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    lead = page_of(cast.lead)
    lead.post(f"/zones/{zone.id}/walls", data=ENDS)
    (wall,) = walls_of(desk, cast, zone)
    path = f"/walls/{wall}/withdraw"
    assert lead.post(path, data={"reason": ""}).status_code == 422
    assert lead.post(path, data={"reason": "The wall is not built."}).status_code == 303
    assert walls_of(desk, cast, zone) == []
    assert "It is taken away already: The wall is not built." in lead.get(path).text
    late = lead.post(path, data={"reason": "Again."})
    assert late.status_code == 409 and "That wall is gone already." in late.text


@pytest.mark.parametrize(
    ("ends", "sentence"),
    [
        ({}, "Press both ends of the wall"),
        (ENDS | {"x2": "100"}, "The same point twice."),
        (ENDS | {"x2": "99999"}, "Off the sketch."),
    ],
)
def test_a_wall_needs_two_ends_on_the_sketch(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, ends: dict[str, str], sentence: str
) -> None:
    answer = page_of(cast.lead).post(f"/zones/{zone.id}/walls", data=ends)
    assert answer.status_code == 422 and sentence in answer.text
    assert walls_of(desk, cast, zone) == []


def test_without_scripts_its_ends_are_pressed(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/walls"
    answer = lead.get(path)
    for spot in ((60, 120), (144, 160), (220, 120), (144, 160)):
        answer = press(lead, answer, path, *spot)
    assert lead.post(path, data=form_of(answer.text, path)).status_code == 303
    assert len(walls_of(desk, cast, zone)) == 1


@pytest.mark.parametrize(("who", "status"), [("inspector", 403), ("outsider", 404)])
def test_an_inspector_draws_none(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone, who: str, status: int
) -> None:
    other = page_of(getattr(cast, who))
    assert other.get(f"/zones/{zone.id}/walls").status_code == status
    assert other.post(f"/zones/{zone.id}/walls", data=ENDS).status_code == status
    assert walls_of(desk, cast, zone) == []
