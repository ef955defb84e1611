"""Checkpoints: a log's name, size and root, signed (C2SP tlog-checkpoint v1.0.0); and keys in words."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass

from service.history.proofs.merkle import HASH_BYTES
from service.history.proofs.notes import BadNote, Signer, VerifierKey, from_base64, read_note, sign_note

# The DER head of an Ed25519 SubjectPublicKeyInfo (RFC 8410 section 4); the 32 bytes of the key follow.
_SPKI = bytes.fromhex("302a300506032b6570032100")
_SIZE = re.compile(r"0|[1-9][0-9]{0,15}")


def origin_of(project_id: str) -> str:
    """The name of a project's log, which is also the name its key signs under."""
    return f"laptight/{project_id}"


def key_of(project_id: str, public: bytes) -> VerifierKey:
    """The key of a project's checkpoints, under the log's name."""
    return VerifierKey(origin_of(project_id), public)


def public_key(text: str) -> bytes:
    """The 32 bytes of a key that the history names in base64. ValueError when it is none."""
    public = from_base64(text)
    if len(public) != 32:
        raise ValueError("a key has 32 bytes")
    return public


def der_of(public: bytes) -> bytes:
    """The key as DER SubjectPublicKeyInfo."""
    return _SPKI + public


def pem_of(public: bytes) -> str:
    """The key as PEM, for openssl."""
    body = base64.b64encode(der_of(public)).decode()
    return f"-----BEGIN PUBLIC KEY-----\n{body}\n-----END PUBLIC KEY-----\n"


def fingerprint(public: bytes) -> str:
    """Hex SHA-256 of the key's DER, as `openssl pkey -pubin -outform DER | openssl dgst -sha256`."""
    return hashlib.sha256(der_of(public)).hexdigest()


def in_fours(hexes: str) -> str:
    """Hex in groups of four, to be compared by eye."""
    return " ".join(hexes[start : start + 4] for start in range(0, len(hexes), 4))


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """How a log stands: its name, how many entries it has, and their root (32 bytes); nothing signed yet."""

    origin: str
    size: int
    root: bytes
    more: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        lines = (self.origin, str(self.size), base64.b64encode(self.root).decode(), *self.more)
        return "".join(f"{line}\n" for line in lines)

    def signed(self, signers: Sequence[Signer]) -> str:
        """The signed note: this text under the log's own name."""
        return sign_note(self.text, self.origin, signers)


def read_checkpoint(text: str) -> Checkpoint:
    """A checkpoint from its text (the note's, without signatures). BadNote when it is none."""
    lines = text.removesuffix("\n").split("\n")
    if len(lines) < 3 or not lines[0] or not _SIZE.fullmatch(lines[1]) or not all(lines[3:]):
        raise BadNote("the note is no checkpoint")
    try:
        root = from_base64(lines[2])
    except ValueError as bad:
        raise BadNote("the checkpoint's root cannot be read") from bad
    if len(root) != HASH_BYTES:
        raise BadNote("the checkpoint's root is no SHA-256")
    return Checkpoint(lines[0], int(lines[1]), root, tuple(lines[3:]))


def checkpoint_in(note: str) -> Checkpoint:
    """The checkpoint of a signed note, whoever signed it. BadNote when it is none."""
    return read_checkpoint(read_note(note).text)
