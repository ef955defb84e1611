"""Second factors as they are asked for: codes that change every half minute, and recovery codes.

A code is good for its own half minute and the one before and after, for clocks that are a little off, and it
is taken once. Passkeys stand in `passkeys.py`.
"""

from __future__ import annotations

import hashlib
import hmac
import logging
import secrets
from datetime import datetime

import pyotp
from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput
from service.domain.words.speech import later, tr
from service.storage.accounts import factors
from service.storage.accounts.factors import CODES, SecondFactor
from service.storage.doors.keys import NoSuchKey
from service.storage.doors.sealing import unseal

logger = logging.getLogger("laptight")

STEP_S, WINDOW = 30, 1  # RFC 6238 sections 4.1 and 5.2: 30 s, and at the most one step of delay
DIGITS = 6
RECOVERY_CODES, GROUPS = 10, 6
UNREADABLE = later(
    "The service cannot check codes from an app any more. Use one of your recovery codes, or ask whoever "
    "runs the service to take the codes away."
)
# 24 of 32 signs are 120 bits: above the 112 below which ASVS 5.0.0 (6.5.2) wants a password's hash.
_SIGNS = "abcdefghijkmnpqrstuvwxyz23456789"


def new_secret() -> str:
    """160 bits in base32, as RFC 4226 section 4 (R6) advises."""
    return pyotp.random_base32(32)


def address_of(secret: str, email: str) -> str:
    """What an app for codes reads from a QR code."""
    return pyotp.TOTP(secret, digits=DIGITS, interval=STEP_S).provisioning_uri(
        name=email, issuer_name="Laptight"
    )


def code_at(secret: str, step: int) -> str:
    """The code of one step of 30 seconds since 1970."""
    return pyotp.TOTP(secret, digits=DIGITS, interval=STEP_S).generate_otp(step)


def step_of(secret: str, code: str, now: datetime, taken: int) -> int | None:
    """The step this is the code of, among the present one, the one before and the one after, and later than
    the last step a code was `taken` for. None for any other code."""
    present = int(now.timestamp()) // STEP_S
    for step in range(present - WINDOW, present + WINDOW + 1):
        if step > taken and hmac.compare_digest(code_at(secret, step).encode(), code.encode()):
            return step
    return None


def plain_code(typed: str) -> str:
    """A code as it is compared: however it was spaced, and in whichever case."""
    return "".join(sign for sign in typed.lower() if sign.isalnum())[:64]


def accept_code(desk: Desk, session: Session, person_id: str, typed: str) -> bool:
    """True for a code of this person's that was not used yet; it is used up by that. BadInput on `code` where
    the key that seals their codes is lost: no code can be told from another, and recovery codes still can."""
    code, now = plain_code(typed), desk.clock()
    if len(code) != DIGITS:
        return factors.spend_recovery(session, person_id, _sha256(code))
    mine = [one for one in factors.of(session, person_id) if one.kind == CODES]
    secrets_of = [(one, secret_of(desk, one)) for one in mine]
    for factor, secret in secrets_of:
        step = None if secret is None else step_of(secret, code, now, factor.counter)
        if step is not None:
            return factors.move_on(session, factor, step, now)
    if any(secret is None for _, secret in secrets_of):
        told = tr(UNREADABLE)
        raise BadInput(told, fields={"code": told}, code="codes-unreadable")
    return False


def secret_of(desk: Desk, factor: SecondFactor) -> str | None:
    """What the codes are made from. None where the key that sealed it is lost, which whoever runs the service
    is told."""
    try:
        return unseal(desk.database.keys.folder, factor.secret, factor.person_id)
    except NoSuchKey as lost:
        logger.error("codes from apps cannot be checked: %s", lost)
        return None


def new_recovery_codes(session: Session, person_id: str) -> list[str]:
    """Ten new ones in the place of all there were, as they are shown this once."""
    codes = ["".join(secrets.choice(_SIGNS) for _ in range(4 * GROUPS)) for _ in range(RECOVERY_CODES)]
    factors.set_recovery(session, person_id, map(_sha256, codes))
    return ["-".join(code[at : at + 4] for at in range(0, len(code), 4)) for code in codes]


def _sha256(code: str) -> str:
    return hashlib.sha256(code.encode()).hexdigest()
