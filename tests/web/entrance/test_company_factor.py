"""What a company's provider is taken at its word for: a second factor only where it says so, and how long a
sign-in that it opened lasts here."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import httpx
import pytest
from fastapi import FastAPI

from service.actions.entrance import company
from service.actions.frame.desk import Desk
from service.actions.people import people
from service.domain.nouns.roles import PROJECT_MANAGER
from service.web.serving.guards import PLAIN_COOKIE
from tests import provider
from tests.cast import PASSWORD, Cast, Clock
from tests.web.entrance.test_company import BACK, at_work, issuer, person, sign_in, there

__all__ = ["at_work", "issuer", "person"]


def test_a_sign_in_that_the_provider_opened_ends_as_any_of_ours_does(
    person: httpx.Client, clock: Clock
) -> None:
    """An hour without use, 24 hours in all: the provider's own session keeps nobody in here."""
    sign_in(person, "max")
    clock.go_on(minutes=59)
    assert person.get("/told").status_code == 200
    clock.go_on(minutes=61)
    assert person.get("/told").status_code == 303
    clock.now = datetime.now(UTC)
    sign_in(person, "max")
    for _ in range(47):
        clock.go_on(minutes=30)
        assert person.get("/told").status_code == 200
    clock.go_on(minutes=31)
    assert person.get("/told").status_code == 303


def test_nothing_that_the_provider_gave_leaves_the_service_or_is_kept(
    person: httpx.Client, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ASVS 5.0.0, 10.1.1: code, ID token and access token pass between the two servers alone."""
    given: list[dict[str, Any]] = []
    exchange = company._exchange

    def watched(*told: Any) -> dict[str, Any]:
        given.append(exchange(*told))
        return given[-1]

    monkeypatch.setattr(company, "_exchange", watched)
    back = there(person, "lou")
    answer = person.get(BACK, params=back)
    assert answer.headers["location"] == "/told"
    secrets = [back["code"], given[0]["id_token"], given[0]["access_token"]]
    seen = str(answer.headers) + answer.text + person.get("/told").text
    kept = b"".join(file.read_bytes() for file in data.rglob("*") if file.is_file())
    assert PLAIN_COOKIE in person.cookies and len(kept) > 10_000
    for secret in secrets:
        assert len(secret) > 8 and secret not in seen and secret.encode() not in kept


SET_UP = "/account/second-factor"


@pytest.mark.parametrize(
    ("claims", "leads"),
    [
        ({}, SET_UP),
        ({"amr": ["pwd"]}, SET_UP),
        ({"amr": "mfa"}, SET_UP),
        ({"amr": ["pwd", "otp", "mfa"]}, "/told"),
        ({"acr": "1"}, SET_UP),
        ({"acr": None}, SET_UP),
        ({"acr": "urn:example:two"}, "/told"),
    ],
    ids=str,
)
def test_where_one_is_required_the_provider_answers_for_it_only_by_saying_so(
    person: httpx.Client, at_work: FastAPI, issuer: str, claims: dict[str, object], leads: str
) -> None:
    """RFC 8176 section 2: `mfa` in `amr`. OpenID Connect Core 1.0 section 2: `acr`, in words agreed on."""
    at_work.state.desk.asks_factor = True
    at_work.state.company = replace(at_work.state.company, acr=("urn:example:two",))
    provider.known(issuer, "max", email="max.manager@example.com", email_verified=True, **claims)
    try:
        assert sign_in(person, "max").headers["location"].startswith(leads)
        assert (person.get("/told").status_code == 200) == (leads == "/told")
    finally:
        provider.known(issuer, "max", email="max.manager@example.com", email_verified=True)


def test_a_crew_lead_and_a_service_that_requires_none_ask_nothing_of_the_provider(
    person: httpx.Client, at_work: FastAPI
) -> None:
    assert sign_in(person, "max").headers["location"] == "/told"
    at_work.state.desk.asks_factor = True
    assert sign_in(person, "lou").headers["location"] == "/told"


def test_the_provider_is_told_which_sign_in_is_wanted(person: httpx.Client, at_work: FastAPI) -> None:
    """OpenID Connect Core 1.0 section 3.1.2.1: `acr_values`, by spaces."""
    plain = dict(parse_qsl(urlsplit(person.get("/sign-in/company").headers["location"]).query))
    at_work.state.company = replace(at_work.state.company, acr=("two", "urn:more"))
    asked = dict(parse_qsl(urlsplit(person.get("/sign-in/company").headers["location"]).query))
    assert "acr_values" not in plain and asked["acr_values"] == "two urn:more"


def test_somebody_without_a_password_sets_the_second_factor_up_as_they_come_and_never_later(
    person: httpx.Client, at_work: FastAPI, desk: Desk, cast: Cast
) -> None:
    sign_in(person, "new")
    people.invite(desk.fresh(), cast.manager.id, cast.project_id, "new.person@example.com", PROJECT_MANAGER)
    asked = person.post(SET_UP + "/codes", data={"codes_password": ""})
    assert asked.status_code == 422, "signed in for longer: a phone left lying about changes nothing"
    at_work.state.desk.asks_factor = True
    assert sign_in(person, "new").headers["location"].startswith(SET_UP)
    assert 'name="codes_password"' not in person.get(SET_UP).text
    shown = person.post(SET_UP + "/codes", data={})
    assert shown.status_code == 200 and "svg" in shown.text


def test_somebody_with_a_password_is_asked_for_it_however_they_came(
    person: httpx.Client, at_work: FastAPI
) -> None:
    at_work.state.desk.asks_factor = True
    sign_in(person, "max")
    assert 'name="codes_password"' in person.get(SET_UP).text
    assert person.post(SET_UP + "/codes", data={}).status_code == 422
    assert person.post(SET_UP + "/codes", data={"codes_password": PASSWORD}).status_code == 200
