"""Photos that came before the form that shows them: each its sender's own, in a folder of theirs.

They lie as they were sent, place and device in them, so they are never among the blobs and are swept.
"""

from datetime import datetime
from typing import ClassVar

from sqlalchemy import delete, func, or_, update
from sqlmodel import Field, Session, SQLModel, col, select

from service.storage.blobs.blobs import Blobs
from service.storage.doors.locks import alone
from service.storage.tables.tables import UtcTime


class UploadRow(SQLModel, table=True):
    """`at`: when it came; `landed_at`: when a form that shows it was first recorded."""

    __tablename__: ClassVar[str] = "upload"
    person_id: str = Field(primary_key=True, foreign_key="person.id")
    sha256: str = Field(primary_key=True)
    size: int
    at: datetime = Field(sa_type=UtcTime, index=True)
    landed_at: datetime | None = Field(default=None, sa_type=UtcTime, nullable=True)


def has(session: Session, person_id: str, sha256: str) -> bool:
    return session.get(UploadRow, (person_id, sha256)) is not None


def held(session: Session, person_id: str) -> int:
    """Bytes of this person's that wait."""
    found = session.exec(select(func.sum(UploadRow.size)).where(UploadRow.person_id == person_id)).one()
    return int(found or 0)


def note(session: Session, person_id: str, sha256: str, size: int, now: datetime) -> None:
    """It is here; sent again, it is here anew."""
    alone(session, f"uploads of {person_id}")
    row = session.get(UploadRow, (person_id, sha256))
    if row is None:
        row = UploadRow(person_id=person_id, sha256=sha256, size=size, at=now)
    row.at, row.landed_at = now, None
    session.add(row)
    session.flush()


def landed(session: Session, person_id: str, sha256: str, now: datetime) -> None:
    """A form that shows it is recorded: from now on it waits for a retry alone."""
    mine = (col(UploadRow.person_id) == person_id, col(UploadRow.sha256) == sha256)
    session.execute(update(UploadRow).where(*mine).values(landed_at=now))


def sweep(session: Session, came_before: datetime, landed_before: datetime) -> list[tuple[str, str]]:
    """Forget what came or landed too long ago: person and SHA-256 of each, whose files are to go."""
    over = or_(col(UploadRow.at) < came_before, col(UploadRow.landed_at) < landed_before)
    gone = list(session.exec(select(UploadRow.person_id, UploadRow.sha256).where(over)))
    if gone:
        session.execute(delete(UploadRow).where(over))
    return gone


def forget_person(session: Session, blobs: Blobs, person_id: str) -> None:
    """Everything of this person's that waits, files too: a photo may show where they were."""
    session.execute(delete(UploadRow).where(col(UploadRow.person_id) == person_id))
    blobs.drop_all_waiting(person_id)
