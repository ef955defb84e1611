"""The steps by hand in a real shell with the real openssl: they print what they say, and catch a change."""

from __future__ import annotations

import base64
import shutil
import subprocess
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from service.history.proofs.by_hand import Step, checkpoint_steps, entry_steps, proof_file
from service.history.proofs.checkpoints import Checkpoint
from service.history.proofs.merkle import Tree
from service.history.proofs.notes import BadNote, Signer
from service.history.proofs.tlog_proof import EntryProof
from tests.history import rfc9162

SIGNER = Signer.of(Ed25519PrivateKey.from_private_bytes(bytes(range(32))))
OTHER = Signer.of(Ed25519PrivateKey.from_private_bytes(bytes(32)))
ENTRIES = [f'{{"by":"Zoë","note":"6\' 4\\" at %d","seq":{seq}}}'.encode() for seq in range(1, 12)]
CHECKPOINT = Checkpoint("laptight/shed", len(ENTRIES), rfc9162.root(ENTRIES))
SHELLS = [shell for shell in ("bash", "dash") if shutil.which(shell)]

pytestmark = pytest.mark.skipif(not shutil.which("openssl"), reason="no openssl here")


def run(step: Step, folder: Path, shell: str = "bash") -> str:
    """The last line that the commands of a step print, or what went wrong."""
    done = subprocess.run(
        [shell, "-e", "-c", step.commands],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=30,
    )
    return (done.stdout.strip() or done.stderr.strip()).split("\n")[-1]


def proof(seq: int) -> EntryProof:
    tree = Tree(rfc9162.leaf(entry) for entry in ENTRIES)
    note = CHECKPOINT.signed([SIGNER])
    return EntryProof(seq - 1, tuple(tree.inclusion(seq - 1)), note, ENTRIES[seq - 1])


@pytest.mark.parametrize("shell", SHELLS)
@pytest.mark.parametrize("seq", [1, 6, 8, 11])
def test_the_steps_of_an_entry_print_what_they_say(tmp_path: Path, shell: str, seq: int) -> None:
    made = proof(seq)
    (tmp_path / proof_file(seq)).write_text(made.text)
    steps = entry_steps(made, CHECKPOINT, SIGNER.public)
    assert len(steps) == 5
    for step in steps:
        assert run(step, tmp_path, shell) == step.prints
    root = base64.b64encode(rfc9162.root(ENTRIES)).decode()
    assert steps[1].prints == steps[2].prints == root
    assert (tmp_path / f"entry-{seq}.json").read_bytes() == ENTRIES[seq - 1]


def test_another_entry_in_the_file_leads_to_another_root(tmp_path: Path) -> None:
    made = proof(6)
    steps = entry_steps(made, CHECKPOINT, SIGNER.public)
    forged = EntryProof(5, made.hashes, made.note, ENTRIES[5].replace(b"6'", b"7'"))
    (tmp_path / proof_file(6)).write_text(forged.text)
    assert run(steps[0], tmp_path) != steps[0].prints
    assert run(steps[1], tmp_path) != steps[1].prints


def test_the_steps_of_a_checkpoint_find_the_line_of_their_key(tmp_path: Path) -> None:
    note = CHECKPOINT.signed([OTHER, SIGNER])
    (tmp_path / "mine.txt").write_text(note)
    for key in (SIGNER, OTHER):
        for step in checkpoint_steps(note, key.public, "mine.txt"):
            assert run(step, tmp_path) == step.prints


def test_a_checkpoint_changed_by_one_sign_does_not_verify(tmp_path: Path) -> None:
    note = CHECKPOINT.signed([SIGNER])
    steps = checkpoint_steps(note, SIGNER.public)
    (tmp_path / "checkpoint.txt").write_text(note.replace("\n11\n", "\n10\n"))
    assert run(steps[0], tmp_path) == steps[0].prints
    assert "Signature Verified Successfully" not in run(steps[1], tmp_path)


def test_there_are_no_steps_for_a_key_that_did_not_sign() -> None:
    with pytest.raises(BadNote):
        checkpoint_steps(CHECKPOINT.signed([OTHER]), SIGNER.public)
    with pytest.raises(BadNote):
        checkpoint_steps(CHECKPOINT.signed([SIGNER]).replace("\n11\n", "\n10\n"), SIGNER.public)
