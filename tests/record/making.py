"""Records to check and to spoil.

`make_sample(tmp)`: a real record of a site with everything in it, made by the service, as a ZIP on disk.
`bundle(facts)`: a small true record in memory as path to bytes, cheap enough for thousands; `zipped(files)`
makes a ZIP of it. `Log` grows entries, signs checkpoints and turns keys over for those who want it otherwise;
`Log.copy()` is what makes many records of one beginning cheap.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from PIL import Image

from service.actions.demo import demo
from service.actions.evidence import signing
from service.actions.frame.desk import Desk
from service.actions.marks import defects
from service.actions.record.record import make_record
from service.domain.nouns.roles import CREW_LEAD, PROJECT_MANAGER
from service.history.facts import facts as f
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.history.facts.evidence import CheckpointGiven, KeyChanged, RecordMade
from service.history.proofs.checkpoints import Checkpoint, origin_of
from service.history.proofs.merkle import EMPTY_ROOT, bagged, grown, leaf_hash
from service.history.proofs.notes import Signer
from service.history.verifying.records import (
    CHECKPOINT,
    ENTRIES,
    LEAVES,
    MANIFEST,
    NAMES,
    key_files,
    keys_named,
    leaves_text,
    manifest_text,
)
from service.storage.accounts import people
from service.storage.blobs.blobs import Blobs
from service.storage.doors.database import Database
from service.storage.history import slices
from service.storage.history.seen import projects_of
from service.storage.upkeep.migrate import migrate
from tests.cast import Clock
from tests.history import story

PROJECT = "a1b2c3d4e5f6a7b8c9d0"
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
SALT = bytes(range(32))
Files = dict[str, bytes]


@cache
def signer(number: int = 1) -> Signer:
    """The same key for the same number."""
    return Signer.of(Ed25519PrivateKey.from_private_bytes(bytes([number]) * 32))


@dataclass
class Log:
    """A history in memory: entries as bytes, its tree, the checkpoints that left."""

    project: str = PROJECT
    key: Signer = field(default_factory=signer)
    entries: list[Entry] = field(default_factory=list)
    lines: list[bytes] = field(default_factory=list)
    leaves: list[bytes] = field(default_factory=list)
    kept: dict[int, str] = field(default_factory=dict)
    _peaks: list[bytes] = field(default_factory=list, init=False)

    def copy(self) -> Log:
        """The same history, to go on with another way: what it holds so far is not written anew."""
        same = Log(self.project, self.key, [*self.entries], [*self.lines], [*self.leaves], dict(self.kept))
        same._peaks = [*self._peaks]
        return same

    def tell(self, *facts: Fact, by: str = "lou", role: str = CREW_LEAD) -> Log:
        """Entries at the head, a second apart; a checkpoint is kept where the fact says that it leaves."""
        for fact in facts:
            at = NOON + timedelta(seconds=len(self.entries))
            entry = Entry(self.project, len(self.entries) + 1, at, by, role, fact)
            line = entry.content()
            self._peaks, _ = grown(self._peaks, len(self.leaves), leaf_hash(line))
            self.entries.append(entry)
            self.lines.append(line)
            self.leaves.append(leaf_hash(line))
            if isinstance(fact, CheckpointGiven | RecordMade):
                self.kept[entry.seq] = self.note()
        return self

    def note(self, *signers: Signer) -> str:
        """The head's checkpoint, signed with the key in force or with these."""
        root = bagged(self._peaks) if self._peaks else EMPTY_ROOT
        return Checkpoint(origin_of(self.project), len(self.lines), root).signed(signers or [self.key])

    def give(self, way: str = "download") -> Log:
        return self.tell(CheckpointGiven(way, self.key.public_text))

    def turn_key(self, to: Signer) -> Log:
        before, self.key = self.key, to
        return self.tell(KeyChanged(before.public_text, to.public_text))


def some_facts(marks: int = 0) -> list[Fact]:
    """A project, its people with hashed names, and a zone with one of everything; then so many marks."""
    return [*_hashed(story.whole()), *_marks(marks)]


def few_facts(marks: int = 3) -> list[Fact]:
    """As little as a record can be of: a project, three people, two zones, some marks."""
    return [*_hashed(story.ground()), *_marks(marks)]


def _hashed(told: story.Story) -> Iterator[Fact]:
    for entry in told.entries:
        match entry.fact:
            case f.PersonJoined(person=person, role=role):
                yield f.PersonJoined(person, role, name_hash(person))
            case fact:
                yield fact


def _marks(count: int) -> list[Fact]:
    return [story.mark(f"m{number}", (300, 300), tag=f"B-{100 + number}") for number in range(count)]


def name_hash(name: str) -> str:
    return hashlib.sha256(SALT + name.encode()).hexdigest()


