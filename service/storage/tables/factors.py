"""Tables of second factors, of challenges that work once, and of sign-ins by a company's provider. No part
of a history."""

from datetime import datetime
from typing import ClassVar

from sqlalchemy import BigInteger
from sqlmodel import Field, SQLModel

from service.storage.tables.tables import UtcTime


class SecondFactorRow(SQLModel, table=True):
    """`kind`: `codes` or `passkey`. `secret`: of codes what they are made from, sealed with the key that lies
    outside the database; of a passkey its public key. `credential`: a passkey's id. `counter`: the last step
    that a code was taken for, or the passkey's count of signatures. Not `proven`: being set up."""

    __tablename__: ClassVar[str] = "second_factor"
    id: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    kind: str
    name: str
    secret: str
    credential: str | None = Field(default=None, unique=True, nullable=True)
    counter: int = Field(default=0, sa_type=BigInteger)
    proven: bool
    made_at: datetime = Field(sa_type=UtcTime)
    used_at: datetime | None = Field(default=None, sa_type=UtcTime, nullable=True)


class RecoveryCodeRow(SQLModel, table=True):
    """A code that stands in for a second factor once: used, it is gone. Only its SHA-256 is kept."""

    __tablename__: ClassVar[str] = "recovery_code"
    code_sha256: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)


class ChallengeRow(SQLModel, table=True):
    """Something random that is to come back once, and soon. `about`: whom or what it was given out for."""

    __tablename__: ClassVar[str] = "challenge"
    sha256: str = Field(primary_key=True)
    purpose: str
    about: str
    ends_at: datetime = Field(sa_type=UtcTime, index=True)


class CompanySignInRow(SQLModel, table=True):
    """Who somebody of a company's provider is here. `subject`: what the provider calls them."""

    __tablename__: ClassVar[str] = "company_sign_in"
    issuer: str = Field(primary_key=True)
    subject: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    made_at: datetime = Field(sa_type=UtcTime)
