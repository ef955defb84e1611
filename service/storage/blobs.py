"""Blobs by SHA-256, tile pyramids by their sketch's: on disk, written aside, synced, renamed into place."""

import hashlib
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_SHA256 = re.compile(r"[0-9a-f]{64}")


class Blobs:
    """A folder of blobs. The same bytes are kept once, whoever sends them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        for part in ("blobs", "tiles", "coming"):
            (folder / part).mkdir(parents=True, exist_ok=True)

    def path(self, sha256: str) -> Path:
        """Where a blob lies. ValueError when the name is no SHA-256, so that no name can climb out."""
        if not _SHA256.fullmatch(sha256):
            raise ValueError("not a SHA-256")
        return self.folder / "blobs" / sha256[:2] / sha256

    def read(self, sha256: str) -> bytes:
        return self.path(sha256).read_bytes()

    def has(self, sha256: str) -> bool:
        return self.path(sha256).is_file()

    def size(self, sha256: str) -> int:
        """How many bytes a blob has; 0 where it is gone."""
        try:
            return self.path(sha256).stat().st_size
        except FileNotFoundError:
            return 0

    def put(self, content: bytes) -> str:
        """Keep these bytes; the name they are kept under."""
        sha256 = hashlib.sha256(content).hexdigest()
        if not self.has(sha256):
            with self.coming() as folder:
                aside = folder / "blob"
                aside.write_bytes(content)
                self._settle(aside, self.path(sha256))
        return sha256

    def put_file(self, source: Path) -> str:
        """Keep a file without reading it whole. One of our own `coming` folder is moved, any other is copied:
        what is somebody else's stays where it was."""
        with source.open("rb") as stream:
            sha256 = hashlib.file_digest(stream, "sha256").hexdigest()
        if self.has(sha256):
            return sha256
        if source.resolve().is_relative_to((self.folder / "coming").resolve()):
            self._settle(source, self.path(sha256))
        else:
            with self.coming() as folder:
                self._settle(Path(shutil.copyfile(source, folder / "blob")), self.path(sha256))
        return sha256

    @contextmanager
    def coming(self) -> Iterator[Path]:
        """A folder for what is still being made; whatever is left in it goes."""
        folder = Path(tempfile.mkdtemp(dir=self.folder / "coming"))
        try:
            yield folder
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    def tiles(self, name: str) -> Path:
        """The folder of a sketch's tiles: the picture's SHA-256, and the page of a PDF."""
        if not re.fullmatch(r"[0-9a-f]{64}(-\d{1,5})?", name):
            raise ValueError("not the name of a tile pyramid")
        return self.folder / "tiles" / name[:2] / name

    def put_tiles(self, made: Path, name: str) -> None:
        """Move a finished pyramid into place; a pyramid that is there already is the same one."""
        target = self.tiles(name)
        target.parent.mkdir(exist_ok=True)
        if not target.exists():
            try:
                os.rename(made, target)
            except OSError:  # somebody else put the same pyramid there first
                if not target.exists():
                    raise

    def _settle(self, source: Path, target: Path) -> None:
        target.parent.mkdir(exist_ok=True)
        with source.open("rb") as stream:
            os.fsync(stream.fileno())
        os.replace(source, target)
        folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
