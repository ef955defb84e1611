"""Entries exactly as they are kept: the bytes that were hashed, one entry at a time or all in their order."""

from collections.abc import Iterable, Iterator
from contextlib import suppress

from sqlmodel import Session, col, select

from service.domain.words.refusals import NotFound
from service.history.facts.entries import Entry, read_entry
from service.storage.tables.tables import EntryRow, ProjectRow

BLOCK = 2000


def entry_bytes(session: Session, project_id: str, seq: int) -> tuple[bytes, bytes]:
    """An entry's bytes and the leaf hash kept beside them. NotFound when there is no such entry."""
    found = entry_or_none(session, project_id, seq)
    if found is None:
        raise NotFound
    return found


def entry_or_none(session: Session, project_id: str, seq: int) -> tuple[bytes, bytes] | None:
    wanted = select(EntryRow.content, EntryRow.leaf)
    return session.exec(wanted.where(EntryRow.project_id == project_id, EntryRow.seq == seq)).first()


def each(session: Session, project_id: str) -> Iterator[tuple[int, bytes, bytes]]:
    """Number, bytes and kept leaf hash of every entry in order, a block at a time: a history may be long."""
    after = 0
    while True:
        wanted = select(EntryRow.seq, EntryRow.content, EntryRow.leaf).where(
            EntryRow.project_id == project_id, col(EntryRow.seq) > after
        )
        block = session.exec(wanted.order_by(col(EntryRow.seq)).limit(BLOCK)).all()
        yield from block
        if len(block) < BLOCK:
            return
        after = block[-1][0]


def of_project(session: Session, project_id: str, types: Iterable[str]) -> list[tuple[Entry, bytes]]:
    """Every entry of these types in order, each with its leaf hash as recorded. They must be of the project
    itself and not of a zone: an index keeps those apart, so that few rows are read of a long history.

    An entry that can no longer be read is left out: what it said is then missed, and told as missing.
    """
    wanted = select(EntryRow.content, EntryRow.leaf).where(
        EntryRow.project_id == project_id,
        col(EntryRow.zone_id).is_(None),
        col(EntryRow.type).in_(list(types)),
    )
    found = []
    for content, leaf in session.exec(wanted.order_by(col(EntryRow.seq))):
        with suppress(ValueError, KeyError, TypeError):
            found.append((read_entry(content), leaf))
    return found


def head_key(session: Session, project_id: str) -> str | None:
    """The public key that signed the head, in base64. None where an earlier program wrote it, unsigned."""
    return session.exec(select(ProjectRow.key).where(ProjectRow.id == project_id)).first()
