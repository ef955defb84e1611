"""Codes that sign a crew in: made when the crew stands there, used once in ten minutes, ended at any time.

A code signs a named person in, because every entry needs its doer: a crew lead of the project, or somebody
new who has no address and gets an account of a name alone. What they see is the one project, as crew lead.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlmodel import Session

from service.actions.entrance import accounts
from service.actions.entrance.accounts import SIGN_IN_LASTS, Person, new_token, token_sha256
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, project_to_change, record
from service.actions.frame.naming import joined
from service.domain.nouns import roles
from service.domain.words.refusals import BadInput, NotFound
from service.domain.words.speech import tr
from service.storage.accounts import crew_codes, invitations, people
from service.storage.accounts.crew_codes import CrewCode
from service.storage.history import slices
from service.storage.history.seen import SeenProject, project_seen_by

CODE_LASTS = timedelta(minutes=10)  # OWASP ASVS 5.0, 6.5.5: out-of-band codes last ten minutes at the most


@dataclass(frozen=True, slots=True)
class Made:
    """A code just made. `token` is the secret that follows `/code/`: told this once and never again."""

    code: CrewCode
    token: str


@dataclass(frozen=True, slots=True)
class CodeView:
    """What a code is for."""

    code: CrewCode
    project_name: str
    time_zone: str


@dataclass(frozen=True, slots=True)
class CodesView:
    """`leads`: whom a code can be made for; `open`: unused codes and sign-ins by code, the newest first."""

    seen: SeenProject
    leads: list[Person]
    open: list[CrewCode]


def codes_of(desk: Desk, by: str, project_id: str) -> CodesView:
    """What stands open by code. Nothing of it for those who may not end it."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read")
        leads = [one for one, role in invitations.members_of(session, project_id) if role == roles.CREW_LEAD]
        may = roles.may(seen.role, "end a sign-in by code")
        return CodesView(seen, leads, crew_codes.open_ones(session, project_id, desk.clock()) if may else [])


def codes_to_make(desk: Desk, by: str, project_id: str) -> CodesView:
    """The same for who makes codes. NotAllowed for others."""
    view = codes_of(desk, by, project_id)
    allow(view.seen, "make a crew code")
    return view


def make_code(desk: Desk, by: str, project_id: str, person_id: str, name: str = "") -> Made:
    """A code for a crew lead of the project, or for somebody new of this name, who is crew lead from now on.

    BadInput on `person_id` or `name`.
    """
    with desk.writing() as session:
        seen, _ = project_to_change(session, by, project_id, "make a crew code")
        if person_id:
            person = _lead(session, project_id, person_id)
        else:
            person = _new_lead(desk, session, seen, by, name)
        now, token = desk.clock(), new_token()
        code = CrewCode(
            desk.new_id(), project_id, person.id, person.name, by, now, now + CODE_LASTS, used_at=None
        )
        crew_codes.add(session, code, token_sha256(token))
    return Made(code, token)


def _lead(session: Session, project_id: str, person_id: str) -> Person:
    for person, role in invitations.members_of(session, project_id):
        if person.id == person_id and role == roles.CREW_LEAD:
            return person
    told = tr("Choose a crew lead of this project.")
    raise BadInput(told, fields={"person_id": told})


def _new_lead(desk: Desk, session: Session, seen: SeenProject, by: str, name: str) -> Person:
    """Somebody who has no account here: a name, and no other way in than codes."""
    person = people.add_without_email(session, desk.new_id(), accounts.read_name(name), desk.clock())
    site = slices.project_site(session, seen.project.id)
    fact = joined(session, seen.project.id, person.id, roles.CREW_LEAD)
    record(desk, session, site, by, seen.role, fact)
    return person


def code_shown(desk: Desk, token: str) -> CodeView:
    """What a code is for. Looking uses nothing up. NotFound when it was used, is too old, or none of ours."""
    with desk.reading() as session:
        code = _open_code(desk, session, token)
        project = slices.project_site(session, code.project_id).project
    assert project is not None, "a code is a project's"
    return CodeView(code, project.name, project.time_zone)


def code_for_sheet(desk: Desk, by: str, project_id: str, token: str) -> CodeView:
    """The same for who prints the sheet: NotFound for a code of another project."""
    codes_to_make(desk, by, project_id)
    view = code_shown(desk, token)
    if view.code.project_id != project_id:
        raise NotFound
    return view


def use_code(desk: Desk, token: str, address: str) -> tuple[str, datetime, CrewCode]:
    """Sign in by a code, once: the sign-in's token, when it ends, and the code. NotFound when the code cannot
    be used (any more); SlowDown after too many such tries from one address."""
    noted = accounts.note_address(desk, address)
    secret = new_token()
    with desk.writing() as session:
        code, now = _open_code(desk, session, token), desk.clock()
        if not crew_codes.spend(session, code.id, token_sha256(secret), now):
            raise NotFound
        ends_at = now + SIGN_IN_LASTS
        people.forget_ended(session, now)
        people.open_sign_in(session, token_sha256(secret), code.person_id, people.CODE, now, ends_at)
        people.take_back_tries(session, noted)
    return secret, ends_at, code


def _open_code(desk: Desk, session: Session, token: str) -> CrewCode:
    """The code, while it can be used and its person is crew lead there."""
    code = crew_codes.by_token(session, token_sha256(token), desk.clock())
    if code is None or people.roles_of(session, code.person_id).get(code.project_id) != roles.CREW_LEAD:
        raise NotFound
    return code


def end_code(desk: Desk, by: str, project_id: str, code_id: str) -> None:
    """End a sign-in by code, or a code nobody has used yet. NotFound when no such one is open here."""
    with desk.writing() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "end a sign-in by code")
        if not crew_codes.end(session, project_id, code_id, desk.clock()):
            raise NotFound
