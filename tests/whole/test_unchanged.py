"""A page that is sent again as it was is the page that would be made now, whatever anybody does in between.

Every request that changes anything is sent, to every kept page in turn: if something a page is made from did
not move its ETag, the page kept from before would be sent, and differ from one made anew.
"""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any
from unittest import mock

import httpx
import pytest

from service.actions.entrance import accounts
from service.actions.entrance.counting import Counted
from service.actions.entrance.unchanged import KINDS
from service.actions.people import people
from service.domain.nouns.roles import CREW_LEAD, INSPECTOR, PROJECT_MANAGER
from service.storage.history import books
from service.web.serving import unchanged
from service.web.serving.guards import PLAIN_COOKIE
from service.web.serving.unchanged import KeptPage, Shelf
from tests.bench.bench_zone_page import counting
from tests.whole.asking import actor_of
from tests.whole.routes import ROWS, Row
from tests.whole.stage import Stage
from tests.whole.test_keys_of_requests import UNSAFE, client_for

KEPT = [row for row in ROWS if row.method == "GET" and unchanged.PAGES.fullmatch(row.path)]
OTHER_KEYS = re.compile(r'(name="request_key" value=")[^"]*')


def shelf_of(stage: Stage) -> Shelf:
    found: Shelf = stage.app.state.shelf
    return found


def made_anew(stage: Stage, client: httpx.Client, address: str, **headers: str) -> str:
    """The page with nothing kept, and what is kept left as it was."""
    shelf = shelf_of(stage)
    before = dict(shelf._pages)
    shelf.clear()
    text = words(client.get(address, headers=headers))
    shelf.clear()
    for key, page in before.items():
        shelf.put(key, page)
    return text


def words(answer: httpx.Response) -> str:
    """A page but for the keys of its forms, which are new each time it is made."""
    return f"{answer.status_code} " + OTHER_KEYS.sub(r"\1", answer.text)


def head_of(stage: Stage) -> int:
    with stage.desk.reading() as session:
        return books.head(session, stage.ids["project_id"])


def lookers(stage: Stage) -> list[httpx.Client]:
    return [stage.client(actor_of(stage, role), False) for role in (CREW_LEAD, PROJECT_MANAGER, INSPECTOR)]


def test_the_pages_that_are_kept_are_pages_of_the_app() -> None:
    assert {row.path.split("/")[1] for row in KEPT} == set(KINDS)
    assert len(KEPT) == 5


@pytest.mark.parametrize("row", UNSAFE, ids=str)
def test_whatever_is_done_a_kept_page_is_the_page_that_would_be_made_now(stage: Stage, row: Row) -> None:
    shelf_of(stage).clear()
    by = lookers(stage)  # each role looks at some of the pages
    looking = [(by[n % len(by)], page.address(stage.ids)) for n, page in enumerate(KEPT)]
    etags = [client.get(address).headers["etag"] for client, address in looking]
    head = head_of(stage)
    row.send(client_for(stage, row), stage.ids)
    for (client, address), etag in zip(looking, etags, strict=True):
        now = client.get(address, headers={"If-None-Match": etag})
        if now.status_code == 304:
            assert head_of(stage) == head, f"{row} wrote, and {address} said that nothing changed"
            now = client.get(address)
        assert words(now) == made_anew(stage, client, address), address


def test_a_kept_page_asks_one_statement_and_answers_304_to_a_browser_that_has_it(stage: Stage) -> None:
    shelf_of(stage).clear()
    client = lookers(stage)[0]
    for page in KEPT:
        address = page.address(stage.ids)
        first = client.get(address)
        with counting(stage.desk) as seen:
            again = client.get(address)
        assert seen == {"statements": 0, "begins": 0} and asked_quickly(stage, client, address) == 1
        assert again.content == first.content
        left_out = {"x-request-id"}
        assert {k: v for k, v in again.headers.items() if k not in left_out} == {
            k: v for k, v in first.headers.items() if k not in left_out
        }
        had = client.get(address, headers={"If-None-Match": first.headers["etag"]})
        assert (had.status_code, had.content) == (304, b"")
        assert had.headers["etag"] == first.headers["etag"]
        assert "content-length" not in had.headers and had.headers["cache-control"] == "private, no-cache"


def asked_quickly(stage: Stage, client: httpx.Client, address: str) -> int:
    """How often a request asks past SQLAlchemy."""
    ask, asked = stage.desk.database.ask_quickly, []

    def noting(*given: Any) -> Any:
        asked.append(given)
        return ask(*given)

    with mock.patch.object(stage.desk.database, "ask_quickly", noting):
        client.get(address)
    return len(asked)


def test_time_alone_changes_none_of_the_pages_that_are_kept(stage: Stage) -> None:
    client = lookers(stage)[0]
    pages = [page.address(stage.ids) for page in KEPT]
    before = [made_anew(stage, client, address) for address in pages]
    later = stage.desk.clock() + timedelta(days=9)
    clock, stage.desk.clock = stage.desk.clock, lambda: later
    try:
        assert [made_anew(stage, client, address) for address in pages] == before
    finally:
        stage.desk.clock = clock


