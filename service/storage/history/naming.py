"""Names by salted hash: the history holds the hash, this table what it was made from, and a row may go."""

import hashlib
import secrets
from dataclasses import dataclass

from sqlalchemy import delete
from sqlmodel import Session, col, select

from service.storage.tables.tables import NamingRow

SALT_BYTES = 32


@dataclass(frozen=True, slots=True)
class Naming:
    """What opens one hash: hex SHA-256 of the salt's bytes and the name in UTF-8."""

    person: str
    name: str
    salt: bytes
    name_sha256: str


def name_hash(salt: bytes, name: str) -> str:
    return hashlib.sha256(salt + name.encode()).hexdigest()


def commit_name(session: Session, project_id: str, person_id: str, name: str) -> str:
    """Keep a name under a new salt; the hash that the history is to tell."""
    salt = secrets.token_bytes(SALT_BYTES)
    told = name_hash(salt, name)
    session.add(NamingRow(project_id=project_id, person_id=person_id, name_sha256=told, salt=salt, name=name))
    session.flush()
    return told


def namings(session: Session, project_id: str) -> list[Naming]:
    """Everything that opens a hash of this project's history, by person."""
    wanted = select(NamingRow).where(NamingRow.project_id == project_id)
    found = session.exec(wanted.order_by(col(NamingRow.person_id), col(NamingRow.name_sha256)))
    return [Naming(row.person_id, row.name, row.salt, row.name_sha256) for row in found]


def forget(session: Session, person_id: str) -> list[str]:
    """Erase everything that opens a person's hashes; the projects that told one."""
    mine = col(NamingRow.person_id) == person_id
    projects = sorted(set(session.exec(select(NamingRow.project_id).where(mine))))
    session.exec(delete(NamingRow).where(mine))
    return projects
