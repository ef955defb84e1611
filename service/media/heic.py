"""Decodes a HEIC photo, as phones make them, for the same two small JPEGs: in the decoding process alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pillow_heif
import pyvips

from service.media.headers import cut_short, damaged, truncated
from service.media.limits import PHOTO, check_size
from service.media.refusals import BadPicture

# As many as two cores need: every thread's own memory counts against the process.
pillow_heif.options.DECODE_THREADS = 2
_BANDS = {"RGB": 3, "RGBA": 4, "L": 1}


def open_heic(source: Path) -> Any:
    """The file's main picture, upright, 8 bits a band, with its own colour profile where it brings one.

    It is turned as its container says (ISO/IEC 23008-12, 6.5.10): what its Exif says of that is no order, and
    is not followed. Raises BadPicture: `picture-truncated`, `picture-damaged`, or as `check_size`.
    """
    try:
        picture = pillow_heif.open_heif(source, convert_hdr_to_8bit=True)
        width, height = picture.size
        check_size(width, height, PHOTO, "This picture")
        bands = _BANDS[picture.mode]
        data, row = picture.data, picture.stride
    except BadPicture:
        raise
    except (ValueError, RuntimeError, EOFError, OSError, KeyError, IndexError):
        raise truncated() if cut_short(source, "heic") else damaged() from None
    if row != width * bands:
        seen = memoryview(data)
        data = b"".join(seen[top * row : top * row + width * bands] for top in range(height))
    image = pyvips.Image.new_from_memory(data, width, height, bands, "uchar")
    image = image.copy(interpretation="srgb" if bands > 1 else "b-w")
    profile = picture.info.get("icc_profile")
    if profile:
        image.set_type(pyvips.GValue.blob_type, "icc-profile-data", profile)
    return image
