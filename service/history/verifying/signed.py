"""Signed checkpoints against the history: the record's own, every earlier one that left, one kept outside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.history.facts.entries import Entry
from service.history.facts.evidence import CheckpointGiven, KeyChanged, RecordMade
from service.history.proofs.checkpoints import (
    Checkpoint,
    fingerprint,
    in_fours,
    key_of,
    origin_of,
    read_checkpoint,
)
from service.history.proofs.notes import BadNote, Note, read_note
from service.history.verifying.findings import Files, Finding, Unreadable, count, fails, holds
from service.history.verifying.keys import Keys, short
from service.history.verifying.tree import Roots

MOST_NOTE_BYTES = 64 * 1024


@dataclass(frozen=True, slots=True)
class Signed:
    """A checkpoint as read, nothing checked yet. `name`: how it is told of."""

    name: str
    note: Note
    checkpoint: Checkpoint


@dataclass(frozen=True, slots=True)
class Against:
    """What checkpoints are held against."""

    project: str
    roots: Roots
    keys: Keys


def read_signed(name: str, content: bytes) -> Signed:
    """BadNote when it is no signed checkpoint."""
    try:
        note = read_note(content.decode())
    except UnicodeDecodeError as bad:
        raise BadNote("that is no text") from bad
    return Signed(name, note, read_checkpoint(note.text))


def signature_faults(signed: Signed, against: Against) -> Iterator[Finding]:
    """Whether exactly the keys in force at its size signed it, and nobody else."""
    keys, name = against.keys, signed.name
    known = {(vkey.name, vkey.id): vkey for vkey in (key_of(against.project, key) for key in keys.all)}
    may = keys.at(signed.checkpoint.size)
    by: list[bytes] = []
    for one in signed.note.signatures:
        key = known.get((one.name, one.key_id))
        if key is None:
            told = f"{name} is signed with a key that the history does not name, under {one.name[:80]}."
            yield fails("other-key", told)
        elif not key.fits(signed.note.text.encode(), one.signature):
            told = f"The signature of {name} does not fit it: the checkpoint or the signature was changed."
            yield fails("signature", told)
        elif key.public in by or key.public not in may:
            told = f"{name} is signed with the key {short(key.public)}, which did not sign the history then."
            yield fails("other-key", told)
        else:
            by.append(key.public)
    if may and may[0] not in by and len(signed.note.signatures) == len(by):
        told = f"{name} is not signed with {short(may[0])}, the key in force at its size."
        yield fails("other-key", told)


def place_faults(signed: Signed, against: Against) -> Iterator[Finding]:
    """Whether it is a checkpoint of this project's log."""
    if signed.checkpoint.origin != origin_of(against.project):
        told = f"{signed.name} is of another project: {signed.checkpoint.origin[:80]}."
        yield fails("checkpoint-other-project", told)


# --- the record's own ------------------------------------------------------------------------------------


def checkpoint_findings(signed: Signed, against: Against) -> Iterator[Finding]:
    """The checkpoint of the whole history: of its size, with its root, signed with the key in force."""
    roots, checkpoint = against.roots, signed.checkpoint
    faults = [*place_faults(signed, against), *signature_faults(signed, against)]
    if checkpoint.size != roots.size and roots.at(checkpoint.size) == checkpoint.root:
        told = (
            f"The checkpoint fits the first {count(checkpoint.size, 'entry', 'entries')} and the history has "
            f"{roots.size:,}: it is an older one of this history, put in the place of its own."
        )
        faults.insert(0, fails("checkpoint-does-not-fit", told))
    elif checkpoint.size != roots.size or roots.at(checkpoint.size) != checkpoint.root:
        told = (
            f"The checkpoint is of {count(checkpoint.size, 'entry', 'entries')}, and does not fit the "
            f"{count(roots.size, 'entry', 'entries')} here: their bytes give another root."
        )
        faults.insert(0, fails("checkpoint-does-not-fit", told))
    if faults:
        yield from faults
        return
    key = against.keys.at(checkpoint.size)[0]
    yield holds(
        "checkpoint",
        f"The checkpoint fits every byte of the {count(roots.size, 'entry', 'entries')}, and its signature "
        f"fits. It is signed with the key whose fingerprint is {in_fours(fingerprint(key))}.",
    )


# --- the earlier ones ------------------------------------------------------------------------------------


def earlier_names(files: Files) -> list[str]:
    return [name for name in files.names if name.startswith("checkpoints/")]


