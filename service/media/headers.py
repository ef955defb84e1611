"""Reads what a file is, and how big its picture would be, from its first bytes; decodes nothing."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Literal

from service.media.refusals import BadPicture

Kind = Literal["png", "jpeg", "webp", "heic", "pdf"]

PNG_START = b"\x89PNG\r\n\x1a\n"
# File types named by the bytes after "ftyp" that phones use for their own photo formats (ISO/IEC 23008-12).
_HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"mif1")
_OTHER_BRANDS = (b"hevc", b"hevx", b"msf1", b"avif", b"avis")  # moving pictures, and AVIF
_JPEG_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_JPEG_BARE = frozenset(range(0xD0, 0xD8)) | {0x01}
# A picture's size stands near its start; past this many parts a file is built to waste time.
MOST_PARTS = 5_000


@dataclass(frozen=True)
class Header:
    """What a picture says of itself before anything is decoded."""

    kind: Kind
    width_px: int
    height_px: int
    animated: bool


def what_is(source: Path) -> Kind:
    """The type of a file, told from its bytes and never from its name.

    Raises BadPicture: `empty`, `heic` or `not-a-picture`.
    """
    with source.open("rb") as file:
        return kind_of(file.read(16))


def kind_of(start: bytes) -> Kind:
    """The type told from a file's first 16 bytes. Raises BadPicture as `what_is` does."""
    if not start:
        raise BadPicture("empty", "This file is empty. Choose the picture again.")
    if start.startswith(PNG_START):
        return "png"
    if start.startswith(b"\xff\xd8\xff"):
        return "jpeg"
    if start[:4] == b"RIFF" and start[8:12] == b"WEBP":
        return "webp"
    if start.startswith(b"%PDF-"):
        return "pdf"
    if start[4:8] == b"ftyp" and start[8:12] in _HEIC_BRANDS:
        return "heic"
    if start[4:8] == b"ftyp" and start[8:12] in _OTHER_BRANDS:
        raise BadPicture(
            "heic", "This is an AVIF photo or a live one, which cannot be read. Save it as JPEG."
        )
    raise BadPicture("not-a-picture", "This file is not a PNG, JPEG or WebP picture, nor a PDF.")


def read_header(source: Path) -> Header:
    """The size a PNG, JPEG or WebP declares, and whether it moves. A HEIC photo says `heic`: its size is
    asked where it is decoded.

    Raises BadPicture: `empty`, `heic`, `not-a-picture`, `picture-truncated` or `picture-damaged`.
    """
    kind = what_is(source)
    if kind == "heic":
        raise BadPicture("heic", "This is a HEIC photo, which cannot be read here. Save it as PNG or JPEG.")
    readers = {"png": _png, "jpeg": _jpeg, "webp": _webp}
    if kind not in readers:
        raise BadPicture("not-a-picture", "This is a PDF. A photo must be a JPEG, PNG or WebP picture.")
    with source.open("rb") as file:
        try:
            header = readers[kind](file)
        except struct.error:
            raise truncated() from None
    if header is None:
        raise damaged()
    return header


def cut_short(source: Path, kind: str) -> bool:
    """Whether a picture lacks its own end, which tells a broken upload from a broken file."""
    data = source.read_bytes()
    if kind == "png":
        return b"IEND" not in data
    if kind == "jpeg":
        return b"\xff\xd9" not in data
    if kind == "heic":
        return _boxes_end(data) > len(data)
    return len(data) < int.from_bytes(data[4:8], "little") + 8


def _boxes_end(data: bytes) -> int:
    """Where the parts of an ISO base media file (ISO/IEC 14496-12, 4.2) say that it ends."""
    place = 0
    for _ in range(MOST_PARTS):
        size = int.from_bytes(data[place : place + 4], "big")
        if size == 1:
            size = int.from_bytes(data[place + 8 : place + 16], "big")
        if size < 8 or place + size >= len(data):
            return place + size
        place += size
    return place


def truncated() -> BadPicture:
    """The refusal for a picture that ends too early."""
    return BadPicture("picture-truncated", "This picture ends too early: it is cut short. Upload it again.")


def damaged() -> BadPicture:
    """The refusal for a picture that cannot be decoded."""
    return BadPicture("picture-damaged", "This picture is damaged and cannot be opened. Save it again.")


def _take(file: BinaryIO, form: str) -> tuple[int, ...]:
    return struct.unpack(form, file.read(struct.calcsize(form)))


def _png(file: BinaryIO) -> Header | None:
    """PNG, third edition (W3C): the first chunk is IHDR; a moving picture has acTL before its first IDAT."""
    file.seek(len(PNG_START))
    length, name = struct.unpack(">I4s", file.read(8))
    if name != b"IHDR" or length != 13:
        return None
    width, height = _take(file, ">II")
    file.seek(9, 1)
    for _ in range(MOST_PARTS):
        length, name = struct.unpack(">I4s", file.read(8))
        if name in (b"IDAT", b"acTL"):
            return Header("png", width, height, name == b"acTL")
        file.seek(length + 4, 1)
    return None


def _jpeg(file: BinaryIO) -> Header | None:
    """JPEG (ITU-T T.81, B.2.2): the frame header names the size; a moving picture does not exist."""
    file.seek(2)
    for _ in range(MOST_PARTS):
        (lead,) = _take(file, "B")
        (marker,) = _take(file, "B")
        if lead != 0xFF:
            return None
        if marker == 0xFF:  # a byte that fills: there may be any number (B.1.1.2), and each counts as a part
            file.seek(-1, 1)
            continue
        if marker in _JPEG_BARE:
            continue
        (length,) = _take(file, ">H")
        if marker in _JPEG_FRAMES:
            _, height, width = _take(file, ">BHH")
            return Header("jpeg", width, height, False)
        if marker < 0xC0 or marker in (0xD9, 0xDA) or length < 2:
            return None
        file.seek(length - 2, 1)
    return None


def _webp(file: BinaryIO) -> Header | None:
    """WebP (RFC 9649): the first chunk is VP8, VP8L or VP8X; bit 1 of VP8X's flags says it moves."""
    file.seek(12)
    name, _ = struct.unpack("<4sI", file.read(8))
    if name == b"VP8X":
        (flags,) = _take(file, "<I")
        size = file.read(6).ljust(6, b"\0")
        width, height = int.from_bytes(size[:3], "little") + 1, int.from_bytes(size[3:], "little") + 1
        return Header("webp", width, height, bool(flags & 2))
    if name == b"VP8L":
        mark, bits = struct.unpack("<BI", file.read(5))
        return Header("webp", (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1, False) if mark == 0x2F else None
    if name == b"VP8 ":
        _, start, width, height = struct.unpack("<3s3sHH", file.read(10))
        return Header("webp", width & 0x3FFF, height & 0x3FFF, False) if start == b"\x9d\x01\x2a" else None
    return None
