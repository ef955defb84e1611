"""Tables of what is no part of a history: sign-ins by code, and who is told what by which way."""

from datetime import datetime
from typing import ClassVar

from sqlalchemy import Index, UniqueConstraint
from sqlmodel import Field, SQLModel

from service.storage.tables.tables import UtcTime


class CrewCodeRow(SQLModel, table=True):
    """A code on a sheet that signs one person in on one project, once. Only SHA-256 of its secret is kept.
    `sign_in_sha256`: the sign-in it opened; `ended_at`: when that, or the code unused, was ended here."""

    __tablename__: ClassVar[str] = "crew_code"
    id: str = Field(primary_key=True)
    project_id: str = Field(foreign_key="project.id", index=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    token_sha256: str = Field(unique=True)
    made_by: str
    made_at: datetime = Field(sa_type=UtcTime)
    ends_at: datetime = Field(sa_type=UtcTime)
    used_at: datetime | None = Field(default=None, sa_type=UtcTime, nullable=True)
    sign_in_sha256: str | None = Field(default=None, unique=True)
    ended_at: datetime | None = Field(default=None, sa_type=UtcTime, nullable=True)


class WishRow(SQLModel, table=True):
    """What one person asked to be told of a project. `zones`: ids apart by spaces, or empty for all of them;
    `events` and `ways`: words of `history/replay/turns.py`, apart by spaces."""

    __tablename__: ClassVar[str] = "told_wish"
    project_id: str = Field(primary_key=True, foreign_key="project.id")
    person_id: str = Field(primary_key=True, foreign_key="person.id")
    zones: str
    events: str
    ways: str


class ToldStateRow(SQLModel, table=True):
    """How a zone stood when it was last looked at, and at which entry: what a turn is told against. It is no
    state of the zone: nothing but the telling reads it."""

    __tablename__: ClassVar[str] = "told_state"
    zone_id: str = Field(primary_key=True)
    project_id: str = Field(foreign_key="project.id", index=True)
    seq: int
    state: str


class ToldHeadRow(SQLModel, table=True):
    """The entry up to which a project's zones were looked at."""

    __tablename__: ClassVar[str] = "told_head"
    project_id: str = Field(primary_key=True, foreign_key="project.id")
    seq: int


class ToldRow(SQLModel, table=True):
    """A turn of a zone, told once. `turn`: the entry it was seen at, or the placing day as 20261126; the key
    over zone, event and turn is what keeps two servers from telling it twice."""

    __tablename__: ClassVar[str] = "told"
    __table_args__ = (UniqueConstraint("zone_id", "event", "turn"),)
    id: str = Field(primary_key=True)
    project_id: str = Field(foreign_key="project.id")
    zone_id: str
    event: str
    turn: int
    seq: int
    reasons: int
    at: datetime = Field(sa_type=UtcTime)


class TellingRow(SQLModel, table=True):
    """A turn told to one person by one way. `phone_id`: of a push; `state`: `new` and `read` on the page,
    `waiting`, `sent` and `given up` of what is sent."""

    __tablename__: ClassVar[str] = "telling"
    __table_args__ = (
        UniqueConstraint("told_id", "person_id", "way", "phone_id"),
        Index("telling_due", "state", "next_at"),
        Index("telling_read", "person_id", "way", "state"),
    )
    id: str = Field(primary_key=True)
    told_id: str = Field(foreign_key="told.id")
    person_id: str = Field(foreign_key="person.id")
    way: str
    phone_id: str = ""
    state: str
    tries: int = 0
    next_at: datetime = Field(sa_type=UtcTime)


class PushPhoneRow(SQLModel, table=True):
    """A phone that takes messages: where its push service is asked, and its keys (RFC 8291), in base64url."""

    __tablename__: ClassVar[str] = "push_phone"
    id: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    endpoint: str = Field(unique=True)
    p256dh: str
    auth: str
    made_at: datetime = Field(sa_type=UtcTime)
