"""Signatures, notes and checkpoints against the standards' own examples.

RFC 8032 section 7.1, TEST 1 to 3; C2SP signed-note.md (commit 5ba5ee83), its example key and note;
C2SP tlog-checkpoint v1.0.0 for the shape of a checkpoint; OpenSSL as an independent verifier.
"""

from __future__ import annotations

import base64
import shutil
import subprocess
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from service.history.proofs.checkpoints import (
    Checkpoint,
    checkpoint_in,
    fingerprint,
    in_fours,
    key_of,
    origin_of,
    pem_of,
    public_key,
    read_checkpoint,
)
from service.history.proofs.notes import (
    BadNote,
    Signer,
    VerifierKey,
    read_note,
    read_verifier_key,
    sign_note,
    signed_by,
)

# RFC 8032 section 7.1: secret key, public key, message, signature.
RFC_8032 = (
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
)
EXAMPLE_KEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
EXAMPLE_NOTE = (
    "This is an example message.\n\n— example.com/foo "
    "Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
)


def signer(number: int = 1) -> Signer:
    """A key anybody can make again: for tests only."""
    return Signer.of(Ed25519PrivateKey.from_private_bytes(bytes([number]) * 32))


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_the_signatures_of_rfc_8032_come_out_byte_for_byte(
    secret: str, public: str, message: str, signature: str
) -> None:
    own = Signer.of(Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret)))
    assert own.public.hex() == public
    assert own.private.sign(bytes.fromhex(message)).hex() == signature
    key = VerifierKey("rfc8032", own.public)
    assert key.fits(bytes.fromhex(message), bytes.fromhex(signature))
    assert not key.fits(bytes.fromhex(message) + b"!", bytes.fromhex(signature))


def test_the_standards_example_note_verifies_under_its_key() -> None:
    key = read_verifier_key(EXAMPLE_KEY)
    assert str(key) == EXAMPLE_KEY
    assert signed_by(read_note(EXAMPLE_NOTE), [key]) == [key]
    with pytest.raises(BadNote):
        signed_by(read_note(EXAMPLE_NOTE.replace("example message", "example massage")), [key])


@pytest.mark.parametrize(
    "text",
    [
        EXAMPLE_KEY.replace("530d903a", "530d903b"),
        EXAMPLE_KEY[:-4],
        EXAMPLE_KEY.replace("+Ae", "+Be"),
        "example.com/foo",
        "",
    ],
)
def test_a_verifier_key_that_does_not_fit_itself_is_refused(text: str) -> None:
    with pytest.raises(BadNote):
        read_verifier_key(text)


@pytest.mark.parametrize(
    "note",
    [
        "",
        "text without a signature\n",
        EXAMPLE_NOTE.rstrip("\n"),
        EXAMPLE_NOTE.replace("— ", "- "),
        EXAMPLE_NOTE.replace("— example.com/foo ", "— "),
        EXAMPLE_NOTE.replace("yaQM=", "yaQN="),  # the same bytes in base64 that is not canonical
        EXAMPLE_NOTE.replace("message", "mess\x07age"),
        EXAMPLE_NOTE + "— again",
        "x" * 70_000 + EXAMPLE_NOTE,
    ],
)
def test_what_is_not_formed_as_a_note_is_refused(note: str) -> None:
    with pytest.raises(BadNote):
        read_note(note)


def test_a_signature_of_a_key_nobody_knows_says_nothing() -> None:
    assert signed_by(read_note(EXAMPLE_NOTE), [VerifierKey("example.com/foo", signer().public)]) == []


def test_a_note_may_carry_the_signatures_of_two_keys() -> None:
    text = "two keys sign this\n"
    note = read_note(sign_note(text, "slab", [signer(1), signer(2)]))
    keys = [VerifierKey("slab", signer(number).public) for number in (2, 1)]
    assert note.text == text
    assert signed_by(note, keys) == keys[::-1]


def test_a_checkpoint_reads_back_as_it_was_written() -> None:
    written = Checkpoint(origin_of("ab12"), 21, bytes(range(32)))
    note = written.signed([signer()])
    assert checkpoint_in(note) == written
    assert signed_by(read_note(note), [key_of("ab12", signer().public)])
    assert written.text == f"laptight/ab12\n21\n{base64.b64encode(bytes(range(32))).decode()}\n"


@pytest.mark.parametrize(
    "text",
    [
        "laptight/a\n21\n",
        "laptight/a\n021\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        "laptight/a\n-1\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        "laptight/a\n21\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAB=\n",
        "laptight/a\n21\nAAAA\n",
        "\n21\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
    ],
)
def test_what_is_no_checkpoint_is_refused(text: str) -> None:
    with pytest.raises(BadNote):
        read_checkpoint(text)


def _openssl(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(["openssl", *arguments], capture_output=True, text=True, check=False)


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not on this machine")
def test_openssl_verifies_a_checkpoint_and_names_the_key_by_the_same_fingerprint(tmp_path: Path) -> None:
    own = signer()
    note = read_note(Checkpoint(origin_of("ab12"), 21, bytes(32)).signed([own]))
    (tmp_path / "key.pem").write_text(pem_of(own.public))
    (tmp_path / "text").write_bytes(note.text.encode())
    (tmp_path / "signature").write_bytes(note.signatures[0].signature)
    verify = ("pkeyutl", "-verify", "-pubin", "-inkey", str(tmp_path / "key.pem"), "-rawin")
    told = _openssl(*verify, "-in", str(tmp_path / "text"), "-sigfile", str(tmp_path / "signature"))
    assert (told.returncode, told.stdout.strip()) == (0, "Signature Verified Successfully")
    (tmp_path / "text").write_bytes(note.text.replace("21", "22").encode())
    told = _openssl(*verify, "-in", str(tmp_path / "text"), "-sigfile", str(tmp_path / "signature"))
    assert told.returncode != 0
    der = str(tmp_path / "key.der")
    _openssl("pkey", "-pubin", "-in", str(tmp_path / "key.pem"), "-outform", "DER", "-out", der)
    told = _openssl("dgst", "-sha256", "-r", der)
    assert told.stdout.split()[0] == fingerprint(own.public)
    assert in_fours(fingerprint(own.public)).replace(" ", "") == fingerprint(own.public)


def test_a_key_named_in_base64_is_one_key_only() -> None:
    text = signer().public_text
    assert public_key(text) == signer().public
    for other in (text[:-1], text + "=", text[:-2] + ("B=" if text[-2] != "B" else "C="), "AAAA"):
        with pytest.raises(ValueError):
            public_key(other)
