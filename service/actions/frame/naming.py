"""Names stay out of the history: it tells a salted hash of each, and the name and salt can be erased."""

from __future__ import annotations

from sqlmodel import Session

from service.domain.words.refusals import NotFound
from service.history.facts.facts import PersonJoined
from service.storage.accounts import people
from service.storage.history import naming


def joined(session: Session, project_id: str, person_id: str, role: str) -> PersonJoined:
    """The fact that a person is on a project in a role, with the hash of their name as it is now. NotFound
    where there is no such person any more."""
    person = people.by_id(session, person_id)
    if person is None or not person.name:
        raise NotFound  # erased meanwhile
    return PersonJoined(person_id, role, naming.commit_name(session, project_id, person_id, person.name))
