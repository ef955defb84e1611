"""How anybody checks a checkpoint or an entry's proof without us: commands for a shell with openssl.

Each step says what its commands must print. They need sh, the usual small tools (sed, cut, tail, base64,
sha256sum) and OpenSSL 3.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass

from service.domain.words.speech import tr
from service.history.proofs.checkpoints import Checkpoint, fingerprint, pem_of
from service.history.proofs.merkle import leaf_hash
from service.history.proofs.notes import BadNote, VerifierKey, read_note, signed_by
from service.history.proofs.tlog_proof import EntryProof, sides

CHECKPOINT_FILE = "checkpoint.txt"


@dataclass(frozen=True, slots=True)
class Step:
    """`words`: what is done; `commands`: lines for a shell; `prints`: the last line of their output."""

    words: str
    commands: str
    prints: str


def proof_file(seq: int) -> str:
    """What the proof of an entry is called when it is handed out."""
    return f"entry-{seq}.tlog-proof"


def entry_file(seq: int) -> str:
    return f"entry-{seq}.json"


def checkpoint_steps(note: str, public: bytes, file: str = CHECKPOINT_FILE) -> tuple[Step, ...]:
    """The signature of a checkpoint's file, and the key that made it (32 bytes). BadNote when it did not."""
    return (
        Step(
            tr(
                "The key, as openssl reads it. Its fingerprint must be the one you were given on paper or "
                "noted when you first kept a checkpoint."
            ),
            f"cat > key.pem <<'END'\n{pem_of(public)}END\n"
            "openssl pkey -pubin -in key.pem -outform DER | sha256sum | cut -c -64",
            fingerprint(public),
        ),
        Step(
            tr("What was signed are the lines above the empty one; the signature is in the line below it."),
            f"sed '/^$/,$d' {file} > signed.txt\n"
            f"sed '1,/^$/d' {file} | sed -n {_line_of(note, public)}p | cut -d' ' -f3 |"
            " base64 -d | tail -c 64 > signature\n"
            "openssl pkeyutl -verify -pubin -inkey key.pem -rawin -in signed.txt -sigfile signature",
            "Signature Verified Successfully",
        ),
    )


def _line_of(note: str, public: bytes) -> int:
    """Which of a note's signatures this key made, counted from 1. BadNote when none is its."""
    read = read_note(note)
    for number, one in enumerate(read.signatures, 1):
        key = VerifierKey(one.name, public)
        if key.id == one.key_id and signed_by(read, [key]):
            return number
    raise BadNote("the key did not sign this")


def entry_steps(proof: EntryProof, checkpoint: Checkpoint, public: bytes) -> tuple[Step, ...]:
    """From the proof file alone to the signed root. The proof must carry the entry's bytes as its `extra`."""
    file, entry = proof_file(proof.seq), entry_file(proof.seq)
    leaf = f"(printf '\\0'; cat {entry})"
    root = base64.b64encode(checkpoint.root).decode()
    climb = [
        f"{side:<5} {base64.b64encode(one).decode()}"
        for side, one in zip(sides(proof.index, checkpoint.size), proof.hashes, strict=True)
    ]
    return (
        Step(
            tr("The entry's bytes out of the proof, and their leaf hash: SHA-256 of a byte 0 and the bytes."),
            f"sed -n '2s/^extra //p' {file} | base64 -d > {entry}\n{leaf} | sha256sum | cut -c -64",
            leaf_hash(proof.extra).hex(),
        ),
        Step(
            tr("From the leaf up to the root: SHA-256 of a byte 1, what stands left, and what stands right."),
            f"{leaf} | openssl dgst -sha256 -binary > hash\n" + "\n".join((*_SIDES, *climb, "base64 hash")),
            root,
        ),
        Step(
            tr("The checkpoint out of the proof. The root it signs is the one just worked out."),
            f"sed '1,/^$/d' {file} > {CHECKPOINT_FILE}\nsed -n 3p {CHECKPOINT_FILE}",
            root,
        ),
        *checkpoint_steps(proof.note, public),
    )


_SIDES = (
    "up() { openssl dgst -sha256 -binary > higher; mv higher hash; }",
    "left() { (printf '\\1'; echo \"$1\" | base64 -d; cat hash) | up; }",
    "right() { (printf '\\1'; cat hash; echo \"$1\" | base64 -d) | up; }",
)
