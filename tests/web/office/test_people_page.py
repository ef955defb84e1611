"""Inviting people, changing roles, taking somebody off, and helping one who is locked out."""

from __future__ import annotations

import re

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.people.people import people_of
from service.domain.nouns.site import Member
from service.history.facts.entries import Entry
from service.storage.history import books, slices
from tests.cast import PASSWORD, Cast
from tests.conftest import ClientOf
from tests.web.office.forms import actions_of, form_of


def path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/people"


def entries(desk: Desk, cast: Cast) -> list[Entry]:
    with desk.reading() as session:
        return books.entries(session, cast.project_id)


def roles(desk: Desk, cast: Cast) -> dict[str, str]:
    return {person.name: role for person, role in people_of(desk, cast.manager.id, cast.project_id).members}


def link_in(html: str) -> str:
    found = re.search(r'value="http://laptight\.test(/(?:join|reset)/[^"]+)"', html)
    assert found, "no link on the page"
    return found[1]


def test_the_page_lists_everybody_to_everybody(cast: Cast, page_of: ClientOf) -> None:
    mine = page_of(cast.manager).get(path(cast)).text
    for person in (cast.lead, cast.manager, cast.inspector):
        assert person.name in mine and person.email in mine
    theirs = page_of(cast.lead).get(path(cast))
    assert "Max Manager" in theirs.text and cast.manager.email not in theirs.text
    assert actions_of(theirs.text) == ["/sign-out"]


def test_an_invitation_shows_its_link_once_and_lets_somebody_in(
    desk: Desk, cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast)) | {
        "email": "New.Lead@example.com", "role": "crew lead",
    }  # fmt: skip
    first = manager.post(path(cast), data=sent)
    assert first.status_code == 200 and first.headers["cache-control"] == "no-store"
    link = link_in(first.text)
    again = manager.post(path(cast), data=sent)
    assert again.headers["location"] == f"{path(cast)}?did=again"
    shown = manager.get(again.headers["location"]).text
    assert "/join/" not in shown and "new.lead@example.com" in shown
    assert sum(entry.type == "person-invited" for entry in entries(desk, cast)) == 1
    assert client.post(link, data={"name": "Nia New", "password": PASSWORD}).status_code == 303
    assert roles(desk, cast)["Nia New"] == "crew lead"
    assert "new.lead@example.com" not in page_of(cast.lead).get(path(cast)).text


def test_somebody_with_an_account_is_on_the_project_at_once(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    manager = page_of(cast.manager)
    answer = manager.post(path(cast), data={"email": cast.outsider.email, "role": "inspector"})
    assert answer.headers["location"] == f"{path(cast)}?did=joined"
    assert roles(desk, cast)["Otto Outsider"] == "inspector"


def test_a_new_link_takes_the_old_ones_place(cast: Cast, page_of: ClientOf, client: httpx.Client) -> None:
    manager = page_of(cast.manager)
    sent = {"email": "new@example.com", "role": "inspector"}
    old, new = (link_in(manager.post(path(cast), data=sent).text) for _ in range(2))
    assert client.get(old).status_code == 404 and client.get(new).status_code == 200


def test_a_withdrawn_invitation_lets_nobody_in_and_stands_in_the_history(
    desk: Desk, cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    manager = page_of(cast.manager)
    page = manager.post(path(cast), data={"email": "new@example.com", "role": "inspector"}).text
    [action] = [action for action in actions_of(page) if action.endswith("/withdraw")]
    sent = form_of(page, action)
    assert page_of(cast.lead).post(action).status_code == 403
    assert page_of(cast.other_manager).post(action).status_code == 404
    own = f"/projects/{cast.other_project_id}/people"  # an open invitation of theirs opens no door to ours
    page_of(cast.other_manager).post(own, data={"email": "else@example.com", "role": "inspector"})
    elsewhere = action.replace(cast.project_id, cast.other_project_id)
    assert page_of(cast.other_manager).post(elsewhere).status_code == 409
    assert client.get(link_in(page)).status_code == 200
    assert {manager.post(action, data=sent).status_code for _ in range(2)} == {303}
    assert client.get(link_in(page)).status_code == 404
    assert [entry.type for entry in entries(desk, cast)][-1] == "invitation-withdrawn"
    assert manager.post(action).status_code == 409


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"email": "nobody", "role": "inspector"}, "email"),
        ({"email": "", "role": "inspector"}, "email"),
        ({"email": "new@example.com"}, "role"),
        ({"email": "new@example.com", "role": "owner"}, "role"),
    ],
)
def test_an_invitation_that_cannot_be_made_gives_back_what_was_typed(
    desk: Desk, cast: Cast, page_of: ClientOf, sent: dict[str, str], field: str
) -> None:
    before = len(entries(desk, cast))
    answer = page_of(cast.manager).post(path(cast), data=sent)
    assert answer.status_code == 422 and f'href="#{field}"' in answer.text
    assert form_of(answer.text, path(cast))["email"] == sent["email"]
    assert len(entries(desk, cast)) == before


