"""The history on disk: append at the head, and read entries back."""

from collections.abc import Collection
from datetime import datetime
from typing import Any

from sqlalchemy import func
from sqlmodel import Session, col, select

from service.domain.nouns.site import Site
from service.domain.words.refusals import NotFound
from service.history.facts.entries import Entry, FromPhone, leaf_hash, read_entry
from service.history.facts.every_fact import Fact
from service.history.facts.evidence import CheckpointGiven, KeyChanged, RecordMade
from service.history.proofs.notes import Signer
from service.history.replay.replay import apply
from service.storage.doors.keys import Keyring
from service.storage.history import heads, rows, trees
from service.storage.history.heads import Head
from service.storage.tables.tables import EntryRow, ProjectRow, VerdictRow, table_of

_STARTED, _APPENDED = table_of(ProjectRow).insert(), table_of(EntryRow).insert()


def lock_head(session: Session, project_id: str) -> Head:
    """The project's head, locked until the transaction ends: the first thing in every change. NotFound."""
    return heads.lock(session, project_id)


def start(session: Session, project_id: str, now: datetime) -> None:
    """An empty history for a new project."""
    session.connection().execute(_STARTED, {"id": project_id, "seq": 0, "last_at": now, "body": ""})


class AnotherKey(RuntimeError):
    """The history is signed with another key than this server holds: nothing is written until they agree."""


def append(
    session: Session,
    site: Site,
    project_id: str,
    now: datetime,
    by: str,
    role: str,
    fact: Fact,
    phone: FromPhone | None = None,
) -> Entry:
    """One entry at the head, the tree grown and its checkpoint signed, and the rows it changes, all in the
    caller's transaction.

    `site` must hold every noun that the fact changes. The entry's time never runs behind the one before:
    a clock set back is held at the last time told. AnotherKey when the signing key is not the history's.
    """
    head = lock_head(session, project_id)
    signers = _signers(session.info["keys"], head, fact)
    entry = Entry(project_id, head.seq + 1, max(now, head.last_at), by, role, fact, phone)
    content = entry.content()
    kind, subject = entry.subject
    session.connection().execute(
        _APPENDED,
        {
            "project_id": project_id, "seq": entry.seq, "type": entry.type, "at": entry.at, "by": by,
            "zone_id": entry.zone, "tag": entry.tag, "subject_kind": kind, "subject_id": subject,
            "content": content, "leaf": (leaf := leaf_hash(content)),
        },
    )  # fmt: skip
    trees.grow(session, head, leaf, signers)
    head.last_at = entry.at
    heads.write(session, head)
    if isinstance(fact, CheckpointGiven | RecordMade):
        trees.keep(session, head)
        session.flush()
    rows.write(session, project_id, apply(site, entry))
    session.info.setdefault("appended", []).append((project_id, entry.seq, leaf))
    return entry


def appended(session: Session) -> tuple[str, int, bytes] | None:
    """Project, number and leaf hash of the last entry this transaction appended; None where there is none."""
    all_of_them = session.info.get("appended")
    return all_of_them[-1] if all_of_them else None


def landed_before(session: Session, project_id: str, seq: int) -> None:
    """What was asked for stands in the history already, by this entry: it is told as if appended now."""
    leaf = session.exec(
        select(EntryRow.leaf).where(EntryRow.project_id == project_id, EntryRow.seq == seq)
    ).one()
    session.info.setdefault("appended", []).append((project_id, seq, leaf))


def is_taken(session: Session, noun_id: str) -> bool:
    """Whether any history tells of a thing of this id."""
    return (
        session.exec(select(EntryRow.seq).where(EntryRow.subject_id == noun_id).limit(1)).first() is not None
    )


def _signers(keys: Keyring, head: Head, fact: Fact) -> list[Signer]:
    """Who signs the new head: the current key, and at a change of key the one before it too."""
    current = keys.current()
    if head.key in (None, current.public_text):
        return [current]
    if not isinstance(fact, KeyChanged):
        raise AnotherKey(f"project {head.id} is signed with another key than this server's")
    before = keys.before()
    return [before, current] if before and before.public_text == head.key else [current]


def signing_key(session: Session) -> str:
    """The public key that signs what is written in this transaction, in base64."""
    keys: Keyring = session.info["keys"]
    return keys.current().public_text


def next_seq(session: Session, project_id: str) -> int:
    return lock_head(session, project_id).seq + 1


def note_verdict(session: Session, project_id: str, seq: int, zone_id: str, clear: bool) -> None:
    """What the gate said, for the second wall. Only the newest is kept: it is no state."""
    for old in session.exec(select(VerdictRow).where(VerdictRow.project_id == project_id)):
        session.delete(old)
    session.flush()
    session.add(VerdictRow(project_id=project_id, seq=seq, zone_id=zone_id, clear=clear))
    session.flush()


