"""SQLModel tables: columns, keys and constraints only. A row is never evidence that a rule holds.

Every noun of a site has a table of its keys and a `body`, its canonical JSON: the shape of a noun is said
once, in the domain, and the tables can be rebuilt from the history at any time.
"""

from datetime import UTC, datetime
from typing import Any, ClassVar

from sqlalchemy import BigInteger, DateTime, Index, LargeBinary, Table, TypeDecorator, UniqueConstraint
from sqlmodel import Field, SQLModel


class UtcTime(TypeDecorator[datetime]):
    """Aware in, aware out: SQLite would hand back a time without its zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Any) -> datetime | None:
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def _time(**options: Any) -> Any:
    return Field(sa_type=UtcTime, **options)


def table_of(row: type[SQLModel]) -> Table:
    """The table of these rows, for what is written as columns: a row object costs five times as much."""
    found: Table = row.__table__  # type: ignore[attr-defined]  # of every row class
    return found


class PersonRow(SQLModel, table=True):
    """`email` is kept in lower case. `language`: a catalogue's code, or empty while none was chosen."""

    __tablename__: ClassVar[str] = "person"
    id: str = Field(primary_key=True)
    email: str = Field(unique=True, index=True)
    name: str
    password_hash: str
    made_at: datetime = _time()
    language: str = ""


class SignInRow(SQLModel, table=True):
    """An open sign-in. Only the SHA-256 of its token is kept. `kind`: `page` (cookie), `api` (bearer) or
    `code` (a crew's); `half` where a second factor is still to come, `set-up` where one must be set up first.
    `last_at`: when it was last used, to the minute; `device`: what it was opened on, in a word."""

    __tablename__: ClassVar[str] = "sign_in"
    token_sha256: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    kind: str
    made_at: datetime = _time()
    ends_at: datetime = _time()
    last_at: datetime | None = _time(default=None, nullable=True)
    device: str = ""


class TryRow(SQLModel, table=True):
    """A failed sign-in, for the throttle. `subject` is `email:...` or `address:...`."""

    __tablename__: ClassVar[str] = "try"
    id: int | None = Field(default=None, primary_key=True)
    subject: str = Field(index=True)
    at: datetime = _time(index=True)


class InvitationRow(SQLModel, table=True):
    """A link that lets one person into one project in one role."""

    __tablename__: ClassVar[str] = "invitation"
    id: str = Field(primary_key=True)
    project_id: str = Field(foreign_key="project.id", index=True)
    role: str
    email: str
    token_sha256: str = Field(unique=True)
    made_by: str
    made_at: datetime = _time()
    ends_at: datetime = _time()
    used_at: datetime | None = _time(default=None, nullable=True)


class ResetRow(SQLModel, table=True):
    """A link that lets one person choose a new password, once."""

    __tablename__: ClassVar[str] = "reset"
    token_sha256: str = Field(primary_key=True)
    person_id: str = Field(foreign_key="person.id", index=True)
    made_at: datetime = _time()
    ends_at: datetime = _time()
    used_at: datetime | None = _time(default=None, nullable=True)


class RequestRow(SQLModel, table=True):
    """A request that must land once: its key, its body's hash, and the reply once the effect is committed."""

    __tablename__: ClassVar[str] = "request"
    person_id: str = Field(primary_key=True)
    key: str = Field(primary_key=True)
    body_sha256: str
    token: str
    at: datetime = _time(index=True)
    status: int | None = None
    reply: str | None = None


class ProjectRow(SQLModel, table=True):
    """`seq` and `last_at` are the head of the project's history: locked first in every change.

    `peaks`: the complete subtrees of its Merkle tree, 32 bytes each, the largest first; `note`: the signed
    checkpoint of the head; `key`: who signs it, in base64. These two are None where an earlier program wrote
    the history, until its next entry.
    """

    __tablename__: ClassVar[str] = "project"
    id: str = Field(primary_key=True)
    seq: int
    last_at: datetime = _time()
    body: str
    peaks: bytes | None = Field(default=None, sa_type=LargeBinary)
    note: str | None = None
    key: str | None = None


class MemberRow(SQLModel, table=True):
    __tablename__: ClassVar[str] = "member"
    project_id: str = Field(primary_key=True, foreign_key="project.id")
    id: str = Field(primary_key=True, foreign_key="person.id", index=True)
    role: str
    body: str


class NounRow(SQLModel):
    """What the rows of every noun have: its id, its project and its canonical JSON."""

    id: str = Field(primary_key=True)
    project_id: str = Field(foreign_key="project.id", index=True)
    body: str


class SketchRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "sketch"


class ZoneRow(NounRow, table=True):
    """A letter is used once in a project and never again, so that a tag never repeats."""

    __tablename__: ClassVar[str] = "zone"
    __table_args__ = (UniqueConstraint("project_id", "letter"),)
    sketch_id: str = Field(foreign_key="sketch.id", index=True)
    letter: str


class WallRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "wall"
    sketch_id: str = Field(foreign_key="sketch.id", index=True)
    zone_id: str = Field(foreign_key="zone.id", index=True)


