"""The signing key: in a folder of its own, never in the database, made on the first start."""

import os
import tempfile
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from service.history.proofs.notes import Signer

CURRENT, BEFORE, NEXT = "signing-key.pem", "signing-key-before.pem", "signing-key-next.pem"


class NoSuchKey(RuntimeError):
    """The file is no Ed25519 key: the service does not sign with anything else."""


class Keyring:
    """One folder of keys. Whoever can read it can sign histories: its files are the owner's alone (0600)."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._held: tuple[tuple[int, int], Signer] | None = None

    def current(self) -> Signer:
        """The key that signs now; made when there is none. Read again when the file was changed meanwhile."""
        path = self.folder / CURRENT
        try:
            stat = path.stat()
        except FileNotFoundError:
            self._make(path)
            stat = path.stat()
        stamp = (stat.st_mtime_ns, stat.st_ino)
        if self._held is None or self._held[0] != stamp:
            self._held = (stamp, _read(path))
        return self._held[1]

    @property
    def file(self) -> Path:
        """Where the key that signs now lies, or will once it is made."""
        return self.folder / CURRENT

    def before(self) -> Signer | None:
        """The key that signed before a change that is not finished: it signs the first checkpoint after."""
        path = self.folder / BEFORE
        return _read(path) if path.exists() else None

    def rotate(self) -> Signer:
        """A new key takes the place of the current one, which is kept until `forget_before`."""
        self.current()
        self._make(self.folder / NEXT)
        (self.folder / BEFORE).unlink(missing_ok=True)
        os.link(self.folder / CURRENT, self.folder / BEFORE)  # at no moment is there no current key
        os.replace(self.folder / NEXT, self.folder / CURRENT)
        _sync(self.folder)
        return self.current()

    def forget_before(self) -> None:
        """Every history has been told of the change: the old private key goes."""
        (self.folder / BEFORE).unlink(missing_ok=True)

    def _make(self, path: Path) -> None:
        private = Ed25519PrivateKey.generate()
        write_once(path, private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))


def write_once(path: Path, pem: bytes) -> None:
    """A key's file, the owner's alone: whole or not at all, and never over a key that is there."""
    folder = path.parent
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle, aside = tempfile.mkstemp(dir=folder)  # 0600 from the start
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(pem)
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(aside, path)
        except FileExistsError:
            return  # another process was first: its key is the key
    finally:
        os.unlink(aside)
    _sync(folder)


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _read(path: Path) -> Signer:
    private = load_pem_private_key(path.read_bytes(), None)
    if not isinstance(private, Ed25519PrivateKey):
        raise NoSuchKey(f"{path.name} is no Ed25519 key")
    return Signer.of(private)
