"""The ready lists of a project in the office: a link shown once, the list of them, and taking one back."""

from __future__ import annotations

import re

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.storage.history import books
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.on_disk import database_bytes
from tests.web.office.forms import actions_of, form_of
from tests.whole.asking import main_words


def path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/ready-lists"


def link_in(html: str) -> str:
    found = re.search(r'value="http://laptight\.test(/ready/[^"]+)"', html)
    assert found, "no link on the page"
    return found[1]


def types(desk: Desk, cast: Cast) -> list[str]:
    with desk.reading() as session:
        return [entry.type for entry in books.entries(session, cast.project_id)]


def opened(client: httpx.Client, cast: Cast, label: str = "ready-mix dispatcher") -> tuple[str, str]:
    """A new list's link, and where it is withdrawn."""
    page = client.post(path(cast), data={"label": label})
    assert page.status_code == 200, page.text
    [*_, withdraw] = re.findall(r'href="(/ready-lists/[^"]+/withdraw)"', page.text)
    return link_in(page.text), withdraw


def test_the_projects_page_leads_to_its_ready_lists_and_counts_those_that_are_open(
    cast: Cast, page_of: ClientOf
) -> None:
    manager, office = page_of(cast.manager), f"/projects/{cast.project_id}/office"
    assert "No link is open by which" in main_words(manager.get(office))
    _, withdraw = opened(manager, cast)
    page = manager.get(office)
    assert "1 link is open by which" in main_words(page) and f'href="{path(cast)}"' in page.text
    manager.post(withdraw, data={"reason": "Sent astray"})
    assert "No link is open by which" in main_words(manager.get(office))


def test_a_ready_list_shows_its_link_once_and_opens_without_signing_in(
    desk: Desk, cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {"label": "ready-mix dispatcher"}
    first = manager.post(path(cast), data=sent)
    assert first.status_code == 200 and first.headers["cache-control"] == "no-store"
    link = link_in(first.text)
    again = manager.post(path(cast), data=sent)
    assert again.headers["location"] == f"{path(cast)}?did=again"
    shown = manager.get(again.headers["location"])
    assert "/ready/" not in shown.text and "its link was shown that once" in main_words(shown)
    assert "ready-mix dispatcher opened Wed 25 Nov 2026, 6:00 am by Max Manager" in main_words(shown)
    assert types(desk, cast).count("ready-list-opened") == 1
    assert client.get(link).status_code == 200


def test_no_secret_of_a_link_is_left_in_the_database(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {"label": "concrete sub"}
    secret = link_in(manager.post(path(cast), data=sent).text).rpartition("/")[2]
    kept = database_bytes(desk)
    assert b"concrete sub" in kept and secret.encode() not in kept


def test_a_link_is_withdrawn_with_a_reason_and_opens_nothing_any_more(
    desk: Desk, cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    manager = page_of(cast.manager)
    link, withdraw = opened(manager, cast)
    bare = manager.post(withdraw, data={"reason": ""})
    assert bare.status_code == 422 and client.get(link).status_code == 200
    sent = form_of(manager.get(withdraw).text, withdraw) | {"reason": "Sent astray"}
    answers = [manager.post(withdraw, data=sent) for _ in range(2)]
    assert {answer.headers["location"] for answer in answers} == {f"{path(cast)}?did=withdrawn"}
    assert client.get(link).status_code == 404
    assert "Withdrawn: Sent astray" in main_words(manager.get(path(cast)))
    assert types(desk, cast)[-1] == "ready-list-withdrawn"
    late = manager.post(withdraw, data={"reason": "Again"})
    assert late.status_code == 409 and "withdrawn already" in main_words(late)


@pytest.mark.parametrize(
    ("label", "words"),
    [("", "Say what they do"), ("x" * 61, "Keep it to 60"), ("ann@example.com", "no address and no name")],
)
def test_a_list_that_cannot_be_opened_gives_back_what_was_typed(
    desk: Desk, cast: Cast, page_of: ClientOf, label: str, words: str
) -> None:
    before = types(desk, cast)
    answer = page_of(cast.manager).post(path(cast), data={"label": label})
    assert answer.status_code == 422 and 'href="#label"' in answer.text
    assert words in main_words(answer) and form_of(answer.text, path(cast))["label"] == label
    assert types(desk, cast) == before


@pytest.mark.parametrize("who", ["lead", "inspector"])
def test_the_others_read_which_lists_there_are_and_change_none(
    cast: Cast, page_of: ClientOf, who: str
) -> None:
    _, withdraw = opened(page_of(cast.manager), cast)
    other = page_of(getattr(cast, who))
    page = other.get(path(cast))
    assert "ready-mix dispatcher" in main_words(page) and withdraw not in page.text
    assert actions_of(page.text) == ["/sign-out"]
    assert other.post(path(cast), data={"label": "mine"}).status_code == 403
    assert other.get(withdraw).status_code == other.post(withdraw, data={"reason": "x"}).status_code == 403


def test_it_says_beside_the_field_that_no_name_belongs_there(cast: Cast, page_of: ClientOf) -> None:
    assert "Not a person's name: the history keeps this for ever." in main_words(
        page_of(cast.manager).get(path(cast))
    )
