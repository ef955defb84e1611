"""Signing in at a company's provider, a real one on 127.0.0.1: who gets in, and what is refused and how."""

from __future__ import annotations

import base64
import hashlib
import html
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import httpx
import pytest
from fastapi import FastAPI
from sqlmodel import select

from service.actions.entrance import accounts, company
from service.actions.entrance.company import Company
from service.actions.frame.desk import Desk
from service.app import company_of
from service.domain.words.refusals import NotSignedIn
from service.settings import Settings
from service.storage.accounts import factors
from service.storage.accounts.factors import PASSKEY, SecondFactor
from service.storage.tables.tables import PersonRow
from service.web.serving.guards import PLAIN_COOKIE
from tests import provider
from tests.cast import PASSWORD, Cast, Clock
from tests.in_process import browser

BACK = "/sign-in/company/back"


@pytest.fixture(scope="module")
def issuer() -> Iterator[str]:
    with provider.running() as address:
        provider.known(address, "lou", email="lou.lead@example.com", email_verified=True, name="Lou Lead")
        provider.known(address, "max", email="max.manager@example.com", email_verified=True)
        provider.known(address, "new", email="New.Person@example.com", email_verified=True, name="New Person")
        provider.known(address, "loose", email="ina.inspector@example.com", email_verified=False)
        provider.known(address, "text", email="ina.inspector@example.com", email_verified="true")
        yield address


@pytest.fixture
def at_work(app: FastAPI, issuer: str, clock: Clock, cast: Cast) -> FastAPI:
    """The service, where people sign in at the provider; its clock goes with the provider's."""
    clock.now = datetime.now(UTC)
    app.state.company = Company(issuer, "laptight", "a secret of ours", "Example Builders")
    return app


@pytest.fixture
def person(at_work: FastAPI) -> Iterator[httpx.Client]:
    with browser(at_work) as opened:
        yield opened


def there(client: httpx.Client, subject: str, **changed: str) -> dict[str, str]:
    """Signed in at the provider: what the browser brings back."""
    gone = client.get("/sign-in/company", params={"next": "/told"})
    assert gone.status_code == 303
    return provider.sign_in_there(gone.headers["location"], subject, **changed)


def sign_in(client: httpx.Client, subject: str) -> httpx.Response:
    return client.get(BACK, params=there(client, subject))


def refused(answer: httpx.Response, words: str) -> None:
    assert answer.status_code == 422
    assert words in html.unescape(answer.text)
    assert PLAIN_COOKIE not in answer.cookies


def whose(client: httpx.Client, desk: Desk) -> str:
    person = accounts.person_for(desk.fresh(), client.cookies[PLAIN_COOKIE])
    return person.email if person else ""


def test_the_page_to_sign_in_offers_it_by_name(person: httpx.Client) -> None:
    assert "Sign in at Example Builders" in person.get("/sign-in").text


def test_an_account_with_the_address_that_the_provider_verified_is_joined(
    person: httpx.Client, desk: Desk
) -> None:
    answer = sign_in(person, "lou")
    assert (answer.status_code, answer.headers["location"]) == (303, "/told")
    assert whose(person, desk) == "lou.lead@example.com"
    assert person.get("/told").status_code == 200


def test_somebody_new_gets_an_account_that_is_on_no_project_and_has_no_password(
    person: httpx.Client, desk: Desk
) -> None:
    sign_in(person, "new")
    assert whose(person, desk) == "new.person@example.com"
    assert "You are on no project yet" in person.get("/").text
    for password in ("", "!", PASSWORD):
        with pytest.raises(NotSignedIn):
            accounts.sign_in(desk.fresh(), "new.person@example.com", password, "10.0.0.1")


def test_they_are_known_by_what_the_provider_calls_them_from_then_on(
    person: httpx.Client, desk: Desk, issuer: str
) -> None:
    sign_in(person, "new")
    provider.known(issuer, "new", email="another@example.com", email_verified=False)
    try:
        sign_in(person, "new")
        assert whose(person, desk) == "new.person@example.com"
    finally:
        provider.known(issuer, "new", email="New.Person@example.com", email_verified=True, name="New Person")


def test_what_is_asked_for_holds_pkce_state_and_nonce(person: httpx.Client) -> None:
    """RFC 7636 section 4.2: S256 of a verifier of 43 signs and more."""
    asked = dict(parse_qsl(urlsplit(person.get("/sign-in/company").headers["location"]).query))
    assert asked["code_challenge_method"] == "S256"
    verifier = company._from(person.cookies["laptight-company"], "verifier")
    told = base64.urlsafe_b64encode(hashlib.sha256(verifier.encode()).digest()).rstrip(b"=").decode()
    assert asked["code_challenge"] == told and len(verifier) >= 43
    assert len({asked["state"], asked["nonce"], verifier}) == 3
    assert {"openid", "email"} <= set(asked["scope"].split())


