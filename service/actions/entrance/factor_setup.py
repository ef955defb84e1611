"""One's own second factors: what is set up, setting up codes or a passkey, recovery codes, taking one away.

Each begins with the password, so that a phone left lying about changes nothing; only who has none, and has
just come from the company's provider, sets up a first one without. What changes ends every other sign-in.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session

from service.actions.entrance import accounts, passkeys, passwords
from service.actions.entrance.accounts import PAGE, SET_UP, Begun, Person, token_sha256
from service.actions.entrance.passkeys import Place
from service.actions.entrance.second_factors import (
    address_of,
    new_recovery_codes,
    new_secret,
    plain_code,
    secret_of,
    step_of,
)
from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput, Conflict, NotFound
from service.domain.words.speech import tr
from service.papers.setting.qr import qr_modules
from service.storage.accounts import factors, people
from service.storage.accounts.factors import CODES, SecondFactor
from service.storage.doors.sealing import seal

LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class FactorsView:
    """`first`: none is set up, and one is asked for before anything else. `by_password`: each change asks for
    the password."""

    factors: list[SecondFactor]
    recovery_left: int
    first: bool
    by_password: bool


@dataclass(frozen=True, slots=True)
class NewCodes:
    """What an app for codes takes in: the secret itself, and the same as an address for a QR code."""

    secret: str
    address: str

    @property
    def drawn(self) -> tuple[str, int]:
        """The address as a QR code: its path, and how many units a side is."""
        return qr_modules(self.address)

    @property
    def spaced(self) -> str:
        """The secret in groups of four, to be typed."""
        return " ".join(self.secret[at : at + 4] for at in range(0, len(self.secret), 4))


@dataclass(frozen=True, slots=True)
class Proven:
    """What a new factor brings: recovery codes where it is the first, a sign-in where that waited for it."""

    recovery: list[str]
    begun: Begun | None


def setter_up(desk: Desk, token: str) -> Person | None:
    """Whose sign-in this is: a whole one, or one that waits for a second factor to be set up."""
    person = accounts.person_for(desk, token, PAGE) or accounts.person_for(desk, token, SET_UP)
    if person is not None:
        accounts.not_by_code(desk)
    return person


def my_factors(desk: Desk, person: Person, token: str) -> FactorsView:
    with desk.reading() as session:
        first = people.signed_in(session, token_sha256(token), PAGE, desk.clock()) is None
        left = factors.recovery_left(session, person.id)
        asked = not _just_came(desk, session, person, token)
        return FactorsView(factors.of(session, person.id), left, first, asked)


# --- codes -----------------------------------------------------------------------------------------------


def start_codes(desk: Desk, person: Person, password: str, address: str, token: str = "") -> NewCodes:
    """A new secret, that counts once a code made from it was typed. BadInput on `password`, SlowDown."""
    _ask_password(desk, person, password, address, token)
    secret = new_secret()
    with desk.writing() as session:
        factors.drop_unproven(session, person.id)
        sealed = seal(desk.database.keys.folder, secret, person.id)
        made = SecondFactor(desk.new_id(), person.id, CODES, "", sealed, None, 0, desk.clock())
        factors.add(session, made, proven=False)
    return NewCodes(secret, address_of(secret, person.email))


def codes_under_way(desk: Desk, person: Person) -> NewCodes:
    """What `start_codes` gave, to be shown again beside a code that was mistyped. NotFound."""
    with desk.reading() as session:
        found = factors.of(session, person.id, proven=False)
    if not found or (secret := secret_of(desk, found[0])) is None:
        raise NotFound
    return NewCodes(secret, address_of(secret, person.email))


def prove_codes(
    desk: Desk, person: Person, code: str, name: str, *, token: str, address: str, device: str
) -> Proven:
    """Codes count from now on. BadInput on `code`, SlowDown; NotFound where none were started, or the
    key that sealed them is lost: they are started again."""
    noted = accounts.note_try(desk, person.email, address)
    with desk.writing() as session:
        waiting = factors.of(session, person.id, proven=False)
        if not waiting or (secret := secret_of(desk, waiting[0])) is None:
            raise NotFound
        step = step_of(secret, plain_code(code), desk.clock(), 0)
        if step is None or not factors.move_on(session, waiting[0], step, desk.clock()):
            told = tr("This is not the code shown now. Check that the clock of the phone is right.")
            raise BadInput(told, fields={"code": told})
        people.take_back_tries(session, noted)
        factors.prove(session, waiting[0].id, _named(name))
        return _gained(desk, session, person, token, device)


# --- passkeys --------------------------------------------------------------------------------------------


def start_passkey(
    desk: Desk, person: Person, password: str, place: Place, address: str, token: str = ""
) -> str:
    """What the browser makes a passkey from, as JSON. BadInput on `password`, SlowDown."""
    _ask_password(desk, person, password, address, token)
    with desk.writing() as session:
        return passkeys.to_make(desk, session, place, person)


def add_passkey(
    desk: Desk, person: Person, sent: str, name: str, place: Place, *, token: str, device: str
) -> Proven:
    """The passkey counts from now on. BadInput."""
    challenge = passkeys.spent(desk, passkeys.MADE, person.id, sent)
    with desk.writing() as session:
        made = passkeys.made(desk, session, place, person.id, _named(name), sent, challenge)
        factors.add(session, made, proven=True)
        return _gained(desk, session, person, token, device)


# --- recovery codes and taking away ----------------------------------------------------------------------


def new_recovery(desk: Desk, person: Person, password: str, address: str) -> list[str]:
    """Ten new recovery codes in the place of the old. BadInput on `password`, SlowDown; Conflict without a
    second factor that they could stand in for."""
    _ask_password(desk, person, password, address)
    with desk.writing() as session:
        if not factors.has(session, person.id):
            raise Conflict(tr("Set up a second factor first."), code="no-factor")
        return new_recovery_codes(session, person.id)


def remove(desk: Desk, person: Person, factor_id: str, password: str, *, token: str, address: str) -> None:
    """Take one away. NotFound, BadInput on `password`, SlowDown; Conflict where one is asked for and this is
    the last."""
    with desk.reading() as session:
        mine = {one.id for one in factors.of(session, person.id)}
    if factor_id not in mine:
        raise NotFound
    _ask_password(desk, person, password, address)
    with desk.writing() as session:
        left = [one for one in factors.of(session, person.id) if one.id != factor_id]
        if not left and desk.asks_factor and people.is_strict(session, person.id):
            raise Conflict(
                tr("Here a second factor is asked for: set up another one first."), code="last-factor"
            )
        factors.remove(session, factor_id)
        if not left:
            factors.set_recovery(session, person.id, ())
        people.close_sign_ins(session, person.id, but=token_sha256(token))


def _gained(desk: Desk, session: Session, person: Person, token: str, device: str) -> Proven:
    """Recovery codes with the first; every other sign-in ends; one that waited becomes a whole one."""
    waited = people.signed_in(session, token_sha256(token), PAGE, desk.clock()) is None
    none_left = factors.recovery_left(session, person.id) == 0
    recovery = new_recovery_codes(session, person.id) if none_left else []
    people.close_sign_ins(session, person.id, but=None if waited else token_sha256(token))
    begun = Begun(*accounts.open_sign_in(desk, person.id, PAGE, device), PAGE) if waited else None
    return Proven(recovery, begun)


def _just_came(desk: Desk, session: Session, person: Person, token: str) -> bool:
    """Whether they have no password, and this is a sign-in that waits for a first second factor: half an hour
    old at the most, and the company's provider has just told who they are."""
    found = people.by_email(session, person.email)
    waits = people.signed_in(session, token_sha256(token), SET_UP, desk.clock()) is not None
    return waits and found is not None and found[1] == people.NO_HASH


def _ask_password(desk: Desk, person: Person, password: str, address: str, token: str = "") -> None:
    with desk.reading() as session:
        if token and _just_came(desk, session, person, token):
            return
    noted = accounts.note_try(desk, person.email, address)
    with desk.reading() as session:
        found = people.by_email(session, person.email)
    if found is None or not passwords.fits(found[1], password):
        told = tr("This is not your present password.")
        raise BadInput(told, fields={"password": told})
    with desk.writing() as session:
        people.take_back_tries(session, noted)


def _named(name: str) -> str:
    return " ".join(name.split())[:LONGEST_NAME]
