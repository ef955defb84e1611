"""The second factor on its pages, without scripts: set up, asked for, kept from caches, required."""

from __future__ import annotations

import html
import re

import httpx
import pyotp
import pytest
from fastapi import FastAPI

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.settings import Settings
from service.web.serving.guards import PLAIN_COOKIE
from tests.cast import PASSWORD, Cast, Clock
from tests.conftest import ClientOf

HERE, STEP = "/account/second-factor", "/sign-in/second-step"


def secret_on(answer: httpx.Response) -> str:
    found = re.search(r"<code>([A-Z2-7 ]+)</code>", answer.text)
    assert found, answer.text[-2000:]
    return found[1].replace(" ", "")


def code(secret: str, clock: Clock) -> str:
    return pyotp.TOTP(secret).at(clock.now)


def set_up(page: httpx.Client, clock: Clock) -> tuple[str, list[str]]:
    """What the codes are made from, and the recovery codes that were shown."""
    secret = secret_on(page.post(f"{HERE}/codes", data={"codes_password": PASSWORD}))
    shown = page.post(f"{HERE}/codes/confirm", data={"code": code(secret, clock), "name": "my phone"})
    assert shown.status_code == 200 and "shown this once" in shown.text
    return secret, re.findall(r'<code translate="no">([a-z0-9-]+)</code>', shown.text)


def begin(client: httpx.Client, cast: Cast, **more: str) -> httpx.Response:
    return client.post("/sign-in", data={"email": cast.manager.email, "password": PASSWORD, **more})


@pytest.fixture
def secret(page_of: ClientOf, cast: Cast, clock: Clock) -> str:
    return set_up(page_of(cast.manager), clock)[0]


def test_codes_are_set_up_and_asked_for_at_the_next_sign_in(
    client: httpx.Client, cast: Cast, clock: Clock, secret: str
) -> None:
    first = begin(client, cast, next="/told")
    assert first.headers["location"].startswith(f"{STEP}?next=%2Ftold")
    assert client.get("/told").headers["location"].startswith("/sign-in?"), "nothing is signed in before it"
    clock.go_on(seconds=30)
    last = client.post(STEP, data={"next": "/told", "code": code(secret, clock)})
    assert (last.status_code, last.headers["location"]) == (303, "/told")
    assert client.get("/told").status_code == 200


def test_the_token_changes_with_the_second_step(
    client: httpx.Client, cast: Cast, clock: Clock, secret: str
) -> None:
    """ASVS 5.0.0, 7.2.4: a new token whenever somebody authenticates."""
    begin(client, cast)
    half = client.cookies[PLAIN_COOKIE]
    clock.go_on(seconds=30)
    client.post(STEP, data={"code": code(secret, clock)})
    assert client.cookies[PLAIN_COOKIE] != half


def test_a_wrong_code_is_told_beside_its_field_and_the_page_keeps_where_one_was_going(
    client: httpx.Client, cast: Cast, secret: str
) -> None:
    begin(client, cast)
    answer = client.post(STEP, data={"next": "/told", "code": "000000"})
    assert answer.status_code == 422
    assert 'id="code-wrong"' in answer.text and 'name="next" value="/told"' in answer.text


def test_too_many_codes_are_slowed_down(client: httpx.Client, cast: Cast, secret: str) -> None:
    begin(client, cast)
    for _ in range(10):
        client.post(STEP, data={"code": "000000"})
    answer = client.post(STEP, data={"code": "000000"})
    assert answer.status_code == 429 and int(answer.headers["retry-after"]) > 0


def test_a_recovery_code_lets_in_once(
    client: httpx.Client, page_of: ClientOf, cast: Cast, clock: Clock
) -> None:
    _, recovery = set_up(page_of(cast.manager), clock)
    for status in (303, 422):
        begin(client, cast)
        assert client.post(STEP, data={"code": recovery[0]}).status_code == status


