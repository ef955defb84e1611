"""A certificate's proof in words and rows, its QR code's text, and how it is checked without us."""

from __future__ import annotations

import base64
from dataclasses import dataclass

from service.domain.words.speech import later, tr, trc
from service.history.certificate.told import Certificate
from service.history.proofs.by_hand import Step, entry_steps
from service.history.proofs.checkpoints import fingerprint, in_fours
from service.history.proofs.tlog_proof import LEFT, sides

Row = tuple[str, ...]

NO_CHECKPOINT = later(
    "No checkpoint was given at this release: it was made before this history was signed, and none that "
    "covers it has left since. Keep a checkpoint of the history now, and this certificate will carry "
    "its proof."
)
WITH_RELEASE = later("This checkpoint left with the release, signed in the same transaction.")
LATER = later(
    "No checkpoint was given at this release: it was made before this history was signed. This one is the "
    "earliest that left afterwards and covers it."
)
WHAT_IT_SHOWS = later(
    "Together they show that the release is in the history that this key signed. That the history was "
    "not made up anew since is shown by a checkpoint that somebody else has kept: every later one must "
    "agree with it."
)
CODE_FIRST_LINE = "laptight release 1"
CODE_WORDS = later(
    "The code holds the lines below as plain text: the form and its version, the log, the release's "
    "entry and its leaf hash (hex), the checkpoint's size and root (base64, as the checkpoint has it), "
    "and the fingerprint of the key that signed it (hex SHA-256 of its DER)."
)


@dataclass(frozen=True, slots=True)
class ProofWords:
    """`rows` (what, value); `hashes` (step, side, base64), from the leaf up; `note`: the checkpoint word for
    word, empty where none covers the release; `steps`: how to check it by hand, with the proof's file."""

    lead: str
    rows: tuple[Row, ...]
    hashes: tuple[Row, ...]
    note: str
    entry: str
    code: str
    code_words: str
    shows: str
    steps: tuple[Step, ...]


def proof_words(told: Certificate) -> ProofWords:
    """The proof of a certificate, and how to check it by hand."""
    rows: list[Row] = [
        (tr("Facts released (digest)"), told.digest),
        (tr("Gate"), tr("version {n}", n=told.version)),
        (
            tr("Entry"),
            tr(
                "{seq} of the history: leaf {leaf}, counted from 0",
                seq=f"{told.seq:,}",
                leaf=f"{told.seq - 1:,}",
            ),
        ),
        (tr("Leaf hash"), told.leaf),
    ]
    proven = told.proof
    if proven is None:
        lead, code = tr(NO_CHECKPOINT), tr(CODE_WORDS)
        return ProofWords(lead, tuple(rows), (), "", told.entry, code_text(told), code, "", ())
    checkpoint, proof = proven.checkpoint, proven.proof
    rows += [
        (tr("Checkpoint"), tr("of {n} entries", n=f"{checkpoint.size:,}")),
        (trc("history", "Log"), checkpoint.origin),
        (tr("Root"), checkpoint.root.hex()),
        (tr("Key's fingerprint"), in_fours(fingerprint(proven.key))),
    ]
    climb = zip(sides(proof.index, checkpoint.size), proof.hashes, strict=True)
    return ProofWords(
        lead=tr(WITH_RELEASE if proven.with_release else LATER),
        rows=tuple(rows),
        hashes=tuple(
            (str(n), side_words(side), _base64(one)) for n, (side, one) in enumerate(climb, start=1)
        ),
        note=proof.note,
        entry=told.entry,
        code=code_text(told),
        code_words=tr(CODE_WORDS),
        shows=tr(WHAT_IT_SHOWS),
        steps=entry_steps(proof, checkpoint, proven.key),
    )


def side_words(side: str) -> str:
    """On which side a hash of the climb stands."""
    return trc("hash", "left") if side == LEFT else trc("hash", "right")


def code_text(told: Certificate) -> str:
    """What the QR code holds: the form and its version, then a name and a value a line (`CODE_WORDS`)."""
    lines = [CODE_FIRST_LINE]
    proven = told.proof
    if proven is not None:
        lines.append(f"log {proven.checkpoint.origin}")
    lines += [f"entry {told.seq}", f"leaf {told.leaf}"]
    if proven is not None:
        lines += [f"size {proven.checkpoint.size}", f"root {_base64(proven.checkpoint.root)}"]
        lines.append(f"key {fingerprint(proven.key)}")
    return "".join(f"{line}\n" for line in lines)


def _base64(raw: bytes) -> str:
    return base64.b64encode(raw).decode()
