"""Links to calendars as rows: one person's each, found by the hash of their secret."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete
from sqlmodel import Session, col, select

from service.domain.words.refusals import NotFound
from service.history.replay.replay import GONE
from service.storage.tables.calendar import CalendarLinkRow
from service.storage.tables.tables import MemberRow, ProjectRow


@dataclass(frozen=True, slots=True)
class CalendarLink:
    """`project_id` None: of every project that the person is on."""

    id: str
    person_id: str
    project_id: str | None
    made_at: datetime


@dataclass(frozen=True, slots=True)
class Head:
    """A project and its newest entry: the number and the time of it."""

    project_id: str
    seq: int
    at: datetime


def add(session: Session, link: CalendarLink, token_sha256: str) -> None:
    session.add(
        CalendarLinkRow(
            id=link.id,
            person_id=link.person_id,
            project_id=link.project_id,
            token_sha256=token_sha256,
            made_at=link.made_at,
        )
    )
    session.flush()


def by_token(session: Session, token_sha256: str) -> CalendarLink:
    """The link with this secret. NotFound where there is none, or it was ended."""
    row = session.exec(select(CalendarLinkRow).where(CalendarLinkRow.token_sha256 == token_sha256)).first()
    if row is None:
        raise NotFound
    return _link(row)


def heads(session: Session, link: CalendarLink) -> list[Head]:
    """The projects that the link tells of, and the person is on at this moment, by their ids."""
    wanted = (
        select(ProjectRow.id, ProjectRow.seq, ProjectRow.last_at)
        .join(MemberRow, col(MemberRow.project_id) == ProjectRow.id)
        .where(MemberRow.id == link.person_id, MemberRow.role != GONE)
        .order_by(col(ProjectRow.id))
    )
    if link.project_id is not None:
        wanted = wanted.where(ProjectRow.id == link.project_id)
    return [Head(*found) for found in session.exec(wanted)]


def links_of(session: Session, person_id: str) -> list[CalendarLink]:
    """A person's links, the newest first."""
    rows = session.exec(select(CalendarLinkRow).where(CalendarLinkRow.person_id == person_id))
    return sorted((_link(row) for row in rows), key=lambda link: (link.made_at, link.id), reverse=True)


def end(session: Session, person_id: str, link_id: str) -> CalendarLink:
    """End a link for good. NotFound where this person has no such one."""
    row = session.get(CalendarLinkRow, link_id)
    if row is None or row.person_id != person_id:
        raise NotFound
    ended = _link(row)
    session.delete(row)
    session.flush()
    return ended


def end_all(session: Session, project_id: str, person_id: str) -> None:
    """End a person's links of one project for good: whoever comes back makes a new one."""
    mine = (col(CalendarLinkRow.project_id) == project_id, col(CalendarLinkRow.person_id) == person_id)
    session.execute(delete(CalendarLinkRow).where(*mine))


def forget_person(session: Session, person_id: str) -> None:
    session.execute(delete(CalendarLinkRow).where(col(CalendarLinkRow.person_id) == person_id))


def _link(row: CalendarLinkRow) -> CalendarLink:
    return CalendarLink(row.id, row.person_id, row.project_id, row.made_at)
