"""All that holds of a record, in its order: history, checkpoint, keys, manifest, files, names, judgements."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass, field

from service.domain.nouns.site import Site
from service.history.facts.entries import Entry
from service.history.facts.evidence import RecordMade
from service.history.proofs.notes import BadNote
from service.history.verifying.findings import Files, Finding, Unreadable, count, fails, holds, told
from service.history.verifying.judging import judge_all
from service.history.verifying.keys import key_findings, keys_of
from service.history.verifying.lines import History, order_faults, read_lines, stream_faults
from service.history.verifying.manifest import (
    MOST_MANIFEST_BYTES,
    BadManifest,
    Manifest,
    file_findings,
    logged_findings,
    named_by,
    read_manifest,
)
from service.history.verifying.names import name_findings
from service.history.verifying.outside import NO_ANCHOR, key_given_findings
from service.history.verifying.records import CHECKPOINT, ENTRIES, LEAVES, MANIFEST, NAMES
from service.history.verifying.signed import (
    MOST_NOTE_BYTES,
    Against,
    Signed,
    checkpoint_findings,
    earlier_findings,
    kept_findings,
    read_earlier,
    read_signed,
)
from service.history.verifying.stamps import stamp_findings
from service.history.verifying.tree import Roots, changed, narrowed, read_leaves

MOST_ENTRIES_BYTES = 1024**3
MOST_TABLE_BYTES = 1024**3


@dataclass(slots=True)
class Checked:
    """What was found, and what of the record is sound enough to ask more of.

    `entries`: where they count without a gap. `site` and the `states` of its zones: after entry `up_to`,
    where the history can be followed.
    """

    findings: list[Finding] = field(default_factory=list)
    project: str = ""
    size: int = 0
    up_to: int = 0
    entries: list[Entry] | None = None
    leaves: list[bytes] = field(default_factory=list)
    site: Site | None = None
    states: dict[str, str] = field(default_factory=dict)


def check(files: Files, kept: bytes | None = None, key: str | None = None, *, judge: bool = True) -> Checked:
    """`kept`: a checkpoint somebody kept; `key`: a fingerprint as `read_fingerprint` returns it.

    `judge` false leaves out what is worked out again, for measuring alone: the record is then not told whole.
    """
    found = Checked()
    history = _history(files, found)
    if history is None:
        return found
    found.leaves, found.project, found.size = history.leaves, history.project, len(history.leaves)
    entries = [entry for entry in history.entries if entry is not None]
    against = Against(history.project, Roots(history.leaves), keys_of(entries))
    own, manifest = _own(files, found), _manifest(files, found)
    earlier, bad = read_earlier(files)
    found.up_to = _up_to(entries, manifest)
    add = found.findings.extend
    add(told(_history_findings(files, history, own, earlier, against)))
    add(told(key_findings(files, history.project, against.keys)))
    add(told(earlier_findings(earlier, bad, entries, found.up_to, against)))
    if manifest is not None:
        add(told(logged_findings(manifest, entries)))
        add(told(file_findings(files, manifest, named_by(entries[: found.up_to]))))
    add(told(_leaf_findings(files, history.leaves[: found.up_to])))
    add(told(_name_findings(files, entries)))
    add(told(stamp_findings(files, entries[: found.up_to])))
    if kept is not None:
        add(told(kept_findings(kept, against)))
    if key is not None:
        add(told(key_given_findings(key, found.size, earlier, against)))
    if kept is None and key is None:
        found.findings.append(NO_ANCHOR)
    found.entries = history.whole
    if judge:
        _judge(found)
    return found


def _history(files: Files, found: Checked) -> History | None:
    content = _content(files, ENTRIES, MOST_ENTRIES_BYTES, found)
    return None if content is None else read_lines(content)


def _content(files: Files, name: str, most: int, found: Checked) -> bytes | None:
    """A file without which nothing can be told; None, and a fault, where it cannot be read."""
    try:
        return files.content(name, most)
    except KeyError:
        found.findings.append(fails("file-missing", f"{name} is missing: without it this is no record."))
    except Unreadable as bad:
        found.findings.append(fails(bad.code, bad.words))
    return None


def _own(files: Files, found: Checked) -> Signed | None:
    content = _content(files, CHECKPOINT, MOST_NOTE_BYTES, found)
    try:
        return None if content is None else read_signed("The checkpoint", content)
    except BadNote as bad:
        found.findings.append(fails("checkpoint-unreadable", f"The checkpoint cannot be read: {bad}."))
    return None


def _manifest(files: Files, found: Checked) -> Manifest | None:
    content = _content(files, MANIFEST, MOST_MANIFEST_BYTES, found)
    try:
        return None if content is None else read_manifest(content)
    except BadManifest as bad:
        found.findings.append(fails("manifest-unreadable", f"{MANIFEST} is no manifest: {bad}."))
    return None


def _up_to(entries: list[Entry], manifest: Manifest | None) -> int:
    """After which entry the record tells the site, as its last entry says, else its manifest."""
    last = entries[-1].fact if entries else None
    most = len(entries)
    if isinstance(last, RecordMade):
        return max(0, min(last.up_to, most))
    return max(0, min(manifest.up_to, most)) if manifest else most


# --- the history against its checkpoint --------------------------------------------------------------------


def _history_findings(
    files: Files, history: History, own: Signed | None, earlier: list[Signed], against: Against
) -> Iterator[Finding]:
    size = own.checkpoint.size if own else None
    faults = [*history.faults, *order_faults(history, size), *stream_faults(history)]
    if own is not None and against.roots.at(own.checkpoint.size) != own.checkpoint.root:
        faults += _changes(files, history, earlier, against, bool(faults))
    yield from faults
    if not faults:
        words = count(len(history.leaves), "entry", "entries")
        yield holds("history", f"The history has {words}, in order and without a gap.")
    if own is not None:
        yield from checkpoint_findings(own, against)


def _changes(
    files: Files, history: History, earlier: list[Signed], against: Against, told_already: bool
) -> Iterator[Finding]:
    """Which entries were changed, by name where leaves.txt tells it, else between which two they lie."""
    try:
        leaves = read_leaves(files.content(LEAVES, MOST_TABLE_BYTES))
    except (KeyError, Unreadable):
        leaves = None
    named = list(changed(history, leaves)) if leaves else []
    yield from named
    if not named and not told_already:
        roots = [(signed.checkpoint.size, signed.checkpoint.root) for signed in earlier]
        first, last = narrowed(against.roots, [*roots, *_leaf_root(leaves)])
        where = f"entry {first:,}" if first == last else f"one of the entries {first:,} to {last:,}"
        yield fails("entry-changed", f"By its earlier checkpoints, {where} or the checkpoint was changed.")


def _leaf_root(leaves: list[bytes] | None) -> list[tuple[int, bytes]]:
    root = Roots(leaves).at(len(leaves)) if leaves else None
    return [(len(leaves), root)] if leaves and root else []


def _leaf_findings(files: Files, leaves: list[bytes]) -> Iterator[Finding]:
    try:
        listed = read_leaves(files.content(LEAVES, MOST_TABLE_BYTES))
    except (KeyError, Unreadable):
        return  # told where all files are
    if listed is None:
        yield fails("leaves", f"{LEAVES} is no list of hashes.")
    elif listed != leaves:
        first = next((n for n, (a, b) in enumerate(zip(listed, leaves, strict=False), 1) if a != b), None)
        where = f"the hash of entry {first:,}" if first else "as many entries as the record tells of"
        yield fails("leaves", f"{LEAVES} does not tell {where}.")
    else:
        yield holds("leaves", f"{LEAVES} tells the hash of every entry as it is.")


# --- names and judgements ----------------------------------------------------------------------------------


def _name_findings(files: Files, entries: list[Entry]) -> Iterator[Finding]:
    try:
        rows = rows_of(files.content(NAMES, MOST_TABLE_BYTES))
    except (KeyError, Unreadable):
        return  # told where all files are
    except ValueError:
        yield fails("table", f"{NAMES} is no table.")
        return
    yield from name_findings(rows, entries)


def rows_of(content: bytes) -> list[dict[str, str]]:
    """The rows of a table by the names of its columns. ValueError when it is none."""
    try:
        lines = (f"{line}\n" for line in content.decode().removesuffix("\n").split("\n"))
        return [
            {str(k): v or "" for k, v in row.items() if isinstance(v, str)} for row in csv.DictReader(lines)
        ]
    except csv.Error as bad:
        raise ValueError("no table") from bad


def _judge(found: Checked) -> None:
    if found.entries is None:
        told = "The history is not whole: nothing that its entries tell as judged was worked out again."
        found.findings.append(fails("not-judged", told))
        return
    judged = judge_all(found.entries, found.up_to)
    found.site, found.states = judged.site, judged.states
    found.findings.extend(_capped(judged.findings))


def _capped(findings: list[Finding]) -> Iterator[Finding]:
    return told(findings)
