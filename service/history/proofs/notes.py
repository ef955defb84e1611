"""Signed notes: a text, and Ed25519 signatures below it (C2SP signed-note, signature type 0x01).

A note's text ends with a line end; a blank line parts it from the signatures, each on a line of its own:
an em dash, the key's name, and base64 of the key's id (4 bytes) and the signature (64).
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

ED25519 = b"\x01"
MOST_BYTES = 64 * 1024
MOST_SIGNATURES = 64  # the standard asks for 16 at least
_SIGNATURE = re.compile("— ([^ +\n]+) ([A-Za-z0-9+/]+={0,2})")


class BadNote(ValueError):
    """The text is no signed note, or nobody we know signed it."""


def from_base64(text: str) -> bytes:
    """The bytes of standard base64 in its one canonical form. ValueError on any other: two texts that decode
    to the same bytes would let a bit be changed unseen."""
    raw = base64.b64decode(text, validate=True)
    if base64.b64encode(raw).decode() != text:
        raise ValueError("that is no canonical base64")
    return raw


@dataclass(frozen=True, slots=True)
class VerifierKey:
    """A key that notes are checked with. `public`: 32 bytes. `str()` gives the form `name+id+base64`."""

    name: str
    public: bytes

    @property
    def id(self) -> bytes:
        """4 bytes of SHA-256 over the name, a line end, the signature's type and the key."""
        return hashlib.sha256(self.name.encode() + b"\n" + ED25519 + self.public).digest()[:4]

    def __str__(self) -> str:
        return f"{self.name}+{self.id.hex()}+{base64.b64encode(ED25519 + self.public).decode()}"

    def fits(self, text: bytes, signature: bytes) -> bool:
        """Whether this key made the signature over the text."""
        try:
            Ed25519PublicKey.from_public_bytes(self.public).verify(signature, text)
        except InvalidSignature:
            return False
        return True


@dataclass(frozen=True, slots=True)
class Signer:
    """A private key, and the public one that belongs to it (32 bytes)."""

    private: Ed25519PrivateKey
    public: bytes

    @classmethod
    def of(cls, private: Ed25519PrivateKey) -> Signer:
        return cls(private, private.public_key().public_bytes_raw())

    @property
    def public_text(self) -> str:
        """The public key in base64: what the history names a key by."""
        return base64.b64encode(self.public).decode()


@dataclass(frozen=True, slots=True)
class Signature:
    """One signature line: whose it claims to be, the id of the key, and 64 bytes."""

    name: str
    key_id: bytes
    signature: bytes


@dataclass(frozen=True, slots=True)
class Note:
    """A note as read, nothing checked yet. `text` ends with its line end."""

    text: str
    signatures: tuple[Signature, ...]


def read_verifier_key(text: str) -> VerifierKey:
    """BadNote when it is no verifier key, of another type, or its id does not fit."""
    parts = text.strip().split("+", 2)
    try:
        name, key_id, key = parts[0], bytes.fromhex(parts[1]), from_base64(parts[2])
    except (IndexError, ValueError) as bad:
        raise BadNote("that is no verifier key") from bad
    if key[:1] != ED25519 or len(key) != 33 or not _good_name(name):
        raise BadNote("that is no Ed25519 verifier key")
    found = VerifierKey(name, key[1:])
    if found.id != key_id:
        raise BadNote("the verifier key's id does not fit its name and key")
    return found


def _good_name(name: str) -> bool:
    return bool(name) and "+" not in name and not any(sign.isspace() for sign in name)


def sign_note(text: str, name: str, signers: Sequence[Signer]) -> str:
    """The note with a signature of each signer under `name`. ValueError when the text cannot be a note's."""
    if not text.endswith("\n") or not _good_name(name):
        raise ValueError("a note ends with a line end, and its key's name holds no space and no plus")
    lines = []
    for signer in signers:
        key_id = VerifierKey(name, signer.public).id
        raw = key_id + signer.private.sign(text.encode())
        lines.append(f"— {name} {base64.b64encode(raw).decode()}\n")
    return text + "\n" + "".join(lines)


def read_note(note: str) -> Note:
    """The parts of a note. BadNote when it is not formed as one."""
    if len(note.encode("utf-8", "surrogatepass")) > MOST_BYTES:
        raise BadNote("the note is too long")
    if any(ord(sign) < 32 and sign != "\n" for sign in note) or not note.endswith("\n"):
        raise BadNote("that is no signed note")
    text, parted, below = note.rpartition("\n\n")
    if not parted or not below:
        raise BadNote("the note carries no signature")
    lines = below[:-1].split("\n")
    if len(lines) > MOST_SIGNATURES:
        raise BadNote("the note carries too many signatures")
    return Note(text + "\n", tuple(_signature(line) for line in lines))


def _signature(line: str) -> Signature:
    found = _SIGNATURE.fullmatch(line)
    try:
        raw = from_base64(found[2]) if found else b""
    except ValueError as bad:
        raise BadNote("a signature line cannot be read") from bad
    if found is None or len(raw) < 5:
        raise BadNote("a signature line cannot be read")
    return Signature(found[1], raw[:4], raw[4:])


def signed_by(note: Note, keys: Iterable[VerifierKey]) -> list[VerifierKey]:
    """The keys among these that signed the note. A signature of an unknown key says nothing either way.

    BadNote when a known key's signature does not fit: the text or the signature was changed.
    """
    by_id = {(key.name, key.id): key for key in keys}
    found = []
    for one in note.signatures:
        key = by_id.get((one.name, one.key_id))
        if key is None:
            continue
        if not key.fits(note.text.encode(), one.signature):
            raise BadNote("a signature does not fit the text")
        found.append(key)
    return found