def read_earlier(files: Files) -> tuple[list[Signed], list[Finding]]:
    """Every earlier checkpoint in the record, by size, and a fault for what is none."""
    found, faults = [], []
    for name in earlier_names(files):
        try:
            signed = read_signed(name, files.content(name, MOST_NOTE_BYTES))
        except Unreadable as bad:
            faults.append(fails(bad.code, bad.words))
            continue
        except BadNote as bad:
            faults.append(fails("earlier-unreadable", f"{name} is no signed checkpoint: {bad}."))
            continue
        if name != f"checkpoints/{signed.checkpoint.size}":
            told = f"{name} holds a checkpoint of {count(signed.checkpoint.size, 'entry', 'entries')}."
            faults.append(fails("earlier-does-not-fit", told))
        found.append(signed)
    return sorted(found, key=lambda signed: signed.checkpoint.size), faults


def earlier_findings(
    earlier: Sequence[Signed],
    faults: Sequence[Finding],
    entries: Sequence[Entry],
    up_to: int,
    against: Against,
) -> Iterator[Finding]:
    """Each earlier checkpoint is a prefix of this history, signed with the key of its time, and an entry says
    that it left; and each that an entry says left is here. `up_to`: what happened later may be missing."""
    yield from faults
    wrong = list(faults)
    for signed in earlier:
        found = [
            *place_faults(signed, against),
            *_prefix(signed, against),
            *signature_faults(signed, against),
        ]
        yield from found
        wrong += found
    there = {signed.checkpoint.size for signed in earlier}
    gave = [entry.seq for entry in entries if isinstance(entry.fact, CheckpointGiven | RecordMade)]
    may = {*gave, *(entry.seq for entry in entries if isinstance(entry.fact, KeyChanged))}
    for size in sorted(size for size in gave if size <= up_to and size not in there):
        told = f"Entry {size:,} says that a checkpoint left then, and checkpoints/{size} is missing."
        wrong.append(fails("earlier-missing", told))
        yield wrong[-1]
    for size in sorted(there - may):
        told = f"checkpoints/{size} is here, and no entry says that a checkpoint left then."
        wrong.append(fails("earlier-unsaid", told))
        yield wrong[-1]
    if not wrong and earlier:
        what = count(len(earlier), "earlier checkpoint")
        yield holds("earlier", f"{what} that left before: this history begins with what each of them says.")


def _prefix(signed: Signed, against: Against) -> Iterator[Finding]:
    size, root = signed.checkpoint.size, signed.checkpoint.root
    if against.roots.at(size) != root:
        told = f"{signed.name} is no beginning of this history: its first {size:,} entries give another root."
        if size > against.roots.size:
            told = f"{signed.name} is of more entries than this history has: it is no beginning of it."
        yield fails("earlier-does-not-fit", told)


# --- one that was kept outside ---------------------------------------------------------------------------


def kept_findings(content: bytes, against: Against) -> Iterator[Finding]:
    """A checkpoint that somebody kept since: the history has to grow from it."""
    name = "The checkpoint that was kept"
    try:
        kept = read_signed(name, content)
    except BadNote as bad:
        yield fails("kept-unreadable", f"{name} cannot be read: {bad}.")
        return
    size, roots = kept.checkpoint.size, against.roots
    if kept.checkpoint.origin != origin_of(against.project):
        told = f"{name} is of another project: {kept.checkpoint.origin[:80]}. It says nothing about this one."
        yield fails("kept-other-project", told)
        return
    if size > roots.size:
        told = (
            f"{name} is of {count(size, 'entry', 'entries')}, and this history has {roots.size:,}: either "
            "the record is older than the checkpoint, or its end was cut off."
        )
        yield fails("kept-newer", told)
        return
    faults = list(signature_faults(kept, against))
    if roots.at(size) != kept.checkpoint.root:
        faults.insert(0, fails("kept-does-not-fit", _no_growth(size)))
    if faults:
        yield from faults
        return
    first = count(size, "entry", "entries")
    yield holds(
        "kept", f"The history grows from the checkpoint that was kept: its first {first} are unchanged."
    )


def _no_growth(size: int) -> str:
    entry = "entry 1" if size == 1 else f"one of the first {size:,} entries"
    return (
        f"This history does not grow from the checkpoint that was kept: {entry} is another now than it was "
        "then. Whoever holds the signing key wrote the history anew."
    )