def test_somebody_here_already_is_told_as_that(cast: Cast, page_of: ClientOf) -> None:
    answer = page_of(cast.manager).post(path(cast), data={"email": cast.lead.email, "role": "inspector"})
    assert answer.status_code == 409 and "Lou Lead is on this project already" in answer.text


@pytest.mark.parametrize("who", ["lead", "inspector"])
def test_nobody_but_a_project_manager_changes_people(
    desk: Desk, cast: Cast, page_of: ClientOf, who: str
) -> None:
    other, root = page_of(getattr(cast, who)), path(cast)
    before = [entry.seq for entry in entries(desk, cast)]
    for action, sent in (
        (root, {"email": "new@example.com", "role": "project manager"}),
        (root, {}),
        (f"{root}/{getattr(cast, who).id}/role", {"role": "project manager"}),
        (f"{root}/{cast.manager.id}/take-off", {}),
        (f"{root}/{cast.manager.id}/reset", {}),
    ):
        assert other.post(action, data=sent).status_code == 403, action
    assert [entry.seq for entry in entries(desk, cast)] == before


def test_who_is_not_on_the_project_finds_nothing(cast: Cast, page_of: ClientOf) -> None:
    stranger = page_of(cast.other_manager)
    for action in (path(cast), f"{path(cast)}/{cast.lead.id}/role", f"{path(cast)}/{cast.lead.id}/reset"):
        assert stranger.post(action, data={"role": "inspector", "email": "x@example.com"}).status_code == 404
    assert stranger.get(path(cast)).status_code == 404


def test_a_role_is_changed_once(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager, action = page_of(cast.manager), f"{path(cast)}/{cast.lead.id}/role"
    sent = form_of(manager.get(path(cast)).text, action)
    assert sent["role"] == "crew lead"
    answers = [manager.post(action, data=sent | {"role": "inspector"}) for _ in range(2)]
    assert {answer.status_code for answer in answers} == {303}
    assert roles(desk, cast)["Lou Lead"] == "inspector"


def test_the_last_project_manager_stays(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager = page_of(cast.manager)
    for action, sent in (("take-off", {}), ("role", {"role": "inspector"})):
        answer = manager.post(f"{path(cast)}/{cast.manager.id}/{action}", data=sent)
        assert answer.status_code == 409 and "last project manager" in answer.text
    assert roles(desk, cast)["Max Manager"] == "project manager"


def test_somebody_taken_off_sees_nothing_any_more(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager, lead = page_of(cast.manager), page_of(cast.lead)
    assert lead.get(path(cast)).status_code == 200
    assert manager.post(f"{path(cast)}/{cast.lead.id}/take-off").status_code == 303
    assert lead.get(path(cast)).headers["location"].startswith("/sign-in?"), "signed out everywhere"
    assert page_of(cast.lead).get(path(cast)).status_code == 404
    with desk.reading() as session:
        site = slices.project_site(session, cast.project_id)
    assert isinstance(site.members[cast.lead.id], Member)
    again = manager.post(f"{path(cast)}/{cast.lead.id}/take-off")
    assert again.status_code == 409 and "off the project already" in again.text


def test_a_password_link_is_shown_once_and_works(cast: Cast, page_of: ClientOf, client: httpx.Client) -> None:
    page = page_of(cast.manager).post(f"{path(cast)}/{cast.lead.id}/reset")
    assert page.status_code == 200 and "The link for Lou Lead" in page.text
    assert client.get(link_in(page.text)).status_code == 200


def test_a_password_link_is_not_for_who_works_elsewhere_too(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """Olga runs another project: whoever held her link could act there as her."""
    page_of(cast.manager).post(path(cast), data={"email": cast.other_manager.email, "role": "crew lead"})
    answer = page_of(cast.manager).post(f"{path(cast)}/{cast.other_manager.id}/reset")
    assert (
        answer.status_code == 403 and "/reset/" not in answer.text.split("Link, to copy")[-1].split("<ol")[0]
    )
    assert "Only a project manager of every project" in answer.text
