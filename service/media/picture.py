"""What a prepared picture is: its sizes, the files of its tile pyramid, and where one tile lies."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

TILE_PX = 256
PREVIEW_PX = 1600
PREVIEW_BYTES = 200_000
PAPER_FILE = "paper.webp"
PREVIEW_FILE = "preview.webp"
FACTS_FILE = "picture.json"


@dataclass(frozen=True)
class Picture:
    """A sketch cut into tiles.

    Level 0 is the full size; each level halves the one before (rounded up) until one tile holds it all, so
    `levels` counts them and the last is `levels - 1`. A viewer whose zoom 0 is the full size and which zooms
    out into negative numbers asks for level `-zoom`. Every tile is exactly `tile_px` square: what lies past
    the picture's right and lower edge is paper.
    """

    width_px: int
    height_px: int
    levels: int
    tile_px: int
    kind: str
    preview_width_px: int
    preview_height_px: int

    def size_at(self, level: int) -> tuple[int, int]:
        """Width and height in pixels of one level (0 is the full size)."""
        return _halved(self.width_px, level), _halved(self.height_px, level)

    def tiles_at(self, level: int) -> tuple[int, int]:
        """How many tiles one level has across and down."""
        width, height = self.size_at(level)
        return -(-width // self.tile_px), -(-height // self.tile_px)


@dataclass(frozen=True)
class PageSize:
    """One page of a PDF: its number from 1, its size in points (1/72 in) and in pixels when drawn."""

    number: int
    width_pt: float
    height_pt: float
    width_px: int
    height_px: int


@dataclass(frozen=True)
class Photo:
    """A photo made safe: JPEG bytes, `full` at most 1600 px long and `small` at most 320 px."""

    full: bytes
    width_px: int
    height_px: int
    small: bytes
    small_width_px: int
    small_height_px: int


def levels_for(width_px: int, height_px: int) -> int:
    """How many levels a picture needs until one tile holds all of it."""
    level = 0
    while max(_halved(width_px, level), _halved(height_px, level)) > TILE_PX:
        level += 1
    return level + 1


def tile_name(level: int, x: int, y: int) -> str:
    """Where a tile lies inside its tiles directory; a tile that is nothing but paper has no file."""
    return f"{level}/{x}-{y}.webp"


def tile_path(tiles_dir: Path, picture: Picture, level: int, x: int, y: int) -> Path | None:
    """The WebP to send for a tile: the shared paper tile where nothing is drawn, None outside."""
    if not 0 <= level < picture.levels:
        return None
    across, down = picture.tiles_at(level)
    if not (0 <= x < across and 0 <= y < down):
        return None
    drawn = tiles_dir / tile_name(level, x, y)
    return drawn if drawn.is_file() else tiles_dir / PAPER_FILE


def preview_path(tiles_dir: Path) -> Path:
    """The small WebP of the whole picture: longest side at most 1600 px, at most 200 KB."""
    return tiles_dir / PREVIEW_FILE


def read_picture(tiles_dir: Path) -> Picture:
    """The facts of a picture prepared earlier, kept beside its tiles. Raises FileNotFoundError."""
    return Picture(**json.loads((tiles_dir / FACTS_FILE).read_text("utf-8")))


def write_picture(tiles_dir: Path, picture: Picture) -> None:
    """Keep a picture's facts beside its tiles, so the directory explains itself."""
    (tiles_dir / FACTS_FILE).write_text(json.dumps(asdict(picture), sort_keys=True), "utf-8")


def _halved(length_px: int, level: int) -> int:
    return -(-length_px // (1 << level))
