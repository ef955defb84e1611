"""Signing in at a company's own provider (OpenID Connect, authorization code with PKCE).

The browser keeps one secret in a cookie; state, nonce and PKCE verifier are worked out from it, so that
nothing secret lies in the database and no process remembers anything. It counts once and for ten minutes.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, NoReturn
from urllib.parse import quote

import httpx
from authlib.oauth2.rfc6749.parameters import prepare_grant_uri
from authlib.oauth2.rfc7636 import create_s256_code_challenge
from joserfc import jwt
from joserfc.errors import JoseError
from joserfc.jwk import KeySet
from sqlmodel import Session

from service.actions.entrance import accounts
from service.actions.entrance.accounts import Begun, Person, new_token, token_sha256
from service.actions.entrance.person_words import LONGEST_NAME, read_email
from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput, NotSignedIn
from service.domain.words.speech import tr
from service.storage.accounts import challenges, factors, people
from service.storage.doors.locks import alone

LASTS = timedelta(minutes=10)
PURPOSE = "company"
ALGORITHMS = [
    "RS256",
    "PS256",
    "ES256",
    "EdDSA",
]  # keys that only the provider holds; never none, never a shared one
LEEWAY_S = 60
WAIT_S = 10
NAMED = ("authorization_endpoint", "token_endpoint", "jwks_uri")  # what a provider must say of itself


@dataclass(frozen=True, slots=True)
class Company:
    """A provider that people sign in at. `issuer`: as it names itself; `name`: the words on the button;
    `acr`: what it calls a sign-in with two factors, where it has a name of its own for that."""

    issuer: str
    client_id: str
    client_secret: str
    name: str
    acr: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Start:
    """Where the browser goes, and the secret it keeps until it is back."""

    address: str
    secret: str


def start(desk: Desk, company: Company, back: str, next_path: str) -> Start:
    """A sign-in that begins. `back`: this service's address that the provider sends people back to.
    NotSignedIn where the provider cannot be reached."""
    at = _provider(company)
    secret, now = new_token(), desk.clock()
    address = prepare_grant_uri(
        at["authorization_endpoint"],
        client_id=company.client_id,
        response_type="code",
        redirect_uri=back,
        scope="openid email profile",
        state=_from(secret, "state"),
        nonce=_from(secret, "nonce"),
        code_challenge=create_s256_code_challenge(_from(secret, "verifier")),
        code_challenge_method="S256",
        **({"acr_values": " ".join(company.acr)} if company.acr else {}),
    )
    with desk.writing() as session:
        challenges.give(session, token_sha256(secret), PURPOSE, next_path, now, now + LASTS)
    return Start(address, secret)


def finish(
    desk: Desk, company: Company, back: str, secret: str, sent: Mapping[str, str], device: str
) -> tuple[Begun, str]:
    """How it goes on, and where to. NotSignedIn, in words that say what was wrong, where anything that the
    provider or the browser sent does not hold."""
    where = _spent(desk, secret, sent)
    told = _id_token(desk, company, back, secret, sent)
    subject = told.get("sub")
    if not isinstance(subject, str) or not subject:
        _refuse(tr("The provider did not say who you are."), "no-subject")
    with desk.writing() as session:
        person_id = _person_of(desk, session, company.issuer, subject, told)
        return accounts.begun(desk, person_id, device, elsewhere=_two_factors(company, told)), where


def _two_factors(company: Company, told: Mapping[str, Any]) -> bool:
    """Whether the provider says that two factors were shown: by one of the words set up here (`acr`, OpenID
    Connect Core 1.0 section 2), or by `mfa` (`amr`, RFC 8176 section 2). Of one that says nothing it is taken
    that it asked for a password alone."""
    methods = told.get("amr")
    return told.get("acr") in company.acr or (isinstance(methods, list) and "mfa" in methods)


def _spent(desk: Desk, secret: str, sent: Mapping[str, str]) -> str:
    """Where they were going: the state is this browser's, comes once and in time."""
    if not secret or sent.get("state") != _from(secret, "state"):
        _refuse(tr("This sign-in was not begun in this browser. Begin again."), "wrong-state")
    with desk.writing() as session:
        where = challenges.spend(session, token_sha256(secret), PURPOSE, desk.clock())
    if where is None:
        _refuse(tr("This sign-in took too long, or it was used already. Begin again."), "state-used")
    if "code" not in sent:
        _refuse(tr("The provider did not sign you in."), "provider-refused")
    return where


