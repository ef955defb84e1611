"""Hold what is kept as files against the histories: whatever an entry names must be there, byte for byte."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from service.actions.frame.desk import Desk
from service.history.facts.named_files import NAMING, files_of
from service.storage.blobs.blobs import Blobs
from service.storage.history import books, ledger

TYPES = tuple(fact.type for fact in NAMING)


def lost_pictures(desk: Desk, blobs: Blobs) -> tuple[str, ...]:
    """A sentence for every file that a history names and `blobs` has not. Names tell contents, so this is
    enough for a copy, whose files were hashed on their way there."""
    kept = blobs.names("blobs")
    return tuple(f"{words} is gone." for words, sha256 in _named(desk) if sha256 not in kept)


def spoiled_pictures(desk: Desk) -> tuple[str, ...]:
    """A sentence for every file that is there and no longer what its name says. Every one is read."""
    found, right = [], dict[str, bool]()
    for words, sha256 in _named(desk):
        if sha256 not in right:
            right[sha256] = _is_itself(desk.blobs, sha256)
        if not right[sha256]:
            found.append(f"{words} is not what was kept: its bytes differ.")
    return tuple(found)


def _named(desk: Desk) -> Iterator[tuple[str, str]]:
    """What the histories name, in their order: in words, and its SHA-256."""
    with desk.reading() as session:
        for project_id in ledger.project_ids(session):
            for entry in books.of_types(session, project_id, TYPES):
                for what, sha256 in files_of(entry.fact):
                    yield f"Project {project_id}: {what} of entry {entry.seq} ({sha256[:12]})", sha256


def _is_itself(blobs: Blobs, sha256: str) -> bool:
    """True too where it is not there: that is told apart."""
    try:
        with blobs.file(sha256).open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest() == sha256
    except FileNotFoundError:
        return True
