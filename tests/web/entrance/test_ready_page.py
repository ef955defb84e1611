"""The ready list by link as its holder sees it: states and places, nobody's name, nothing kept or told on."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
import uvicorn
from fastapi import FastAPI

from service import __main__ as command_line
from service.actions.entrance import resets
from service.actions.entrance.accounts import PAGE, open_sign_in
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.office import ready_lists
from service.actions.people import people
from service.actions.sketches import zones
from service.settings import Settings
from service.storage.history import books
from service.web.entrance import ready
from service.web.placing import calendar
from service.web.serving.guards import PLAIN_COOKIE
from tests.builders import HOLE, a_mark, a_release, a_walk, a_zone
from tests.cast import Cast
from tests.in_process import browser
from tests.whole.asking import CREW_LEAD, actor_of, main_words
from tests.whole.conftest import set_stage
from tests.whole.stage import Stage

__all__ = ["set_stage"]  # a whole site, set up once for this module


@pytest.fixture
def stage(set_stage: Stage) -> Iterator[Stage]:
    yield set_stage
    set_stage.put_back()


def page_of_link(stage: Stage) -> httpx.Response:
    with stage.client(stage.actors[0], program=False) as client:
        return client.get(f"/ready/{stage.ids['ready']}")


def test_it_tells_every_zone_in_words_with_its_release_mark_and_as_of_when(stage: Stage) -> None:
    page = page_of_link(stage)
    words = main_words(page)
    assert page.status_code == 200
    assert "Ready to place: D Of 3 zones: 1 ready to place, 2 not ready." in words
    assert re.search(r"As of Wed 25 Nov 2026, 6:00 am .*: entry \d+, Wed 25 Nov 2026, 6:00 am", words)
    assert words.count("NOT READY do not place here") == 2
    assert "Ready to place since Wed 25 Nov 2026, 6:00 am" in words
    view = zone_view(stage.desk.fresh(), stage.cast.lead.id, stage.ids["released_id"])
    release = view.standing.release
    assert release is not None
    mark = release.digest.partition(":")[2]
    assert f"Release mark entry {release.seq}, {mark[:4]} {mark[4:8]}" in words
    assert "A zone can lose its release at any moment: look again before the trucks leave." in words
    assert "not an order to place" in words
    assert (
        'aria-label="Key plan of Level 1: zone B not ready, zone C not ready, zone D ready to place"'
        in page.text
    )


# --- what is not there -----------------------------------------------------------------------------------


def texts(value: object) -> Iterator[str]:
    """Every text anywhere in JSON."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for item in value.values():
            yield from texts(item)
    elif isinstance(value, list):
        for item in value:
            yield from texts(item)


# When a zone was placed stands in a list by link, and in the history as a fact of its own.
_A_TIME = re.compile(r"\d{4}-\d\d-\d\dT[\d:.]+Z")


def typed_and_named(stage: Stage) -> set[str]:
    """Every text of the whole history, and every name and address: what no page by link may show."""
    with stage.desk.fresh().reading() as session:
        kept = [json.loads(content) for content, _ in books.contents(session, stage.ids["project_id"])]
    told = {text for entry in kept for text in texts(entry["fact"])} | {entry["by"] for entry in kept}
    for actor in stage.actors:
        if actor.person is not None:
            told |= {actor.person.name, actor.person.email, *actor.person.name.split()}
    return {text for text in told if len(text) > 3 and not _A_TIME.fullmatch(text)}


# What the page is for: the site, its zones and its sketch, and words of the language it is written in.
MAY_STAND = {"North warehouse slab", "North bay", "Level 1", "zone", "other", "certificate", "circle"}


def rich(stage: Stage) -> None:
    """Words of every kind typed on the stage: notes, reasons, labels, statements."""
    desk, by = stage.desk.fresh(), stage.cast.lead.id
    zones.finish_walk(desk, by, stage.ids["zone_id"], "Walked with the inspector of the week")
    zones.lift_hold(desk, by, stage.ids["hold_id"], "Thawed by nine, said the foreman")
    zones.hold_zone(desk, by, stage.ids["zone_id"], "storm", "Roof of the shed came down")
    zones.withdraw_zone(desk, stage.cast.manager.id, stage.ids["clear_id"], "Poured with its neighbour")


def test_no_name_address_note_tag_or_reason_of_the_project_is_in_it(stage: Stage) -> None:
    rich(stage)
    hidden = typed_and_named(stage) - MAY_STAND
    assert {"Lou Lead", "max.manager@example.com", "B-01", "White this morning", "ready-mix dispatcher",
            "Walked with the inspector of the week", "I have seen this zone."} < hidden  # fmt: skip
    with stage.client(stage.actors[0], program=True) as program:
        answers = [page_of_link(stage), program.get(f"/api/v1/ready/{stage.ids['ready']}")]
    for answer in answers:
        assert answer.status_code == 200
        assert {text for text in hidden if text in answer.text} == set()
        assert not re.search(r"\b[A-Z]{1,2}-[PSE]?\d", answer.text), "a tag"


def test_the_search_for_names_finds_one_where_it_is_shown(stage: Stage) -> None:
    """The control: a page of the project's people shows names, tags and reasons, and each is found."""
    with stage.client(actor_of(stage, CREW_LEAD), program=False) as client:
        shown = client.get(f"/zones/{stage.ids['zone_id']}").text
    found = {text for text in typed_and_named(stage) - MAY_STAND if text in shown}
    assert {"Lou Lead", "B-01", "White this morning"} <= found


