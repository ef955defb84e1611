"""The signing key's file: made once, the owner's alone, whole or not at all, read again once changed."""

from __future__ import annotations

import os
import stat
import subprocess
import threading
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.rsa import generate_private_key
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from service.history.proofs.checkpoints import fingerprint, public_key
from service.storage.doors.keys import BEFORE, CURRENT, NEXT, Keyring, NoSuchKey


@pytest.fixture
def keys(tmp_path: Path) -> Keyring:
    return Keyring(tmp_path / "away" / "keys")


def files(keys: Keyring) -> set[str]:
    return {file.name for file in keys.folder.iterdir()}


def test_it_is_made_when_it_is_first_asked_for_and_then_stays(keys: Keyring) -> None:
    assert not keys.folder.exists()
    first = keys.current().public_text
    assert files(keys) == {CURRENT}
    assert keys.current().public_text == Keyring(keys.folder).current().public_text == first


def test_its_file_is_the_owners_alone_whatever_the_mask_of_the_process(keys: Keyring) -> None:
    """Mode 0600 for files and 0700 for their folder: as ssh asks of its keys (ssh(1), FILES)."""
    old = os.umask(0)
    try:
        keys.current()
        keys.rotate()
    finally:
        os.umask(old)
    assert stat.S_IMODE(keys.folder.stat().st_mode) == 0o700
    for name in (CURRENT, BEFORE):
        assert stat.S_IMODE((keys.folder / name).stat().st_mode) == 0o600, name


def test_openssl_reads_it_and_tells_the_same_fingerprint(keys: Keyring) -> None:
    told = fingerprint(public_key(keys.current().public_text))
    der = subprocess.run(
        ["openssl", "pkey", "-in", keys.file, "-pubout", "-outform", "DER"],
        capture_output=True, check=True,
    ).stdout  # fmt: skip
    digest = subprocess.run(["openssl", "dgst", "-sha256"], input=der, capture_output=True, check=True).stdout
    assert digest.decode().split()[-1] == told


def test_many_that_start_at_once_get_one_key(keys: Keyring) -> None:
    together, told = threading.Barrier(8), set[str]()

    def start() -> None:
        together.wait()
        told.add(Keyring(keys.folder).current().public_text)

    threads = [threading.Thread(target=start) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(told) == 1 and files(keys) == {CURRENT}


def test_a_change_keeps_the_one_before_until_it_is_forgotten(keys: Keyring) -> None:
    old = keys.current().public_text
    new = keys.rotate().public_text
    before = keys.before()
    assert before is not None and before.public_text == old != new == keys.current().public_text
    assert files(keys) == {CURRENT, BEFORE}
    keys.forget_before()
    keys.forget_before()
    assert keys.before() is None and files(keys) == {CURRENT}


def test_another_servers_key_in_memory_is_read_again_when_the_file_was_changed(keys: Keyring) -> None:
    mine, theirs = keys, Keyring(keys.folder)
    old = theirs.current().public_text
    new = mine.rotate().public_text
    assert theirs.current().public_text == new != old


@pytest.mark.parametrize(
    "left", [(), (NEXT,), (NEXT, BEFORE)], ids=["nothing left", "the next one left", "both left"]
)
def test_a_change_that_was_cut_off_before_it_began_leaves_the_old_key(
    keys: Keyring, left: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    import os

    old = keys.current().public_text
    monkeypatch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(OSError("power gone")))
    with pytest.raises(OSError, match="power gone"):
        keys.rotate()
    monkeypatch.undo()
    for name in {NEXT, BEFORE} - set(left):
        (keys.folder / name).unlink()
    assert Keyring(keys.folder).current().public_text == old
    assert Keyring(keys.folder).rotate().public_text != old


def test_what_is_no_ed25519_key_signs_nothing(keys: Keyring) -> None:
    keys.folder.mkdir(parents=True)
    other = generate_private_key(65537, 2048)
    keys.file.write_bytes(other.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    with pytest.raises(NoSuchKey):
        keys.current()
