"""The history's raw rows, for checks that trust nothing worked out from them."""

from sqlmodel import Session, col, select

from service.storage.tables import EntryRow, ProjectRow


def project_ids(session: Session) -> list[str]:
    return list(session.exec(select(ProjectRow.id).order_by(col(ProjectRow.id))))


def signed_by_others(session: Session, key: str) -> list[str]:
    """The projects whose newest checkpoint another key than this one signed."""
    wanted = select(ProjectRow.id).where(col(ProjectRow.key).is_not(None), ProjectRow.key != key)
    return list(session.exec(wanted.order_by(col(ProjectRow.id))))


def leaves(session: Session, project_id: str) -> list[tuple[int, bytes, bytes]]:
    """Sequence number, content and leaf hash of every entry, in order."""
    wanted = select(EntryRow.seq, EntryRow.content, EntryRow.leaf).where(EntryRow.project_id == project_id)
    return list(session.exec(wanted.order_by(col(EntryRow.seq))).all())
