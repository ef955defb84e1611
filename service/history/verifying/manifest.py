"""The manifest against the history that names it, and every file of the record against the manifest."""

from __future__ import annotations

import hashlib
import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.history.facts import facts as f
from service.history.facts.entries import Entry
from service.history.facts.evidence import RecordMade, TimestampReceived
from service.history.proofs.checkpoints import origin_of
from service.history.verifying.findings import Files, Finding, Unreadable, count, fails, holds
from service.history.verifying.records import MANIFEST, OUTSIDE, VERSION

MOST_MANIFEST_BYTES = 256 * 1024 * 1024
_SHA256 = re.compile(r"[0-9a-f]{64}")
_PICTURE = re.compile(r"(?:photos|sketches)/([0-9a-f]{64})\.[a-z0-9]{1,8}")


class BadManifest(ValueError):
    """The file is no manifest of a record."""


@dataclass(frozen=True, slots=True)
class Manifest:
    """`files`: path to (hex SHA-256, bytes); `twice`: paths named more than once."""

    sha256: str
    project: str
    origin: str
    up_to: int
    files: Mapping[str, tuple[str, int]]
    twice: tuple[str, ...]
    missing: tuple[str, ...]
    damaged: tuple[str, ...]


def read_manifest(content: bytes) -> Manifest:
    """BadManifest says why it is none."""
    try:
        data = json.loads(content.decode(), object_pairs_hook=_once)
        if data["record"] != VERSION:
            raise BadManifest(
                f"it is of version {str(data['record'])[:20]}, which this program does not know"
            )
        rows = [_row(row) for row in data["files"]]
        paths = Counter(path for path, _ in rows)
        return Manifest(
            hashlib.sha256(content).hexdigest(),
            _of(str, data["project"]),
            _of(str, data["origin"]),
            _of(int, data["up_to"]),
            dict(rows),
            tuple(path for path, times in paths.items() if times > 1),
            tuple(_of(str, path) for path in data["missing"]),
            tuple(_of(str, path) for path in data["damaged"]),
        )
    except BadManifest:
        raise
    except (ValueError, KeyError, TypeError, RecursionError) as bad:
        raise BadManifest("it is not written as one") from bad


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """A name said twice could be read in two ways."""
    found = dict(pairs)
    if len(found) < len(pairs):
        raise BadManifest("it says the same thing twice")
    return found


def _of(kind: type, value: Any) -> Any:
    if type(value) is not kind:
        raise ValueError("a field is not of its kind")
    return value


def _row(row: Any) -> tuple[str, tuple[str, int]]:
    sha256, size = _of(str, row["sha256"]), _of(int, row["bytes"])
    if not _SHA256.fullmatch(sha256) or size < 0:
        raise ValueError("a hash is 64 hex digits, a size no less than nothing")
    return _of(str, row["path"]), (sha256, size)


# --- the manifest against the history ----------------------------------------------------------------------


def logged_findings(manifest: Manifest, entries: Sequence[Entry]) -> Iterator[Finding]:
    """The last entry says that this record was made, and names this manifest."""
    last = entries[-1] if entries else None
    if last is None or not isinstance(last.fact, RecordMade):
        yield fails("record-not-logged", "The last entry does not say that a record was made.")
        return
    faults = []
    if last.fact.manifest_sha256 != manifest.sha256:
        told = f"{MANIFEST} is not the one that entry {last.seq:,} names: it was changed or put in its place."
        faults.append(fails("manifest-not-logged", told))
    if manifest.up_to != last.fact.up_to or not 0 < manifest.up_to < last.seq:
        told = f"{MANIFEST} tells the site after entry {manifest.up_to:,}"
        told += f", and entry {last.seq:,} says after entry {last.fact.up_to:,}."
        faults.append(fails("manifest-not-logged", told))
    if (manifest.project, manifest.origin) != (last.project, origin_of(last.project)):
        faults.append(fails("other-project", f"{MANIFEST} is of another project than the history."))
    yield from faults
    if not faults:
        yield holds("manifest", f"The manifest is the one that entry {last.seq:,} names.")


