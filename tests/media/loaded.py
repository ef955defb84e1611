"""Pictures that bring more than a picture: taken, and nothing but the picture may be in what is kept."""

from __future__ import annotations

import zlib
from collections.abc import Callable

from PIL import ImageCms, PngImagePlugin

from tests.media.making import CANARY, chunk, encoded, exif_with_place, png_of, scene

_XMP = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><d>' + CANARY + b"</d></x:xmpmeta>"
_PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
MARKS_OF_PAYLOAD = (
    CANARY,
    b"Exif",
    b"http://ns",
    b"xmpmeta",
    b"ICC_PROFILE",
    b"Photoshop",
    b"PK\x03\x04",
    b"<script",
)


def _jpeg_with_everything(mode: str = "RGB") -> bytes:
    notes = {"exif": exif_with_place(), "xmp": _XMP, "icc_profile": _PROFILE, "comment": CANARY}
    if mode != "RGB":
        del notes["icc_profile"]  # it is of screen colours
    data = encoded(scene(800, 600).convert(mode), "JPEG", quality=85, **notes)
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0" + len(CANARY).to_bytes(2, "big") + CANARY
    return data[:2] + b"\xff\xed" + (len(iptc) + 2).to_bytes(2, "big") + iptc + data[2:]


def _png_with_everything() -> bytes:
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", CANARY.decode())
    notes.add_itxt("XML:com.adobe.xmp", _XMP.decode())
    return encoded(scene(800, 600), "PNG", pnginfo=notes, exif=exif_with_place(), icc_profile=_PROFILE)


def _deep_png_with_notes() -> bytes:
    """16 bits a band, with transparency (PNG, third edition: colour type 6)."""
    row = b"\0" + b"\x12\x34\x80\0\xfe\xdc\xff\xff" * 400
    notes = chunk(b"tEXt", b"Comment\0" + CANARY) + chunk(b"eXIf", exif_with_place()[6:])
    return png_of(400, 300, zlib.compress(row * 300), notes + chunk(b"prVt", b"PK\x03\x04"), 16, 6)


def _jpeg_with_a_second_picture() -> bytes:
    """As phones that see in depth write it: the whole of another JPEG, place and all, behind the first."""
    first, second = scene(800, 600), scene(200, 150)
    exif = exif_with_place()
    return encoded(first, "MPO", save_all=True, append_images=[second], exif=exif) + _jpeg_with_everything()


def _webp_with_everything() -> bytes:
    notes = {"exif": exif_with_place(), "xmp": _XMP, "icc_profile": _PROFILE}
    return encoded(scene(800, 600), "WEBP", quality=85, **notes)


def _noted(note: bytes) -> bytes:
    return encoded(scene(800, 600), "JPEG", comment=note)


LOADED: dict[str, Callable[[], bytes]] = {
    "a JPEG with every kind of note": _jpeg_with_everything,
    "a PNG with every kind of note": _png_with_everything,
    "a WebP with every kind of note": _webp_with_everything,
    "a JPEG that is also a ZIP": lambda: encoded(scene(800, 600), "JPEG") + b"PK\x03\x04" + CANARY * 9,
    "a JPEG that is also a page": lambda: encoded(scene(800, 600), "JPEG") + b"<script>" + CANARY,
    "a JPEG that is also a ZIP from its first note on": lambda: _noted(b"PK\x03\x04" + CANARY),
    "a JPEG with a page in a note": lambda: _noted(b"*/<html><script>alert(1)</script>" + CANARY),
    "a JPEG in four inks with notes": lambda: _jpeg_with_everything("CMYK"),
    "a JPEG in grey with notes": lambda: _jpeg_with_everything("L"),
    "a JPEG with a second picture": _jpeg_with_a_second_picture,
    "a PNG with a tail": lambda: encoded(scene(800, 600), "PNG") + CANARY * 9,
    "a PNG of 16 bits with notes": _deep_png_with_notes,
    "a WebP with a tail": lambda: encoded(scene(800, 600), "WEBP") + b"PK\x03\x04" + CANARY * 9,
}
