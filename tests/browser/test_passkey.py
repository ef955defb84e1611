"""Passkeys in a real browser, with the authenticator that Chromium pretends to have (DevTools' WebAuthn)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any
from urllib.parse import parse_qs

import pytest
from playwright.sync_api import CDPSession, Route

from tests.browser.phones import Phone, Site
from tests.browser.waiting import until

pytestmark = pytest.mark.browser

EMAIL, PASSWORD = "max@example.com", "seven lazy floats"
KEY = {
    "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True,
    "isUserVerified": True, "automaticPresenceSimulation": True,
}  # fmt: skip


class Holder:
    """A phone with a pretended authenticator, signed in, with a passkey of its own set up."""

    def __init__(self, site: Site) -> None:
        # A passkey is bound to a name, and an address in numbers is none.
        site.address = site.address.replace("127.0.0.1", "localhost")
        self.phone: Phone = site.phone()
        self.cdp: CDPSession = self.phone.page.context.new_cdp_session(self.phone.page)
        self.cdp.send("WebAuthn.enable")
        self.key = self.cdp.send("WebAuthn.addVirtualAuthenticator", {"options": KEY})["authenticatorId"]
        self.phone.sign_in(EMAIL, PASSWORD)
        self.phone.open("/account/second-factor")
        self.phone.page.fill("#passkey_name", "yard phone")
        self.phone.page.fill("#passkey_password", PASSWORD)
        self.phone.press("Add a passkey")

    def again(self) -> None:
        """Signed out, and half in again."""
        self.phone.open("/")
        self.phone.press("Sign out")
        self.half()

    def half(self) -> None:
        self.phone.open("/sign-in")
        self.phone.sign_in(EMAIL, PASSWORD)
        assert self.phone.path == "/sign-in/second-step"

    def credentials(self) -> list[dict[str, Any]]:
        found = self.cdp.send("WebAuthn.getCredentials", {"authenticatorId": self.key})
        credentials: list[dict[str, Any]] = found["credentials"]
        return credentials


@pytest.fixture
def holder(site: Site) -> Iterator[Holder]:
    yield Holder(site)


def test_a_passkey_is_made_and_signs_in_and_what_it_signed_works_once(holder: Holder) -> None:
    phone = holder.phone
    assert "shown this once" in phone.words(), "recovery codes come with the first"
    phone.follow("I have kept them")
    assert "yard phone" in phone.words()
    holder.again()
    phone.open("/account")
    assert phone.path == "/sign-in", "half in opens nothing"
    holder.half()
    sent: list[str] = []
    phone.page.on(
        "request", lambda asked: sent.append(asked.post_data or "") if asked.method == "POST" else None
    )
    phone.press("Use a passkey")
    assert phone.path == "/"
    signed = next(parse_qs(body)["passkey"][0] for body in sent if "passkey=%7B" in body)
    assert holder.credentials()[0]["signCount"] >= 1
    holder.again()
    answer = phone.page.request.post(
        f"{phone.address}/sign-in/second-step",
        form={"passkey": signed},
        headers={"Sec-Fetch-Site": "same-origin"},
    )
    assert answer.status == 422 and "it was used already" in answer.text()
    phone.trouble.clear()


def test_a_copied_passkey_whose_count_fell_back_is_refused(holder: Holder) -> None:
    phone = holder.phone
    for _ in range(2):
        holder.again()
        phone.press("Use a passkey")
        assert phone.path == "/"
    (kept,) = holder.credentials()
    holder.cdp.send("WebAuthn.clearCredentials", {"authenticatorId": holder.key})
    copied = {**kept, "signCount": 0}
    holder.cdp.send("WebAuthn.addCredential", {"authenticatorId": holder.key, "credential": copied})
    holder.again()
    phone.press("Use a passkey")
    assert phone.path == "/sign-in/second-step"
    assert "This passkey was not taken" in phone.words()


def test_a_passkey_that_did_not_make_sure_of_its_holder_is_refused(holder: Holder) -> None:
    phone = holder.phone

    def ask_for_less(route: Route) -> None:
        told = route.fetch()
        asked = json.loads(told.text())
        assert asked["userVerification"] == "required"
        route.fulfill(response=told, json=asked | {"userVerification": "discouraged"})

    holder.cdp.send("WebAuthn.setUserVerified", {"authenticatorId": holder.key, "isUserVerified": False})
    holder.again()
    phone.page.get_by_role("button", name="Use a passkey").click()
    until(
        phone.page,
        "document.querySelector('[data-passkey-said]').textContent.includes('No passkey was used')",
    )
    phone.page.route("**/sign-in/second-step/passkey", ask_for_less)
    phone.press("Use a passkey")
    assert phone.path == "/sign-in/second-step"
    assert "This passkey was not taken" in phone.words()


def test_without_scripts_codes_are_all_there_is(site: Site) -> None:
    phone = site.phone(scripts=False)
    phone.sign_in(EMAIL, PASSWORD)
    phone.open("/account/second-factor")
    assert not phone.page.get_by_role("button", name="Add a passkey").is_visible()
    phone.page.fill("#codes_password", PASSWORD)
    phone.press("Set up codes")
    assert "type the letters into it" in phone.words()
