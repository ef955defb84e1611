"""Every page with nothing on it yet, or nothing left: it says so in its own words, and what comes next."""

from __future__ import annotations

import pytest

from service.actions.office import projects, release
from service.actions.sketches import zones
from service.domain.nouns.roles import PROJECT_MANAGER
from tests.whole.asking import actor_of, main_words
from tests.whole.routes import ROWS, Row
from tests.whole.stage import Stage

NEW = {
    "/": "You are on no project yet",
    "/projects/{project_id}/crew": "No zone yet",
    "/projects/{project_id}/office": "No sketch yet",
    "/projects/{project_id}/people": "Invite somebody",
    "/projects/{project_id}/history": "2 entries, all shown",
    "/projects/{project_id}/as-it-stood": "no zone was outlined yet",
    "/projects/{project_id}/who-did-what": "1 person, 2 entries",
    "/projects/{project_id}/record": "Nobody took a record of this project yet",
}


@pytest.mark.parametrize("path", NEW)
def test_a_new_project_says_what_comes_next(stage: Stage, path: str) -> None:
    made = projects.start_project(stage.desk.fresh(), stage.cast.outsider.id, "New", "us", "America/Chicago")
    actor = next(actor for actor in stage.actors if actor.person == stage.cast.outsider)
    if path == "/":
        stage.put_back()
    with stage.client(actor, program=False) as client:
        page = client.get(path.format(project_id=made.id))
    assert page.status_code == 200 and NEW[path] in main_words(page)


EMPTY = {
    "": "No mark yet. Walk the film",
    "/release": "No mark stands in this zone",
    "/as-it-stood": "No mark stood in this zone",
    "/compare": "Nothing of zone C changed",
    "/timeline": "no mark open",
    "/cut-list": "No piece to cut",
    "/punch-list": "No mark",
    "/together": "Nothing to plan",
    "/penetrations": "No penetration yet. Place every pipe",
}


@pytest.mark.parametrize("end", EMPTY)
def test_a_zone_without_a_mark_says_so(stage: Stage, end: str) -> None:
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        page = client.get(f"/zones/{stage.ids['clear_id']}{end}")
    assert page.status_code == 200 and EMPTY[end] in main_words(page), main_words(page)


def test_a_zone_that_is_taken_off_or_placed_sends_nobody_to_walk_it(stage: Stage) -> None:
    manager = stage.cast.manager.id
    zones.withdraw_zone(stage.desk.fresh(), manager, stage.ids["clear_id"], "Poured with the next")
    release.mark_placed(stage.desk.fresh(), manager, stage.ids["released_id"])
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        for name in ("clear_id", "released_id"):
            words = main_words(client.get(f"/zones/{stage.ids[name]}"))
            assert "No mark was made in this zone." in words and "Walk the film" not in words
        assert client.get(f"/zones/{stage.ids['clear_id']}/hold").status_code == 409


def test_a_project_whose_zones_are_all_taken_off_does_not_say_that_none_was_outlined(stage: Stage) -> None:
    for name in ("zone_id", "clear_id", "released_id"):
        zones.withdraw_zone(stage.desk.fresh(), stage.cast.manager.id, stage.ids[name], "Redrawn")
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        words = main_words(client.get(f"/projects/{stage.ids['project_id']}/as-it-stood"))
    assert "no zone was on a sketch any more" in words


def test_somebody_who_joins_is_named_once_in_the_history(stage: Stage) -> None:
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        words = main_words(client.get(f"/projects/{stage.ids['project_id']}/history?kind=PersonJoined"))
        words += main_words(client.get(f"/projects/{stage.ids['project_id']}/history"))
    assert "Max Manager joined as project manager." in words
    assert "Max Manager let Max Manager in" not in words


GETS = [row for row in ROWS if row.method == "GET" and not row.program and row.action != "anybody"]


@pytest.mark.parametrize("row", [row for row in GETS if row.names], ids=str)
def test_a_page_of_nothing_is_the_designed_page_with_a_way_on(stage: Stage, row: Row) -> None:
    nothing = {name: "0" if name in ("level", "x", "y") else "b" * 20 for name in row.names}
    with stage.client(actor_of(stage, PROJECT_MANAGER), program=False) as client:
        page = client.get(row.path.format(**nothing) + row.query.format(**stage.ids))
    assert page.status_code == 404
    assert "Nothing here, or nothing that is yours to see." in main_words(page)
    assert "My projects" in main_words(page)
