"""Writes an uploaded picture anew without what is no picture: notes, places, profiles, what lies behind it.

The pixels stay as they were sent, to the bit. Only parts that drawing needs are kept, by name, so that what a
later version of a format adds is left out too. Nothing is decoded.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from pathlib import Path

from service.media.headers import PNG_START, Kind, damaged

# Parts of an honest file of 100 MB: a PNG in pieces of 8 KiB, as its library writes them, has 12,000.
_MOST_PARTS = 100_000
# PNG, third edition, 5.6 and 11: what is drawn, and how. Past so many bytes such a part holds something else.
_PNG_PARTS = {
    b"IHDR": 13, b"PLTE": 768, b"tRNS": 256, b"gAMA": 4, b"cHRM": 32, b"sRGB": 1, b"sBIT": 4, b"bKGD": 6,
    b"pHYs": 9, b"cICP": 4, b"IDAT": 2**31, b"IEND": 0,
}  # fmt: skip
# RFC 9649, 2: the picture, its transparency, and the header that says which of these there are.
_WEBP_PARTS = (b"VP8 ", b"VP8L", b"VP8X", b"ALPH")
_WEBP_ALPHA = 0x10
_PNG_END = b"\0\0\0\0IEND" + zlib.crc32(b"IEND").to_bytes(4, "big")
# ITU-T T.81, table B.1: tables, frames, passes, how often marks stand between, the end.
_JPEG_PARTS = frozenset((*range(0xC0, 0xD0), 0xDB, 0xDC, 0xDD)) - {0xC8}
_JPEG_END, _JPEG_PASS = 0xD9, 0xDA
# What a JPEG's colours are: JFIF's header without its small picture, and the mark that says it of four inks.
_JFIF, _INKS = (0xE0, b"JFIF\0", 14), (0xEE, b"Adobe", 12)
_JPEG_MARKER = re.compile(rb"\xff[\x02-\xcf\xd8-\xfe]")


def write_bare(source: Path, kind: Kind, into: Path) -> None:
    """Write the picture of a PNG, JPEG or WebP that could be decoded.

    Which way up it is stood in its notes: a picture that is to be turned is drawn anew instead
    (`sketches.bare_picture`). Raises BadPicture, `picture-damaged`, for one of more than 100,000 parts.
    """
    parts = {"png": _png, "jpeg": _jpeg, "webp": _webp}[kind](source.read_bytes())
    with into.open("wb") as file:
        for number, part in enumerate(parts):
            if number > _MOST_PARTS:
                raise damaged()
            file.write(part)


def _png(data: bytes) -> Iterator[bytes]:
    yield PNG_START
    at = len(PNG_START)
    while at + 12 <= len(data):
        size, name = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        whole, at = data[at : at + 12 + size], at + 12 + size
        yield whole if size <= _PNG_PARTS.get(name, -1) else b""
        if name == b"IEND":
            return
    yield _PNG_END


def _jpeg(data: bytes) -> Iterator[bytes]:
    yield b"\xff\xd8"
    at = 2
    while found := _JPEG_MARKER.search(data, at):
        marker = data[found.end() - 1]
        if marker == _JPEG_END:
            yield b"\xff\xd9"
            return
        size = int.from_bytes(data[found.end() : found.end() + 2], "big")
        content, at = data[found.end() + 2 : found.end() + size], found.end() + max(size, 2)
        if marker == _JPEG_PASS:
            following = _JPEG_MARKER.search(data, at)
            end = following.start() if following else len(data)
            yield _jpeg_part(marker, content) + data[at:end]
            at = end
        elif marker in _JPEG_PARTS:
            yield _jpeg_part(marker, content)
        else:
            yield _colours(marker, content)
    yield b"\xff\xd9"


def _colours(marker: int, content: bytes) -> bytes:
    for kept, start, size in (_JFIF, _INKS):
        if marker == kept and content.startswith(start) and len(content) >= size:
            small = b"\0\0" if marker == _JFIF[0] else content[size - 2 : size]
            return _jpeg_part(marker, content[: size - 2] + small)
    return b""


def _jpeg_part(marker: int, content: bytes) -> bytes:
    return bytes((0xFF, marker)) + (len(content) + 2).to_bytes(2, "big") + content


def _webp(data: bytes) -> Iterator[bytes]:
    end, at, kept, seen = min(len(data), int.from_bytes(data[4:8], "little") + 8), 12, list[bytes](), 0
    while at + 8 <= end and (seen := seen + 1) <= _MOST_PARTS:
        name, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        whole, at = data[at : at + 8 + size + size % 2], at + 8 + size + size % 2
        if name == b"VP8X":
            whole = whole[:8] + bytes((whole[8] & _WEBP_ALPHA,)) + b"\0\0\0" + whole[12:18]
        if name in _WEBP_PARTS:
            kept.append(whole)
    yield b"RIFF" + (4 + sum(map(len, kept))).to_bytes(4, "little") + b"WEBP"
    yield from kept
