"""A record's ZIP while it is written: files hashed as they go in, the same bytes for the same history."""

from __future__ import annotations

import hashlib
import io
import re
import zipfile
from dataclasses import dataclass, field
from datetime import datetime
from typing import BinaryIO

PIECE = 1024 * 1024
# A file, or one in a folder: nothing that could climb out of where the record is unpacked.
PLAIN = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9_.-]*(/[A-Za-z0-9_-][A-Za-z0-9_.-]*)?")


@dataclass
class Bundle:
    """A ZIP being written, and what its manifest will say. Every file carries the same time, that of the
    last entry its tables tell, so that the same history gives the same bytes."""

    zip: zipfile.ZipFile
    at: datetime
    files: list[dict[str, str | int]] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    damaged: list[str] = field(default_factory=list)

    def put(self, path: str, content: BinaryIO, *, packed: bool = True, sha256: str | None = None) -> None:
        """Add a file, hashed as it goes in and never held whole. `sha256`: what its name promises; where the
        bytes are others, the file goes in as it is and is told as damaged. ValueError for a path that could
        climb."""
        if not PLAIN.fullmatch(path):
            raise ValueError(f"no plain path: {path!r}")
        digest, size = hashlib.sha256(), 0
        with self.zip.open(self._info(path, packed), "w", force_zip64=True) as into:
            while piece := content.read(PIECE):
                digest.update(piece)
                size += len(piece)
                into.write(piece)
        self.files.append({"path": path, "sha256": digest.hexdigest(), "bytes": size})
        if sha256 is not None and digest.hexdigest() != sha256:
            self.damaged.append(path)

    def text(self, path: str, content: str) -> None:
        self.put(path, io.BytesIO(content.encode()))

    def outside(self, path: str, content: bytes) -> None:
        """A file that no manifest lists: the manifest, and what names it."""
        self.zip.writestr(self._info(path, True), content)

    def _info(self, path: str, packed: bool) -> zipfile.ZipInfo:
        info = zipfile.ZipInfo(path, (max(self.at.year, 1980), *self.at.timetuple()[1:6]))
        info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        info.external_attr = 0o644 << 16
        return info
