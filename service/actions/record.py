"""The record: a project's history and evidence as one ZIP that somebody else can open without us."""

from __future__ import annotations

import hashlib
import io
import json
import re
import tempfile
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

from service.actions.desk import Desk
from service.actions.doing import allow
from service.actions.record_tables import tables
from service.domain.rules import not_asked_for
from service.domain.site import Project
from service.history import facts as f
from service.history.encoding import to_json
from service.history.entries import Entry, leaf_hash, read_entry
from service.history.replay import replay
from service.media.headers import what_is
from service.media.refusals import BadPicture
from service.storage import books
from service.storage.seen import names_in, project_seen_by

VERSION = 1
PIECE = 1024 * 1024
ENDINGS = {"png": "png", "jpeg": "jpg", "webp": "webp", "pdf": "pdf"}


@dataclass(frozen=True)
class Record:
    """An open file, at its start, that is gone from the disk when it is closed."""

    name: str
    size: int
    file: BinaryIO


@dataclass
class Bundle:
    """A ZIP being written, and what its manifest will say. Every file carries the last entry's time, so that
    the same history gives the same bytes."""

    zip: zipfile.ZipFile
    at: datetime
    files: list[dict[str, str | int]] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    damaged: list[str] = field(default_factory=list)

    def put(self, path: str, content: BinaryIO, *, packed: bool = True, sha256: str | None = None) -> None:
        """Add a file, hashed as it goes in. `sha256`: what its name promises; where the bytes are others, the
        file goes in as it is and is told as damaged."""
        info = zipfile.ZipInfo(path, (max(self.at.year, 1980), *self.at.timetuple()[1:6]))
        info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        info.external_attr = 0o644 << 16
        digest, size = hashlib.sha256(), 0
        with self.zip.open(info, "w", force_zip64=True) as into:
            while piece := content.read(PIECE):
                digest.update(piece)
                size += len(piece)
                into.write(piece)
        self.files.append({"path": path, "sha256": digest.hexdigest(), "bytes": size})
        if sha256 is not None and digest.hexdigest() != sha256:
            self.damaged.append(path)

    def text(self, path: str, content: str) -> None:
        self.put(path, io.BytesIO(content.encode()))


def make_record(desk: Desk, by: str, project_id: str) -> Record:
    """The record as the history stands now, in a temporary file beside the blobs."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        allow(seen, "read the history")
        names, contents = names_in(session, project_id), books.contents(session, project_id)
    file: BinaryIO = tempfile.TemporaryFile(dir=desk.blobs.folder / "coming")  # noqa: SIM115  # handed on open
    try:
        _fill(desk, file, contents, names)
        size = file.seek(0, io.SEEK_END)
        file.seek(0)
    except BaseException:
        file.close()
        raise
    plain = re.sub(r"[^A-Za-z0-9-]", "-", project_id)
    return Record(f"laptight-record-{plain}-{len(contents)}.zip", size, file)


def _fill(desk: Desk, file: BinaryIO, contents: list[bytes], names: dict[str, str]) -> None:
    entries = [read_entry(content) for content in contents]
    leaves = [leaf_hash(content) for content in contents]
    # The facts are told from the entries that go out with them, never from the tables: they cannot disagree.
    site = replay(entries)
    assert site.project is not None, "a history starts with its project"
    with zipfile.ZipFile(file, "w") as archive:
        bundle = Bundle(archive, entries[-1].at)
        bundle.put("entries.jsonl", io.BytesIO(b"".join(content + b"\n" for content in contents)))
        bundle.text("project.json", _project(site.project))
        for name, text in tables(site, entries, leaves, names).items():
            bundle.text(name, text)
        _pictures(desk, bundle, entries)
        last_hash = leaves[-1].hex()
        bundle.text("README.txt", _readme(site.project, len(entries), last_hash, bundle))
        bundle.text("manifest.json", _manifest(site.project, len(entries), last_hash, bundle))


def _project(project: Project) -> str:
    told = {**to_json(project), "not_asked_for": list(not_asked_for(project.sheet))}
    return json.dumps(told, ensure_ascii=False, indent=2, sort_keys=True) + "\n"


def _pictures(desk: Desk, bundle: Bundle, entries: Iterable[Entry]) -> None:
    """Every picture the history names: each revision of a sketch as it was uploaded, and each photo."""
    wanted: dict[tuple[str, str], None] = {}
    for entry in entries:
        if isinstance(entry.fact, f.SketchAdded | f.SketchRevised):
            wanted["sketches", entry.fact.sha256] = None
        elif isinstance(entry.fact, f.PhotoAdded):
            wanted["photos", entry.fact.sha256] = None
    for folder, sha256 in wanted:
        path = desk.blobs.path(sha256)
        try:
            source = path.open("rb")
        except FileNotFoundError:
            bundle.missing.append(f"{folder}/{sha256}")
            continue
        with source:
            bundle.put(f"{folder}/{sha256}.{_ending(path)}", source, packed=False, sha256=sha256)


def _ending(path: Path) -> str:
    try:
        return ENDINGS[what_is(path)]
    except BadPicture:
        return "bin"


def _manifest(project: Project, size: int, last_hash: str, bundle: Bundle) -> str:
    told = {
        "record": VERSION,
        "project": project.id,
        "entries": size,
        "last_hash": last_hash,
        "checkpoint": None,
        "files": bundle.files,
        "missing": bundle.missing,
        "damaged": bundle.damaged,
    }
    return json.dumps(told, ensure_ascii=False, indent=2) + "\n"


def _readme(project: Project, size: int, last_hash: str, bundle: Bundle) -> str:
    unasked = ", ".join(not_asked_for(project.sheet)) or "nothing"
    return f"""The record of "{project.name}"

This is a quality record of the film under a slab: what was found, how it was patched, which zones were
released, by whom and when. It is not engineering advice and does not replace the engineer of record, the
local code or the film maker's instructions.

entries.jsonl   the history, {size} entries, one a line, in order: the exact bytes that are kept (canonical
                JSON, RFC 8785). Lengths are whole nanometres, angles millionths of a degree, places on a
                sketch thousandths of a pixel of its first picture. The service only ever adds to it.
history.csv     the same as sentences, with each entry's leaf hash (SHA-256 of a zero byte and the line
                without its line end, RFC 6962). The last is
                {last_hash}
project.json    the project and the numbers it is held to. Its gate did not ask for: {unasked}.
*.csv           the facts as they stand after the last entry, told from the entries alone. States are worked
                out from them. A cell that a spreadsheet would run as a formula has a ' in front;
                entries.jsonl has the text as it was typed.
sketches/       each picture as it was uploaded, named by its SHA-256.
photos/         each photo as it is kept, turned upright and stripped of all but its pixels, named likewise.
manifest.json   the SHA-256 and size of every file here but itself.

What this record does not hold yet: a signed checkpoint. The hashes show that the files fit one another. They
do not show, by themselves, that nobody wrote the history anew before it was handed out.

{_lost(bundle)}"""


def _lost(bundle: Bundle) -> str:
    lines = [
        f"Missing, named by the history and not found where it was kept: {path}" for path in bundle.missing
    ]
    lines += [f"Damaged, its bytes no longer fit its name: {path}" for path in bundle.damaged]
    return "\n".join(lines or ["Every picture that the history names is here, and fits its name."]) + "\n"
