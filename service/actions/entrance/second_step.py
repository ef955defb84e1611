"""The second step of signing in: what stands half done, and finishing it by a code or a passkey."""

from __future__ import annotations

from dataclasses import dataclass

from sqlmodel import Session

from service.actions.entrance import accounts, passkeys
from service.actions.entrance.accounts import HALF, PAGE, WRONG_CODE, Begun, Person, token_sha256
from service.actions.entrance.passkeys import Place
from service.actions.entrance.second_factors import accept_code
from service.actions.frame.desk import Desk
from service.domain.words.refusals import BadInput, NotSignedIn
from service.domain.words.speech import tr
from service.storage.accounts import factors, people
from service.storage.accounts.factors import PASSKEY


@dataclass(frozen=True, slots=True)
class HalfDone:
    """Who is half signed in, and whether a passkey of theirs can be asked for."""

    person: Person
    passkey: bool


def half_done(desk: Desk, token: str) -> HalfDone:
    """NotSignedIn where nothing waits for a second factor (any more)."""
    person = accounts.person_for(desk, token, HALF)
    if person is None:
        raise NotSignedIn(tr("Sign in first."))
    with desk.reading() as session:
        kinds = {one.kind for one in factors.of(session, person.id)}
    return HalfDone(person, PASSKEY in kinds)


def finish_by_code(desk: Desk, token: str, code: str, address: str, device: str) -> Begun:
    """Signed in. NotSignedIn, BadInput on `code`, SlowDown."""
    half = half_done(desk, token)
    noted = accounts.note_try(desk, half.person.email, address)
    with desk.writing() as session:
        if not accept_code(desk, session, half.person.id, code):
            told = tr(WRONG_CODE)
            raise BadInput(told, fields={"code": told})
        people.take_back_tries(session, noted)
        return _whole(desk, session, half.person, token, device)


def ask_passkey(desk: Desk, token: str, place: Place) -> str:
    """What the browser signs, as JSON. NotSignedIn."""
    half = half_done(desk, token)
    with desk.writing() as session:
        return passkeys.to_ask(desk, session, place, half.person.id)


def finish_by_passkey(desk: Desk, token: str, sent: str, place: Place, address: str, device: str) -> Begun:
    """Signed in. NotSignedIn, BadInput, SlowDown."""
    half = half_done(desk, token)
    noted = accounts.note_try(desk, half.person.email, address)
    challenge = passkeys.spent(desk, passkeys.ASKED, half.person.id, sent)
    with desk.writing() as session:
        passkeys.accept_passkey(desk, session, place, half.person.id, sent, challenge)
        people.take_back_tries(session, noted)
        return _whole(desk, session, half.person, token, device)


def _whole(desk: Desk, session: Session, person: Person, token: str, device: str) -> Begun:
    """A new token takes the place of the half one. NotSignedIn where that was used meanwhile."""
    if not people.close_sign_in(session, token_sha256(token)):
        raise NotSignedIn(tr("Sign in first."))
    return Begun(*accounts.open_sign_in(desk, person.id, PAGE, device), PAGE)
