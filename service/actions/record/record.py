"""The record: a project's history and evidence as one ZIP that somebody else can open without us."""

from __future__ import annotations

import hashlib
import io
import re
import tempfile
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import BinaryIO

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, project_to_change
from service.actions.frame.doing import record as append
from service.actions.record.bundle import Bundle
from service.actions.record.files import Told, fill
from service.domain.words.speech import IN_ENGLISH, speaking
from service.history.facts import facts as f
from service.history.facts.entries import read_entry
from service.history.facts.evidence import RecordMade, TimestampReceived
from service.history.proofs.checkpoints import fingerprint, public_key
from service.history.sentences.sentences import who_did
from service.history.verifying.records import CHECKPOINT, ENTRIES, MANIFEST, manifest_text
from service.storage.history import books, trees
from service.storage.history.naming import namings
from service.storage.history.seen import SeenProject, names_in, project_seen_by

ACTION = "take the record"
# The entries that say how large a record would be, and who took one before.
TOLD_BEFORE = (
    f.SketchAdded.type, f.SketchRevised.type, f.PhotoAdded.type, f.ZoneReleased.type, TimestampReceived.type,
    RecordMade.type,
)  # fmt: skip


@dataclass(frozen=True)
class Record:
    """An open file, at its start, that is gone from the disk when it is closed."""

    name: str
    size: int
    file: BinaryIO


@dataclass(frozen=True)
class End:
    """What a record ends with: the entries after those its tables tell, and the checkpoint over all."""

    after: tuple[bytes, ...]
    note: str


@dataclass(frozen=True)
class Taken:
    """A record that left: the entry that says so, who took it, and how far its tables tell."""

    seq: int
    who: str
    at: datetime
    up_to: int


@dataclass(frozen=True)
class RecordView:
    """What a record would hold as the history stands. `fingerprint`: of the key that would sign it, hex;
    `taken`: the records that left, the newest first."""

    seen: SeenProject
    fingerprint: str
    checkpoints: int
    releases: int
    photos: int
    sketches: int
    stamps: int
    picture_bytes: int
    taken: tuple[Taken, ...]


# From the SHA-256 of a manifest to how its record ends; None where there can be no record with it.
Ending = Callable[[str], End | None]


def make_record(desk: Desk, by: str, project_id: str) -> Record:
    """The record as the history stands now, in a temporary file beside the blobs.

    That it leaves is an entry of the history, and the checkpoint in it covers that entry. Where the newest
    entry is such a one and would be made again to the letter, that record goes out once more and nothing is
    added: asking twice gives the same bytes.
    """
    while True:
        told = _gathered(desk, by, project_id)
        with speaking(IN_ENGLISH):  # the record is the same whoever takes it
            made = _made_again(desk, told) or _made(desk, told, _leaving(desk, by, told))
        if made is not None:
            return made


def record_view(desk: Desk, by: str, project_id: str) -> RecordView:
    """What somebody who may take the record is told before."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, ACTION)
        told = books.of_types(session, project_id, TOLD_BEFORE)
        kept, names = trees.kept(session, project_id, up_to=seen.head), names_in(session, project_id)
    sketches = {e.fact.sha256 for e in told if isinstance(e.fact, f.SketchAdded | f.SketchRevised)}
    photos = {e.fact.sha256 for e in told if isinstance(e.fact, f.PhotoAdded)}
    taken = [
        Taken(e.seq, who_did(e.by, names), e.at, e.fact.up_to) for e in told if isinstance(e.fact, RecordMade)
    ]
    return RecordView(
        seen=seen,
        fingerprint=fingerprint(desk.database.keys.current().public),
        checkpoints=len(kept),
        releases=sum(isinstance(e.fact, f.ZoneReleased) for e in told),
        photos=len(photos),
        sketches=len(sketches),
        stamps=sum(isinstance(e.fact, TimestampReceived) for e in told),
        picture_bytes=sum(desk.blobs.size(sha256) for sha256 in photos | sketches),
        taken=tuple(reversed(taken)),
    )


def _gathered(desk: Desk, by: str, project_id: str) -> Told:
    """Everything as of one moment. NotFound, NotAllowed."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, ACTION)
        kept = books.contents(session, project_id)
        return Told(
            project_id=project_id,
            contents=tuple(content for content, _ in kept),
            leaves=tuple(leaf for _, leaf in kept),
            names=names_in(session, project_id),
            namings=tuple(namings(session, project_id)),
            kept=tuple(trees.kept(session, project_id, up_to=seen.head)),
            key=desk.database.keys.current().public,
        )


def _made_again(desk: Desk, told: Told) -> Record | None:
    """The newest record once more, if nothing happened since and nothing it tells would be told otherwise."""
    newest = read_entry(told.contents[-1])
    fact = newest.fact
    if not isinstance(fact, RecordMade) or fact.up_to != newest.seq - 1:
        return None
    [(_, note)] = [row for row in told.kept if row[0] == newest.seq]
    before = replace(
        told,
        contents=told.contents[:-1],
        leaves=told.leaves[:-1],
        kept=tuple(row for row in told.kept if row[0] < newest.seq),
        key=public_key(fact.key),
    )
    end = End(told.contents[-1:], note)
    return _made(desk, before, lambda manifest: end if manifest == fact.manifest_sha256 else None)


def _leaving(desk: Desk, by: str, told: Told) -> Ending:
    """The entry that says that the record leaves, at whatever head the history has come to meanwhile."""

    def end(manifest: str) -> End | None:
        with desk.writing() as session:
            seen, site = project_to_change(session, by, told.project_id, ACTION)
            key = desk.database.keys.current()
            if key.public != told.key:
                return None  # the key changed while the files were written: the new one is not among them
            up_to = len(told.contents)
            entry = append(desk, session, site, by, seen.role, RecordMade(up_to, manifest, key.public_text))
            after = [content for content, _ in books.contents(session, told.project_id, after=up_to)]
            [(_, note)] = trees.kept(session, told.project_id, at_least=entry.seq)
        return End(tuple(after), note)

    return end


def _made(desk: Desk, told: Told, ending: Ending) -> Record | None:
    file: BinaryIO = tempfile.TemporaryFile(dir=desk.blobs.folder / "coming")  # noqa: SIM115  # handed on open
    try:
        end = _written(desk, file, told, ending)
        if end is None:
            file.close()
            return None
        size = file.seek(0, io.SEEK_END)
        file.seek(0)
    except BaseException:
        file.close()
        raise
    plain = re.sub(r"[^A-Za-z0-9-]", "-", told.project_id)
    return Record(f"laptight-record-{plain}-{len(told.contents) + len(end.after)}.zip", size, file)


def _written(desk: Desk, file: BinaryIO, told: Told, ending: Ending) -> End | None:
    with zipfile.ZipFile(file, "w") as archive:
        bundle = Bundle(archive, read_entry(told.contents[-1]).at)
        fill(desk, bundle, told)
        manifest = manifest_text(
            told.project_id, len(told.contents), bundle.files, bundle.missing, bundle.damaged
        ).encode()
        end = ending(hashlib.sha256(manifest).hexdigest())
        if end is not None:
            lines = b"".join(content + b"\n" for content in (*told.contents, *end.after))
            bundle.outside(ENTRIES, lines)
            bundle.outside(CHECKPOINT, end.note.encode())
            bundle.outside(MANIFEST, manifest)
    return end
