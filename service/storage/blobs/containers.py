"""A ZIP from anybody, read without harm.

Its structure is checked before a byte is unpacked, every stream has a hard end, and nothing is ever written.
"""

import hashlib
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from service.history.verifying.findings import Unreadable
from service.storage.blobs.container_names import check_names
from service.storage.blobs.zip_structure import LIMITS, STORED, Limits, Member, read_structure

PIECE = 1024 * 1024


class Container:
    """The files of a ZIP whose structure was checked. As `verifying.findings.Files` asks."""

    def __init__(self, file: BinaryIO, members: list[Member]) -> None:
        self._file = file
        self._members = {member.name: member for member in members if not member.folder}
        self._hashed: dict[str, tuple[str, int]] = {}

    @property
    def names(self) -> list[str]:
        return list(self._members)

    @property
    def size(self) -> int:
        """Of all files together, in bytes as they are unpacked."""
        return sum(member.size for member in self._members.values())

    def content(self, name: str, most: int) -> bytes:
        member = self._members[name]
        if member.size > most:
            told = f"{name} has {member.size:,} bytes; no more than {most:,} are read of it."
            raise Unreadable("too-large", told)
        content = b"".join(self._pieces(member))
        self._hashed[name] = (hashlib.sha256(content).hexdigest(), len(content))
        return content

    def hashed(self, name: str) -> tuple[str, int]:
        if name not in self._hashed:
            digest, size = hashlib.sha256(), 0
            for piece in self._pieces(self._members[name]):
                digest.update(piece)
                size += len(piece)
            self._hashed[name] = (digest.hexdigest(), size)
        return self._hashed[name]

    def _pieces(self, member: Member) -> Iterator[bytes]:
        """The file's bytes in pieces: as many as its header says, and with its checksum. Unreadable."""
        check, size = 0, 0
        for piece in self._stored(member) if member.method == STORED else self._inflated(member):
            size += len(piece)
            if size > member.size:
                break
            check = zlib.crc32(piece, check)
            yield piece
        if size != member.size:
            raise _damaged(member, "it is not as long as it says")
        if check != member.crc:
            raise _damaged(member, "its checksum does not fit")

    def _stored(self, member: Member) -> Iterator[bytes]:
        left, at = member.packed, member.start
        while left:
            self._file.seek(at)
            piece = self._file.read(min(left, PIECE))
            if not piece:
                raise _damaged(member, "the ZIP ends within it")
            left, at = left - len(piece), at + len(piece)
            yield piece

    def _inflated(self, member: Member) -> Iterator[bytes]:
        inflate = zlib.decompressobj(-zlib.MAX_WBITS)
        try:
            for packed in self._stored(member):
                more = True
                while more and not inflate.eof:
                    piece = inflate.decompress(packed, PIECE)
                    packed = inflate.unconsumed_tail
                    more = bool(packed) or len(piece) == PIECE
                    if piece:
                        yield piece
                if inflate.eof and (packed or inflate.unused_data):
                    raise _damaged(member, "something follows where it ends")
        except zlib.error as bad:
            raise _damaged(member, "it cannot be unpacked") from bad
        if not inflate.eof:
            raise _damaged(member, "it breaks off")


def _damaged(member: Member, why: str) -> Unreadable:
    return Unreadable("file-damaged", f"{member.name} is damaged in the ZIP: {why}.")


def container_of(file: BinaryIO, limits: Limits = LIMITS) -> Container:
    """The files of an open ZIP. Unreadable where it is none, or built to do harm to whoever unpacks it."""
    members = read_structure(file, limits)
    check_names(members)
    return Container(file, members)


@contextmanager
def opened(path: Path, limits: Limits = LIMITS) -> Iterator[Container]:
    """The files of a ZIP on disk. Unreadable, OSError."""
    with path.open("rb") as file:
        yield container_of(file, limits)
