"""What programs get of checkpoints, of an entry's proof, and of an old checkpoint held to the history."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from service.api.answers.marks import Entry
from service.api.answers.sites import Answer, Time

Hex = Annotated[str, Field(description="A SHA-256 in hex.")]
Note = Annotated[str, Field(description="The signed note, word for word (C2SP tlog-checkpoint).")]


class Key(Answer):
    """A key that signs the history: its fingerprint (SHA-256 of its DER), itself as a verifier key, and which
    entries it signs, `until` null while it is in use."""

    fingerprint: Hex
    vkey: str
    since: int
    until: int | None


class Given(Answer):
    """The entry that says how a checkpoint left: by whom, when, and its sentence."""

    by: str
    by_id: str
    role: str
    at: Time
    sentence: str


class KeptCheckpoint(Answer):
    """A checkpoint that left. `root` is null where the kept note cannot be read, `given` and
    `key_fingerprint` where no entry says that it left: it was changed where it is kept."""

    size: int
    note: Note
    root: Hex | None
    key_fingerprint: Hex | None
    given: Given | None
    timestamps: list[Time]


class OneCheckpoint(KeptCheckpoint):
    """`faults`: what does not fit of key, signature and the tree kept with the history; none, and it holds.
    Whether every entry still is what it was, `POST .../checkpoints/check` says."""

    holds: bool
    faults: list[str]


class Timestamp(Answer):
    """An authority's word (RFC 3161) that the checkpoint of `size` was there at `at`; `entry` says so."""

    size: int
    at: Time
    token_sha256: Hex
    chain_sha256: Hex
    entry: int


class Checkpoints(Answer):
    """The newest first; the key in use first."""

    checkpoints: list[KeptCheckpoint]
    keys: list[Key]


class Proof(Answer):
    """That the entry stands in the history of a checkpoint: `hashes` from the leaf's sibling up, each with
    the side it stands on; `text` is the whole as a file (C2SP tlog-proof), the entry's bytes in it."""

    index: int
    size: int
    root: Hex
    hashes: list[Hex]
    sides: list[str]
    note: Note
    key_fingerprint: Hex
    text: str


class NameTold(Answer):
    """A name that the entry tells by its salted hash. `stands`: opens, erased, untold, or does not open."""

    name_sha256: str
    stands: str
    name: str | None


class EntryWithProof(Entry):
    """`content`: the exact bytes, as text. `proof` is null where no checkpoint that left covers the entry, or
    where something does not fit, which `faults` say."""

    content: str
    proof: Proof | None
    faults: list[str]
    name: NameTold | None


class Point(Answer):
    code: str
    holds: bool
    text: str


class Growth(Answer):
    """That the history of `new` entries begins with that of `old`: hashes of RFC 6962 section 2.1.2; `text`
    is the whole as a file (C2SP tlog-witness)."""

    old: int
    new: int
    hashes: list[Hex]
    note: Note
    text: str


class OldCheckpoint(Answer):
    """`holds`: everything does. `first`: the first entry that does not fit, where it is known, `entry` as it
    is told now; `between`: where it is not, the entries among which it is, both inclusive."""

    holds: bool
    size: int | None
    points: list[Point]
    first: int | None
    entry: Entry | None
    between: list[int] | None
    growth: Growth | None
