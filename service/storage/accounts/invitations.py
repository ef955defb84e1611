"""Invitations as rows: a link that lets one person into one project in one role, once."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, update
from sqlmodel import Session, col, select

from service.history.replay.replay import GONE
from service.storage.accounts.people import Person, shown_email
from service.storage.tables.tables import InvitationRow, MemberRow, PersonRow


@dataclass(frozen=True, slots=True)
class Invitation:
    """`email` is in lower case; `made_by` is a person's id."""

    id: str
    project_id: str
    role: str
    email: str
    made_by: str
    ends_at: datetime


def _invitation(row: InvitationRow) -> Invitation:
    return Invitation(row.id, row.project_id, row.role, row.email, row.made_by, row.ends_at)


def add(session: Session, invitation: Invitation, token_sha256: str, now: datetime) -> None:
    session.add(
        InvitationRow(
            id=invitation.id,
            project_id=invitation.project_id,
            role=invitation.role,
            email=invitation.email,
            token_sha256=token_sha256,
            made_by=invitation.made_by,
            made_at=now,
            ends_at=invitation.ends_at,
        )
    )
    session.flush()


def by_token(session: Session, token_sha256: str, now: datetime) -> Invitation | None:
    """The invitation behind a link, while it can be used."""
    wanted = select(InvitationRow).where(
        InvitationRow.token_sha256 == token_sha256,
        col(InvitationRow.used_at).is_(None),
        col(InvitationRow.ends_at) > now,
    )
    row = session.exec(wanted).first()
    return None if row is None else _invitation(row)


def spend(session: Session, invitation_id: str, now: datetime) -> bool:
    """Use it. False when somebody has used it already."""
    open_one = (col(InvitationRow.id) == invitation_id, col(InvitationRow.used_at).is_(None))
    spent = session.execute(update(InvitationRow).where(*open_one).values(used_at=now))
    return bool(spent.rowcount == 1)  # type: ignore[attr-defined]  # an UPDATE's result counts its rows


def withdraw_open(session: Session, project_id: str, email: str, now: datetime) -> None:
    """Links to this address that are still open stop working."""
    mine = (col(InvitationRow.project_id) == project_id, col(InvitationRow.email) == email)
    session.execute(
        update(InvitationRow).where(*mine, col(InvitationRow.used_at).is_(None)).values(used_at=now)
    )


def open_ones(session: Session, project_id: str, now: datetime) -> list[Invitation]:
    """Invitations of a project that nobody has used yet, the one that ends first first."""
    wanted = select(InvitationRow).where(
        InvitationRow.project_id == project_id,
        col(InvitationRow.used_at).is_(None),
        col(InvitationRow.ends_at) > now,
    )
    return [_invitation(row) for row in session.exec(wanted.order_by(col(InvitationRow.ends_at)))]


def open_to(session: Session, email: str, now: datetime) -> list[Invitation]:
    """Invitations to an address that nobody has used yet, on every project."""
    wanted = select(InvitationRow).where(
        InvitationRow.email == email, col(InvitationRow.used_at).is_(None), col(InvitationRow.ends_at) > now
    )
    return [_invitation(row) for row in session.exec(wanted.order_by(col(InvitationRow.id)))]


def forget_address(session: Session, email: str) -> None:
    """Every invitation to this address leaves the table: used, run out and open ones."""
    session.execute(delete(InvitationRow).where(col(InvitationRow.email) == email))


def members_of(session: Session, project_id: str) -> list[tuple[Person, str]]:
    """The people of a project and their roles, by name."""
    wanted = (
        select(PersonRow, MemberRow.role)
        .join(MemberRow, col(MemberRow.id) == PersonRow.id)
        .where(MemberRow.project_id == project_id, col(MemberRow.role) != GONE)
    )
    found = [(Person(row.id, shown_email(row.email), row.name), role) for row, role in session.exec(wanted)]
    return sorted(found, key=lambda member: (member[0].name.casefold(), member[0].id))
