"""Cuts strips of rows into a pyramid of WebP tiles on white paper, and a preview of the whole."""

from __future__ import annotations

import io
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from PIL import Image, ImageChops

from service.media.picture import (
    PAPER_FILE,
    PREVIEW_BYTES,
    PREVIEW_FILE,
    PREVIEW_PX,
    TILE_PX,
    Picture,
    levels_for,
    tile_name,
    write_picture,
)
from service.media.strips import Strips

# Pillow alone, without numpy: loading numpy would take a fifth of a plan's whole time.
PAPER = (255, 255, 255)
HALF = TILE_PX // 2
# Line work is kept exactly while that stays small; past this it is a photograph and WebP's loss is unseen.
_EXACT_BYTES = 40_000
_QUALITY = 82
# Tiles waiting to be written, each 262 kB: a decoder faster than the writers must not fill the memory.
_WAITING = 64


def build(strips: Strips, kind: str, into: Path) -> dict[str, Any]:
    """Write every tile, the preview and the facts of a picture into a directory; give the facts of `Picture`.

    Tiles that are nothing but paper are not written: `paper.webp` stands for all of them.
    """
    levels = levels_for(strips.width_px, strips.height_px)
    (into / PAPER_FILE).write_bytes(_exact(Image.new("RGB", (TILE_PX, TILE_PX), PAPER)))
    for level in range(levels):
        (into / str(level)).mkdir()
    picture = Picture(strips.width_px, strips.height_px, levels, TILE_PX, kind, 0, 0)
    with ThreadPoolExecutor(2) as writers:
        tower = _Tower(picture, into, writers)
        for y, rows in enumerate(strips.rows):
            tower.add_row(0, y, _tiles(_image(rows, strips)))
        width_px, height_px = _write_preview(tower.preview, into)
        tower.finish()
    picture = replace(picture, preview_width_px=width_px, preview_height_px=height_px)
    write_picture(into, picture)
    return asdict(picture)


class _Tower:
    """Rows of tiles go in at the bottom; each pair of rows, halved, becomes a row of the level above."""

    def __init__(self, picture: Picture, into: Path, writers: ThreadPoolExecutor) -> None:
        self.picture = picture
        self.drawn = picture.kind != "jpeg"
        self.into = into
        self.writers = writers
        self.waiting: list[Future[None]] = []
        self.halves: list[dict[int, Image.Image]] = [{} for _ in range(picture.levels)]
        big_enough = [n for n in range(picture.levels) if max(picture.size_at(n)) >= PREVIEW_PX]
        self.preview_level = max(big_enough, default=0)
        self.preview = Image.new("RGB", picture.size_at(self.preview_level), PAPER)

    def add_row(self, level: int, y: int, tiles: dict[int, Image.Image]) -> None:
        """Take the tiles of one row that are not bare paper, by column, and write what follows from them."""
        for x, tile in tiles.items():
            self._write(level, x, y, tile)
            if level == self.preview_level:
                self.preview.paste(tile, (x * TILE_PX, y * TILE_PX))
        if level == self.picture.levels - 1:
            return
        above = self.halves[level]
        for x, tile in tiles.items():
            if x // 2 not in above:
                above[x // 2] = Image.new("RGB", (TILE_PX, TILE_PX), PAPER)
            above[x // 2].paste(tile.reduce(2), (HALF * (x % 2), HALF * (y % 2)))
        if y % 2 == 1 or y == self.picture.tiles_at(level)[1] - 1:
            self.halves[level] = {}
            self.add_row(level + 1, y // 2, above)

    def finish(self) -> None:
        """Wait until every tile is on disk; raises what writing any of them raised."""
        for future in self.waiting:
            future.result()

    def _write(self, level: int, x: int, y: int, tile: Image.Image) -> None:
        if len(self.waiting) >= _WAITING:
            self.waiting.pop(0).result()
        path = self.into / tile_name(level, x, y)
        self.waiting.append(self.writers.submit(_write_tile, path, tile, self.drawn))


def _image(rows: Any, strips: Strips) -> Image.Image:
    height = len(rows) // strips.row_bytes
    mode = "RGBA" if strips.bands == 4 else "RGB"
    return Image.frombuffer(mode, (strips.width_px, height), rows, "raw", mode, strips.row_bytes, 1)


def _tiles(strip: Image.Image) -> dict[int, Image.Image]:
    """The tiles of one strip that are not bare paper, each full-size RGB on paper, by column."""
    clear = strip.getchannel("A") if strip.mode == "RGBA" else None
    found = {}
    for x in range(-(-strip.width // TILE_PX)):
        box = (x * TILE_PX, 0, min((x + 1) * TILE_PX, strip.width), strip.height)
        # Most of a plan is bare ground, so that is looked for first, in the one channel that tells it.
        if clear is not None and clear.crop(box).getbbox() is None:
            continue
        part = strip.crop(box)
        tile = Image.new("RGB", (TILE_PX, TILE_PX), PAPER)
        tile.paste(part, (0, 0), part if clear is not None else None)
        if ImageChops.invert(tile).getbbox() is not None:
            found[x] = tile
    return found


def _write_tile(path: Path, tile: Image.Image, drawn: bool) -> None:
    data = _exact(tile) if drawn else b""
    if not data or len(data) > _EXACT_BYTES:
        data = _close(tile, _QUALITY)
    path.write_bytes(data)


def _exact(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "WEBP", lossless=True, quality=0, method=0)
    return out.getvalue()


def _close(image: Image.Image, quality: int, method: int = 0) -> bytes:
    out = io.BytesIO()
    image.save(out, "WEBP", quality=quality, method=method)
    return out.getvalue()


def _write_preview(image: Image.Image, into: Path) -> tuple[int, int]:
    image.thumbnail((PREVIEW_PX, PREVIEW_PX), Image.Resampling.BOX)
    for quality in (75, 50, 25, 5, 0):
        data = _close(image, quality)
        if len(data) <= PREVIEW_BYTES:
            break
    else:
        raise RuntimeError("a preview of 1600 px did not fit 200 KB at the lowest quality")
    (into / PREVIEW_FILE).write_bytes(data)
    return image.size
