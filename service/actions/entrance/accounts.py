"""Accounts: make a person, sign in and out, change a password."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar

from sqlmodel import Session

from service.actions.entrance import passwords
from service.actions.entrance.person_words import LONGEST_EMAIL, read_email, read_name
from service.actions.entrance.second_factors import accept_code
from service.actions.entrance.throttle import note_address, note_try, take_back_tries
from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput, Conflict, NotAllowed, NotFound, NotSignedIn
from service.domain.words.speech import later, tr
from service.storage.accounts import factors, glances, people
from service.storage.accounts.people import Person
from service.storage.doors.locks import alone
from service.storage.upkeep.outages import is_outage

__all__ = [
    "PAGE", "PROGRAM", "Person", "begin", "begun", "change_password", "make_person", "nobody_yet",
    "not_by_code", "note_address", "note_try", "note_use", "open_sign_in", "person_at_once", "person_for",
    "read_email", "read_name", "sign_in", "sign_out", "take_back_tries",
]  # fmt: skip

PAGE, PROGRAM = "page", "api"  # how a sign-in is carried: a cookie, or a bearer token
SIGN_IN_LASTS = people.LASTS
HALF, SET_UP = "half", "set-up"  # kinds of sign-ins that open nothing but the next step of signing in
STEPS_LAST = {HALF: timedelta(minutes=10), SET_UP: timedelta(minutes=30)}
WRONG_CODE = later("This code is not right, or it was used already. Wait for the next one.")


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Begun:
    """`kind`: PAGE, signed in; HALF, a second factor is asked for; SET_UP, one is to be set up first."""

    token: str
    ends_at: datetime
    kind: str


def new_token() -> str:
    """192 random bits for a cookie, a bearer token or a link. Only its SHA-256 is ever kept."""
    return secrets.token_urlsafe(24)


def token_sha256(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def nobody_yet(desk: Desk) -> bool:
    """True on a service that has no person at all."""
    with desk.reading() as session:
        return not people.anyone(session)


def make_person(desk: Desk, email: str, name: str, password: str) -> Person:
    """A new account. BadInput naming each field at fault; Conflict when the address has one already."""
    person = Person(desk.new_id(), read_email(email), read_name(name))
    passwords.check(password, person.email, person.name)
    password_hash = passwords.hashed(password)
    with desk.writing() as session:
        alone(session, f"email:{person.email}")
        if people.by_email(session, person.email) is not None:
            raise Conflict(tr("There is an account for this address already."), code="email-taken")
        people.add(session, person, password_hash, desk.clock())
    return person


# --- signing in and out ----------------------------------------------------------------------------------


def sign_in(
    desk: Desk, email: str, password: str, address: str, kind: str = PAGE, code: str = ""
) -> tuple[str, datetime]:
    """A token and when it ends. NotSignedIn when address and password do not fit, in the same words and the
    same time whether the address is known or not, and `second-factor-needed` where a code has to come with
    them; SlowDown after too many failures."""

    def opened(person: Person, session: Session) -> tuple[str, datetime] | None:
        if factors.has(session, person.id):
            if not code:
                return None
            if not accept_code(desk, session, person.id, code):
                raise NotSignedIn(tr(WRONG_CODE), code="wrong-code")
        elif _must_set_up(desk, session, person.id):
            told = tr("Set up a second factor first: sign in on a page of the service.")
            raise NotSignedIn(told, code="second-factor-missing")
        return open_sign_in(desk, person.id, kind)

    found = _proved(desk, email, password, address, opened)
    if found is None:
        raise NotSignedIn(tr("Send the code of your second factor as well."), code="second-factor-needed")
    return found


def begin(desk: Desk, email: str, password: str, address: str, device: str = "") -> Begun:
    """The same on a page, where a second factor is asked for next. NotSignedIn, SlowDown."""
    return _proved(desk, email, password, address, lambda person, _: begun(desk, person.id, device))


def begun(desk: Desk, person_id: str, device: str = "", *, elsewhere: bool = False) -> Begun:
    """How it goes on for somebody whose password, or whatever stands for it, was right. `elsewhere`: a
    company's provider says that two factors were shown there; it answers where none is set up here."""
    with desk.writing() as session:
        if factors.has(session, person_id):
            kind = HALF
        elif not elsewhere and _must_set_up(desk, session, person_id):
            kind = SET_UP
        else:
            return Begun(*open_sign_in(desk, person_id, PAGE, device), PAGE)
        token, now = new_token(), desk.clock()
        people.open_sign_in(
            session, token_sha256(token), person_id, kind, now, now + STEPS_LAST[kind], device
        )
    return Begun(token, now + STEPS_LAST[kind], kind)


