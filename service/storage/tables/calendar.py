"""The table of links by which a calendar reads when zones are placed. No part of a history."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field, SQLModel

from service.storage.tables.tables import UtcTime


class CalendarLinkRow(SQLModel, table=True):
    """One person's link; ended, it is gone. `project_id` None: of all the projects they are on. Only SHA-256
    of its secret is kept."""

    __tablename__: ClassVar[str] = "calendar_link"
    id: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    project_id: str | None = Field(default=None, foreign_key="project.id", nullable=True)
    token_sha256: str = Field(unique=True)
    made_at: datetime = Field(sa_type=UtcTime)