def test_a_kept_page_is_sent_to_nobody_else_and_no_longer_than_its_sign_in_lasts(stage: Stage) -> None:
    shelf_of(stage).clear()
    for page in KEPT:
        address = page.address(stage.ids)
        for client in lookers(stage):
            assert client.get(address).status_code == 200
        for actor in stage.actors:
            if not actor.here:
                answer = stage.client(actor, False).get(address)
                assert answer.status_code in (303, 404), (actor.name, address)
                assert "etag" not in answer.headers
    client, address = lookers(stage)[0], KEPT[0].address(stage.ids)
    assert client.get(address).status_code == 200
    accounts.sign_out(stage.desk.fresh(), client.cookies[PLAIN_COOKIE])
    assert client.get(address).status_code == 303


def test_whoever_is_taken_off_the_project_gets_no_page_that_was_kept(stage: Stage) -> None:
    shelf_of(stage).clear()
    client, address = lookers(stage)[0], KEPT[0].address(stage.ids)
    assert client.get(address).status_code == client.get(address).status_code == 200
    manager, lead = (actor_of(stage, role).person_id for role in (PROJECT_MANAGER, CREW_LEAD))
    people.take_off(stage.desk.fresh(), manager, stage.ids["project_id"], lead)
    assert client.get(address).status_code in (303, 404), "their sign-in may have ended with it"


def test_a_code_sees_the_kept_pages_of_its_own_project_alone(stage: Stage) -> None:
    coded = next(actor for actor in stage.actors if actor.by_code)
    client = stage.client(coded, False)
    for _ in range(2):
        assert client.get(f"/zones/{stage.ids['zone_id']}").status_code == 200
        assert client.get(f"/zones/{stage.other['zone_id']}").status_code == 404


@pytest.mark.parametrize(
    "differs",
    [
        {"Accept-Language": "es"}, {"Cookie": "laptight-language=es"}, {"Cookie": "laptight-type=larger"},
        {"Accept-Encoding": "gzip"},
    ],
    ids=str,
)  # fmt: skip
def test_what_is_kept_is_for_the_same_language_type_and_encoding(
    stage: Stage, differs: dict[str, str]
) -> None:
    shelf_of(stage).clear()
    client, address = lookers(stage)[0], KEPT[0].address(stage.ids)
    usual = client.get(address, headers={"Accept-Encoding": "identity"})
    token = f"{PLAIN_COOKIE}={client.cookies[PLAIN_COOKIE]}"
    sent = {"Accept-Encoding": "identity", **differs}
    sent["Cookie"] = f"{token}; {differs['Cookie']}" if "Cookie" in differs else token
    other = client.get(address, headers=sent)
    assert other.headers["etag"] != usual.headers["etag"]
    assert words(other) == made_anew(stage, client, address, **sent)
    assert (other.headers.get("content-encoding") == "gzip") == ("gzip" in differs.values())


def test_a_page_that_tells_of_an_error_or_was_just_done_is_no_other_page(stage: Stage) -> None:
    shelf_of(stage).clear()
    client, address = lookers(stage)[0], f"/zones/{stage.ids['zone_id']}"
    plain, said = client.get(address), client.get(address + "?said=walk")
    assert "The punch walk is recorded." in said.text and "The punch walk is recorded." not in plain.text
    assert client.get(address).content == plain.content
    assert client.get(address + "?said=walk").content == said.content


def test_the_shelf_holds_no_more_bytes_than_it_was_given_and_lets_the_oldest_go() -> None:
    shelf = Shelf(most=100)
    for number in range(9):
        shelf.put((str(number),), KeptPage("t", (), b"", [], bytes(30), None))
        shelf.get(("0",))
    assert [key for key in map(str, range(9)) if shelf.get((key,))] == ["0", "7", "8"]
    assert shelf.bytes == 90
    shelf.put(("large",), KeptPage("t", (), b"", [], bytes(101), None))
    assert shelf.get(("large",)) is None and shelf.bytes <= 100


def test_a_glance_that_breaks_leaves_the_page_to_its_own_guards(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf_of(stage).clear()
    client, address = lookers(stage)[0], KEPT[0].address(stage.ids)
    whole = words(client.get(address))

    def broken(*_: object) -> None:
        raise OSError("no database")

    monkeypatch.setattr(unchanged, "glance", broken)
    answer = client.get(address)
    assert words(answer) == whole and "etag" not in answer.headers


def test_a_page_that_was_kept_counts_as_a_request_of_its_person(stage: Stage) -> None:
    shelf_of(stage).clear()
    client, address = lookers(stage)[0], KEPT[0].address(stage.ids)
    before, stage.app.state.counted = stage.app.state.counted, Counted(most_of_person=60)
    try:
        answers = [client.get(address).status_code for _ in range(80)]
    finally:
        stage.app.state.counted = before
    assert set(answers) == {200, 429} and 55 <= answers.count(200) <= 65, answers
