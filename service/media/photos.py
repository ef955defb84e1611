"""Prepares an uploaded photo: turned upright, made small, stripped of everything but its pixels."""

from __future__ import annotations

import tempfile
from pathlib import Path

from service.media.confine import run_apart
from service.media.headers import read_header, what_is
from service.media.limits import PHOTO, check_file, check_header
from service.media.picture import Photo


def prepare_photo(data: bytes | Path) -> Photo:
    """Decode a JPEG, PNG, WebP or HEIC photo in a process of its own and write it anew as two JPEGs.

    Limits: 15 MiB, 50 million pixels. Orientation is applied, colours are brought to sRGB, and no Exif,
    place, XMP, profile or trailing data is kept. Raises BadPicture.
    """
    with tempfile.TemporaryDirectory(prefix="photo-") as room:
        source = data
        if isinstance(source, bytes):
            source = Path(room, "upload")
            source.write_bytes(data)  # type: ignore[arg-type]  # bytes: just tested
        check_file(source, PHOTO)
        if what_is(source) != "heic":  # whose size is told by its decoder, in the child
            check_header(read_header(source), PHOTO)
        sizes = run_apart({"job": "photo", "source": str(source.absolute()), "into": room}, PHOTO)
        return Photo(full=Path(room, "full").read_bytes(), small=Path(room, "small").read_bytes(), **sizes)