def _must_set_up(desk: Desk, session: Session, person_id: str) -> bool:
    return desk.asks_factor and people.is_strict(session, person_id)


def _proved(desk: Desk, email: str, password: str, address: str, then: Callable[[Person, Session], T]) -> T:
    """What `then` makes of the person whose address and password these are, in one transaction."""
    email = email.strip().lower()[:LONGEST_EMAIL]
    noted = note_try(desk, email, address)
    with desk.reading() as session:
        found = people.by_email(session, email)
    has_one = found is not None and found[1] != people.NO_HASH
    fits = passwords.fits(found[1] if found and has_one else passwords.nobodys_hash(), password)
    if found is None or not (fits and has_one):
        raise NotSignedIn(tr("This address and this password do not belong together."), code="wrong-password")
    with desk.writing() as session:
        people.take_back_tries(session, noted)
        now_kept = people.by_email(session, email)
        if now_kept is None or now_kept[1] != found[1]:
            raise NotSignedIn(
                tr("The password was changed meanwhile. Use the new one."), code="wrong-password"
            )
        return then(found[0], session)


def open_sign_in(desk: Desk, person_id: str, kind: str = PAGE, device: str = "") -> tuple[str, datetime]:
    """A sign-in for somebody who has just proved who they are: its token and when it ends. An hour without
    use ends it too, for whoever is project manager or inspector anywhere (`storage/accounts/people.py`)."""
    token, now = new_token(), desk.clock()
    with desk.writing() as session:
        people.forget_ended(session, now)
        ends_at = now + (people.STRICT_LASTS if people.is_strict(session, person_id) else people.LASTS)
        people.open_sign_in(session, token_sha256(token), person_id, kind, now, ends_at, device)
    return token, ends_at


def person_for(desk: Desk, token: str, kind: str = PAGE) -> Person | None:
    """Whose token this is, while it lasts. Signed in by a crew's code, what this desk sees is the one project
    of the code from then on."""
    with desk.reading() as session:
        found = people.signed_in(session, token_sha256(token), kind, desk.clock())
    if found is None:
        desk.only = ""
        return None
    person, to_note = found
    desk.only = person.only
    if to_note:
        note_use(desk, token)
    return person


def person_at_once(desk: Desk, token: str, kind: str) -> Person | None:
    """As `person_for` where that neither waits nor writes, for somebody with a password: on SQLite, their use
    noted a moment ago. None says nothing: `person_for` is to be asked."""
    if not desk.database.is_sqlite:
        return None
    try:
        found = glances.person_at(desk.database, token_sha256(token), kind, desk.clock())
    except Exception:  # whatever it is: `person_for` meets it, too, and it is told of from there
        return None
    return None if found is None or found[1] or found[0].only else found[0]


def note_use(desk: Desk, token: str) -> None:
    """Write down that a sign-in is used. Looking goes on where nothing can be written: the sign-in then ends
    as if it had not been used."""
    try:
        with desk.writing() as session:
            people.note_use(session, token_sha256(token), desk.clock())
    except Exception as trouble:
        if not is_outage(trouble):
            raise


def not_by_code(desk: Desk) -> None:
    """NotAllowed where somebody signed in by a crew's code: this is about more than the code's project."""
    if desk.only:
        raise NotAllowed(
            tr("You are signed in by a code, for one project. This takes a sign-in with a password."),
            code="signed-in-by-code",
        )


def sign_out(desk: Desk, token: str) -> None:
    with desk.writing() as session:
        people.close_sign_in(session, token_sha256(token))


# --- passwords -------------------------------------------------------------------------------------------


def change_password(
    desk: Desk, by: str, old: str, new: str, *, address: str, keep_token: str | None = None
) -> None:
    """Choose a new password, knowing the old one. Every other sign-in of this person ends."""
    not_by_code(desk)
    with desk.reading() as session:
        person = people.by_id(session, by)
        found = people.by_email(session, person.email) if person else None
    if found is None:
        raise NotFound
    person, password_hash = found
    noted = note_try(desk, person.email, address)
    if not passwords.fits(password_hash, old):
        told = tr("This is not your present password.")
        raise BadInput(told, fields={"old_password": told})
    with desk.writing() as session:
        people.take_back_tries(session, noted)
    passwords.check(new, person.email, person.name)
    new_hash = passwords.hashed(new)
    with desk.writing() as session:
        people.set_password(session, by, new_hash)
        people.close_sign_ins(session, by, but=token_sha256(keep_token) if keep_token else None)
