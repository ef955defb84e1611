"""One entry's proof as a file: its place, the hashes up to the root, the checkpoint (C2SP tlog-proof)."""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass

from service.history.proofs.checkpoints import Checkpoint, checkpoint_in
from service.history.proofs.merkle import HASH_BYTES, BadProof, check_inclusion, inclusion_parts
from service.history.proofs.notes import MOST_BYTES, from_base64

FIRST_LINE = "c2sp.org/tlog-proof@v1"
SUFFIX = ".tlog-proof"
MOST_HASHES = 64  # a tree of 2**64 leaves asks for no more
_INDEX = re.compile(r"index (0|[1-9][0-9]{0,15})")

LEFT, RIGHT = "left", "right"


@dataclass(frozen=True, slots=True)
class EntryProof:
    """`index`: the entry's number less one; `hashes`: 32 bytes each, from the leaf's sibling up; `note`: the
    signed checkpoint word for word; `extra`: free bytes that nobody signed."""

    index: int
    hashes: tuple[bytes, ...]
    note: str
    extra: bytes = b""

    @property
    def seq(self) -> int:
        """The entry's number in the history, which counts from 1."""
        return self.index + 1

    @property
    def text(self) -> str:
        """The file. Its last lines are the checkpoint exactly as it was signed."""
        head = [FIRST_LINE]
        if self.extra:
            head.append(f"extra {base64.b64encode(self.extra).decode()}")
        head.append(f"index {self.index}")
        head.extend(base64.b64encode(one).decode() for one in self.hashes)
        return "".join(f"{line}\n" for line in head) + "\n" + self.note

    def check(self, leaf: bytes) -> Checkpoint:
        """The checkpoint this proof leads to from a leaf hash (32 bytes). Who signed it is not looked at.

        BadProof when it does not lead there, BadNote when the note is no checkpoint.
        """
        checkpoint = checkpoint_in(self.note)
        check_inclusion(self.index, checkpoint.size, leaf, self.hashes, checkpoint.root)
        return checkpoint


def sides(index: int, size: int) -> list[str]:
    """Where each hash of an entry's proof stands, left or right of what was hashed so far."""
    return [RIGHT if start > index else LEFT for start, _ in inclusion_parts(index, size)]


def read_proof(text: str) -> EntryProof:
    """A proof from its file; nothing is checked but its form.

    BadProof when it is formed otherwise, BadNote when its checkpoint is.
    """
    if len(text) > MOST_BYTES:
        raise BadProof("the proof is too long")
    head, parted, note = text.partition("\n\n")
    first, *lines = head.split("\n")
    if first != FIRST_LINE or not parted:
        raise BadProof("that is no proof of an entry")
    extra = _bytes(lines.pop(0).removeprefix("extra ")) if lines and lines[0].startswith("extra ") else b""
    index = _INDEX.fullmatch(lines.pop(0)) if lines else None
    if index is None or len(lines) > MOST_HASHES:
        raise BadProof("the proof names no entry, or too many hashes")
    hashes = tuple(_bytes(line) for line in lines)
    if any(len(one) != HASH_BYTES for one in hashes):
        raise BadProof("a hash of the proof is no SHA-256")
    checkpoint_in(note)
    proof = EntryProof(int(index[1]), hashes, note, extra)
    if proof.text != text:  # one proof has one text
        raise BadProof("the proof is not written as its form asks")
    return proof


def _bytes(line: str) -> bytes:
    try:
        return from_base64(line)
    except ValueError as bad:
        raise BadProof("a line of the proof cannot be read") from bad
