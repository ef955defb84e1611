"""The head of a project's history, as columns and no row object: it is read and written with every entry."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam, select
from sqlmodel import Session, col

from service.domain.words.refusals import NotFound
from service.storage.doors.locks import alone
from service.storage.tables.tables import ProjectRow, table_of

_PROJECT = table_of(ProjectRow)
_LOCKED = (
    select(
        col(ProjectRow.id), col(ProjectRow.seq), col(ProjectRow.last_at), col(ProjectRow.peaks),
        col(ProjectRow.note), col(ProjectRow.key),
    )
    .where(col(ProjectRow.id) == bindparam("project"))
    .with_for_update()
)  # fmt: skip
_MOVED = (
    _PROJECT.update()
    .where(_PROJECT.c.id == bindparam("project"))
    .values({name: bindparam(f"new_{name}") for name in ("seq", "last_at", "peaks", "note", "key")})
)


@dataclass(slots=True)
class Head:
    """How far the history of a project (`id`) has come, as ProjectRow tells it."""

    id: str
    seq: int
    last_at: datetime
    peaks: bytes | None
    note: str | None
    key: str | None


def lock(session: Session, project_id: str) -> Head:
    """The head, locked until the transaction ends. Asked again within the transaction it is the same one:
    nobody else can have moved it. NotFound where there is no such project.

    Whoever comes next is whoever waited longest: PostgreSQL hands a row to anybody who asks as it is let go,
    and a queue only to its first.
    """
    held: dict[str, Head] = session.info.setdefault("heads", {})
    if project_id not in held:
        alone(session, f"head {project_id}")
        session.flush()
        found = session.connection().execute(_LOCKED, {"project": project_id}).first()
        if found is None:
            raise NotFound
        held[project_id] = Head(*found)
    return held[project_id]


def write(session: Session, head: Head) -> None:
    """The head as it stands now, into its row."""
    session.connection().execute(
        _MOVED,
        {
            "project": head.id, "new_seq": head.seq, "new_last_at": head.last_at, "new_peaks": head.peaks,
            "new_note": head.note, "new_key": head.key,
        },
    )  # fmt: skip
