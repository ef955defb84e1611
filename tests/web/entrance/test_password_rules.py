"""Passwords against OWASP ASVS 5.0.0, section 6.2, line by line."""

from __future__ import annotations

import re
from datetime import timedelta
from itertools import islice
from pathlib import Path

import httpx
import pytest
from zxcvbn.frequency_lists import FREQUENCY_LISTS

from service.actions.entrance import accounts, passwords
from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput, NotSignedIn
from tests.cast import PASSWORD, Cast, Clock
from tests.conftest import ClientOf

HERE = "10.0.0.1"
NEW = "four plain grey doors"
STATIC = Path(__file__).parents[3] / "templates" / "static"


def taken(password: str) -> bool:
    try:
        passwords.check(password, "new.person@example.com", "Newton Person")
    except BadInput:
        return False
    return True


def signs_in(desk: Desk, cast: Cast, password: str) -> bool:
    try:
        accounts.sign_in(desk.fresh(), cast.lead.email, password, HERE)
    except NotSignedIn:
        return False
    return True


def test_6_2_1_eight_signs_are_the_least() -> None:
    assert not taken("gr4pht!")
    assert taken("gr4pht!y")


def test_6_2_2_and_6_2_3_a_password_is_changed_on_the_account_page_by_whoever_knows_it(
    page_of: ClientOf, cast: Cast, desk: Desk
) -> None:
    page = page_of(cast.lead)
    wrong = page.post("/account", data={"old_password": "not it at all", "password": NEW})
    assert wrong.status_code == 422 and not signs_in(desk, cast, NEW)
    page.post("/account", data={"old_password": PASSWORD, "password": NEW})
    assert signs_in(desk, cast, NEW)


def test_6_2_4_the_3000_most_common_of_eight_signs_and_more_are_refused() -> None:
    """By their place in breached lists, as zxcvbn ships them."""
    common = list(islice((one for one in FREQUENCY_LISTS["passwords"] if len(one) >= 8), 3_000))
    assert len(common) == 3_000
    assert [one for one in common if taken(one) or taken(one.upper())] == []


@pytest.mark.parametrize("password", ["only small letters", "ONLYLARGELETTERS", "5918264073591", "&%!=)(/&%"])
def test_6_2_5_any_kind_of_signs_makes_a_password(password: str) -> None:
    assert taken(password)


def test_6_2_6_and_6_2_7_password_fields_hide_what_is_typed_and_take_keepers_and_pasting(
    client: httpx.Client, page_of: ClientOf, cast: Cast
) -> None:
    pages = [client.get("/sign-in"), *map(page_of(cast.lead).get, ("/account", "/account/second-factor"))]
    fields = [field for page in pages for field in re.findall(r"<input[^>]*password[^>]*>", page.text)]
    typed = [field for field in fields if 'type="hidden"' not in field and "_name" not in field]
    assert len(typed) >= 5
    for field in typed:
        assert 'type="password"' in field
        assert re.search(r'autocomplete="(current|new)-password"', field)
    assert [
        file.name for file in STATIC.glob("*.js") if re.search(r"[\"'](paste|onpaste)", file.read_text())
    ] == []


def test_6_2_8_a_password_is_taken_as_it_was_typed(desk: Desk, cast: Cast) -> None:
    """No other case, no cut end, no trimmed blanks. What keyboards send in several ways is one (NIST SP
    800-63B-4 section 3.1.1.2: NFKC)."""
    long = "Seven lazy floats " * 5 + "é"
    accounts.change_password(desk, cast.lead.id, PASSWORD, long, address=HERE)
    for other in (long.lower(), long[:-1], long[:64], long.strip() + " ", " " + long):
        assert not signs_in(desk, cast, other)
    assert signs_in(desk, cast, long[:-1] + "e\u0301")
    assert signs_in(desk, cast, long)


def test_6_2_9_64_signs_and_more_are_taken() -> None:
    assert all(taken(("north slab and " * 100)[:length]) for length in (64, 65, 128, 1_000))
    assert not taken("north slab and " * 100)


def test_6_2_10_a_password_never_runs_out(desk: Desk, cast: Cast, clock: Clock) -> None:
    clock.now += timedelta(days=3_650)
    assert signs_in(desk, cast, PASSWORD)


@pytest.mark.parametrize("password", ["laptight", "Laptight2026!", "concrete1", "vaporvapor", "builder99"])
def test_6_2_11_words_of_this_trade_and_service_are_refused(password: str) -> None:
    assert not taken(password)


@pytest.mark.parametrize("password", ["new.person", "NEW.PERSON@example.com", "newton person"])
def test_6_2_11_ones_own_words_are_refused(password: str) -> None:
    assert not taken(password)


def test_6_2_12_every_breached_password_of_the_list_is_refused() -> None:
    """All 11,611 of eight signs and more; a list of billions would mean asking somebody outside."""
    breached = [one for one in FREQUENCY_LISTS["passwords"] if len(one) >= 8]
    assert len(breached) > 11_000
    assert [one for one in breached if taken(one)] == []
