"""The history's raw rows, for checks that trust nothing worked out from them."""

from sqlalchemy import func
from sqlmodel import Session, col, select

from service.history.facts.evidence import KeyChanged
from service.history.proofs.merkle import Node
from service.storage.tables.tables import EntryRow, ProjectRow, TreeNodeRow


def project_ids(session: Session) -> list[str]:
    return list(session.exec(select(ProjectRow.id).order_by(col(ProjectRow.id))))


def signed_by_others(session: Session, key: str) -> list[str]:
    """The projects whose newest checkpoint another key than this one signed."""
    wanted = select(ProjectRow.id).where(col(ProjectRow.key).is_not(None), ProjectRow.key != key)
    return list(session.exec(wanted.order_by(col(ProjectRow.id))))


def signed_by(session: Session, key: str) -> int:
    """How many histories this key signs now."""
    wanted = select(func.count()).select_from(ProjectRow).where(ProjectRow.key == key)
    return session.exec(wanted).one()


def key_changes(session: Session) -> list[bytes]:
    """The bytes of every entry, of all histories, that tells of another key."""
    return list(session.exec(select(EntryRow.content).where(EntryRow.type == KeyChanged.type)))


def leaves(session: Session, project_id: str) -> list[tuple[int, bytes, bytes]]:
    """Sequence number, content and leaf hash of every entry, in order."""
    wanted = select(EntryRow.seq, EntryRow.content, EntryRow.leaf).where(EntryRow.project_id == project_id)
    return list(session.exec(wanted.order_by(col(EntryRow.seq))).all())


def tree_nodes(session: Session, project_id: str) -> dict[Node, bytes]:
    """Every complete subtree that is kept above the leaves."""
    wanted = select(TreeNodeRow.level, TreeNodeRow.place, TreeNodeRow.hash)
    found = session.exec(wanted.where(TreeNodeRow.project_id == project_id))
    return {(level, place): here for level, place, here in found}


def head_row(session: Session, project_id: str) -> ProjectRow:
    """The head of a history as it is kept."""
    return session.get_one(ProjectRow, project_id)
