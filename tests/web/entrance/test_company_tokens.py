"""The provider's token, signed in every way that a forger would try: only its own keys count.

RFC 8725, sections 2.1 and 3.1: `none`, and a shared key made of what is public, are the two that got through.
"""

from __future__ import annotations

import base64
import hmac
import json
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from joserfc import jwt
from joserfc.jwk import RSAKey

from service.actions.entrance import company
from service.web.serving.guards import PLAIN_COOKIE
from tests.web.entrance.test_company import BACK, at_work, issuer, person, refused, there

__all__ = ["at_work", "issuer", "person"]

RSA = RSAKey.generate_key(2048, auto_kid=True)
PUBLIC = RSA.as_pem(private=False)


def _part(told: bytes) -> str:
    return base64.urlsafe_b64encode(told).rstrip(b"=").decode()


def _told(alg: str, claims: dict[str, Any]) -> str:
    head = {"alg": alg, "typ": "JWT", "kid": RSA.kid}
    return f"{_part(json.dumps(head).encode())}.{_part(json.dumps(claims).encode())}"


def unsigned(claims: dict[str, Any]) -> str:
    return f"{_told('none', claims)}."


def with_what_is_public(claims: dict[str, Any]) -> str:
    told = _told("HS256", claims)
    return f"{told}.{_part(hmac.digest(PUBLIC, told.encode(), 'sha256'))}"


def with_its_own_key(claims: dict[str, Any]) -> str:
    return jwt.encode({"alg": "RS256", "kid": RSA.kid}, claims, RSA)


def sent_back(
    person: httpx.Client, monkeypatch: pytest.MonkeyPatch, signed: Callable[[dict[str, Any]], str], keys: Any
) -> httpx.Response:
    """The answer to a token of the right claims, signed like this, where the provider tells these keys."""
    exchange, read = company._exchange, company._read

    def forged(*given: Any) -> dict[str, Any]:
        told = exchange(*given)
        middle = told["id_token"].split(".")[1]
        claims = json.loads(base64.urlsafe_b64decode(middle + "=" * (-len(middle) % 4)))
        return {**told, "id_token": signed(claims)}

    monkeypatch.setattr(company, "_exchange", forged)
    monkeypatch.setattr(company, "_read", lambda at: {"keys": keys} if at.endswith("jwks") else read(at))
    return person.get(BACK, params=there(person, "lou"))


def test_a_token_by_the_providers_own_key_signs_in(
    person: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = sent_back(person, monkeypatch, with_its_own_key, [RSA.as_dict(private=False)])
    assert answer.status_code == 303 and PLAIN_COOKIE in answer.cookies


@pytest.mark.parametrize("signed", [unsigned, with_what_is_public])
@pytest.mark.parametrize("told", ["the key alone", "a shared one beside it"])
def test_a_token_signed_by_nobody_or_with_a_shared_key_is_refused(
    person: httpx.Client,
    monkeypatch: pytest.MonkeyPatch,
    signed: Callable[[dict[str, Any]], str],
    told: str,
) -> None:
    """ASVS 5.0.0, 9.1.2."""
    keys = [RSA.as_dict(private=False)]
    if told != "the key alone":
        keys.append({"kty": "oct", "k": _part(PUBLIC), "kid": str(RSA.kid)})
        keys.reverse()
    refused(sent_back(person, monkeypatch, signed, keys), "does not hold")
