"""Signing in as a program: a token, the throttle, and nothing told about who has an account."""

from __future__ import annotations

from datetime import datetime

import httpx
import pyotp
from fastapi import FastAPI

from service.actions.entrance import accounts, factor_setup
from service.actions.frame.desk import Desk
from tests.api.shape import assert_refused
from tests.cast import NOON, PASSWORD, Cast, Clock

SIGN_IN = "/api/v1/sign-in"


def test_the_right_password_gives_a_token_that_works(client: httpx.Client, cast: Cast) -> None:
    answer = client.post(SIGN_IN, json={"email": cast.lead.email, "password": PASSWORD})
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == "no-store"
    assert set(answer.json()) == {"token", "expires_at"}
    assert datetime.fromisoformat(answer.json()["expires_at"]) > NOON
    signed = {"Authorization": f"Bearer {answer.json()['token']}"}
    assert [found["id"] for found in client.get("/api/v1/projects", headers=signed).json()] == [
        cast.project_id
    ]
    assert "set-cookie" not in answer.headers


def test_a_token_ends(client: httpx.Client, cast: Cast, clock: Clock) -> None:
    token = client.post(SIGN_IN, json={"email": cast.lead.email, "password": PASSWORD}).json()["token"]
    clock.go_on(days=31)
    assert_refused(client.get("/api/v1/projects", headers={"Authorization": f"Bearer {token}"}), 401)


def test_a_wrong_password_and_an_unknown_address_get_the_same_bytes(client: httpx.Client, cast: Cast) -> None:
    wrong = client.post(SIGN_IN, json={"email": cast.lead.email, "password": "not this one"})
    unknown = client.post(SIGN_IN, json={"email": "nobody@example.com", "password": "not this one"})
    assert_refused(wrong, 401, "wrong-password")
    assert wrong.content == unknown.content


def test_too_many_tries_are_slowed_down_and_told_how_long(
    client: httpx.Client, cast: Cast, clock: Clock
) -> None:
    for _ in range(10):
        client.post(SIGN_IN, json={"email": cast.lead.email, "password": "not this one"})
    slowed = client.post(SIGN_IN, json={"email": cast.lead.email, "password": PASSWORD})
    assert_refused(slowed, 429, "slow-down")
    clock.go_on(seconds=int(slowed.headers["retry-after"]) + 1)
    assert client.post(SIGN_IN, json={"email": cast.lead.email, "password": PASSWORD}).status_code == 200


def test_a_sign_in_that_cannot_be_read_is_422(client: httpx.Client) -> None:
    assert_refused(client.post(SIGN_IN, json={"email": "a@example.com"}), 422, "bad-input", "password")
    assert_refused(
        client.post(SIGN_IN, json={"email": 7, "password": None}), 422, "bad-input", "email", "password"
    )
    assert_refused(client.post(SIGN_IN, content=b"{"), 422)


def test_where_there_is_a_second_factor_its_code_is_asked_for_and_taken_once(
    client: httpx.Client, cast: Cast, desk: Desk, clock: Clock
) -> None:
    page, _ = accounts.open_sign_in(desk, cast.manager.id)
    secret = factor_setup.start_codes(desk, cast.manager, PASSWORD, "10.0.0.1").secret
    first = pyotp.TOTP(secret).at(clock.now)
    factor_setup.prove_codes(desk, cast.manager, first, "", token=page, address="10.0.0.1", device="")
    sent = {"email": cast.manager.email, "password": PASSWORD}
    assert_refused(client.post(SIGN_IN, json=sent), 401, "second-factor-needed")
    assert_refused(client.post(SIGN_IN, json=sent | {"code": first}), 401, "wrong-code")
    clock.go_on(seconds=30)
    code = pyotp.TOTP(secret).at(clock.now)
    assert client.post(SIGN_IN, json=sent | {"code": code}).status_code == 200
    assert_refused(client.post(SIGN_IN, json=sent | {"code": code}), 401, "wrong-code")


def test_where_one_is_required_and_not_set_up_a_program_is_told_so(
    client: httpx.Client, cast: Cast, app: FastAPI
) -> None:
    app.state.desk.asks_factor = True
    sent = {"email": cast.manager.email, "password": PASSWORD}
    assert_refused(client.post(SIGN_IN, json=sent), 401, "second-factor-missing")
    lead = {"email": cast.lead.email, "password": PASSWORD}
    assert client.post(SIGN_IN, json=lead).status_code == 200
