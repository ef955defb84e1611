"""The checkpoints that left the building: all of a project's, one by its size, the keys that signed them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from service.actions.evidence.audit import Line, line_of
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.words.refusals import NotFound
from service.history.facts.entries import Entry, read_entry
from service.history.facts.evidence import CheckpointGiven, KeyChanged, RecordMade, TimestampReceived
from service.history.proofs.checkpoints import Checkpoint, checkpoint_in, key_of, origin_of, public_key
from service.history.proofs.growth import Growth
from service.history.proofs.merkle import BadProof
from service.history.proofs.notes import BadNote, read_note, signed_by
from service.papers.setting.qr import qr_modules
from service.storage.history import raw, trees
from service.storage.history.seen import SeenProject, names_in, project_seen_by

EVIDENCE = (CheckpointGiven.type, RecordMade.type, KeyChanged.type, TimestampReceived.type)


@dataclass(frozen=True, slots=True)
class KeyInUse:
    """A public key (32 bytes) and the entries it signs: from `since` to `until`, None while it is in use."""

    public: bytes
    since: int
    until: int | None


@dataclass(frozen=True, slots=True)
class Kept:
    """A checkpoint that left. `checkpoint` is None where the kept note cannot be read, `line` (the entry that
    gave it) and `key` where no entry did. `stamped`: when an authority outside says it was there."""

    size: int
    note: str
    checkpoint: Checkpoint | None
    line: Line | None
    key: bytes | None
    stamped: tuple[datetime, ...]


@dataclass(frozen=True, slots=True)
class KeptView:
    """`kept` the newest first; `keys` the one in use first."""

    seen: SeenProject
    kept: tuple[Kept, ...]
    keys: tuple[KeyInUse, ...]


@dataclass(frozen=True, slots=True)
class OneKept:
    """`faults`: what does not fit, each a sentence; none, and it is this history's own and well signed.
    `qr`: the note as a QR code, a path in modules and how many a side has; None where it is too long."""

    seen: SeenProject
    kept: Kept
    faults: tuple[str, ...]
    qr: tuple[str, int] | None


def kept_checkpoints(desk: Desk, by: str, project_id: str) -> KeptView:
    """Every checkpoint that left, and every key that signs or signed the history."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        told = _Told(session, seen)
        rows = trees.kept(session, project_id)
    kept = [told.kept(size, note) for size, note in reversed(rows)]
    return KeptView(seen, tuple(kept), tuple(reversed(told.keys())))


def one_checkpoint(desk: Desk, by: str, project_id: str, size: int) -> OneKept:
    """A checkpoint that left, held against the tree kept with the history. NotFound when none of it did.

    The entries themselves are not hashed anew: `old_checkpoint.check_old` does that.
    """
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        found = trees.kept(session, project_id, at_least=size, up_to=size)
        if not found:
            raise NotFound
        kept = _Told(session, seen).kept(*found[0])
        root = trees.root_at(session, project_id, size) if size <= seen.head else None
    return OneKept(seen, kept, tuple(faults_of(project_id, kept, root)), _qr(kept.note))


def _qr(note: str) -> tuple[str, int] | None:
    try:
        return qr_modules(note)
    except ValueError:
        return None


def faults_of(project_id: str, kept: Kept, root: bytes | None) -> Iterable[str]:
    """What does not fit of a kept checkpoint. `root`: the history's of its size, None where it is shorter."""
    if kept.checkpoint is None:
        yield "It cannot be read: it was changed where it is kept."
        return
    if kept.checkpoint != Checkpoint(origin_of(project_id), kept.size, root or b""):
        yield "Its root is not that of the tree kept with the history."
    if kept.key is None:
        yield "No entry of the history says that it was given."
    elif not is_signed(project_id, kept.note, kept.key):
        yield "Its signature does not fit the key that its entry names."


