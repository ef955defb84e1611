"""Who did what on a project, counted from the history's rows, and on which times."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from service.history.facts.entries import Entry, read_entry
from service.history.facts.facts import PersonJoined, PersonLeft
from service.storage.tables.tables import EntryRow


@dataclass(frozen=True, slots=True)
class Deed:
    """One kind of entry by one person: how many, and the first and the last of them."""

    by: str
    type: str
    count: int
    first_seq: int
    last_seq: int
    first_at: datetime
    last_at: datetime


def deeds(session: Session, project_id: str, by: str | None = None) -> list[Deed]:
    """One for every person and kind of entry, by person and kind."""
    seq, at = col(EntryRow.seq), col(EntryRow.at)
    person, kind = col(EntryRow.by), col(EntryRow.type)
    wanted = columns(person, kind, func.count(), func.min(seq), func.max(seq), func.min(at), func.max(at))
    query = wanted.where(col(EntryRow.project_id) == project_id)
    if by is not None:
        query = query.where(person == by)
    rows = session.connection().execute(query.group_by(person, kind).order_by(person, kind))
    return [Deed(*row) for row in rows]


def comings(session: Session, project_id: str) -> list[Entry]:
    """Every entry by which somebody was let in, given another role, or left, in order."""
    wanted = select(EntryRow.content).where(
        EntryRow.project_id == project_id, col(EntryRow.type).in_((PersonJoined.type, PersonLeft.type))
    )
    return [read_entry(content) for content in session.exec(wanted.order_by(col(EntryRow.seq)))]


def times_of(session: Session, project_id: str, by: str) -> list[datetime]:
    """When each entry of one person was written, in order."""
    wanted = select(EntryRow.at).where(EntryRow.project_id == project_id, EntryRow.by == by)
    return list(session.exec(wanted.order_by(col(EntryRow.seq))))
