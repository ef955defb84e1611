"""Passkeys: what a browser is asked to sign, and whether what it signed holds (W3C Web Authentication).

The challenge is drawn for one person and one purpose, kept as its SHA-256, good for five minutes and once.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from sqlmodel import Session
from webauthn import (
    generate_authentication_options,
    generate_registration_options,
    options_to_json,
    verify_authentication_response,
    verify_registration_response,
)
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from service.actions.entrance.accounts import Person, new_token, token_sha256
from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr
from service.storage.accounts import challenges, factors
from service.storage.accounts.factors import PASSKEY, SecondFactor

CHALLENGE_LASTS = timedelta(minutes=5)
MADE, ASKED = "passkey-made", "passkey-asked"  # what a challenge is for
LONGEST = 20_000  # signs of JSON that a browser sends back


@dataclass(frozen=True, slots=True)
class Place:
    """Where passkeys are for. `host`: the name they are bound to; `origin`: as browsers write it."""

    host: str
    origin: str


def to_make(desk: Desk, session: Session, place: Place, person: Person) -> str:
    """What the browser makes a passkey from, as JSON."""
    has = [_named(one) for one in factors.of(session, person.id) if one.credential]
    options = generate_registration_options(
        rp_id=place.host,
        rp_name="Laptight",
        user_id=person.id.encode(),
        user_name=person.email,
        user_display_name=person.name,
        challenge=_challenge(desk, session, MADE, person.id),
        timeout=int(CHALLENGE_LASTS.total_seconds() * 1000),
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.DISCOURAGED,
            user_verification=UserVerificationRequirement.REQUIRED,
        ),
        exclude_credentials=has,
    )
    return options_to_json(options)


def made(
    desk: Desk, session: Session, place: Place, person_id: str, name: str, sent: str, challenge: bytes
) -> SecondFactor:
    """The passkey that a browser made. BadInput where it does not hold."""
    try:
        found = verify_registration_response(
            credential=sent,
            expected_challenge=challenge,
            expected_rp_id=place.host,
            expected_origin=place.origin,
            require_user_verification=True,
        )
    except WebAuthnException as fault:
        raise _no_good() from fault
    credential = bytes_to_base64url(found.credential_id)
    if factors.known_credential(session, credential):
        raise _no_good()
    key = bytes_to_base64url(found.credential_public_key)
    return SecondFactor(
        desk.new_id(), person_id, PASSKEY, name, key, credential, found.sign_count, desk.clock()
    )


def to_ask(desk: Desk, session: Session, place: Place, person_id: str) -> str:
    """What the browser signs with a passkey of this person's, as JSON."""
    options = generate_authentication_options(
        rp_id=place.host,
        challenge=_challenge(desk, session, ASKED, person_id),
        timeout=int(CHALLENGE_LASTS.total_seconds() * 1000),
        allow_credentials=[_named(one) for one in factors.of(session, person_id) if one.credential],
        user_verification=UserVerificationRequirement.REQUIRED,
    )
    return options_to_json(options)


def accept_passkey(
    desk: Desk, session: Session, place: Place, person_id: str, sent: str, challenge: bytes
) -> None:
    """Take what a browser signed as this person's second factor. BadInput where it does not hold: another
    challenge, another place, nobody verified, or a count that did not grow, as of a copied key."""
    named = _read(sent).get("id")
    mine = [one for one in factors.of(session, person_id) if one.credential and one.credential == named]
    if not mine:
        raise _no_good()
    try:
        found = verify_authentication_response(
            credential=sent,
            expected_challenge=challenge,
            expected_rp_id=place.host,
            expected_origin=place.origin,
            credential_public_key=base64url_to_bytes(mine[0].secret),
            credential_current_sign_count=mine[0].counter,
            require_user_verification=True,
        )
    except WebAuthnException as fault:
        raise _no_good() from fault
    if not factors.move_on(session, mine[0], found.new_sign_count, desk.clock()):
        raise _no_good()


def _named(factor: SecondFactor) -> PublicKeyCredentialDescriptor:
    return PublicKeyCredentialDescriptor(id=base64url_to_bytes(factor.credential or ""))


def _challenge(desk: Desk, session: Session, purpose: str, person_id: str) -> bytes:
    token, now = new_token(), desk.clock()
    challenges.give(session, token_sha256(token), purpose, person_id, now, now + CHALLENGE_LASTS)
    return token.encode()


def spent(desk: Desk, purpose: str, person_id: str, sent: str) -> bytes:
    """The challenge that came back, used up whatever becomes of the rest. BadInput."""
    try:
        told = json.loads(base64url_to_bytes(_read(sent)["response"]["clientDataJSON"]))
        challenge = base64url_to_bytes(told["challenge"])
        token = challenge.decode("ascii")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise _no_good() from fault
    with desk.writing() as session:
        about = challenges.spend(session, token_sha256(token), purpose, desk.clock())
    if about != person_id:
        raise BadInput(tr("This took too long, or it was used already. Try once more."), code="passkey")
    return challenge


def _read(sent: str) -> dict[str, Any]:
    try:
        read = json.loads(sent[: LONGEST + 1]) if len(sent) <= LONGEST else None
    except (ValueError, RecursionError):
        read = None
    if not isinstance(read, dict):
        raise _no_good()
    return read


def _no_good() -> BadInput:
    return BadInput(tr("This passkey was not taken. Try once more, or use a code."), code="passkey")
