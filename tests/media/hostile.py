"""The hostile set: files that must be refused as a sketch, each with the reason it must be given."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable

from tests.media.making import (
    chunk,
    drawing,
    encoded,
    flat_png,
    jpeg_of_passes,
    jpeg_saying,
    locked_pdf,
    pdf,
    png_of,
    scene,
    webp_saying,
)

_SVG = b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
_LAUGHS = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;">]><svg>&b;</svg>'


def _moving(form: str) -> bytes:
    frames = [drawing(96, 96), scene(96, 96)]
    return encoded(frames[0], form, save_all=True, append_images=frames[1:], duration=100)


def _cut(data: bytes, share: float = 0.5) -> bytes:
    return data[: int(len(data) * share)]


def _flipped(data: bytes) -> bytes:
    middle = len(data) // 2
    return data[:middle] + bytes(255 - byte for byte in data[middle : middle + 40]) + data[middle + 40 :]


def _filled(count: int) -> bytes:
    """Any number of 0xFF may stand before a marker (ITU-T T.81, B.1.1.2)."""
    data = encoded(drawing(96, 96), "JPEG")
    return data[:2] + b"\xff" * count + data[2:]


def _heic() -> bytes:
    return struct.pack(">I", 24) + b"ftypheic" + b"\0\0\0\0mif1heic" + b"\0" * 200


# name -> (the code a sketch upload must be refused with, what makes the file)
REFUSED: dict[str, tuple[str, Callable[[], bytes]]] = {
    "an empty file": ("empty", lambda: b""),
    "plain text": ("not-a-picture", lambda: b"just some words\n" * 40),
    "an SVG with a script": ("not-a-picture", lambda: _SVG),
    "an SVG with entities in entities": ("not-a-picture", lambda: _LAUGHS),
    "an HTML page": ("not-a-picture", lambda: b"<!doctype html><script>alert(1)</script>"),
    "a GIF": ("not-a-picture", lambda: encoded(drawing(96, 96), "GIF")),
    "a moving GIF": ("not-a-picture", lambda: _moving("GIF")),
    "a TIFF": ("not-a-picture", lambda: encoded(drawing(96, 96), "TIFF")),
    "a BMP": ("not-a-picture", lambda: encoded(drawing(96, 96), "BMP")),
    "PostScript": ("not-a-picture", lambda: b"%!PS-Adobe-3.0 EPSF-3.0\nshowpage\n"),
    "a ZIP": ("not-a-picture", lambda: b"PK\x03\x04" + b"\0" * 60),
    "a film clip": ("not-a-picture", lambda: struct.pack(">I", 24) + b"ftypisom" + b"\0" * 80),
    "half a PNG signature": ("not-a-picture", lambda: b"\x89PNG"),
    "a HEIC photo": ("heic", _heic),
    "an AVIF photo": ("heic", lambda: _heic().replace(b"ftypheic", b"ftypavif")),
    "a true PNG of 81 million pixels": ("too-many-pixels", lambda: flat_png(9000, 9000)),
    "a true PNG of 900 million pixels": ("too-many-pixels", lambda: flat_png(30000, 30000)),
    "a PNG claiming 4 billion square": ("too-many-pixels", lambda: png_of(2**32 - 1, 2**32 - 1, b"")),
    "a JPEG claiming 65500 square": ("too-many-pixels", lambda: jpeg_saying(65500, 65500)),
    "a WebP claiming 16384 square": ("too-many-pixels", lambda: webp_saying(16384, 16384)),
    "a picture 1 by 65535": ("too-narrow", lambda: flat_png(1, 65535)),
    "a PNG of no size": ("too-narrow", lambda: png_of(0, 0, zlib.compress(b""))),
    "a PNG cut in half": ("picture-truncated", lambda: _cut(encoded(scene(400, 300), "PNG"))),
    "a PNG cut in its header": ("picture-truncated", lambda: encoded(drawing(96, 96), "PNG")[:20]),
    "a JPEG cut in half": ("picture-truncated", lambda: _cut(encoded(scene(400, 300), "JPEG"))),
    "a JPEG cut in its header": ("picture-truncated", lambda: encoded(drawing(96, 96), "JPEG")[:30]),
    "a WebP cut in half": ("picture-truncated", lambda: _cut(encoded(scene(400, 300), "WEBP"))),
    "a PNG with bytes turned over": ("picture-damaged", lambda: _flipped(encoded(scene(400, 300), "PNG"))),
    "a JPEG under a PNG signature": (
        "picture-damaged",
        lambda: b"\x89PNG\r\n\x1a\n" + encoded(scene(96, 96), "JPEG") + b"IEND",
    ),
    "HTML under a JPEG signature": (
        "picture-damaged",
        lambda: b"\xff\xd8\xff<html><script></script>",
    ),
    "a PNG of a few rows claiming many": (
        "picture-damaged",
        lambda: png_of(4000, 4000, zlib.compress(b"\0" * 4001 * 3)),
    ),
    "a WebP whose parts disagree": ("picture-damaged", lambda: webp_saying(4000, 4000)),
    "a JPEG of 2,647 passes": ("picture-too-hard", lambda: jpeg_of_passes(800, 600)),
    "a JPEG of 14 million bytes that fill": ("picture-damaged", lambda: _filled(14_000_000)),
    "a moving PNG": ("animated", lambda: _moving("PNG")),
    "a moving WebP": ("animated", lambda: _moving("WEBP")),
    "a PDF with a password": ("pdf-locked", locked_pdf),
    "a PDF with no pages": ("pdf-empty", lambda: pdf([])),
    "a PDF of a few bytes": ("pdf-damaged", lambda: b"%PDF-1.7\n%%EOF\n"),
    "a PDF page 200 in square": ("too-many-pixels", lambda: pdf([(14400, 14400, "0 0 9 9 re f")])),
    "a PDF page a hair wide": ("too-narrow", lambda: pdf([(1, 700, "")])),
}

# Files that hold a trap beside a true picture: either answer is right, as long as it is soon and small.
TRAPS: dict[str, Callable[[], bytes]] = {
    "a PNG whose data swells to 300 MB": lambda: png_of(
        128, 128, b"".join(_swollen(b"\0" * 129 * 128, 300_000_000))
    ),
    "a PNG with a 200 MB comment": lambda: png_of(
        128,
        128,
        zlib.compress(b"\0" * 129 * 128),
        chunk(b"zTXt", b"Comment\0\0" + b"".join(_swollen(b"", 200_000_000))),
    ),
    "a PNG with a 200 MB colour profile": lambda: png_of(
        128,
        128,
        zlib.compress(b"\0" * 129 * 128),
        chunk(b"iCCP", b"p\0\0" + b"".join(_swollen(b"", 200_000_000))),
    ),
}


def _swollen(start: bytes, size: int) -> list[bytes]:
    packer = zlib.compressobj(9)
    block = b"\0" * 1_000_000
    first = packer.compress(start)
    blocks = [packer.compress(block) for _ in range(size // len(block))]
    return [first, *blocks, packer.flush()]
