"""A true record in memory that everything can be done to: `true_files()`, and what is found of it then.

Its history has one of everything: photos and sketch, hashed names, a release, a placing, earlier checkpoints,
a key turned over, and something that happened while it was put together.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from functools import cache

from service.actions.record.tables import tables
from service.actions.record.verifying_tables import table_findings
from service.history.facts import facts as f
from service.history.facts.encoding import canonical
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.history.proofs.checkpoints import fingerprint
from service.history.proofs.merkle import grown, leaf_hash
from service.history.replay.replay import replay
from service.history.replay.standing import standing_of
from service.history.verifying.findings import Finding
from service.history.verifying.records import ENTRIES
from service.history.verifying.whole import check
from tests.history import story
from tests.record.making import NOON, Files, Log, bundle, signer, some_facts

SKETCH, PHOTOS = b"a sketch as it was uploaded", (b"a photo of one hole", b"a photo of another")
ZONE = "zb"


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


FIRST_PHOTO, SECOND_PHOTO = (f"photos/{sha256(photo)}.jpg" for photo in PHOTOS)


class InMemory:
    """Files as `verifying.findings.Files` asks."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        self._files = files

    @property
    def names(self) -> Sequence[str]:
        return list(self._files)

    def content(self, name: str, most: int) -> bytes:
        assert len(self._files[name]) <= most
        return self._files[name]

    def hashed(self, name: str) -> tuple[str, int]:
        return sha256(self._files[name]), len(self._files[name])


def pictured(facts: Iterable[Fact]) -> list[Fact]:
    """The facts with a sketch that is there, and two photos."""
    found = [replace(x, sha256=sha256(SKETCH)) if isinstance(x, f.SketchAdded) else x for x in facts]
    for number, content in enumerate(PHOTOS):
        photo = f.PhotoAdded(f"f{number}", "01", ZONE, "B-01", sha256(content), "0" * 64, 640, 480)
        found.append(photo)
    return found


def picture_files() -> Files:
    return {f"sketches/{sha256(SKETCH)}.png": SKETCH} | {f"photos/{sha256(p)}.jpg": p for p in PHOTOS}


def begun() -> Log:
    """The history up to where zone B is clear, with two checkpoints that left and a key turned over."""
    return _begun().copy()


@cache
def _begun() -> Log:
    log = Log().tell(*pictured(some_facts()), by="max", role="project manager").give()
    return log.turn_key(signer(2)).give("certificate")


def digest(log: Log) -> str:
    """Of the facts of zone B as they stand."""
    return standing_of(replay(log.entries), ZONE).digest


def released(log: Log, **changes: object) -> Log:
    """The zone released as the gate has it, or otherwise as told."""
    fact = f.ZoneReleased("r1", ZONE, "B", digest(log), 2, "Seen and walked.", (), ())
    return log.tell(replace(fact, **changes), by="max", role="project manager")  # type: ignore[arg-type]


def table_files(log: Log) -> Files:
    """The tables that a record of this log carries."""
    site, names = replay(log.entries), {"max": "max", "lou": "lou", "ina": "ina"}
    return {name: text.encode() for name, text in tables(site, log.entries, log.leaves, names).items()}


def record_of(log: Log, more: Mapping[str, bytes] | None = None) -> Files:
    """The record of a log, made as the service makes it. The log grows by its last entries."""
    files = picture_files() | table_files(log) | dict(more or {})
    return bundle(log, files, meanwhile=[story.mark("late", (500, 500), tag="B-900")])


def true_files() -> Files:
    """The one true record, each time a dict of its own."""
    return dict(_true_files())


@cache
def _true_files() -> Files:
    log = released(begun()).give("certificate")
    placed = f.ZonePlaced(ZONE, "B", NOON, "60 cu yd", False, ())
    return record_of(log.tell(placed, by="max", role="project manager"))


def put(log: Log, entry: Entry, line: bytes | None = None) -> Log:
    """An entry at the head as it is, whatever it says; `line`: its bytes where they are others."""
    content = entry.content() if line is None else line
    log._peaks, _ = grown(log._peaks, len(log.leaves), leaf_hash(content))
    log.entries.append(entry)
    log.lines.append(content)
    log.leaves.append(leaf_hash(content))
    return log


def next_entry(log: Log, fact: Fact, **changes: object) -> Entry:
    """The entry that `tell` would put at the head, changed."""
    at = NOON + timedelta(seconds=len(log.entries))
    entry = Entry(log.project, len(log.entries) + 1, at, "lou", "crew lead", fact)
    return replace(entry, **changes)  # type: ignore[arg-type]


# --- what is found -----------------------------------------------------------------------------------------


def found(files: Mapping[str, bytes], kept: bytes | None = None, key: str | None = None) -> list[Finding]:
    """Everything that `laptight verify` finds, but for the ZIP itself."""
    inside = InMemory(files)
    checked = check(inside, kept, key)
    return [*checked.findings, *table_findings(inside, checked)]


def faults(files: Mapping[str, bytes], kept: bytes | None = None, key: str | None = None) -> dict[str, str]:
    """Code to words of what does not hold; of several of a kind, all in one text."""
    told: dict[str, list[str]] = {}
    for finding in found(files, kept, key):
        if not finding.holds:
            told.setdefault(finding.code, []).append(finding.words)
    return {code: "\n".join(words) for code, words in told.items()}


# --- what is done to it ------------------------------------------------------------------------------------


def lines_of(files: Mapping[str, bytes]) -> list[bytes]:
    return files[ENTRIES].split(b"\n")[:-1]


def with_lines(files: Mapping[str, bytes], change: Callable[[list[bytes]], None]) -> Files:
    """The files with the lines of the history changed in place."""
    lines = lines_of(files)
    change(lines)
    return {**files, ENTRIES: b"".join(line + b"\n" for line in lines)}


def changed(name: str, old: bytes, new: bytes) -> Callable[[Files], Files]:
    def spoil(files: Files) -> Files:
        assert old in files[name]
        return {**files, name: files[name].replace(old, new, 1)}

    return spoil


def edited(line: bytes, **fields: object) -> bytes:
    """An entry with these fields of its fact, in canonical form again."""
    data = json.loads(line)
    data["fact"] |= fields
    return canonical(data)


def fingerprint_of(number: int) -> str:
    return fingerprint(signer(number).public)
