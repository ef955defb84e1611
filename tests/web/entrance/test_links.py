"""The pages behind links: joining, choosing a password anew, the account."""

from __future__ import annotations

import httpx
import pytest

from service.actions.entrance import accounts, resets
from service.actions.frame.desk import Desk
from service.actions.people import people
from service.domain.nouns.roles import INSPECTOR
from tests.cast import PASSWORD, Cast, Clock
from tests.conftest import ClientOf

GOOD = "four plain grey doors"


@pytest.fixture
def join_link(desk: Desk, cast: Cast) -> str:
    invited = people.invite(desk, cast.manager.id, cast.project_id, "new@example.com", INSPECTOR)
    return f"/join/{invited.token}"


def test_somebody_new_joins_and_is_signed_in(client: httpx.Client, cast: Cast, join_link: str) -> None:
    page = client.get(join_link)
    assert page.status_code == 200
    assert "North warehouse slab" in page.text
    assert "inspector" in page.text
    answer = client.post(join_link, data={"name": "New Person", "password": GOOD})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/projects/{cast.project_id}")
    assert "North warehouse slab" in client.get("/").text


def test_looking_at_the_link_many_times_uses_nothing_up(client: httpx.Client, join_link: str) -> None:
    assert {client.get(join_link).status_code for _ in range(5)} == {200}
    assert client.post(join_link, data={"name": "New Person", "password": GOOD}).status_code == 303


def test_a_used_link_is_a_page_that_says_so(client: httpx.Client, join_link: str) -> None:
    client.post(join_link, data={"name": "New Person", "password": GOOD})
    client.cookies.clear()
    for answer in (client.get(join_link), client.post(join_link, data={"name": "B", "password": GOOD})):
        assert answer.status_code == 404
        assert "used already" in answer.text


def test_what_was_typed_comes_back_but_never_a_password(client: httpx.Client, join_link: str) -> None:
    answer = client.post(join_link, data={"name": "New Person", "password": "short#1"})
    assert answer.status_code == 422
    assert 'value="New Person"' in answer.text
    assert 'href="#password"' in answer.text, "the summary leads to the field"
    assert "short#1" not in answer.text


def test_an_account_made_meanwhile_leads_to_signing_in(
    client: httpx.Client, desk: Desk, join_link: str
) -> None:
    accounts.make_person(desk, "new@example.com", "New", PASSWORD)
    page = client.get(join_link)
    assert "Sign in to join" in page.text
    assert f"/sign-in?next={join_link}" in page.text


def test_who_is_signed_in_joins_with_one_press(
    page_of: ClientOf, desk: Desk, cast: Cast, join_link: str
) -> None:
    person = page_of(accounts.make_person(desk, "new@example.com", "New", PASSWORD))
    assert "Choose a password" not in person.get(join_link).text
    assert person.post(join_link).headers["location"] == f"/projects/{cast.project_id}"


def test_somebody_elses_link_says_whose_it_is(page_of: ClientOf, cast: Cast, join_link: str) -> None:
    outsider = page_of(cast.outsider)
    assert "made for new@example.com" in outsider.get(join_link).text
    assert outsider.post(join_link).status_code == 422


# --- passwords -------------------------------------------------------------------------------------------


def test_the_page_about_a_forgotten_password_says_who_can_help(client: httpx.Client) -> None:
    page = client.get("/forgot")
    assert "A project manager" in page.text
    assert "laptight people reset" in page.text


def test_a_new_password_is_chosen_by_a_link_once(client: httpx.Client, desk: Desk, cast: Cast) -> None:
    link = f"/reset/{resets.make_reset_for_email(desk, cast.lead.email)}"
    assert cast.lead.email in client.get(link).text
    assert client.post(link, data={"password": GOOD}).headers["location"] == "/"
    assert "North warehouse slab" in client.get("/").text, "and is signed in"
    assert client.get(link).status_code == 404
    assert client.post(link, data={"password": GOOD}).status_code == 404


def test_an_old_link_and_an_invented_one_are_answered_with_the_same_bytes(
    client: httpx.Client, desk: Desk, cast: Cast, clock: Clock
) -> None:
    link = f"/reset/{resets.make_reset_for_email(desk, cast.lead.email)}"
    clock.go_on(hours=1)
    old, invented = client.get(link), client.get("/reset/invented")
    assert (old.status_code, old.content) == (invented.status_code, invented.content)


def test_pages_behind_links_are_not_kept_by_the_browser(client: httpx.Client, desk: Desk, cast: Cast) -> None:
    link = f"/reset/{resets.make_reset_for_email(desk, cast.lead.email)}"
    assert client.get(link).headers["cache-control"] == "no-store"


def test_the_password_is_changed_on_the_account_page(page_of: ClientOf, cast: Cast) -> None:
    here, elsewhere = page_of(cast.lead), page_of(cast.lead)
    answer = here.post("/account", data={"old_password": PASSWORD, "password": GOOD})
    assert answer.headers["location"] == "/account?said=changed"
    assert "The password was changed" in here.get("/account?said=changed").text
    assert elsewhere.get("/account").status_code == 303


def test_a_wrong_present_password_is_told_beside_its_field(page_of: ClientOf, cast: Cast) -> None:
    answer = page_of(cast.lead).post("/account", data={"old_password": "wrong one", "password": GOOD})
    assert answer.status_code == 422
    assert 'id="old_password-wrong"' in answer.text
