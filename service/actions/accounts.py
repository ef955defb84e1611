"""Accounts: make a person, sign in and out, change a password, and the links that let one choose anew."""

from __future__ import annotations

import hashlib
import math
import re
import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta

from service.actions import passwords
from service.actions.desk import Desk
from service.domain import roles
from service.domain.refusals import BadInput, Conflict, NotAllowed, NotFound, NotSignedIn, SlowDown
from service.domain.speech import tr, trn
from service.storage import people
from service.storage.locks import alone
from service.storage.people import Person

__all__ = [
    "PAGE", "PROGRAM", "Person", "change_password", "make_person", "make_reset", "make_reset_for_email",
    "nobody_yet", "not_by_code", "note_address", "open_sign_in", "person_for", "reset_shown", "sign_in",
    "sign_out", "take_back_tries", "use_reset",
]  # fmt: skip

PAGE, PROGRAM = "page", "api"  # how a sign-in is carried: a cookie, or a bearer token
SIGN_IN_LASTS = timedelta(days=30)
RESET_LASTS = timedelta(minutes=60)
# NIST SP 800-63B-4 section 3.2.2 allows 100 failures in a row at the most; these are far below it.
EMAIL_TRIES, EMAIL_SPAN = 10, timedelta(minutes=15)
ADDRESS_TRIES, ADDRESS_SPAN = 30, timedelta(minutes=1)
LONGEST_NAME, LONGEST_EMAIL = 120, 254

_EMAIL = re.compile(r"[^\s@<>,;:\"()\[\]\\]+@[^\s@<>,;:\"()\[\]\\]+")


def new_token() -> str:
    """192 random bits for a cookie, a bearer token or a link. Only its SHA-256 is ever kept."""
    return secrets.token_urlsafe(24)


