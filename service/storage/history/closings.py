"""The entries by which things were closed lately: what a pace is worked out from."""

from collections.abc import Collection
from datetime import datetime

from sqlmodel import Session, col, select

from service.history.facts.entries import Entry, read_entry
from service.storage.tables.tables import EntryRow


def entries_since(session: Session, project_id: str, types: Collection[str], since: datetime) -> list[Entry]:
    """Every entry of these types from a moment on, in order."""
    wanted = select(EntryRow.content).where(
        EntryRow.project_id == project_id, col(EntryRow.type).in_(types), col(EntryRow.at) >= since
    )
    return [read_entry(content) for content in session.exec(wanted.order_by(col(EntryRow.seq)))]