def bundle(
    facts: Iterable[Fact] | Log,
    files: Mapping[str, bytes] | None = None,
    *,
    meanwhile: Sequence[Fact] = (),
    missing: Sequence[str] | None = None,
    damaged: Sequence[str] = (),
) -> Files:
    """A true record of these facts, or of a log, which grows by its last entry.

    `files`: more files to list, such as photos; `meanwhile`: what happened between the tables and the end;
    `missing`: what is told as missing, by default every picture that an entry names and `files` has not.
    """
    log = facts if isinstance(facts, Log) else Log().tell(*facts)
    up_to = len(log.lines)
    keys = list(dict.fromkeys((*keys_named(log.entries), log.key.public)))
    listed: Files = {path: text.encode() for path, text in key_files(log.project, keys).items()}
    listed |= {f"checkpoints/{size}": note.encode() for size, note in log.kept.items()}
    listed |= {LEAVES: leaves_text(log.leaves).encode(), NAMES: _names(log.entries)} | dict(files or {})
    lost = _lost(log.entries, listed) if missing is None else missing
    manifest = sealed(listed, log.project, up_to, lost, damaged)
    log.tell(*meanwhile)
    log.tell(RecordMade(up_to, hashlib.sha256(manifest).hexdigest(), log.key.public_text))
    lines = b"".join(line + b"\n" for line in log.lines)
    return listed | {ENTRIES: lines, CHECKPOINT: log.kept[len(log.lines)].encode(), MANIFEST: manifest}


def sealed(
    listed: Files, project: str, up_to: int, missing: Sequence[str] = (), damaged: Sequence[str] = ()
) -> bytes:
    """The manifest that lists these files."""
    rows = [
        {"path": path, "sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content)}
        for path, content in listed.items()
    ]
    return manifest_text(project, up_to, rows, missing, damaged).encode()


def _names(entries: Iterable[Entry]) -> bytes:
    rows = [
        f"{entry.fact.person},{entry.fact.person},{SALT.hex()},{entry.fact.name_sha256}\n"
        for entry in entries
        if isinstance(entry.fact, f.PersonJoined) and entry.fact.name_sha256
    ]
    return ("person,name,salt,name_sha256\n" + "".join(rows)).encode()


def _lost(entries: Iterable[Entry], listed: Files) -> list[str]:
    have = {path.rpartition(".")[0] for path in listed}
    named: dict[str, None] = {}
    for entry in entries:
        if isinstance(entry.fact, f.SketchAdded | f.SketchRevised):
            named[f"sketches/{entry.fact.sha256}"] = None
        elif isinstance(entry.fact, f.PhotoAdded):
            named[f"photos/{entry.fact.sha256}"] = None
    return [path for path in named if path not in have]


def zipped(files: Mapping[str, bytes]) -> bytes:
    """The ZIP of a record's files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, content in files.items():
            archive.writestr(zipfile.ZipInfo(path, (2026, 11, 25, 12, 0, 0)), content)
    return out.getvalue()


def make_sample(tmp: Path) -> Path:
    """The demo's site in full, made and handed out by the service; the ZIP lies in `tmp`."""
    with made_desk(tmp) as (desk, by, project_id):
        return taken(desk, by, project_id, tmp)


@contextmanager
def made_desk(tmp: Path) -> Iterator[tuple[Desk, str, str]]:
    """The demo's site, with a photo, checkpoints that left and a key turned over: its desk, the project
    manager and the project."""
    database = Database.at(tmp / "laptight.sqlite3")
    migrate(database)
    desk = Desk(database, Blobs(tmp), Clock())
    demo.fill(desk.fresh())
    with desk.reading() as session:
        [email] = [email for email, _, role in demo.PEOPLE if role == PROJECT_MANAGER]
        found = people.by_email(session, email)
        assert found is not None
        manager, _ = found
        [seen] = projects_of(session, manager.id)
        defect = next(iter(slices.whole_site(session, seen.project.id).defects))
    signing.keep_checkpoint(desk.fresh(), manager.id, seen.project.id)
    photo = defects.take_in_photo(desk.fresh(), manager.id, "defect", defect, jpeg())
    defects.settle_photo(desk.fresh(), manager.id, "defect", defect, photo)
    signing.rotate(desk.fresh())
    signing.keep_checkpoint(desk.fresh(), manager.id, seen.project.id)
    yield desk, manager.id, seen.project.id
    database.close()


def jpeg() -> bytes:
    """A picture of a photo's kind, the same bytes each time."""
    out = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").resize((640, 480)).save(out, "JPEG")
    return out.getvalue()


def taken(desk: Desk, by: str, project_id: str, folder: Path) -> Path:
    """A record as the service hands it out now, as a file."""
    made = make_record(desk.fresh(), by, project_id)
    with made.file:
        (folder / made.name).write_bytes(made.file.read())
    return folder / made.name


def unzipped(content: bytes) -> Files:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}
