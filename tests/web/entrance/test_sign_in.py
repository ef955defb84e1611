"""Signing in and out on the page."""

from __future__ import annotations

import httpx
import pytest
from fastapi import FastAPI

from service.actions.entrance import accounts, throttle
from service.actions.frame.desk import Desk
from service.settings import Settings
from service.web.serving.errors import own_path
from service.web.serving.guards import PLAIN_COOKIE
from tests.cast import PASSWORD, Cast
from tests.conftest import ClientOf
from tests.in_process import InProcess, browser


def signed_in(client: httpx.Client, cast: Cast, **more: str) -> httpx.Response:
    return client.post("/sign-in", data={"email": cast.lead.email, "password": PASSWORD, **more})


def test_it_works(client: httpx.Client, cast: Cast) -> None:
    answer = signed_in(client, cast)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    home = client.get("/")
    assert home.status_code == 200
    assert "North warehouse slab" in home.text
    assert "Another site" not in home.text


def test_somebody_signed_out_is_shown_the_way_in_and_back(client: httpx.Client, cast: Cast) -> None:
    answer = client.get("/?a=b")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in?next=/%3Fa%3Db")
    form = client.get(answer.headers["location"])
    assert 'name="next" id="next" value="/?a=b"' in form.text
    assert signed_in(client, cast, next="/?a=b").headers["location"] == "/?a=b"


def test_a_form_sent_after_a_sign_out_leads_back_to_its_own_page(client: httpx.Client) -> None:
    answer = client.post(
        "/account", data={"password": "x"}, headers={"Referer": f"{client.base_url}/account?a=1"}
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in?next=/account%3Fa%3D1")


@pytest.mark.parametrize(
    "next_",
    ["//elsewhere.example", "https://elsewhere.example", "/\\elsewhere.example", "/a\nb", "", "a", "/ /x"],
)
def test_signing_in_never_leads_to_another_site(client: httpx.Client, cast: Cast, next_: str) -> None:
    assert own_path(next_) is None
    assert signed_in(client, cast, next=next_).headers["location"] == "/"


def test_a_wrong_password_is_told_and_the_address_given_back(client: httpx.Client, cast: Cast) -> None:
    answer = client.post("/sign-in", data={"email": cast.lead.email, "password": "not that one"})
    assert answer.status_code == 422
    assert "do not belong together" in answer.text
    assert f'value="{cast.lead.email}"' in answer.text
    assert "not that one" not in answer.text
    assert "set-cookie" not in answer.headers


def test_too_many_tries_are_slowed_down(
    client: httpx.Client, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(throttle, "EMAIL_TRIES", 1)
    client.post("/sign-in", data={"email": cast.lead.email, "password": "not that one"})
    answer = signed_in(client, cast)
    assert (answer.status_code, answer.headers["retry-after"]) == (429, "900")
    assert "Wait 15 minutes" in answer.text


def test_the_cookie_over_plain_http(client: httpx.Client, cast: Cast) -> None:
    parts = signed_in(client, cast).headers["set-cookie"].split("; ")
    assert parts[0].startswith("laptight=")
    assert {"HttpOnly", "Path=/", "SameSite=lax"} <= set(parts)
    assert not any(part.startswith("Domain") or part == "Secure" for part in parts)


def test_the_cookie_over_https_is_bound_to_the_host(app: FastAPI, cast: Cast) -> None:
    """ASVS 5.0.0, 3.3.1: the `__Host-` name needs Secure, Path=/ and no Domain."""
    with httpx.Client(transport=InProcess(app), base_url="https://laptight.test") as client:
        client.headers["Sec-Fetch-Site"] = "same-origin"
        answer = signed_in(client, cast)
        parts = answer.headers["set-cookie"].split("; ")
        assert parts[0].startswith("__Host-laptight=")
        assert {"HttpOnly", "Path=/", "SameSite=lax", "Secure"} <= set(parts)
        assert not any(part.startswith("Domain") for part in parts)
        assert client.get("/").status_code == 200


def test_signing_in_again_ends_the_sign_in_before(client: httpx.Client, cast: Cast, desk: Desk) -> None:
    """ASVS 5.0.0, 7.2.4: a new token at every sign-in, and the old one ends."""
    signed_in(client, cast)
    old = client.cookies[PLAIN_COOKIE]
    signed_in(client, cast)
    assert client.cookies[PLAIN_COOKIE] != old
    assert accounts.person_for(desk, old) is None


def test_signing_out_ends_the_sign_in_itself_and_not_only_the_cookie(
    client: httpx.Client, cast: Cast, app: FastAPI
) -> None:
    signed_in(client, cast)
    token = client.cookies[PLAIN_COOKIE]
    assert client.post("/sign-out").headers["location"] == "/sign-in"
    assert PLAIN_COOKIE not in client.cookies
    with browser(app) as thief:
        thief.cookies.set(PLAIN_COOKIE, token)
        assert thief.get("/").status_code == 303


def test_signing_out_is_not_done_by_looking(page_of: ClientOf, cast: Cast) -> None:
    lead = page_of(cast.lead)
    assert lead.get("/sign-out").status_code == 405
    assert lead.get("/").status_code == 200


def test_who_is_signed_in_is_led_on_from_the_sign_in_page(page_of: ClientOf, cast: Cast) -> None:
    assert page_of(cast.lead).get("/sign-in?next=/account").headers["location"] == "/account"


def test_on_an_empty_service_the_page_says_how_to_make_the_first_account(
    client: httpx.Client, desk: Desk
) -> None:
    assert "laptight people add" in client.get("/sign-in").text
    accounts.make_person(desk, "first@example.com", "First", "four plain grey doors")
    assert "laptight people add" not in client.get("/sign-in").text


def test_a_person_on_no_project_is_told_what_to_do(page_of: ClientOf, cast: Cast) -> None:
    assert "no project yet" in page_of(cast.outsider).get("/").text


def test_the_settings_take_https_from_the_address_people_type(tmp_path: object) -> None:
    from pathlib import Path

    read = Settings.read(Path("d"), environ={"LAPTIGHT_BASE_URL": "https://slab.example/"})
    assert (read.base_url, read.secure_cookies) == ("https://slab.example", True)
    assert read.database_url == "sqlite:///d/laptight.sqlite3"