class DefectRow(NounRow, table=True):
    """`x`, `y` and `reach_nm` let a query find the marks that may reach into a zone."""

    __tablename__: ClassVar[str] = "defect"
    __table_args__ = (UniqueConstraint("project_id", "tag"), Index("defect_place", "sketch_id", "x", "y"))
    sketch_id: str = Field(foreign_key="sketch.id")
    zone_id: str = Field(foreign_key="zone.id", index=True)
    tag: str
    x: int = Field(sa_type=BigInteger)
    y: int = Field(sa_type=BigInteger)
    reach_nm: int = Field(sa_type=BigInteger)  # 200 m is 2e11 nm


class PatchRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "patch"
    defect_id: str = Field(foreign_key="defect.id", index=True)
    zone_id: str = Field(foreign_key="zone.id", index=True)


class PatchMarkRow(SQLModel, table=True):
    """Every mark that lies under a patch, the one it was logged on included."""

    __tablename__: ClassVar[str] = "patch_mark"
    patch_id: str = Field(primary_key=True, foreign_key="patch.id")
    defect_id: str = Field(primary_key=True, foreign_key="defect.id", index=True)


class HoldRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "hold"
    zone_id: str = Field(foreign_key="zone.id", index=True)


class ReleaseRow(NounRow, table=True):
    """A trigger refuses the insert unless this transaction's verdict on the zone says clear."""

    __tablename__: ClassVar[str] = "release"
    zone_id: str = Field(foreign_key="zone.id", index=True)
    seq: int


class PhotoRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "photo"
    zone_id: str = Field(foreign_key="zone.id", index=True)
    subject: str = Field(index=True)


class OnSketchRow(NounRow):
    """What lies on a sketch has its box there, in thousandths of a pixel, so that what is near is found."""

    sketch_id: str = Field(foreign_key="sketch.id", index=True)
    zone_id: str = Field(foreign_key="zone.id", index=True)
    x0: int = Field(sa_type=BigInteger)
    y0: int = Field(sa_type=BigInteger)
    x1: int = Field(sa_type=BigInteger)
    y1: int = Field(sa_type=BigInteger)


class PenetrationRow(OnSketchRow, table=True):
    __tablename__: ClassVar[str] = "penetration"
    __table_args__ = (UniqueConstraint("project_id", "tag"),)
    tag: str


class SeamRow(OnSketchRow, table=True):
    __tablename__: ClassVar[str] = "seam"
    __table_args__ = (UniqueConstraint("project_id", "tag"),)
    tag: str


class TerminationRow(OnSketchRow, table=True):
    __tablename__: ClassVar[str] = "termination"
    __table_args__ = (UniqueConstraint("project_id", "tag"),)
    tag: str


class MaterialRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "material"


class LotRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "lot"
    material_id: str = Field(foreign_key="material.id", index=True)


class ReadyLinkRow(NounRow, table=True):
    __tablename__: ClassVar[str] = "ready_link"
    token_sha256: str = Field(unique=True)


class TreeNodeRow(SQLModel, table=True):
    """A complete subtree of a history's Merkle tree, above the leaves, which stand with their entries: it
    covers the leaves place * 2**level and on. Triggers refuse every update and delete."""

    __tablename__: ClassVar[str] = "tree_node"
    __table_args__ = ({"sqlite_with_rowid": False},)
    project_id: str = Field(primary_key=True, foreign_key="project.id")
    level: int = Field(primary_key=True)
    place: int = Field(primary_key=True, sa_type=BigInteger)
    hash: bytes = Field(sa_type=LargeBinary)


class CheckpointRow(SQLModel, table=True):
    """A checkpoint that left the building, as it was signed. Triggers refuse every update and delete."""

    __tablename__: ClassVar[str] = "checkpoint"
    project_id: str = Field(primary_key=True, foreign_key="project.id")
    size: int = Field(primary_key=True)
    note: str


class NamingRow(SQLModel, table=True):
    """What the history's hash of a person's name was made from. Deleted when the name is erased."""

    __tablename__: ClassVar[str] = "naming"
    project_id: str = Field(primary_key=True, foreign_key="project.id")
    person_id: str = Field(primary_key=True, foreign_key="person.id", index=True)
    name_sha256: str = Field(primary_key=True)
    salt: bytes = Field(sa_type=LargeBinary)
    name: str


class VerdictRow(SQLModel, table=True):
    """What the gate said at one place of the history: the second wall reads it, nothing else does."""

    __tablename__: ClassVar[str] = "verdict"
    project_id: str = Field(primary_key=True, foreign_key="project.id")
    seq: int = Field(primary_key=True)
    zone_id: str
    clear: bool


class EntryRow(SQLModel, table=True):
    """The history. Triggers refuse every update and delete."""

    __tablename__: ClassVar[str] = "entry"
    __table_args__ = (
        Index("entry_zone", "project_id", "zone_id", "seq"),
        Index("entry_tag", "project_id", "tag"),
    )
    project_id: str = Field(primary_key=True, foreign_key="project.id")
    seq: int = Field(primary_key=True)
    type: str
    at: datetime = _time()
    by: str
    zone_id: str | None = None
    tag: str | None = None
    subject_kind: str
    subject_id: str = Field(index=True)
    content: bytes = Field(sa_type=LargeBinary)
    leaf: bytes = Field(sa_type=LargeBinary)
