"""The entries of an old record that somebody kept, as leaf hashes: read within limits, never unpacked."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import BinaryIO, NoReturn

from service.domain.words.refusals import BadInput
from service.history.proofs.merkle import HASH_BYTES, leaf_hash
from service.history.verifying.findings import Unreadable
from service.history.verifying.records import CHECKPOINT, ENTRIES, LEAVES
from service.storage.blobs.containers import Container, container_of
from service.storage.blobs.zip_structure import Limits

MIB = 1024 * 1024
# A record of 100,000 entries has some 70 MiB of them; its list of hashes has 65 bytes an entry.
MOST_ENTRIES, MOST_LINE, MOST_BYTES, MOST_NOTE = 1_000_000, MIB, 128 * MIB, 64 * 1024
LIMITS = Limits(files=40_000, bytes=1024 * MIB)
ZIP_STARTS = (b"PK\x03\x04", b"PK\x05\x06")


def old_leaves(file: BinaryIO) -> list[bytes]:
    """The leaf hashes, entry 1 first, of a record (ZIP), its entries.jsonl or its leaves.txt.

    BadInput, under `record`, when it is none of these or larger than is read here.
    """
    if not _is_zip(file):
        return _read(file)
    try:
        return _from_zip(container_of(file, LIMITS))
    except Unreadable as bad:
        _refuse(bad.words)


def old_note(file: BinaryIO) -> tuple[str, list[bytes]]:
    """The text of a checkpoint's file; of a whole record (ZIP) its own checkpoint, and its leaf hashes.

    What is no text in UTF-8 comes with marks in its place: it is told as no checkpoint. BadInput, under
    `checkpoint`, for a ZIP that is no record.
    """
    if not _is_zip(file):
        return _text(file.read(MOST_NOTE + 1)), []
    try:
        record = container_of(file, LIMITS)
        if CHECKPOINT not in record.names:
            _refuse("This ZIP holds no checkpoint: it is no record.")
        return _text(record.content(CHECKPOINT, MOST_NOTE)), _from_zip(record)
    except Unreadable as bad:
        raise BadInput(bad.words, fields={"checkpoint": bad.words}) from None
    except BadInput as bad:
        raise BadInput(bad.message, fields={"checkpoint": bad.message}) from None


def _is_zip(file: BinaryIO) -> bool:
    start = file.read(4)
    file.seek(0)
    return start in ZIP_STARTS


def _text(raw: bytes) -> str:
    return raw.decode("utf-8", "replace")


def _from_zip(record: Container) -> list[bytes]:
    """From the entries themselves; of a record too long for that, from its list of hashes."""
    names = [name for name in (ENTRIES, LEAVES) if name in record.names]
    if not names:
        _refuse("This ZIP holds no entries.jsonl and no leaves.txt: it is no record.")
    for name in names:
        try:
            return _read(io.BytesIO(record.content(name, MOST_BYTES)))
        except Unreadable as bad:
            if bad.code != "too-large" or name == names[-1]:
                raise
    raise AssertionError("the last name returns or raises")


def _read(file: BinaryIO) -> list[bytes]:
    found: list[bytes] = []
    for line in _lines(file):
        if len(found) == MOST_ENTRIES:
            _refuse(f"This names more than {MOST_ENTRIES:,} entries, which is more than is read here.")
        found.append(_leaf(line))
    if not found:
        _refuse("This file is empty.")
    return found


def _lines(file: BinaryIO) -> Iterator[bytes]:
    while line := file.readline(MOST_LINE + 1):
        if len(line) > MOST_LINE:
            _refuse("This holds a longer line than is read here.")
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
