"""Every limit an upload is held to, in one place, and the sentences that refuse what is past them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from service.media.headers import Header
from service.media.refusals import BadPicture

MIB = 1024 * 1024
PDF_DPI = 200
# More pages than this are not listed: nobody chooses a slab sketch from a longer list.
MOST_PAGES = 500


@dataclass(frozen=True)
class Limits:
    """How big an upload may be, and what its decoding may cost.

    `resident` is the memory the decoding process may hold in bytes and `address` what it may reserve, `cpu_s`
    its processor seconds, `wall_s` the seconds on the clock after which it is ended.
    """

    thing: str
    file_bytes: int
    pixels: int
    least_side_px: int
    resident: int
    address: int
    cpu_s: int
    wall_s: int


SKETCH = Limits("sketch", 100_000_000, 80_000_000, 64, 700 * MIB, 1_600 * MIB, 60, 90)
PHOTO = Limits("photo", 15 * MIB, 50_000_000, 16, 500 * MIB, 1_200 * MIB, 20, 30)


def check_file(source: Path, limits: Limits) -> None:
    """Refuse a file of too many bytes before anything in it is looked at."""
    size = source.stat().st_size
    if size > limits.file_bytes:
        raise BadPicture(
            "too-large",
            f"This file is {size / 1e6:.1f} MB. "
            f"A {limits.thing} may be at most {limits.file_bytes / 1e6:.0f} MB.",
        )


def check_header(header: Header, limits: Limits) -> None:
    """Refuse a picture by what it declares, before decoding."""
    if header.animated:
        raise BadPicture("animated", f"This picture moves. A {limits.thing} must be one still picture.")
    check_size(header.width_px, header.height_px, limits, "This picture")


def check_size(width_px: int, height_px: int, limits: Limits, what: str) -> None:
    """Refuse a size that is too small to draw on or too big to decode."""
    if width_px * height_px > limits.pixels:
        raise BadPicture(
            "too-many-pixels",
            f"{what} is {width_px:,} by {height_px:,} pixels, {width_px * height_px / 1e6:.1f} million. "
            f"A {limits.thing} may have at most {limits.pixels / 1e6:.0f} million.",
        )
    if min(width_px, height_px) < limits.least_side_px:
        raise BadPicture(
            "too-narrow",
            f"{what} is {width_px:,} by {height_px:,} pixels. "
            f"A {limits.thing} needs at least {limits.least_side_px} each way.",
        )