def token_sha256(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def read_email(text: str) -> str:
    """An address in lower case. BadInput on `email` when it cannot be one."""
    email = text.strip().lower()
    if not _EMAIL.fullmatch(email) or len(email) > LONGEST_EMAIL or not email.isprintable():
        told = tr("Write an email address, such as name@example.com.")
        raise BadInput(told, fields={"email": told})
    return email


def read_name(text: str) -> str:
    """A person's name. BadInput on `name`."""
    name = " ".join(text.split())
    told = tr("Write the name people on site know you by.") if not name else ""
    if len(name) > LONGEST_NAME:
        told = tr("Keep the name to {most} characters.", most=LONGEST_NAME)
    if not name.isprintable():
        told = tr("The name holds a character that cannot be shown.")
    if told:
        raise BadInput(told, fields={"name": told})
    return name


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


def sign_in(desk: Desk, email: str, password: str, address: str, kind: str = PAGE) -> tuple[str, datetime]:
    """A token and when it ends. NotSignedIn when address and password do not fit, in the same words and the
    same time whether the address is known or not; SlowDown after too many failures."""
    email = email.strip().lower()[:LONGEST_EMAIL]
    noted = _note_try(desk, email, address)
    with desk.reading() as session:
        found = people.by_email(session, email)
    fits = passwords.fits(found[1] if found else passwords.nobodys_hash(), password)
    if found is None or not fits:
        raise NotSignedIn(tr("This address and this password do not belong together."), code="wrong-password")
    with desk.writing() as session:
        people.take_back_tries(session, noted)
        now_kept = people.by_email(session, email)
        if now_kept is None or now_kept[1] != found[1]:
            raise NotSignedIn(
                tr("The password was changed meanwhile. Use the new one."), code="wrong-password"
            )
        return open_sign_in(desk, found[0].id, kind)


def open_sign_in(desk: Desk, person_id: str, kind: str = PAGE) -> tuple[str, datetime]:
    """A sign-in for somebody who has just proved who they are: its token and when it ends."""
    token, now = new_token(), desk.clock()
    with desk.writing() as session:
        people.forget_ended(session, now)
        people.open_sign_in(session, token_sha256(token), person_id, kind, now, now + SIGN_IN_LASTS)
    return token, now + SIGN_IN_LASTS


def _note_try(desk: Desk, email: str, address: str) -> tuple[int, ...]:
    """Count the try as failed before the password is looked at, so that many at once cannot slip past the
    count; it is taken back when the password fits."""
    subjects = (
        (f"email:{email}", EMAIL_TRIES, EMAIL_SPAN),
        (f"address:{address}", ADDRESS_TRIES, ADDRESS_SPAN),
    )
    return _noted(desk, subjects)


def note_address(desk: Desk, address: str) -> tuple[int, ...]:
    """Count a try of something secret from this address as failed, until it is taken back. SlowDown."""
    return _noted(desk, ((f"address:{address}", ADDRESS_TRIES, ADDRESS_SPAN),))


def take_back_tries(desk: Desk, noted: tuple[int, ...]) -> None:
    with desk.writing() as session:
        people.take_back_tries(session, noted)


def _noted(desk: Desk, subjects: Sequence[tuple[str, int, timedelta]]) -> tuple[int, ...]:
    now = desk.clock()
    with desk.writing() as session:
        alone(session, *(f"tries of {subject}" for subject, _, _ in subjects))
        people.forget_tries(session, now - max(EMAIL_SPAN, ADDRESS_SPAN))
        for subject, most, span in subjects:
            count, first = people.tries(session, subject, now - span)
            if count >= most and first is not None:
                wait = max(1, math.ceil((first + span - now).total_seconds()))
                raise SlowDown(_wait_words(wait), wait)
        return tuple(people.note_try(session, subject, now) for subject, _, _ in subjects)


def _wait_words(seconds: int) -> str:
    if seconds <= 90:
        return trn(
            "Too many tries. Wait {n} second, then try again.",
            "Too many tries. Wait {n} seconds, then try again.",
            seconds,
        )
    return tr("Too many tries. Wait {minutes} minutes, then try again.", minutes=math.ceil(seconds / 60))


def person_for(desk: Desk, token: str, kind: str = PAGE) -> Person | None:
    """Whose token this is, while it lasts. Signed in by a crew's code, what this desk sees is the one project
    of the code from then on."""
    with desk.reading() as session:
        person = people.signed_in(session, token_sha256(token), kind, desk.clock())
    desk.only = person.only if person else ""
    return person


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
    noted = _note_try(desk, person.email, address)
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


def make_reset(desk: Desk, by: str, person_id: str) -> str:
    """The token of a link with which a person chooses a new password.

    For a project manager who manages every project that the person is on: whoever holds the link can act as
    that person, so nobody gets it who does not answer for all of that work already. And the person must have
    done something on one of these projects, joining included: else anybody could start a project, put a
    stranger on it, and take over the stranger's account with a link.
    """
    not_by_code(desk)
    with desk.writing() as session:
        mine, theirs = people.roles_of(session, by), people.roles_of(session, person_id)
        if not set(mine) & set(theirs):
            raise NotFound
        if any(mine.get(project) != roles.PROJECT_MANAGER for project in theirs):
            raise NotAllowed(
                tr("Only a project manager of every project this person is on can make this link."),
                code="not-their-manager",
            )
        person = people.by_id(session, person_id)
        if person is None or not person.email:
            raise NotAllowed(
                tr("They have no address to sign in with: make them a code instead."), code="no-address"
            )
        if not people.has_acted(session, person_id, theirs):
            raise NotAllowed(
                tr(
                    "They were put on this project and have done nothing on it yet; whoever runs the service "
                    "can make this link."
                ),
                code="not-acted-yet",
            )
        return _reset_link(desk, person_id)


def make_reset_for_email(desk: Desk, email: str) -> str:
    """The same for whoever runs the service. NotFound when there is no such account."""
    with desk.writing() as session:
        found = people.by_email(session, email.strip().lower())
        if found is None:
            raise NotFound
        return _reset_link(desk, found[0].id)


def _reset_link(desk: Desk, person_id: str) -> str:
    token, now = new_token(), desk.clock()
    with desk.writing() as session:
        people.add_reset(session, token_sha256(token), person_id, now, now + RESET_LASTS)
    return token


def reset_shown(desk: Desk, token: str) -> Person | None:
    """Whom a link is for while it can be used. Looking uses nothing up: previews open links too."""
    with desk.reading() as session:
        return people.reset_of(session, token_sha256(token), desk.clock())


def use_reset(desk: Desk, token: str, password: str) -> Person:
    """Choose a new password by a link, once. Every sign-in and every other link of the person ends."""
    person = reset_shown(desk, token)
    if person is None:
        raise NotFound
    passwords.check(password, person.email, person.name)
    new_hash = passwords.hashed(password)
    with desk.writing() as session:
        now = desk.clock()
        still = people.reset_of(session, token_sha256(token), now)
        if still is None or not people.spend_resets(session, token_sha256(token), person.id, now):
            raise NotFound
        people.set_password(session, person.id, new_hash)
        people.close_sign_ins(session, person.id)
    return person
