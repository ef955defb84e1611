"""Codes that sign a crew in, as rows: made, used once, their sign-ins listed and ended."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, update
from sqlmodel import Session, col, select

from service.storage.accounts.people import CODE
from service.storage.tables.tables import PersonRow, SignInRow
from service.storage.tables.told import CrewCodeRow


@dataclass(frozen=True, slots=True)
class CrewCode:
    """A code and whom it is for. `ends_at`: of the code while it is unused, then of the sign-in it opened;
    `used_at`: None while it is unused."""

    id: str
    project_id: str
    person_id: str
    name: str
    made_by: str
    made_at: datetime
    ends_at: datetime
    used_at: datetime | None


def add(session: Session, code: CrewCode, token_sha256: str) -> None:
    session.add(
        CrewCodeRow(
            id=code.id,
            project_id=code.project_id,
            person_id=code.person_id,
            token_sha256=token_sha256,
            made_by=code.made_by,
            made_at=code.made_at,
            ends_at=code.ends_at,
        )
    )
    session.flush()


def by_token(session: Session, token_sha256: str, now: datetime) -> CrewCode | None:
    """The code while it can be used."""
    wanted = (
        select(CrewCodeRow, PersonRow.name)
        .join(PersonRow, col(PersonRow.id) == CrewCodeRow.person_id)
        .where(
            CrewCodeRow.token_sha256 == token_sha256,
            col(CrewCodeRow.used_at).is_(None),
            col(CrewCodeRow.ended_at).is_(None),
            col(CrewCodeRow.ends_at) > now,
        )
    )
    found = session.exec(wanted).first()
    return None if found is None else _code(found[0], found[1], found[0].ends_at)


def spend(session: Session, code_id: str, sign_in_sha256: str, now: datetime) -> bool:
    """Use the code for this sign-in. False when it was used, ended or too old by now."""
    still = (
        col(CrewCodeRow.id) == code_id,
        col(CrewCodeRow.used_at).is_(None),
        col(CrewCodeRow.ended_at).is_(None),
        col(CrewCodeRow.ends_at) > now,
    )
    spent = session.execute(
        update(CrewCodeRow).where(*still).values(used_at=now, sign_in_sha256=sign_in_sha256)
    )
    return bool(spent.rowcount == 1)  # type: ignore[attr-defined]  # an UPDATE's result counts its rows


def open_ones(session: Session, project_id: str, now: datetime) -> list[CrewCode]:
    """Codes that can still be used and sign-ins by code that still last, the newest first."""
    named = (
        select(CrewCodeRow, PersonRow.name, SignInRow.ends_at)
        .join(PersonRow, col(PersonRow.id) == CrewCodeRow.person_id)
        .outerjoin(SignInRow, col(SignInRow.token_sha256) == CrewCodeRow.sign_in_sha256)
        .where(CrewCodeRow.project_id == project_id, col(CrewCodeRow.ended_at).is_(None))
        .order_by(col(CrewCodeRow.made_at).desc(), col(CrewCodeRow.id))
    )
    found = []
    for row, name, signed_until in session.exec(named):
        until = row.ends_at if row.used_at is None else signed_until
        if until is not None and until > now:
            found.append(_code(row, name, until))
    return found


def end(session: Session, project_id: str, code_id: str, now: datetime) -> bool:
    """End the sign-in that a code opened, or the code itself while unused. False: no such one is open."""
    if code_id not in {code.id for code in open_ones(session, project_id, now)}:
        return False
    _end(session, session.exec(select(CrewCodeRow).where(CrewCodeRow.id == code_id)).all(), now)
    return True


def end_all(session: Session, project_id: str, person_id: str, now: datetime) -> None:
    """End every code of a person on a project, and every sign-in by one."""
    mine = select(CrewCodeRow).where(
        CrewCodeRow.project_id == project_id,
        CrewCodeRow.person_id == person_id,
        col(CrewCodeRow.ended_at).is_(None),
    )
    _end(session, session.exec(mine).all(), now)


def forget_person(session: Session, person_id: str) -> None:
    session.execute(delete(CrewCodeRow).where(col(CrewCodeRow.person_id) == person_id))


def _end(session: Session, rows: Iterable[CrewCodeRow], now: datetime) -> None:
    for row in rows:
        row.ended_at = now
        session.add(row)
        opened = (col(SignInRow.token_sha256) == row.sign_in_sha256, col(SignInRow.kind) == CODE)
        session.execute(delete(SignInRow).where(*opened))
    session.flush()


def _code(row: CrewCodeRow, name: str, ends_at: datetime) -> CrewCode:
    return CrewCode(
        row.id, row.project_id, row.person_id, name, row.made_by, row.made_at, ends_at, row.used_at
    )
