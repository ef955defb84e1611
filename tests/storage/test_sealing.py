"""What is sealed opens with its own key and for what it was sealed for, and with nothing else."""

from __future__ import annotations

import base64
import stat
from pathlib import Path

import pytest

from service.storage.doors.keys import NoSuchKey
from service.storage.doors.sealing import FILE, seal, unseal


def test_what_is_sealed_opens_again_and_never_looks_the_same_twice(tmp_path: Path) -> None:
    first, second = (seal(tmp_path, "a secret", "max") for _ in range(2))
    assert unseal(tmp_path, first, "max") == unseal(tmp_path, second, "max") == "a secret"
    assert first != second


def test_another_key_or_another_person_opens_nothing(tmp_path: Path) -> None:
    sealed = seal(tmp_path / "here", "a secret", "max")
    seal(tmp_path / "there", "another", "max")
    for folder, about in (("there", "max"), ("here", "ina")):
        with pytest.raises(NoSuchKey):
            unseal(tmp_path / folder, sealed, about)


def test_where_there_is_no_key_nothing_opens_and_none_is_made(tmp_path: Path) -> None:
    sealed = seal(tmp_path / "here", "a secret", "max")
    (tmp_path / "there").mkdir()
    with pytest.raises(NoSuchKey):
        unseal(tmp_path / "there", sealed, "max")
    assert not (tmp_path / "there" / FILE).exists()


def test_one_bit_changed_anywhere_opens_nothing(tmp_path: Path) -> None:
    """GCM's tag is over nonce, secret and what it was sealed for: NIST SP 800-38D section 7.2."""
    sealed = base64.urlsafe_b64decode(seal(tmp_path, "a secret", "max"))
    for bit in range(len(sealed) * 8):
        changed = bytearray(sealed)
        changed[bit // 8] ^= 1 << bit % 8
        with pytest.raises(NoSuchKey):
            unseal(tmp_path, base64.urlsafe_b64encode(changed).decode(), "max")


def test_the_key_is_its_owners_alone(tmp_path: Path) -> None:
    seal(tmp_path, "a secret", "max")
    assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) == 0o600
    assert len((tmp_path / FILE).read_bytes()) == 32, "AES-256"
