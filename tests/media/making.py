"""Makes the files the media tests upload: small PDFs, pictures with payloads, and pictures that lie."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

PLANS = Path(__file__).resolve().parents[3] / "shared" / "data" / "plans"
NO_PLANS = "the two real plans lie in ../shared/data/plans, which is not here"

CANARY = b"CANARY-47.6062N-122.3321W"
"""A payload no stored byte may hold."""


def drawing(width: int, height: int) -> Image.Image:
    """A plan-like picture: white ground, black and red lines, some text-like specks, one grey fill."""
    image = Image.new("RGB", (width, height), "white")
    pen = ImageDraw.Draw(image)
    for step in range(20, width, 97):
        pen.line((step, 10, step // 2, height - 10), fill="black", width=1 + step % 3)
    for step in range(20, height, 131):
        pen.line((10, step, width - 10, step), fill=(200, 20, 30), width=2)
    pen.rectangle((width // 5, height // 5, width // 3, height // 3), fill=(120, 130, 125))
    return image


def scene(width: int, height: int) -> Image.Image:
    """A photograph-like picture: smooth colours with a little grain."""
    grain, across = np.random.default_rng(5), np.arange(width)
    picture = np.empty((height, width, 3), np.uint8)
    for top in range(0, height, 64):  # in strips: large arrays cost more in new memory than in arithmetic
        part = picture[top : top + 64]
        down = np.arange(top, top + len(part))[:, None]
        bands = np.empty(part.shape)
        bands[..., 0] = 128 + 100 * np.sin(across / 90)
        bands[..., 1] = 128 + 90 * np.cos(down / 70)
        bands[..., 2] = 40 + (across + down) % 160
        part[:] = np.clip(bands + grain.normal(0, 3, bands.shape), 0, 255)
    return Image.fromarray(picture)


def encoded(image: Image.Image, form: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()


def pixels(data: bytes | Path) -> NDArray[np.int16]:
    """An image file's pixels as RGB, in a type that can be subtracted."""
    with Image.open(io.BytesIO(data) if isinstance(data, bytes) else data) as image:
        return np.asarray(image.convert("RGB"), np.int16)


