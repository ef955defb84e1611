"""The proof of one entry as a file: the published form, written and read back; spoilt forms refused."""

from __future__ import annotations

import base64

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from service.history.proofs.checkpoints import Checkpoint
from service.history.proofs.merkle import BadProof, leaf_hash
from service.history.proofs.notes import BadNote, Signer
from service.history.proofs.tlog_proof import EntryProof, read_proof

# transparency-dev/merkle, testonly/constants.go: the eight leaves of the CT examples, their root, and the
# path of leaf 5 of 8, as they are published.
LEAVES = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]
ROOT = bytes.fromhex("5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328")
PATH = [
    bytes.fromhex(one)
    for one in (
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    )
]
# The key of RFC 8032 section 7.1, TEST 1.
SIGNER = Signer.of(
    Ed25519PrivateKey.from_private_bytes(
        bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
    )
)
NOTE = Checkpoint("laptight/shed", 8, ROOT).signed([SIGNER])
# Written by hand from the text of C2SP tlog-proof (commit 0065ea5b), "Format".
HASHES = [base64.b64encode(one).decode() for one in PATH]
FILE = "c2sp.org/tlog-proof@v1\nindex 5\n" + "\n".join(HASHES) + "\n\n" + NOTE
WITH_EXTRA = FILE.replace("index", "extra YSBjbGFpbQ==\nindex", 1)
LEAF = leaf_hash(bytes.fromhex(LEAVES[5]))


def test_a_proof_is_written_as_the_published_form_says() -> None:
    assert EntryProof(5, tuple(PATH), NOTE).text == FILE
    assert EntryProof(5, tuple(PATH), NOTE, b"a claim").text == WITH_EXTRA
    assert EntryProof(0, (), NOTE).text == f"c2sp.org/tlog-proof@v1\nindex 0\n\n{NOTE}"


def test_a_proof_is_read_back_and_leads_to_its_checkpoint() -> None:
    proof = read_proof(FILE)
    assert (proof.seq, proof.hashes, proof.note) == (6, tuple(PATH), NOTE)
    assert proof.check(LEAF).root == ROOT
    assert read_proof(WITH_EXTRA).extra == b"a claim"


@pytest.mark.parametrize("number", [0, 1, 2, 3, 4, 6, 7])
def test_another_entry_is_not_proved_by_it(number: int) -> None:
    proof = read_proof(FILE)
    with pytest.raises(BadProof):
        proof.check(leaf_hash(bytes.fromhex(LEAVES[number])))
    with pytest.raises(BadProof):
        EntryProof(number, proof.hashes, NOTE).check(LEAF)


@pytest.mark.parametrize(
    "spoilt",
    {
        "another version": FILE.replace("@v1", "@v2"),
        "no number": FILE.replace("index 5\n", ""),
        "a zero before the number": FILE.replace("index 5", "index 05"),
        "a number below nothing": FILE.replace("index 5", "index -5"),
        "extra that is empty": FILE.replace("index", "extra \nindex", 1),
        "extra below the number": FILE.replace("index 5\n", "index 5\nextra YSBjbGFpbQ==\n"),
        "a hash that is short": FILE.replace(HASHES[1], HASHES[1][4:]),
        "a hash that is no base64": FILE.replace(HASHES[1], "!" + HASHES[1][1:]),
        # The last sign of 32 bytes in base64 holds two idle bits: with one set it decodes to the same hash.
        "a hash written another way": FILE.replace(
            HASHES[0], HASHES[0][:-2] + chr(ord(HASHES[0][-2]) + 1) + "="
        ),
        "too many hashes": FILE.replace(HASHES[0], "\n".join([HASHES[0]] * 65)),
        "another line end": FILE.replace("\n", "\r\n"),
        "something before": " " + FILE,
        "nothing": "",
        "too long": FILE.replace("index", "extra " + "A" * 70000 + "\nindex", 1),
    }.items(),
    ids=lambda row: row[0],
)
def test_a_spoilt_form_is_refused(spoilt: tuple[str, str]) -> None:
    assert spoilt[1] != FILE
    with pytest.raises(BadProof):
        read_proof(spoilt[1])


@pytest.mark.parametrize("note", ["", NOTE[:-1], NOTE.replace("\n8\n", "\n08\n"), NOTE.partition("\n\n")[0]])
def test_a_proof_without_a_whole_checkpoint_is_refused(note: str) -> None:
    with pytest.raises(BadNote):
        read_proof(FILE.removesuffix(NOTE) + note)
