"""The entries of an old record that somebody kept, as leaf hashes: read within limits, never unpacked."""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator
from typing import IO, BinaryIO, NoReturn

from service.domain.refusals import BadInput
from service.history.merkle import HASH_BYTES, leaf_hash

MIB = 1024 * 1024
MOST_ENTRIES, MOST_LINE, MOST_BYTES, MOST_NOTE = 1_000_000, MIB, 1024 * MIB, 64 * 1024
# A directory of a ZIP is read whole: this one names some 40,000 files.
MOST_DIRECTORY = 4 * MIB
ZIP_STARTS = (b"PK\x03\x04", b"PK\x05\x06")
_END, _END_BYTES, _LONGEST_COMMENT = b"PK\x05\x06", 22, 65535
ENTRIES, LEAVES, CHECKPOINT = "entries.jsonl", "leaves.txt", "checkpoint"
# What the standard library says of ZIPs that are broken or locked.
DAMAGED = (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError)
PACKED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # others may ask for any amount of memory to unpack
BROKEN = "This ZIP is damaged, or packed in a way that is not read here."


def old_leaves(file: BinaryIO) -> list[bytes]:
    """The leaf hashes, entry 1 first, of a record (ZIP), its entries.jsonl or its leaves.txt.

    BadInput, under `record`, when it is none of these or larger than is read here.
    """
    start = file.read(4)
    file.seek(0)
    try:
        if start in ZIP_STARTS:
            return _from_zip(file)
        return _read(file)
    except DAMAGED:
        _refuse(BROKEN)


def old_note(file: BinaryIO) -> tuple[str, list[bytes]]:
    """The text of a checkpoint's file; of a whole record (ZIP) its own checkpoint, and its leaf hashes.

    What is no text in UTF-8 comes with marks in its place: it is told as no checkpoint. BadInput, under
    `checkpoint`, for a ZIP that is no record.
    """
    start = file.read(4)
    file.seek(0)
    if start not in ZIP_STARTS:
        return _text(file), []
    try:
        with _opened(file) as archive, archive.open(_only(archive, CHECKPOINT) or CHECKPOINT) as inside:
            note = _text(inside)
        file.seek(0)
        return note, old_leaves(file)
    except KeyError:
        told = "This ZIP holds no checkpoint: it is no record."
        raise BadInput(told, fields={"checkpoint": told}) from None
    except BadInput as bad:
        raise BadInput(bad.message, fields={"checkpoint": bad.message}) from None
    except DAMAGED:
        raise BadInput(BROKEN, fields={"checkpoint": BROKEN}) from None


def _text(file: IO[bytes]) -> str:
    return file.read(MOST_NOTE + 1).decode("utf-8", "replace")


def _from_zip(file: BinaryIO) -> list[bytes]:
    with _opened(file) as archive:
        for name in (ENTRIES, LEAVES):
            if found := _only(archive, name):
                with archive.open(found) as inside:
                    return _read(inside)
    _refuse("This ZIP holds no entries.jsonl and no leaves.txt: it is no record.")


def _opened(file: BinaryIO) -> zipfile.ZipFile:
    if _directory_bytes(file) > MOST_DIRECTORY:
        _refuse("This ZIP names more files than are read here. Take entries.jsonl out of it and send that.")
    return zipfile.ZipFile(file)


def _only(archive: zipfile.ZipFile, name: str) -> zipfile.ZipInfo | None:
    """The file of this name, if there is one; of two nothing says which is the record's."""
    found = [info for info in archive.infolist() if info.filename == name]
    if len(found) > 1:
        _refuse(f"This ZIP holds {name} more than once, so nothing says which is the record's.")
    if found and found[0].compress_type not in PACKED:
        _refuse(BROKEN)
    return found[0] if found else None


def _directory_bytes(file: BinaryIO) -> int:
    """How long a ZIP says its directory is; more than is read where it is of the kind for huge ones."""
    size = file.seek(0, 2)
    file.seek(max(0, size - _END_BYTES - _LONGEST_COMMENT))
    tail = file.read()
    file.seek(0)
    end = tail.rfind(_END)
    if end < 0 or len(tail) < end + _END_BYTES or tail[end - 20 : end - 16] == b"PK\x06\x07":
        return MOST_DIRECTORY + 1
    return int.from_bytes(tail[end + 12 : end + 16], "little")


def _read(file: IO[bytes]) -> list[bytes]:
    found: list[bytes] = []
    for line in _lines(file):
        if len(found) == MOST_ENTRIES:
            _refuse(f"This names more than {MOST_ENTRIES:,} entries, which is more than is read here.")
        found.append(_leaf(line))
    if not found:
        _refuse("This file is empty.")
    return found


def _lines(file: IO[bytes]) -> Iterator[bytes]:
    came = 0
    while line := file.readline(MOST_LINE + 1):
        came += len(line)
        if len(line) > MOST_LINE or came > MOST_BYTES:
            _refuse("This is larger than is read here.")
        yield line.rstrip(b"\r\n")


def _leaf(line: bytes) -> bytes:
    """An entry's JSON is hashed; a hash in hex is taken as it is."""
    if line[:1] == b"{":
        return leaf_hash(line)
    try:
        leaf = bytes.fromhex(line.decode("ascii"))
    except ValueError:
        leaf = b""
    if len(leaf) != HASH_BYTES:
        _refuse("This is no record: give its ZIP, its entries.jsonl or its leaves.txt.")
    return leaf


def _refuse(words: str) -> NoReturn:
    raise BadInput(words, fields={"record": words})