def test_what_was_typed_before_the_sign_in_ended_comes_through_both_steps(
    client: httpx.Client, cast: Cast, clock: Clock, secret: str
) -> None:
    path = f"/projects/{cast.project_id}/people"
    late = client.post(
        path, data={"email": "two holes@example.com"}, headers={"Referer": f"{client.base_url}{path}"}
    )
    kept = re.search(r'name="kept" value="([^"]+)"', client.get(late.headers["location"]).text)
    assert kept
    second = client.get(begin(client, cast, kept=html.unescape(kept[1])).headers["location"])
    again = re.search(r'name="kept" value="([^"]+)"', second.text)
    assert again
    clock.go_on(seconds=30)
    sent = {"kept": html.unescape(again[1]), "code": code(secret, clock)}
    assert "two holes@example.com" in client.post(STEP, data=sent).text


def test_no_page_with_a_secret_is_kept_by_a_browser(page_of: ClientOf, cast: Cast, clock: Clock) -> None:
    page = page_of(cast.manager)
    started = page.post(f"{HERE}/codes", data={"codes_password": PASSWORD})
    shown = page.post(f"{HERE}/codes/confirm", data={"code": code(secret_on(started), clock)})
    for answer in (started, shown, page.get(HERE), page.get("/account")):
        assert answer.headers["cache-control"] == "no-store"


def test_a_mistyped_code_shows_the_same_secret_again(page_of: ClientOf, cast: Cast) -> None:
    page = page_of(cast.manager)
    started = page.post(f"{HERE}/codes", data={"codes_password": PASSWORD})
    again = page.post(f"{HERE}/codes/confirm", data={"code": "000000"})
    assert again.status_code == 422 and secret_on(again) == secret_on(started)


def test_a_wrong_password_changes_nothing(page_of: ClientOf, cast: Cast, clock: Clock) -> None:
    page = page_of(cast.manager)
    set_up(page, clock)
    for path, field in (("/codes", "codes_password"), ("/recovery-codes", "recovery_password")):
        answer = page.post(HERE + path, data={field: "not the password"})
        assert answer.status_code == 422 and f'id="{field}-wrong"' in answer.text
    assert "10 recovery codes are left" in page.get(HERE).text


def test_one_is_taken_away_and_the_password_alone_signs_in_again(
    client: httpx.Client, page_of: ClientOf, cast: Cast, clock: Clock
) -> None:
    page = page_of(cast.manager)
    set_up(page, clock)
    action = re.search(rf'action="({HERE}/[^/"]+/remove)"', page.get(HERE).text)
    assert action
    field = f"remove_password-{action[1].split('/')[-2]}"
    assert page.post(action[1], data={field: "not the password"}).status_code == 422
    assert page.post(action[1], data={field: PASSWORD}).headers["location"] == f"{HERE}?did=removed"
    assert begin(client, cast).headers["location"] == "/"


# --- where it is required --------------------------------------------------------------------------------


def test_where_it_is_required_nothing_opens_before_it_is_set_up(
    app: FastAPI, client: httpx.Client, cast: Cast, clock: Clock, desk: Desk
) -> None:
    app.state.desk.asks_factor = True
    assert begin(client, cast).headers["location"] == HERE
    for path in ("/", f"/projects/{cast.project_id}/office", "/account", "/told"):
        assert client.get(path).headers["location"].startswith("/sign-in?"), path
    assert "Set up a second factor first" in client.get(HERE).text
    set_up(client, clock)
    assert client.get("/").status_code == 200
    assert accounts.person_for(desk, client.cookies[PLAIN_COOKIE]) == cast.manager


def test_the_setting_is_read_and_a_mistyped_one_stops_the_start() -> None:
    from pathlib import Path

    def read(text: str) -> bool:
        return Settings.read(Path("data"), environ={"LAPTIGHT_SECOND_FACTOR": text}).asks_factor

    assert (read(""), read("required")) == (False, True)
    with pytest.raises(ValueError, match="LAPTIGHT_SECOND_FACTOR"):
        read("requierd")
