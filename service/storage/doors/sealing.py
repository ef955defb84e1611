"""Secrets that must be read again, sealed before they are kept: with a key in the folder of keys, not in the
database. Whoever reads the database alone reads none of them."""

import base64
import os
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from service.storage.doors.keys import NoSuchKey, write_once

FILE = "sealing-key"
KEY, NONCE = 32, 12  # octets: AES-256-GCM, NIST SP 800-38D section 5.2.1.1


def seal(folder: Path, secret: str, about: str) -> str:
    """The secret as text that only this key opens, and only for the same `about`."""
    nonce = os.urandom(NONCE)
    sealed = nonce + _cipher(folder).encrypt(nonce, secret.encode(), about.encode())
    return base64.urlsafe_b64encode(sealed).decode()


def unseal(folder: Path, sealed: str, about: str) -> str:
    """What was sealed. NoSuchKey where this folder's key is not the one that sealed it, or not for that, or
    where there is none: looking makes no key, which another server might still bring."""
    raw = base64.urlsafe_b64decode(sealed)
    if not (folder / FILE).exists():
        raise NoSuchKey(f"there is no {FILE}")
    try:
        return _cipher(folder).decrypt(raw[:NONCE], raw[NONCE:], about.encode()).decode()
    except InvalidTag as wrong:
        raise NoSuchKey(f"{FILE} does not open what is kept") from wrong


def _cipher(folder: Path) -> AESGCM:
    path = folder / FILE
    if not path.exists():
        write_once(path, os.urandom(KEY))
    key = path.read_bytes()
    if len(key) != KEY:
        raise NoSuchKey(f"{FILE} is no key of {KEY} octets")
    return AESGCM(key)
