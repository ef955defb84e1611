"""One statement that says what a page of a project was made from: whose sign-in it is, their role, the head.

It stands before every such page, so on SQLite it runs on a connection of its own, put together once: 10
microseconds, where a session takes 280. On PostgreSQL it is an ordinary statement.
"""

from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import and_, bindparam, func, or_
from sqlalchemy.engine.interfaces import Dialect
from sqlalchemy.orm import aliased
from sqlmodel import col

from service.domain.nouns.roles import CREW_LEAD
from service.history.replay.replay import GONE
from service.storage.accounts.people import SIGNED_IN, Person, asked_of, person_of
from service.storage.doors.database import Database
from service.storage.tables.tables import MemberRow, PersonRow, ProjectRow, ReleaseRow, UtcTime, ZoneRow
from service.storage.tables.told import CrewCodeRow

# The things whose id stands in a page's address: how each leads to its project.
KINDS: dict[str, Any] = {"zones": ZoneRow, "releases": ReleaseRow, "projects": ProjectRow}


@dataclass(frozen=True, slots=True)
class Glance:
    """What stands now. `to_note`: the use of the sign-in is to be written down again."""

    person: Person
    role: str
    project_id: str
    head: int
    to_note: bool

    @property
    def told(self) -> tuple[str | int, ...]:
        """All of it that a page can show."""
        who = self.person
        return who.id, who.name, who.language, who.unread, who.only, self.role, self.project_id, self.head


def glance_at(
    database: Database, token_sha256: str, kind: str, now: datetime, subject: str, id: str
) -> Glance | None:
    """`kind`: of the sign-in. `subject`: a key of KINDS. None for whoever may not see it, or is nobody."""
    asked = {**asked_of(token_sha256, kind, now), "subject": id}
    found = _quickly(database, subject, asked) if database.is_sqlite else _usually(database, subject, asked)
    if found is None:
        return None
    *signed, role, project_id, head = found
    person, to_note = person_of(signed, now)
    return Glance(person, role, project_id, head, to_note)


def person_at(database: Database, token_sha256: str, kind: str, now: datetime) -> tuple[Person, bool] | None:
    """As `people.signed_in`, on SQLite alone: whose sign-in this is and whether its use is to be noted."""
    found = _quickly(database, "", asked_of(token_sha256, kind, now))
    return None if found is None else person_of(found, now)


def _usually(database: Database, subject: str, asked: dict[str, Any]) -> Any:
    with database.engine.connect() as connection:
        return connection.execute(_statement(subject), asked).first()


def _quickly(database: Database, subject: str, asked: dict[str, Any]) -> Any:
    sql, names, constants, send, read = _compiled(subject, database.engine.dialect)
    times = {name: send(value) for name, value in asked.items() if isinstance(value, datetime)}
    values = {**constants, **asked, **times}
    rows = database.ask_quickly(sql, [values[name] for name in names])
    if not rows:
        return None
    row = list(rows[0])
    row[_LAST_AT] = read(row[_LAST_AT])
    return row


_LAST_AT = 4  # its place among the columns of SIGNED_IN


@cache
def _statement(subject: str) -> Any:
    """SIGNED_IN, for somebody who is on the project of the thing named, by a code only as its crew lead; as
    it is where no thing is."""
    if not subject:
        return SIGNED_IN
    table, on = KINDS[subject], aliased(MemberRow)
    by_code = func.coalesce(CrewCodeRow.project_id, "")
    asked = SIGNED_IN.add_columns(on.role, ProjectRow.id, ProjectRow.seq)
    if table is ProjectRow:
        asked = asked.join(ProjectRow, col(ProjectRow.id) == bindparam("subject"))
    else:
        asked = asked.join(table, table.id == bindparam("subject"))
        asked = asked.join(ProjectRow, col(ProjectRow.id) == table.project_id)
    asked = asked.join(on, and_(col(on.project_id) == ProjectRow.id, col(on.id) == PersonRow.id))
    may_see = or_(by_code == "", and_(col(on.project_id) == by_code, col(on.role) == CREW_LEAD))
    return asked.where(col(on.role) != GONE, may_see)


@cache
def _compiled(subject: str, dialect: Dialect) -> tuple[str, list[str], dict[str, Any], Any, Any]:
    """The SQL, the names of its parameters in order, those that never change, and how times go in and out."""
    made = _statement(subject).compile(dialect=dialect)
    kind = UtcTime().dialect_impl(dialect)
    send, read = kind.bind_processor(dialect), kind.result_processor(dialect, None)
    return made.string, list(made.positiontup or ()), dict(made.params), send, read