def _id_token(
    desk: Desk, company: Company, back: str, secret: str, sent: Mapping[str, str]
) -> dict[str, Any]:
    """What the provider says of who signed in, checked: signature, issuer, audience, times, nonce."""
    at = _provider(company)
    try:
        answer = _exchange(company, at["token_endpoint"], back, sent["code"], _from(secret, "verifier"))
        keys = KeySet.import_key_set(_read(at["jwks_uri"]))
        token = jwt.decode(answer["id_token"], keys, algorithms=ALGORITHMS)
        _claims(desk, company, secret).validate(token.claims)
    except (JoseError, httpx.HTTPError, KeyError, ValueError, TypeError) as fault:
        raise NotSignedIn(
            tr("What the provider sent does not hold, so nobody was signed in. Begin again."),
            code="provider-wrong",
        ) from fault
    azp = token.claims.get("azp")
    if azp is not None and azp != company.client_id:
        _refuse(tr("The provider signed you in for another service."), "wrong-party")
    return dict(token.claims)


def _claims(desk: Desk, company: Company, secret: str) -> jwt.JWTClaimsRegistry:
    return jwt.JWTClaimsRegistry(
        now=int(desk.clock().timestamp()),
        leeway=LEEWAY_S,
        iss={"essential": True, "value": company.issuer},
        aud={"essential": True, "value": company.client_id},
        nonce={"essential": True, "value": _from(secret, "nonce")},
        exp={"essential": True},
        iat={"essential": True},
        sub={"essential": True},
    )


def _person_of(desk: Desk, session: Session, issuer: str, subject: str, told: Mapping[str, Any]) -> str:
    """Who this is here: known from before; else by the address that the provider has verified, joined to its
    account, or a new account that is on no project."""
    alone(session, f"company:{issuer} {subject}")
    known = factors.person_of(session, issuer, subject)
    if known is not None:
        return known
    if told.get("email_verified") is not True or not isinstance(told.get("email"), str):
        _refuse(
            tr("The provider has not verified your email address, so it cannot be told who you are here."),
            "email-not-verified",
        )
    try:
        email = read_email(told["email"])
    except BadInput as bad:
        raise NotSignedIn(bad.message, code="email-not-verified") from bad
    alone(session, f"email:{email}")
    found = people.by_email(session, email)
    if found is None:
        person = Person(desk.new_id(), email, _name(told, email))
        people.add(session, person, people.NO_HASH, desk.clock())
    else:
        person = found[0]
    factors.link(session, issuer, subject, person.id, desk.clock())
    return person.id


def _name(told: Mapping[str, Any], email: str) -> str:
    name = told.get("name")
    words = " ".join(name.split())[:LONGEST_NAME] if isinstance(name, str) and name.isprintable() else ""
    return words or email.partition("@")[0]


# --- talking to it ---------------------------------------------------------------------------------------


def _provider(company: Company) -> dict[str, Any]:
    """What the provider says of itself. NotSignedIn where it cannot be asked, or calls itself otherwise."""
    try:
        told: dict[str, Any] = _read(company.issuer.rstrip("/") + "/.well-known/openid-configuration")
        ours = told["issuer"] == company.issuer
        named = all(isinstance(told[name], str) for name in NAMED)
    except (httpx.HTTPError, KeyError, ValueError, TypeError) as fault:
        raise NotSignedIn(
            tr("The company's sign-in cannot be reached just now. Try again in a moment."),
            code="provider-away",
        ) from fault
    if not (ours and named):
        words = tr("The company's sign-in calls itself by another name than was set up here.")
        _refuse(words, "wrong-issuer")
    return told


def _read(address: str) -> Any:
    return httpx.get(address, timeout=WAIT_S, follow_redirects=False).raise_for_status().json()


def _exchange(company: Company, at: str, back: str, code: str, verifier: str) -> dict[str, Any]:
    """What the provider gives for the code (RFC 6749 section 4.1.3, with the secret as of section 2.3.1)."""
    fields = {
        "grant_type": "authorization_code",
        "code": code,
        "redirect_uri": back,
        "code_verifier": verifier,
    }
    who = (quote(company.client_id, safe=""), quote(company.client_secret, safe=""))
    answer = httpx.post(at, data=fields, auth=who, timeout=WAIT_S, follow_redirects=False)
    told: dict[str, Any] = answer.raise_for_status().json()
    return told


def _from(secret: str, what: str) -> str:
    """One of the three values of a sign-in: 256 bits that tell nothing of the secret or of one another."""
    told = hashlib.sha256(f"{what}:{secret}".encode()).digest()
    return base64.urlsafe_b64encode(told).rstrip(b"=").decode()


def _refuse(words: str, code: str) -> NoReturn:
    raise NotSignedIn(words, code=code)
