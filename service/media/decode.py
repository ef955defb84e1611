"""Decodes a PNG, JPEG or WebP: as strips of rows for a sketch, as two small JPEGs for a photo."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pyvips

from service.media.headers import damaged
from service.media.strips import STRIP_PX, Strips, ahead

PHOTO_PX = 1600
SMALL_PX = 320
_PHOTO_QUALITY = 82
_TURNED_QUALITY = 90
_SMALL_QUALITY = 75

DecoderFailed = pyvips.Error

# Only these three readers can run at all, whatever else the library was built with.
pyvips.operation_block_set("VipsForeignLoad", True)
for _reader in ("VipsForeignLoadPng", "VipsForeignLoadJpeg", "VipsForeignLoadWebp"):
    pyvips.operation_block_set(_reader, False)
# One picture is opened once and then the process ends: a cache would only hold its memory.
pyvips.cache_set_max(0)


def open_rows(source: Path, kind: str) -> Strips:
    """Open a picture upright and in 8-bit sRGB, decoding a few strips ahead of their taking.

    Raises DecoderFailed here or while strips are taken.
    """
    image = _load(source, kind)
    if image.get_typeof("orientation") and image.get("orientation") != 1:
        # Turning needs rows out of order, so the picture is decoded whole first.
        image = image.copy_memory().autorot()
    image = _plain(image)
    return Strips(image.width, image.height, image.bands, image.width * image.bands, ahead(_strips(image)))


def write_turned(source: Path, kind: str, into: Path) -> bool:
    """Write a picture that its notes say is to be turned upright, as a JPEG of its full size; False for any
    other, of which nothing is written. Raises DecoderFailed."""
    image = _load(source, kind)
    if not image.get_typeof("orientation") or image.get("orientation") == 1:
        return False
    upright = _opaque(_plain(image.copy_memory().autorot()))
    upright.jpegsave(str(into), Q=_TURNED_QUALITY, keep="none", optimize_coding=True)
    return True


def write_photo(source: Path, kind: str, into: Path) -> dict[str, int]:
    """Write `full` (longest side at most 1600 px) and `small` (320 px) as JPEG, and give their sizes.

    Raises DecoderFailed.
    """
    _load(source, kind)
    full = pyvips.Image.thumbnail(
        str(source), PHOTO_PX, height=PHOTO_PX, size="down", export_profile="srgb", fail_on="truncated"
    )
    return _written(full, into)


def write_opened(image: Any, into: Path) -> dict[str, int]:
    """As `write_photo`, of a picture that is decoded already and upright."""
    return _written(
        image.thumbnail_image(PHOTO_PX, height=PHOTO_PX, size="down", export_profile="srgb"), into
    )


def _written(full: Any, into: Path) -> dict[str, int]:
    full = _opaque(_plain(full)).copy_memory()
    small = full.thumbnail_image(SMALL_PX, height=SMALL_PX, size="down")
    full.jpegsave(str(into / "full"), Q=_PHOTO_QUALITY, keep="none", optimize_coding=True)
    small.jpegsave(str(into / "small"), Q=_SMALL_QUALITY, keep="none", optimize_coding=True)
    return {
        "width_px": full.width,
        "height_px": full.height,
        "small_width_px": small.width,
        "small_height_px": small.height,
    }


def _load(source: Path, kind: str) -> Any:
    load = {"png": pyvips.Image.pngload, "jpeg": pyvips.Image.jpegload, "webp": pyvips.Image.webpload}[kind]
    return load(str(source), access="sequential", fail_on="truncated")


def _plain(image: Any) -> Any:
    """8-bit sRGB with or without transparency, from grey, 16-bit or press colours (CMYK)."""
    if image.interpretation != "srgb" or image.format != "uchar":
        image = image.colourspace("srgb").cast("uchar")
    if image.bands not in (3, 4):
        raise damaged()
    return image


def _opaque(image: Any) -> Any:
    return image.flatten(background=255) if image.hasalpha() else image


def _strips(image: Any) -> Iterator[Any]:
    for top in range(0, image.height, STRIP_PX):
        height = min(STRIP_PX, image.height - top)
        yield image.crop(0, top, image.width, height).write_to_memory()
