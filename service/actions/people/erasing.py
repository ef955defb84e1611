"""Erase a person's name wherever it is kept. What they did stays, under an id that nothing opens any more.

A history tells only salted hashes of names, so it verifies as before. What people typed is not searched.
"""

from __future__ import annotations

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.actions.frame.doing import locked_projects, record
from service.domain.nouns.roles import PROJECT_MANAGER
from service.domain.nouns.site import Site
from service.domain.words.refusals import Conflict, NotFound
from service.history.facts.evidence import NameErased
from service.history.facts.facts import InvitationWithdrawn, PersonLeft
from service.history.replay.replay import GONE
from service.history.sentences.evidence import OPERATOR
from service.storage.accounts import calendars, crew_codes, factors, invitations, people, requests, telling
from service.storage.accounts.invitations import Invitation
from service.storage.accounts.people import Person
from service.storage.blobs import uploads
from service.storage.history import naming

NOBODY = "A person no longer named"


def erase_person(desk: Desk, email: str) -> int:
    """Erase the person with this address, or of this id where they have none; how many histories say so.

    They leave every project first. NotFound when nobody has the address; Conflict, and nothing is erased,
    where they are the last project manager of a project.
    """
    email = email.strip().lower()
    with desk.writing() as session:
        person = _whom(session, email)
        email = person.email
        waiting = invitations.open_to(session, email, desk.clock()) if email else []
        theirs = {*naming.forget(session, person.id), *people.ever_on(session, person.id)}
        sites = locked_projects(session, theirs | {one.project_id for one in waiting})
        _leaves_managers(sites, person)
        for project_id, site in sites.items():
            _tell(desk, session, site, person, project_id in theirs, waiting)
        people.erase(session, person.id)
        crew_codes.forget_person(session, person.id)
        calendars.forget_person(session, person.id)
        factors.forget_person(session, person.id)
        telling.forget_person(session, person.id)
        if email:
            invitations.forget_address(session, email)
        requests.forget_person(session, person.id)
        uploads.forget_person(session, desk.blobs, person.id)
        requests.put_in_place(session, {person.name: NOBODY} | ({email: ""} if email else {}))
    return len(theirs)


def _whom(session: Session, email: str) -> Person:
    """Somebody with a name, by address or by id. NotFound."""
    found = people.by_email(session, email)
    person = found[0] if found else people.by_id(session, email)
    if person is None or not person.name:
        raise NotFound
    return person


def _leaves_managers(sites: dict[str, Site], person: Person) -> None:
    orphans = []
    for site in sites.values():
        managers = {member.id for member in site.members.values() if member.role == PROJECT_MANAGER}
        if managers == {person.id} and site.project is not None:
            orphans.append(f'"{site.project.name}"')
    if orphans:
        raise Conflict(
            f"{person.name} is the last project manager of {', '.join(sorted(orphans))}. Make somebody else "
            "project manager there first. Nothing was erased.",
            code="last-manager",
        )


def _tell(
    desk: Desk, session: Session, site: Site, person: Person, theirs: bool, waiting: list[Invitation]
) -> None:
    """What the history of one project says of it, by whoever runs the service."""
    assert site.project is not None, "a project has its start"
    for one in waiting:
        if one.project_id == site.project.id:
            record(desk, session, site, OPERATOR, OPERATOR, InvitationWithdrawn(one.id, one.role))
    member = site.members.get(person.id)
    if member is not None and member.role != GONE:
        record(desk, session, site, OPERATOR, OPERATOR, PersonLeft(person.id))
    if theirs:
        record(desk, session, site, OPERATOR, OPERATOR, NameErased(person.id))