def is_signed(project_id: str, note: str, key: bytes) -> bool:
    """Whether this key signed the note under the project's name."""
    try:
        return bool(signed_by(read_note(note), [key_of(project_id, key)]))
    except BadNote:
        return False


def newest_note(desk: Desk, by: str, project_id: str) -> str | None:
    """The newest signed note that left; None where none did."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        found = trees.newest_kept(session, project_id)
    return found[1] if found else None


def growth(desk: Desk, by: str, project_id: str, old: int, size: int) -> Growth:
    """The proof that the kept checkpoint of `size` begins with the first `old` entries.

    NotFound unless one of that size left and 0 < old <= size.
    """
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        return growth_to(session, project_id, old, size)


def growth_to(session: Session, project_id: str, old: int, size: int) -> Growth:
    """As `growth`, in an open transaction. BadProof when what is kept of the tree does not prove it."""
    found = trees.kept(session, project_id, at_least=size, up_to=size)
    if not found:
        raise NotFound
    made = Growth(old, tuple(trees.consistency(session, project_id, old, size)), found[0][1])
    try:
        made.check(trees.root_at(session, project_id, old))
    except BadNote as bad:
        raise BadProof("the kept checkpoint cannot be read") from bad
    return made


# --- what the history tells of them ----------------------------------------------------------------------


class _Told:
    """The entries about checkpoints, keys and timestamps, by number."""

    def __init__(self, session: Session, seen: SeenProject) -> None:
        self.seen, self.names = seen, names_in(session, seen.project.id)
        self.now = raw.head_key(session, seen.project.id)
        found = raw.of_project(session, seen.project.id, EVIDENCE)
        self.by_seq = {entry.seq: (entry, leaf) for entry, leaf in found}
        self.stamps: dict[int, list[datetime]] = {}
        for entry, _ in found:
            if isinstance(entry.fact, TimestampReceived):
                self.stamps.setdefault(entry.fact.size, []).append(entry.fact.stamped_at)

    def kept(self, size: int, note: str) -> Kept:
        return _kept(self.seen, self.names, size, note, self.by_seq.get(size), self.stamps.get(size, ()))

    def keys(self) -> list[KeyInUse]:
        """Each key with the entries it signs, in order."""
        changes = [(seq, e.fact) for seq, (e, _) in self.by_seq.items() if isinstance(e.fact, KeyChanged)]
        if not changes:
            return [KeyInUse(public_key(self.now), 1, None)] if self.now else []
        found, since, before = [], 1, changes[0][1].before
        for seq, change in changes:
            found.append(KeyInUse(public_key(before), since, seq - 1))
            since, before = seq, change.key
        return [*found, KeyInUse(public_key(before), since, None)]


def _kept(
    seen: SeenProject,
    names: dict[str, str],
    size: int,
    note: str,
    given: tuple[Entry, bytes] | None,
    stamped: Iterable[datetime] = (),
) -> Kept:
    fact = given[0].fact if given else None
    if given is None or not isinstance(fact, CheckpointGiven | RecordMade):
        return Kept(size, note, _read(note), None, None, tuple(stamped))
    line = line_of(*given, names, seen)
    return Kept(size, note, _read(note), line, public_key(fact.key), tuple(stamped))


def _read(note: str) -> Checkpoint | None:
    try:
        return checkpoint_in(note)
    except BadNote:
        return None


def kept_newest(session: Session, seen: SeenProject) -> Kept | None:
    """The newest checkpoint that left; its timestamps are not looked for."""
    found = trees.newest_kept(session, seen.project.id)
    if found is None:
        return None
    given = raw.entry_or_none(session, seen.project.id, found[0])
    row = (read_entry(given[0]), given[1]) if given else None
    return _kept(seen, names_in(session, seen.project.id), *found, row)


def keys_in_use(session: Session, seen: SeenProject) -> list[KeyInUse]:
    """Every key that signs or signed the history, in the order they came."""
    return _Told(session, seen).keys()
