"""Links that let a person choose a new password. Whoever holds one can act as that person, so every history
that the person can write in says that one was made and by whom, and that it was used."""

from __future__ import annotations

from datetime import timedelta

from sqlmodel import Session

from service.actions.entrance import passwords
from service.actions.entrance.accounts import new_token, not_by_code, token_sha256
from service.actions.frame.desk import Desk
from service.actions.frame.doing import locked_projects, record
from service.domain.nouns import roles
from service.domain.words.refusals import NotAllowed, NotFound
from service.domain.words.speech import tr
from service.history.facts.evidence import PasswordLinkMade, PasswordLinkUsed
from service.history.sentences.evidence import OPERATOR
from service.storage.accounts import factors, people
from service.storage.accounts.people import Person

LASTS = timedelta(minutes=60)


def make_reset(desk: Desk, by: str, person_id: str) -> str:
    """The token of a link with which a person chooses a new password.

    For a project manager who manages every project that the person is on: whoever holds the link can act as
    that person, so nobody gets it who does not answer for all of that work already. And the person must have
    done something on one of these projects, joining included: else anybody could start a project, put a
    stranger on it, and take over the stranger's account with a link.
    """
    not_by_code(desk)
    with desk.writing() as session:
        _allow(session, by, person_id)
        sites = locked_projects(session, people.roles_of(session, person_id))
        _allow(session, by, person_id)  # again under the locks: a role may have moved before
        for site in sites.values():
            record(desk, session, site, by, roles.PROJECT_MANAGER, PasswordLinkMade(person_id))
        return _reset_link(desk, session, person_id)


def _allow(session: Session, by: str, person_id: str) -> None:
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


def make_reset_for_email(desk: Desk, email: str, factor_lost: bool = False) -> str:
    """The same for whoever runs the service. NotFound when there is no such account. `factor_lost`: whoever
    it is has no second factor from now on, and is signed out."""
    with desk.writing() as session:
        found = people.by_email(session, email.strip().lower())
        if found is None:
            raise NotFound
        for site in locked_projects(session, people.roles_of(session, found[0].id)).values():
            record(desk, session, site, OPERATOR, OPERATOR, PasswordLinkMade(found[0].id))
        if factor_lost:
            factors.forget_factors(session, found[0].id)
            people.close_sign_ins(session, found[0].id)
        return _reset_link(desk, session, found[0].id)


def _reset_link(desk: Desk, session: Session, person_id: str) -> str:
    token, now = new_token(), desk.clock()
    people.add_reset(session, token_sha256(token), person_id, now, now + LASTS)
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
        sites, now = locked_projects(session, people.roles_of(session, person.id)), desk.clock()
        still = people.reset_of(session, token_sha256(token), now)
        if still is None or not people.spend_resets(session, token_sha256(token), person.id, now):
            raise NotFound
        people.set_password(session, person.id, new_hash)
        people.close_sign_ins(session, person.id)
        for site in sites.values():
            role = site.members[person.id].role
            record(desk, session, site, person.id, role, PasswordLinkUsed(person.id))
    return person