def chunk(name: bytes, data: bytes) -> bytes:
    """One PNG chunk with its checksum."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png_of(
    width: int, height: int, idat: bytes, before: bytes = b"", depth: int = 8, colour: int = 0
) -> bytes:
    """A PNG put together by hand, so that it can say one thing and hold another."""
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + before + chunk(b"IDAT", idat) + chunk(b"IEND", b"")


def flat_png(width: int, height: int) -> bytes:
    """A true, valid 1-bit PNG of one colour: tiny on disk whatever its size."""
    packer = zlib.compressobj(9)
    row = b"\0" + b"\xff" * ((width + 7) // 8)
    body = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    return png_of(width, height, body, depth=1)


def jpeg_saying(width: int, height: int) -> bytes:
    """A small JPEG whose frame header claims another size."""
    data = bytearray(encoded(drawing(128, 128), "JPEG"))
    at = data.index(b"\xff\xc0") + 5
    data[at : at + 4] = struct.pack(">HH", height, width)
    return bytes(data)


def jpeg_of_passes(width: int, height: int) -> bytes:
    """A valid JPEG of 2,647 passes (ITU-T T.81, G.1): every coefficient bit by bit, and all are nothing."""
    blocks = -(-width // 8) * -(-height // 8)
    parts = bytes((1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0))
    data = b"\xff\xd8" + _part(0xDB, b"\0" + b"\1" * 64)
    data += _part(0xC2, struct.pack(">BHHB", 8, height, width, 3) + parts)
    data += _part(0xC4, b"\0" + bytes((1, *[0] * 15)) + b"\0")  # one code, a single 0: no change of level
    runs = bytes(run << 4 for run in range(15))  # "nothing more in the next 2 to the run and some blocks"
    data += _part(0xC4, b"\x10" + bytes((0, 0, 0, 0, 15, *[0] * 11)) + runs)
    data += _part(0xDA, bytes((3, 1, 0, 2, 0, 3, 0, 0, 0, 0))) + _packed("0" * (blocks * 3))
    nothing, left = "", blocks
    while left:
        run = min(14, left.bit_length() - 1)
        now = min(left, (2 << run) - 1)
        nothing += f"{run:05b}" + (f"{now - (1 << run):0{run}b}" if run else "")
        left -= now
    packed = _packed(nothing)
    for part in (1, 2, 3):
        for place in range(1, 64):
            for low in range(13, -1, -1):
                high = 0 if low == 13 else low + 1
                data += _part(0xDA, bytes((1, part, 0, place, place, high << 4 | low))) + packed
    return data + b"\xff\xd9"


def _part(marker: int, content: bytes) -> bytes:
    return b"\xff" + bytes((marker,)) + struct.pack(">H", len(content) + 2) + content


def _packed(bits: str) -> bytes:
    """Bits as a pass's data: filled up with ones, and a 0x00 after each 0xFF (ITU-T T.81, F.1.2.3)."""
    bits += "1" * (-len(bits) % 8)
    return int(bits, 2).to_bytes(len(bits) // 8, "big").replace(b"\xff", b"\xff\0")


def webp_saying(width: int, height: int, flags: int = 0) -> bytes:
    """A WebP whose extended header claims a size and flags over an ordinary small picture."""
    body = encoded(drawing(128, 128), "WEBP", lossless=True)[12:]
    size = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    extended = b"VP8X" + struct.pack("<II", 10, flags) + size
    return b"RIFF" + struct.pack("<I", 4 + len(extended) + len(body)) + b"WEBP" + extended + body


def pdf(pages: list[tuple[float, float, str]], trailer: str = "") -> bytes:
    """A PDF by hand (ISO 32000-1, 7.5): each page's width and height in points, and its content stream."""
    kids = " ".join(f"{3 + 2 * n} 0 R" for n in range(len(pages)))
    objects = ["<< /Type /Catalog /Pages 2 0 R >>", f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>"]
    for n, (width, height, content) in enumerate(pages):
        objects.append(
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {width} {height}] /Contents {4 + 2 * n} 0 R "
            f"/Resources << /XObject << /F {4 + 2 * n} 0 R >> >> >>"
        )
        # Each content is also a form that may draw itself: PDF readers must not follow that for ever.
        form = f"/Type /XObject /Subtype /Form /BBox [0 0 {width} {height}]"
        form += f" /Resources << /XObject << /F {4 + 2 * n} 0 R >> >>"
        objects.append(f"<< {form} /Length {len(content)} >>\nstream\n{content}\nendstream")
    body, places = "%PDF-1.7\n", []
    for number, text in enumerate(objects, 1):
        places.append(len(body))
        body += f"{number} 0 obj\n{text}\nendobj\n"
    table = "".join(f"{place:010} 00000 n \n" for place in places)
    start, size = len(body), len(objects) + 1
    body += f"xref\n0 {size}\n0000000000 65535 f \n{table}"
    return (body + f"trailer\n<< /Size {size} /Root 1 0 R {trailer} >>\nstartxref\n{start}\n%%EOF\n").encode()


def locked_pdf() -> bytes:
    """A PDF that says it is encrypted (standard handler, revision 3) under a password nobody knows."""
    secret = "<" + "5a" * 32 + ">"
    encrypt = f"<< /Filter /Standard /V 2 /R 3 /Length 128 /P -44 /O {secret} /U {secret} >>"
    identity = "<00112233445566778899aabbccddeeff>"
    return pdf([(612, 792, "0 0 100 100 re f")], f"/Encrypt {encrypt} /ID [{identity} {identity}]")


def exif_with_place(orientation: int = 1) -> bytes:
    """An Exif block holding an orientation, a description and a position."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010E] = CANARY.decode()
    exif.get_ifd(0x8825).update({1: "N", 2: (47.0, 36.0, 22.0), 3: "W", 4: (122.0, 19.0, 55.0)})
    return exif.tobytes()
