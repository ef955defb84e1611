"""The key that signs histories: each is told when it changes, and hands out checkpoints signed with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlmodel import Session

from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record
from service.domain.nouns.site import Site
from service.domain.words.refusals import Conflict, NotFound
from service.history.facts.entries import read_entry
from service.history.facts.evidence import CheckpointGiven, KeyChanged
from service.history.proofs.checkpoints import Checkpoint, checkpoint_in, fingerprint, in_fours, public_key
from service.history.sentences.evidence import OPERATOR
from service.storage.history import books, ledger, slices, trees
from service.storage.history.seen import project_seen_by

DOWNLOAD, CERTIFICATE, TIMESTAMP = "download", "certificate", "timestamp"


def agree(desk: Desk) -> int:
    """Tell every history that another key signs it than the one before; how many were told.

    At a start this finds what an unfinished change left, or a key that was lost and made anew. The old key
    signs too where it is at hand, and goes once everybody has been told.
    """
    keys = desk.database.keys
    with desk.writing() as session:
        told = _tell(desk, session)
    keys.forget_before()
    return told


def rotate(desk: Desk) -> int:
    """A new signing key, known to every history in the same transaction; how many were told.

    Conflict, and nothing is changed, where the key here is not the one that signs them: a command started
    with another folder of keys than the service must not take the histories over.
    """
    keys = desk.database.keys
    with desk.writing() as session:
        if _strange(desk, session):
            raise Conflict(_STRANGE, code="another-key")
        keys.rotate()
        told = _tell(desk, session)
    keys.forget_before()
    return told


_STRANGE = (
    "The histories are signed with another key than the one here. If LAPTIGHT_KEYS is set for the service, "
    "set it here too. If the key is lost, start the service once: it makes another, and the histories say so."
)


def _strange(desk: Desk, session: Session) -> bool:
    """Whether some history is signed with a key that is not here. Looking makes no key."""
    keys = desk.database.keys
    here = keys.current().public_text if keys.file.exists() else ""
    return bool(ledger.signed_by_others(session, here))


@dataclass(frozen=True, slots=True)
class KeyTold:
    """The key that signs. `fingerprint` is empty before there is one; `since`: when it took another's place,
    None where no history tells of one before it; `trouble`: a sentence where histories are signed with
    another."""

    fingerprint: str
    file: Path
    since: datetime | None
    histories: int
    trouble: str


def key_told(desk: Desk) -> KeyTold:
    """What whoever runs the service is told of the key. Looking changes nothing."""
    keys = desk.database.keys
    with desk.reading() as session:
        trouble = _STRANGE if _strange(desk, session) else ""
        if not keys.file.exists():
            return KeyTold("", keys.file, None, 0, trouble)
        key = keys.current().public_text
        changes = [read_entry(content) for content in ledger.key_changes(session)]
        since = [e.at for e in changes if isinstance(e.fact, KeyChanged) and e.fact.key == key]
        told = in_fours(fingerprint(public_key(key)))
        return KeyTold(told, keys.file, min(since, default=None), ledger.signed_by(session, key), trouble)


def _tell(desk: Desk, session: Session) -> int:
    key = desk.database.keys.current().public_text
    others = ledger.signed_by_others(session, key)
    for project_id in others:
        head = books.lock_head(session, project_id)
        assert head.key is not None, "asked for those that have one"
        site = slices.project_site(session, project_id)
        record(desk, session, site, OPERATOR, OPERATOR, KeyChanged(head.key, key))
    return len(others)


def give(desk: Desk, session: Session, site: Site, by: str, role: str, way: str) -> int:
    """The head's checkpoint leaves the building, and the history says so first; its size."""
    return record(desk, session, site, by, role, CheckpointGiven(way, books.signing_key(session))).seq


def keep_checkpoint(desk: Desk, by: str, project_id: str) -> int:
    """A checkpoint of the history as it stands, for a person to keep; its size.

    Where the newest entry gave one already, that is the one: asking twice adds nothing.
    """
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "keep a checkpoint")
        newest = trees.newest_kept(session, project_id)
        if newest is not None and newest[0] == seen.head:
            return newest[0]
        return give(desk, session, site, by, seen.role, DOWNLOAD)


def kept_checkpoint(desk: Desk, by: str, project_id: str, size: int) -> tuple[Checkpoint, str]:
    """A checkpoint that left, and its signed note. NotFound when none of that size did."""
    with desk.reading() as session:
        project_seen_by(session, by, project_id)
        found = trees.kept(session, project_id, at_least=size, up_to=size)
    if not found:
        raise NotFound
    note = found[0][1]
    return checkpoint_in(note), note