def test_the_verifier_is_sent_with_the_code(person: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[str] = []
    exchange = company._exchange

    def watched(of: Company, at: str, back: str, code: str, verifier: str) -> dict[str, Any]:
        sent.append(verifier)
        return exchange(of, at, back, code, verifier)

    monkeypatch.setattr(company, "_exchange", watched)
    back = there(person, "lou")
    secret = person.cookies["laptight-company"]
    person.get(BACK, params=back)
    assert sent == [company._from(secret, "verifier")]


def test_an_address_that_the_provider_did_not_verify_joins_nothing(person: httpx.Client) -> None:
    for subject in ("loose", "text"):
        refused(sign_in(person, subject), "has not verified your email address")


def test_the_same_answer_brought_twice_is_refused(person: httpx.Client) -> None:
    back = there(person, "lou")
    kept = person.cookies["laptight-company"]
    assert person.get(BACK, params=back).status_code == 303
    person.cookies.set("laptight-company", kept)
    refused(person.get(BACK, params=back), "it was used already")


def test_an_answer_brought_by_another_browser_is_refused(person: httpx.Client, at_work: FastAPI) -> None:
    back = there(person, "lou")
    with browser(at_work) as other:
        refused(other.get(BACK, params=back), "not begun in this browser")
    refused(person.get(BACK, params=back | {"state": "another"}), "not begun in this browser")


def test_an_answer_after_ten_minutes_is_refused(person: httpx.Client, clock: Clock) -> None:
    back = there(person, "lou")
    clock.go_on(minutes=10)
    refused(person.get(BACK, params=back), "took too long")


def test_another_nonce_is_refused(person: httpx.Client) -> None:
    refused(person.get(BACK, params=there(person, "lou", nonce="of somebody else")), "does not hold")


def test_what_the_provider_said_more_than_an_hour_ago_is_refused(
    person: httpx.Client, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The provider's word lasts an hour by its own setting."""
    back = there(person, "lou")
    clock.go_on(minutes=9)
    token_time = company.LEEWAY_S + 3_600 - 9 * 60 + 5
    claims = company._claims

    def later(desk: Desk, of: Company, secret: str) -> Any:
        return claims(
            replace(desk, clock=Clock(clock.now.fromtimestamp(clock.now.timestamp() + token_time, UTC))),
            of,
            secret,
        )

    monkeypatch.setattr(company, "_claims", later)
    refused(person.get(BACK, params=back), "does not hold")


def test_another_audience_is_refused(person: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """A whole and true token, that the provider made for another service."""
    exchange = company._exchange

    def of_another(of: Company, *rest: str) -> dict[str, Any]:
        return exchange(replace(of, client_id="another service"), *rest)

    back = there(person, "lou", client_id="another service")
    monkeypatch.setattr(company, "_exchange", of_another)
    refused(person.get(BACK, params=back), "does not hold")


def test_a_provider_that_calls_itself_otherwise_is_refused(
    person: httpx.Client, at_work: FastAPI, issuer: str
) -> None:
    at_work.state.company = replace(
        at_work.state.company, issuer=issuer.replace("127.0.0.1", "localhost") + "/"
    )
    refused(person.get("/sign-in/company"), "calls itself by another name")


def test_a_token_of_another_issuer_is_refused(
    person: httpx.Client, at_work: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    back = there(person, "lou")
    provider_told = company._provider

    def told(of: Company) -> dict[str, Any]:
        return provider_told(replace(of, issuer=of.issuer.removesuffix("#other")))

    monkeypatch.setattr(company, "_provider", told)
    at_work.state.company = replace(at_work.state.company, issuer=at_work.state.company.issuer + "#other")
    refused(person.get(BACK, params=back), "does not hold")


def test_a_signature_by_another_key_is_refused(person: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from joserfc.jwk import RSAKey

    other = {"keys": [RSAKey.generate_key(2048, auto_kid=True).as_dict(private=False)]}
    back = there(person, "lou")
    read = company._read
    monkeypatch.setattr(company, "_read", lambda at: other if at.endswith("jwks") else read(at))
    refused(person.get(BACK, params=back), "does not hold")


def test_a_provider_that_is_away_is_told_so(person: httpx.Client, at_work: FastAPI) -> None:
    at_work.state.company = replace(at_work.state.company, issuer="http://127.0.0.1:9")
    refused(person.get("/sign-in/company"), "cannot be reached")


def test_whoever_says_no_there_is_not_signed_in(person: httpx.Client) -> None:
    gone = person.get("/sign-in/company").headers["location"]
    state = dict(parse_qsl(urlsplit(gone).query))["state"]
    refused(person.get(BACK, params={"error": "access_denied", "state": state}), "did not sign you in")


def test_a_second_factor_set_up_here_is_asked_for_all_the_same(
    person: httpx.Client, desk: Desk, cast: Cast
) -> None:
    one = SecondFactor("f", cast.manager.id, PASSKEY, "key", "", "c", 0, desk.clock())
    with desk.writing() as session:
        factors.add(session, one, proven=True)
    assert sign_in(person, "max").headers["location"].startswith("/sign-in/second-step")
    assert person.get("/told").status_code == 303


def test_one_account_has_one_address_however_often_they_come(person: httpx.Client, desk: Desk) -> None:
    for _ in range(2):
        sign_in(person, "new")
    with desk.reading() as session:
        found = session.exec(select(PersonRow).where(PersonRow.email == "new.person@example.com")).all()
    assert len(found) == 1


@pytest.mark.parametrize(
    ("issuer", "client_id"), [("http://provider.example", "laptight"), ("https://provider.example", "")]
)
def test_a_provider_half_set_up_or_in_the_clear_is_refused_at_the_start(
    tmp_path: Path, issuer: str, client_id: str
) -> None:
    plain = Settings.read(tmp_path, environ={})
    settings = replace(plain, oidc_issuer=issuer, oidc_client_id=client_id, oidc_client_secret="s")
    with pytest.raises(ValueError, match="LAPTIGHT_OIDC_ISSUER"):
        company_of(settings)


def test_without_a_provider_nothing_of_it_is_offered(client: httpx.Client) -> None:
    assert "/sign-in/company" not in client.get("/sign-in").text
    assert client.get("/sign-in/company").headers["location"] == "/sign-in"
    assert client.get(BACK).headers["location"] == "/sign-in"
