"""Who is on a project: invite by a link, join, change a role, take somebody off, list."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from sqlmodel import Session

from service.actions.entrance import accounts, passwords
from service.actions.entrance.accounts import Person, new_token, token_sha256
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, project_to_change, record
from service.actions.frame.naming import joined
from service.domain.nouns import roles
from service.domain.nouns.site import Site
from service.domain.words.refusals import BadInput, Conflict, NotFound
from service.domain.words.speech import tr
from service.history.facts.facts import PersonInvited, PersonLeft
from service.history.replay.replay import GONE
from service.storage.accounts import calendars, crew_codes, invitations, people
from service.storage.accounts.invitations import Invitation
from service.storage.doors.locks import alone
from service.storage.history import books, slices
from service.storage.history.seen import SeenProject, project_seen_by

INVITATION_LASTS = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Invited:
    """What came of inviting. `person`: an account was there and is on the project now; else `token` is the
    secret of the link to send them (`/join/TOKEN`), told this once and never again."""

    id: str
    email: str
    role: str
    person: Person | None
    token: str | None


@dataclass(frozen=True, slots=True)
class PeopleView:
    """`open`: invitations nobody has used yet, listed for those who may invite."""

    seen: SeenProject
    members: list[tuple[Person, str]]
    open: list[Invitation]


@dataclass(frozen=True, slots=True)
class JoinView:
    """What a link is for. `has_account`: the address has one, so its person signs in to join."""

    invitation: Invitation
    project_name: str
    has_account: bool


def people_of(desk: Desk, by: str, project_id: str) -> PeopleView:
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read")
        may_invite = roles.may(seen.role, "invite people")
        still_open = invitations.open_ones(session, project_id, desk.clock()) if may_invite else []
        return PeopleView(seen, invitations.members_of(session, project_id), still_open)


def invite(desk: Desk, by: str, project_id: str, email: str, role: str) -> Invited:
    """Somebody with an account joins at once; anybody else gets a link that works once, for seven days.

    A new link to an address takes the place of an older one. Conflict when they are on the project already.
    """
    email, role = accounts.read_email(email), _role(role)
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "invite people")
        found = people.by_email(session, email)
        if found is not None:
            person = found[0]
            _not_here_yet(site, person)
            record(desk, session, site, by, seen.role, joined(session, project_id, person.id, role))
            return Invited(person.id, email, role, person, None)
        now, token = desk.clock(), new_token()
        invitation = Invitation(desk.new_id(), project_id, role, email, by, now + INVITATION_LASTS)
        invitations.withdraw_open(session, project_id, email, now)
        invitations.add(session, invitation, token_sha256(token), now)
        record(desk, session, site, by, seen.role, PersonInvited(invitation.id, role))
        return Invited(invitation.id, email, role, None, token)


def invitation_shown(desk: Desk, token: str) -> JoinView:
    """What a link is for. Looking uses nothing up. NotFound when it is used, too old, or none of ours."""
    with desk.reading() as session:
        invitation = _open_invitation(desk, session, token)
        site = slices.project_site(session, invitation.project_id)
        has_account = people.by_email(session, invitation.email) is not None
    assert site.project is not None
    return JoinView(invitation, site.project.name, has_account)


def join(desk: Desk, token: str, person: Person) -> str:
    """Join as the person signed in; the project's id. Conflict when the link was made for another address."""
    with desk.writing() as session:
        invitation = _open_invitation(desk, session, token)
        if person.email != invitation.email:
            raise Conflict(
                tr(
                    "This link was made for {email}, and you are signed in as {own}.",
                    email=invitation.email,
                    own=person.email,
                ),
                code="another-address",
            )
        accounts.not_by_code(desk)
        _enter(desk, session, invitation, person)
    return invitation.project_id


def join_anew(desk: Desk, token: str, name: str, password: str) -> tuple[Person, str]:
    """Make an account for the address that the link was made for, and join; the person and the project's id.

    Conflict when the address has an account by now: its person signs in and joins with that.
    """
    email = invitation_shown(desk, token).invitation.email
    faults: dict[str, str] = {}
    for check in (lambda: accounts.read_name(name), lambda: passwords.check(password, email, name)):
        try:
            check()
        except BadInput as bad:
            faults.update(bad.fields)
    if faults:
        raise BadInput(tr("The account was not made."), fields=faults)
    person = Person(desk.new_id(), email, accounts.read_name(name))
    password_hash = passwords.hashed(password)
    with desk.writing() as session:
        alone(session, f"email:{email}")
        invitation = _open_invitation(desk, session, token)
        if people.by_email(session, email) is not None:
            raise Conflict(tr("There is an account for this address: sign in to join."), code="email-taken")
        people.add(session, person, password_hash, desk.clock())
        _enter(desk, session, invitation, person)
    return person, invitation.project_id


def change_role(desk: Desk, by: str, project_id: str, person_id: str, role: str) -> None:
    """Give somebody on the project another role; a project always keeps a project manager."""
    role = _role(role)
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "invite people")
        old = _role_here(site, person_id)
        if old == role:
            return
        _keeps_a_manager(site, person_id)
        record(desk, session, site, by, seen.role, joined(session, project_id, person_id, role))
        crew_codes.end_all(session, project_id, person_id, desk.clock())


def take_off(desk: Desk, by: str, project_id: str, person_id: str) -> None:
    """Take somebody off the project: the next thing they ask of it is refused. What they did stays theirs.
    They are signed out everywhere, and sign in again to what else is theirs."""
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "invite people")
        _role_here(site, person_id)
        _keeps_a_manager(site, person_id)
        record(desk, session, site, by, seen.role, PersonLeft(person_id))
        crew_codes.end_all(session, project_id, person_id, desk.clock())
        people.close_sign_ins(session, person_id)
        calendars.end_all(session, project_id, person_id)


def _role(role: str) -> str:
    if role not in roles.ROLES:
        told = tr("Choose a role: {roles}.", roles=", ".join(map(tr, roles.ROLES)))
        raise BadInput(told, fields={"role": told})
    return role


def _role_here(site: Site, person_id: str) -> str:
    member = site.members.get(person_id)
    if member is None or member.role == GONE:
        raise NotFound
    return member.role


def _not_here_yet(site: Site, person: Person) -> None:
    member = site.members.get(person.id)
    if member is not None and member.role != GONE:
        raise Conflict(
            tr("{name} is on this project already, as {role}.", name=person.name, role=tr(member.role)),
            code="already-here",
        )


def _keeps_a_manager(site: Site, person_id: str) -> None:
    """Somebody must be left who can invite and release."""
    left = [m for m in site.members.values() if m.role == roles.PROJECT_MANAGER and m.id != person_id]
    if not left:
        raise Conflict(
            tr("This is the project's last project manager. Make somebody else project manager first."),
            code="last-manager",
        )


def _open_invitation(desk: Desk, session: Session, token: str) -> Invitation:
    found = invitations.by_token(session, token_sha256(token), desk.clock())
    if found is None:
        raise NotFound
    return found


def _enter(desk: Desk, session: Session, invitation: Invitation, person: Person) -> None:
    """Spend the link and put the person on the project, in the open transaction."""
    books.lock_head(session, invitation.project_id)
    site = slices.project_site(session, invitation.project_id)
    _not_here_yet(site, person)
    if not invitations.spend(session, invitation.id, desk.clock()):
        raise NotFound
    fact = joined(session, invitation.project_id, person.id, invitation.role)
    record(desk, session, site, person.id, invitation.role, fact)
