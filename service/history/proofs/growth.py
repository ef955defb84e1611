"""That a history only grew, as a file: old size, hashes between, newer checkpoint (C2SP tlog-witness).

The form is the one in which a log shows a witness that a new checkpoint begins with the old one.
"""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass

from service.history.proofs.checkpoints import Checkpoint, checkpoint_in
from service.history.proofs.merkle import HASH_BYTES, BadProof, check_consistency
from service.history.proofs.notes import MOST_BYTES, from_base64

MOST_HASHES = 63  # as the form allows
_OLD = re.compile(r"old (0|[1-9][0-9]{0,15})")


@dataclass(frozen=True, slots=True)
class Growth:
    """`old`: how many entries there were; `hashes`: 32 bytes each (RFC 6962 section 2.1.2); `note`: the newer
    signed checkpoint word for word."""

    old: int
    hashes: tuple[bytes, ...]
    note: str

    @property
    def new(self) -> int:
        """How many entries the newer checkpoint covers."""
        return checkpoint_in(self.note).size

    @property
    def text(self) -> str:
        """The file. Its last lines are the newer checkpoint exactly as it was signed."""
        lines = [f"old {self.old}", *(base64.b64encode(one).decode() for one in self.hashes)]
        return "".join(f"{line}\n" for line in lines) + "\n" + self.note

    def check(self, old_root: bytes) -> Checkpoint:
        """The newer checkpoint, which begins with the entries of the old root. Its signer is not looked at.

        BadProof when it does not, BadNote when the note is no checkpoint.
        """
        newer = checkpoint_in(self.note)
        check_consistency(self.old, newer.size, old_root, newer.root, self.hashes)
        return newer


def read_growth(text: str) -> Growth:
    """A proof from its file; nothing is checked but its form. BadProof or BadNote where that is another."""
    head, parted, note = text.partition("\n\n")
    first, *lines = head.split("\n")
    old = _OLD.fullmatch(first)
    if len(text) > MOST_BYTES or old is None or not parted or len(lines) > MOST_HASHES:
        raise BadProof("that is no proof that a history only grew")
    try:
        hashes = tuple(from_base64(line) for line in lines)
    except ValueError as bad:
        raise BadProof("a line of the proof cannot be read") from bad
    if any(len(one) != HASH_BYTES for one in hashes):
        raise BadProof("a hash of the proof is no SHA-256")
    checkpoint_in(note)
    return Growth(int(old[1]), hashes, note)
