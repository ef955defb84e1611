"""Every file of a record that its manifest lists, told from the entries that go out with them."""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from service.actions.closeout.certificates import History
from service.actions.frame.cells import table
from service.actions.frame.desk import Desk
from service.actions.record.bundle import Bundle
from service.actions.record.index import index_of
from service.actions.record.papers import papers
from service.actions.record.tables import tables
from service.domain.nouns.rules import not_asked_for
from service.domain.nouns.site import Project
from service.history.facts.encoding import to_json
from service.history.facts.entries import Entry, read_entry
from service.history.facts.evidence import TimestampReceived
from service.history.facts.named_files import CHAIN, PHOTO, SKETCH, TIMESTAMP, files_of
from service.history.replay.replay import replay
from service.history.verifying.records import LEAVES, NAMES, key_files, keys_named, leaves_text
from service.media.headers import what_is
from service.media.refusals import BadPicture
from service.papers.record import verify_alone
from service.papers.record.index_page import Link, index_html
from service.papers.record.readme import lost_words, readme
from service.storage.history.naming import Naming

# Of the files that a history names the small photo alone is left out: it shows what the photo shows.
FOLDERS = {SKETCH: "sketches", PHOTO: "photos"}
STAMPS = {TIMESTAMP: "tsr", CHAIN: "pem"}
ENDINGS = {"png": "png", "jpeg": "jpg", "webp": "webp", "pdf": "pdf"}


@dataclass(frozen=True)
class Told:
    """What a record is made of, as of one moment. `contents`: each entry's bytes as they are kept, never
    encoded anew; `leaves`: their hashes as they were recorded. `names`: person to name as told today;
    `namings`: what opens the history's hashes of names; `kept`: size and note of every checkpoint that left;
    `key`: the one that signs the record, 32 bytes."""

    project_id: str
    contents: tuple[bytes, ...]
    leaves: tuple[bytes, ...]
    names: dict[str, str]
    namings: tuple[Naming, ...]
    kept: tuple[tuple[int, str], ...]
    key: bytes


def fill(desk: Desk, bundle: Bundle, told: Told) -> None:
    """Put every file in that the manifest will list."""
    entries = [read_entry(content) for content in told.contents]
    # The facts are told from the entries that go out with them, never from the tables: they cannot disagree.
    site = replay(entries)
    assert site.project is not None, "a history starts with its project"
    keys = list(dict.fromkeys((*keys_named(entries), told.key)))
    for path, text in key_files(told.project_id, keys).items():
        bundle.text(path, text)
    for size, note in told.kept:
        bundle.text(f"checkpoints/{size}", note)
    bundle.text(LEAVES, leaves_text(told.leaves))
    bundle.text(NAMES, _names(told.namings))
    bundle.text("project.json", _project(site.project))
    for path, text in tables(site, entries, told.leaves, told.names).items():
        bundle.text(path, text)
    _timestamps(desk, bundle, entries)
    _pictures(desk, bundle, entries)
    history = History(told.contents, told.leaves, told.names, told.kept)
    printed: dict[str, Link] = {}
    for link, paper in papers(site, entries, told.names, history, base64.b64encode(told.key).decode()):
        bundle.put(link.href, io.BytesIO(paper))
        printed[link.href] = link
    bundle.text("verify.py", Path(verify_alone.__file__).read_text())
    told_in = {file["path"] for file in bundle.files}
    stamped = [size for size, _ in told.kept if f"timestamps/{size}.tsr" in told_in]
    about = readme(
        site.project, len(entries), told.key,
        stamped=stamped, missing=bundle.missing, damaged=bundle.damaged,
    )  # fmt: skip
    bundle.text("README.txt", about)
    paths = {str(file["path"]) for file in bundle.files}
    lost = lost_words(bundle.missing, bundle.damaged)
    bundle.text("index.html", index_html(index_of(site, entries, told.names, told.key, paths, printed, lost)))


def _names(namings: Sequence[Naming]) -> str:
    """What opens each hash of a name; a name that was erased has no row."""
    rows = ((naming.person, naming.name, naming.salt.hex(), naming.name_sha256) for naming in namings)
    return table(("person", "name", "salt", "name_sha256"), rows)


def _project(project: Project) -> str:
    told = {**to_json(project), "not_asked_for": list(not_asked_for(project.sheet))}
    return json.dumps(told, ensure_ascii=False, indent=2, sort_keys=True) + "\n"


def _pictures(desk: Desk, bundle: Bundle, entries: Iterable[Entry]) -> None:
    """Every picture the history names: each revision of a sketch, and each photo."""
    wanted = dict.fromkeys(
        (FOLDERS[what], sha256)
        for entry in entries
        for what, sha256 in files_of(entry.fact)
        if what in FOLDERS
    )
    for folder, sha256 in wanted:
        _blob(desk, bundle, sha256, f"{folder}/{sha256}", None)


def _timestamps(desk: Desk, bundle: Bundle, entries: Iterable[Entry]) -> None:
    """The first token received of each checkpoint, with the chain that vouches for it."""
    first: dict[int, TimestampReceived] = {}
    for entry in entries:
        if isinstance(entry.fact, TimestampReceived):
            first.setdefault(entry.fact.size, entry.fact)
    for size, fact in first.items():
        for what, sha256 in files_of(fact):
            _blob(desk, bundle, sha256, f"timestamps/{size}", STAMPS[what])


def _blob(desk: Desk, bundle: Bundle, sha256: str, stem: str, ending: str | None) -> None:
    """A file kept by its hash, straight from the disk; told as missing where it is gone."""
    try:
        path = desk.blobs.file(sha256)
        source = path.open("rb")
    except FileNotFoundError:
        bundle.missing.append(stem if ending is None else f"{stem}.{ending}")
        return
    with source:
        bundle.put(f"{stem}.{ending or _ending(path)}", source, packed=ending is not None, sha256=sha256)


def _ending(path: Path) -> str:
    try:
        return ENDINGS[what_is(path)]
    except BadPicture:
        return "bin"