def test_it_leads_nowhere_and_asks_for_no_sign_in(stage: Stage) -> None:
    page = page_of_link(stage)
    here = f"/ready/{stage.ids['ready']}"
    leads = set(re.findall(r'(?:href|action|src)="([^"]+)"', page.text))
    of_every_page = {"/manifest.webmanifest", "/language", "/type-size"}  # the phone's own, no way on
    others = {lead for lead in leads if not lead.startswith(("/static/", "data:", "#"))}
    assert others - of_every_page == {here}
    assert re.findall(r'<form[^>]* action="([^"]+)"', page.text) == ["/type-size"]  # and that changes nothing
    assert "set-cookie" not in page.headers


# --- how it is handed out --------------------------------------------------------------------------------

GUARDED = {
    "cache-control": "private, no-store",
    "referrer-policy": "no-referrer",
    "x-robots-tag": "noindex, nofollow, noarchive",
}


def test_it_is_kept_by_no_browser_told_to_no_site_and_in_no_index(stage: Stage) -> None:
    with stage.client(stage.actors[0], program=False) as client:
        answers = [client.get(f"/ready/{token}") for token in (stage.ids["ready"], "never-was")]
        etag = answers[0].headers["etag"]
        answers.append(client.get(f"/ready/{stage.ids['ready']}", headers={"If-None-Match": etag}))
    assert [answer.status_code for answer in answers] == [200, 404, 304]
    for answer in answers:
        assert {name: answer.headers[name] for name in GUARDED} == GUARDED


def test_its_etag_changes_with_the_very_next_entry(stage: Stage) -> None:
    path = f"/ready/{stage.ids['ready']}"
    for root, program in (("", False), ("/api/v1", True)):
        with stage.client(stage.actors[0], program) as client:
            first = client.get(root + path)
            asked = {"If-None-Match": first.headers["etag"]}
            assert client.get(root + path, headers=asked).status_code == 304
            zones.finish_walk(stage.desk.fresh(), stage.cast.lead.id, stage.ids["zone_id"])
            again = client.get(root + path, headers=asked)
        assert again.status_code == 200 and again.headers["etag"] != first.headers["etag"]


def test_a_withdrawn_link_has_the_bytes_of_one_that_never_was_and_says_what_to_do(stage: Stage) -> None:
    ready_lists.withdraw_ready_list(
        stage.desk.fresh(), stage.cast.manager.id, stage.ids["link_id"], "Sent astray"
    )
    for root, program in (("", False), ("/api/v1", True)):
        with stage.client(stage.actors[0], program) as client:
            gone, never = (client.get(f"{root}/ready/{t}") for t in (stage.ids["ready"], "never-was"))
        assert gone.status_code == never.status_code == 404
        assert gone.content == never.content
        same = {"cache-control", "content-type", "content-length", "referrer-policy", "x-robots-tag", "vary"}
        assert [(n, v) for n, v in gone.headers.items() if n in same] == [
            (n, v) for n, v in never.headers.items() if n in same
        ]
        if not program:
            assert "Do not place on what you saw here before." in main_words(gone)
            assert "ask whoever sent it" in main_words(gone) and "Sent astray" not in gone.text


def test_a_sign_in_adds_nothing_to_it(app: FastAPI, desk: Desk, cast: Cast) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    token = ready_lists.open_ready_list(desk, cast.manager.id, cast.project_id, "concrete sub").token
    with browser(app) as nobody, browser(app) as manager:
        manager.cookies.set(PLAIN_COOKIE, open_sign_in(desk.fresh(), cast.manager.id, PAGE)[0])
        assert nobody.get(f"/ready/{token}").content == manager.get(f"/ready/{token}").content
        a_mark(desk, cast, zone, (300, 300), "hole", HOLE)
        assert "No zone is ready to place" in main_words(nobody.get(f"/ready/{token}"))


def test_a_project_with_no_zone_yet_says_so(app: FastAPI, desk: Desk, cast: Cast) -> None:
    token = ready_lists.open_ready_list(desk, cast.manager.id, cast.project_id, "concrete sub").token
    with browser(app) as nobody:
        words = main_words(nobody.get(f"/ready/{token}"))
    assert "No zone is ready to place" in words and "No zone is outlined on this site yet." in words


# --- logs ------------------------------------------------------------------------------------------------


def test_no_access_log_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The addresses of links hold their secrets: what is served writes none of them down."""
    told: list[dict[str, object]] = []
    monkeypatch.setattr(uvicorn, "run", lambda app, **settings: told.append(settings))
    command_line._run(object(), Settings.read(tmp_path, environ={}))
    assert told[0]["access_log"] is False


@pytest.mark.parametrize(
    "path", ["/ready/{}", "/api/v1/ready/{}", "/join/{}", "/reset/{}", "/calendar/{}.ics"]
)
def test_what_broke_is_logged_without_the_secret_of_the_link(
    stage: Stage, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, path: str
) -> None:
    def breaks(*_: object) -> None:
        raise RuntimeError("out of order")

    for module, name in (
        (ready_lists, "version_of"),
        (people, "invitation_shown"),
        (resets, "reset_shown"),
    ):
        monkeypatch.setattr(module, name, breaks)
    monkeypatch.setattr(ready, "version_of", breaks)
    monkeypatch.setattr(calendar, "version_of", breaks)
    with stage.client(stage.actors[0], program=path.startswith("/api")) as client:
        answer = client.get(path.format("a-secret-of-somebody"))
    assert answer.status_code == 500
    assert (
        path.format("...").removesuffix(".ics") in caplog.text and "a-secret-of-somebody" not in caplog.text
    )
