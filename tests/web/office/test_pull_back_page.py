"""Pulling a release back, with a reason."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.domain.nouns.site import Zone
from tests.builders import a_release, a_walk, a_zone, state_of
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of


@pytest.fixture
def ready(desk: Desk, cast: Cast) -> Zone:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


def path(zone: Zone) -> str:
    return f"/zones/{zone.id}/pull-back"


def test_it_works_and_the_zone_needs_a_new_release(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    manager = page_of(cast.manager)
    assert f'href="{path(ready)}"' in manager.get(f"/zones/{ready.id}/release").text
    shown = manager.get(path(ready)).text
    assert "Max Manager" in shown and "nobody is told from here" in shown
    sent = form_of(shown, path(ready)) | {"reason": "The pump is a day late."}
    answers = [manager.post(path(ready), data=sent) for _ in range(2)]
    assert {answer.status_code for answer in answers} == {303}
    assert state_of(desk, cast, ready) == "clear"
    assert "pulled back" in manager.get(answers[1].headers["location"]).text


def test_a_reason_is_asked_for(desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone) -> None:
    answer = page_of(cast.manager).post(path(ready), data={"reason": " "})
    assert answer.status_code == 422 and "Say why the release is pulled back." in answer.text
    assert state_of(desk, cast, ready) == "ready to place"


@pytest.mark.parametrize(
    ("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404), ("other_manager", 404)]
)
def test_only_a_project_manager_may(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone, who: str, status: int
) -> None:
    other = page_of(getattr(cast, who))
    assert other.get(path(ready)).status_code == status
    assert other.post(path(ready), data={"reason": "Mine."}).status_code == status
    assert path(ready) not in other.get(f"/zones/{ready.id}/release").text
    assert state_of(desk, cast, ready) == "ready to place"


def test_without_a_release_there_is_nothing_to_pull_back(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    manager = page_of(cast.manager)
    assert manager.get(path(zone)).status_code == 409
    answer = manager.post(path(zone), data={"reason": "What I had typed."})
    assert answer.status_code == 409
    assert "has no release to pull back" in answer.text and "What I had typed." in answer.text
    assert zone_view(desk, cast.manager.id, zone.id).standing.release is None
