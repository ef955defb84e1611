"""Blobs by SHA-256, tile pyramids by their sketch's: on disk, written aside, synced, renamed into place.

With an object store beside it (`storage/blobs/store.py`) the folder is this machine's copy: what is put goes
to the store first, and what is not here is fetched. A name tells its content, so no copy can be stale.
"""

import hashlib
import os
import re
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from service.storage.blobs.store import Store

_SHA256 = re.compile(r"[0-9a-f]{64}")


class Blobs:
    """A folder of blobs. The same bytes are kept once, whoever sends them. `store`: what several machines
    keep together; None where this folder is all there is."""

    def __init__(self, folder: Path, store: Store | None = None) -> None:
        self.folder, self.store = folder, store
        for part in ("blobs", "tiles", "coming"):
            (folder / part).mkdir(parents=True, exist_ok=True)

    def path(self, sha256: str) -> Path:
        """Where a blob lies, if it is here. ValueError when the name is no SHA-256, so that no name can climb
        out."""
        if not _SHA256.fullmatch(sha256):
            raise ValueError("not a SHA-256")
        return self.folder / "blobs" / sha256[:2] / sha256

    def file(self, sha256: str) -> Path:
        """A blob as a file. FileNotFoundError where there is none."""
        path = self.path(sha256)
        if not path.is_file() and self.store is not None:
            self._fetch(f"blobs/{sha256}", path)
        if not path.is_file():
            raise FileNotFoundError(sha256)
        return path

    def read(self, sha256: str) -> bytes:
        return self.file(sha256).read_bytes()

    def has(self, sha256: str) -> bool:
        path = self.path(sha256)
        return self.store.size(f"blobs/{sha256}") is not None if self.store else path.is_file()

    def size(self, sha256: str) -> int:
        """How many bytes a blob has; 0 where it is gone."""
        if self.store is not None:
            return self.store.size(f"blobs/{sha256}") or 0
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
                self._keep(aside, sha256)
        return sha256

    def put_file(self, source: Path) -> str:
        """Keep a file without reading it whole. One of our own `coming` folder is moved, any other is copied:
        what is somebody else's stays where it was."""
        with source.open("rb") as stream:
            sha256 = hashlib.file_digest(stream, "sha256").hexdigest()
        if self.has(sha256):
            return sha256
        if source.resolve().is_relative_to((self.folder / "coming").resolve()):
            self._keep(source, sha256)
        else:
            with self.coming() as folder:
                self._keep(Path(shutil.copyfile(source, folder / "blob")), sha256)
        return sha256

    def is_reached(self) -> None:
        """Raises where pictures cannot be kept now: no room to write aside, or no answer from the store."""
        with self.coming() as folder:
            (folder / "try").write_bytes(b"?")
        if self.store is not None:
            self.store.size("no such thing")

    @contextmanager
    def coming(self) -> Iterator[Path]:
        """A folder for what is still being made; whatever is left in it goes."""
        folder = Path(tempfile.mkdtemp(dir=self.folder / "coming"))
        try:
            yield folder
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    def tiles(self, name: str) -> Path:
        """The folder of a sketch's tiles: the picture's SHA-256, and the page of a PDF. With a store it is
        fetched where it is not here; there may be none of the name either way."""
        if not re.fullmatch(r"[0-9a-f]{64}(-\d{1,5})?", name):
            raise ValueError("not the name of a tile pyramid")
        folder = self.folder / "tiles" / name[:2] / name
        if self.store is not None and not folder.exists():
            self._fetch_tiles(self.store, name, folder)
        return folder

    def put_tiles(self, made: Path, name: str) -> None:
        """Move a finished pyramid into place; a pyramid that is there already is the same one."""
        target = self.tiles(name)
        if target.exists():
            return
        if self.store is not None:
            packed = shutil.make_archive(str(made.with_name("packed")), "zip", made)
            self.store.keep(f"tiles/{name}.zip", Path(packed))
        _into_place(made, target)

    def _fetch_tiles(self, store: Store, name: str, folder: Path) -> None:
        with self.coming() as aside:
            try:
                store.fetch(f"tiles/{name}.zip", aside / "tiles.zip")
            except FileNotFoundError:
                return
            with zipfile.ZipFile(aside / "tiles.zip") as packed:  # it lets no name climb out
                packed.extractall(aside / "tiles")
            _into_place(aside / "tiles", folder)

    def put_waiting(self, source: Path, person_id: str, sha256: str) -> None:
        """Somebody's upload, kept apart from the blobs until a form shows it. The file is moved."""
        target = self._waiting(person_id, sha256)
        if self.store is not None:
            self.store.keep(f"uploads/{person_id}/{sha256}", source)
        target.parent.mkdir(parents=True, exist_ok=True)
        with source.open("rb") as stream:
            os.fsync(stream.fileno())
        os.replace(source, target)

    def waiting(self, person_id: str, sha256: str) -> Path:
        """Somebody's upload as a file. FileNotFoundError where it is not here."""
        path = self._waiting(person_id, sha256)
        if not path.is_file() and self.store is not None:
            self._fetch(f"uploads/{person_id}/{sha256}", path)
        if not path.is_file():
            raise FileNotFoundError(sha256)
        return path

    def drop_waiting(self, person_id: str, sha256: str) -> None:
        self._waiting(person_id, sha256).unlink(missing_ok=True)
        if self.store is not None:
            self.store.drop(f"uploads/{person_id}/{sha256}")

    def drop_all_waiting(self, person_id: str) -> None:
        """Everything of one person's that waits: a photo may show where they were."""
        shutil.rmtree(self.folder / "uploads" / person_id, ignore_errors=True)
        if self.store is not None:
            for name in list(self.store.names(f"uploads/{person_id}/")):
                self.store.drop(name)

    def names(self, part: str) -> set[str]:
        """What is kept of one part: `blobs` and `tiles` by name, `uploads` as `person/name`."""
        if self.store is not None:
            return {
                name.removeprefix(f"{part}/").removesuffix(".zip") for name in self.store.names(f"{part}/")
            }
        found = (self.folder / part).glob("*/*")
        return {f"{path.parent.name}/{path.name}" if part == "uploads" else path.name for path in found}

    def copy_to(self, other: "Blobs") -> None:
        """Everything kept here, kept there too; what is there already stays."""
        for name in sorted(self.names("blobs")):
            other.put_file(self.file(name))
        for name in sorted(self.names("tiles")):
            with other.coming() as folder:
                other.put_tiles(Path(shutil.copytree(self.tiles(name), folder / "tiles")), name)
        for name in sorted(self.names("uploads")):
            person, _, sha256 = name.partition("/")
            with other.coming() as folder:
                other.put_waiting(
                    Path(shutil.copyfile(self.waiting(person, sha256), folder / "came")), person, sha256
                )

    def _waiting(self, person_id: str, sha256: str) -> Path:
        self.path(sha256)  # refuses any other name
        return self.folder / "uploads" / person_id / sha256

    def _fetch(self, name: str, target: Path) -> None:
        """An object into place, whole or not at all; nothing where there is none."""
        assert self.store is not None
        with self.coming() as folder:
            try:
                self.store.fetch(name, folder / "fetched")
            except FileNotFoundError:
                return
            target.parent.mkdir(parents=True, exist_ok=True)
            os.replace(folder / "fetched", target)

    def _keep(self, source: Path, sha256: str) -> None:
        if self.store is not None:
            self.store.keep(f"blobs/{sha256}", source)
        self._settle(source, self.path(sha256))

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


def _into_place(made: Path, target: Path) -> None:
    target.parent.mkdir(exist_ok=True)
    try:
        os.rename(made, target)
    except OSError:  # somebody else put the same pyramid there first
        if not target.exists():
            raise
