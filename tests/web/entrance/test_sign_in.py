"""Signing in and out on the page."""

from __future__ import annotations

import httpx

from tests.cast import PASSWORD, Cast
from tests.conftest import ClientOf


def test_it_works(client: httpx.Client, cast: Cast) -> None:
    answer = client.post("/sign-in", data={"email": cast.lead.email, "password": PASSWORD})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    home = client.get("/")
    assert home.status_code == 200
    assert "North warehouse slab" in home.text
    assert "Another site" not in home.text


def test_somebody_signed_out_is_shown_the_way_in_and_back(client: httpx.Client) -> None:
    answer = client.get("/?a=b")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in?next=/%3Fa%3Db")


def test_a_person_on_no_project_is_told_what_to_do(page_of: ClientOf, cast: Cast) -> None:
    assert "no project yet" in page_of(cast.outsider).get("/").text