# --- the files against the manifest ------------------------------------------------------------------------


def file_findings(files: Files, manifest: Manifest, wanted: Iterable[str]) -> Iterator[Finding]:
    """Every file is the one listed, nothing is missing and nothing besides. `wanted`: paths without their
    endings of the pictures and tokens that the entries name."""
    faults = [fails("file-named-twice", f"{MANIFEST} names {path[:200]} twice.") for path in manifest.twice]
    faults += _not_listed(files, manifest)
    faults += _contents(files, manifest)
    faults += _lost(manifest, wanted)
    yield from faults
    if not faults:
        number = count(len(manifest.files), "file")
        yield holds("files", f"{number} besides the history, each byte for byte as the manifest lists it.")


def _not_listed(files: Files, manifest: Manifest) -> Iterator[Finding]:
    for name in files.names:
        if name not in manifest.files and name not in OUTSIDE:
            yield fails(
                "file-not-listed", f"{name[:200]} is in the record and not in its manifest: it was added."
            )
    for path in sorted(OUTSIDE & manifest.files.keys()):
        yield fails(
            "file-named-twice", f"{MANIFEST} names {path}, which vouches for it and not the other way."
        )


def _contents(files: Files, manifest: Manifest) -> Iterator[Finding]:
    there = set(files.names)
    of_hash = {sha256: path for path, (sha256, _) in manifest.files.items()}
    for path, (sha256, size) in manifest.files.items():
        if path in OUTSIDE:
            continue
        if path not in there:
            yield fails("file-missing", f"{path[:200]} is listed in the manifest and missing.")
            continue
        try:
            found, long = files.hashed(path)
        except Unreadable as bad:
            yield fails(bad.code, bad.words)
            continue
        if (found, long) != (sha256, size):
            yield _other(path, found, of_hash, manifest)
        elif (name := _PICTURE.fullmatch(path)) and name[1] != found and path not in manifest.damaged:
            told = f"{path} is another picture than its name says, and the manifest lists it so."
            yield fails("photo-replaced", told)


def _other(path: str, found: str, of_hash: Mapping[str, str], manifest: Manifest) -> Finding:
    """A file with other bytes than listed."""
    of = of_hash.get(found)
    instead = f" It holds what belongs under {of}." if of is not None and of != path else ""
    if _PICTURE.fullmatch(path):
        return fails(
            "photo-replaced", f"{path} is another picture than the one that was logged: replaced.{instead}"
        )
    return fails("file-changed", f"{path[:200]} was changed: its bytes are not the ones listed.{instead}")


def _lost(manifest: Manifest, wanted: Iterable[str]) -> Iterator[Finding]:
    """What the history names and the record has not, or has damaged; it may say so itself."""
    stems = {path.rpartition(".")[0] for path in manifest.files} | set(manifest.files)
    said = set(manifest.missing)
    for stem in wanted:
        if stem in stems:
            continue
        told = f"The history names {stem}, and the record does not hold it."
        if stem in said:
            told = f"{stem} was missing already when the record was made, as the record says itself."
        yield fails("file-lost", told)
    for path in manifest.damaged:
        told = f"{path} was damaged already when the record was made, as the record says itself."
        yield fails("file-lost", told)


def named_by(entries: Iterable[Entry]) -> list[str]:
    """Paths, without their endings, of every picture that entries name, and of tokens with their ending."""
    found: dict[str, None] = {}
    for entry in entries:
        match entry.fact:
            case f.SketchAdded(sha256=sha256) | f.SketchRevised(sha256=sha256):
                found[f"sketches/{sha256}"] = None
            case f.PhotoAdded(sha256=sha256):
                found[f"photos/{sha256}"] = None
            case TimestampReceived(size=size):
                found |= {f"timestamps/{size}.tsr": None, f"timestamps/{size}.pem": None}
    return list(found)