# --- reading the history ---------------------------------------------------------------------------------


def entries(
    session: Session,
    project_id: str,
    *,
    after: int = 0,
    limit: int | None = None,
    until: datetime | None = None,
    up_to: int | None = None,
) -> list[Entry]:
    """Entries in their order: after a sequence number, up to a moment or a number (inclusive)."""
    found = hashed_entries(session, project_id, after=after, limit=limit, until=until, up_to=up_to)
    return [entry for entry, _ in found]


def hashed_entries(
    session: Session,
    project_id: str,
    *,
    after: int = 0,
    limit: int | None = None,
    until: datetime | None = None,
    up_to: int | None = None,
) -> list[tuple[Entry, bytes]]:
    """As `entries`, each with its leaf hash as it was recorded.

    An entry is never hashed anew from what was read of it: one of an earlier program has fewer fields.
    """
    wanted = select(EntryRow.content, EntryRow.leaf)
    query = wanted.where(EntryRow.project_id == project_id, col(EntryRow.seq) > after)
    if until is not None:
        query = query.where(col(EntryRow.at) <= until)
    if up_to is not None:
        query = query.where(col(EntryRow.seq) <= up_to)
    query = query.order_by(col(EntryRow.seq))
    found = session.exec(query.limit(limit) if limit is not None else query)
    return [(read_entry(content), leaf) for content, leaf in found]


def place_of(session: Session, project_id: str, moment: datetime | int) -> int:
    """The number of the last entry up to a time or a number, both inclusive; 0 where none was written yet."""
    counted = EntryRow.at <= moment if isinstance(moment, datetime) else EntryRow.seq <= moment
    found = session.exec(select(func.max(EntryRow.seq)).where(EntryRow.project_id == project_id, counted))
    return found.one() or 0


def contents(session: Session, project_id: str, *, after: int = 0) -> list[tuple[bytes, bytes]]:
    """Entries' bytes exactly as they are kept, each with its leaf hash as it was recorded, in order, from the
    number after `after` on."""
    wanted = select(EntryRow.content, EntryRow.leaf).where(EntryRow.project_id == project_id)
    return list(session.exec(wanted.where(col(EntryRow.seq) > after).order_by(col(EntryRow.seq))))


def of_types(session: Session, project_id: str, types: Collection[str]) -> list[Entry]:
    """Every entry of these types, in order."""
    wanted = select(EntryRow.content).where(EntryRow.project_id == project_id, col(EntryRow.type).in_(types))
    return [read_entry(content) for content in session.exec(wanted.order_by(col(EntryRow.seq)))]


def since(
    session: Session, project_id: str, after: int, *, zone_id: str | None = None, tags: Collection[str] = ()
) -> list[Entry]:
    """Entries after a number, in order: of a zone, or of what has one of these tags."""
    wanted = select(EntryRow.content).where(EntryRow.project_id == project_id, col(EntryRow.seq) > after)
    of = EntryRow.zone_id == zone_id if zone_id is not None else col(EntryRow.tag).in_(tags)
    return [read_entry(content) for content in session.exec(wanted.where(of).order_by(col(EntryRow.seq)))]


def search(
    session: Session,
    project_id: str,
    *,
    zone_id: str | None = None,
    tag: str | None = None,
    by: str | None = None,
    type: str | None = None,
    from_at: datetime | None = None,
    to_at: datetime | None = None,
    before: int | None = None,
    limit: int = 100,
) -> list[tuple[Entry, bytes]]:
    """The newest entries that fit every filter given, newest first, each with its leaf hash."""
    wanted: list[Any] = [EntryRow.project_id == project_id]
    for column, value in (
        (EntryRow.zone_id, zone_id),
        (EntryRow.tag, tag),
        (EntryRow.by, by),
        (EntryRow.type, type),
    ):
        if value is not None:
            wanted.append(col(column) == value)
    if from_at is not None:
        wanted.append(col(EntryRow.at) >= from_at)
    if to_at is not None:
        wanted.append(col(EntryRow.at) < to_at)
    if before is not None:
        wanted.append(col(EntryRow.seq) < before)
    query = (
        select(EntryRow.content, EntryRow.leaf).where(*wanted).order_by(col(EntryRow.seq).desc()).limit(limit)
    )
    return [(read_entry(content), leaf) for content, leaf in session.exec(query)]


def head(session: Session, project_id: str) -> int:
    """The sequence number of the newest entry; it changes with every write, so it is every page's ETag."""
    found = session.exec(select(ProjectRow.seq).where(ProjectRow.id == project_id)).first()
    if found is None:
        raise NotFound
    return found
