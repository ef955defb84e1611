"""Signing in as a program: a token, the throttle, and nothing told about who has an account."""

from __future__ import annotations

from datetime import datetime

import httpx

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
