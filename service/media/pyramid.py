"""Cuts strips of rows into a pyramid of WebP tiles on white paper, and a preview of the whole."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

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

Pixels = NDArray[np.uint8]
PAPER = 255
HALF = TILE_PX // 2
# Line work is kept exactly while that stays small; past this it is a photograph and WebP's loss is unseen.
_EXACT_BYTES = 40_000
_QUALITY = 82
# Tiles waiting to be written, each 196 kB: a decoder faster than the writers must not fill the memory.
_WAITING = 64


def build(rows: Iterable[Pixels], width_px: int, height_px: int, kind: str, into: Path) -> dict[str, Any]:
    """Write every tile, the preview and the facts of a picture into a directory; give the facts of `Picture`.

    Tiles that are nothing but paper are not written: `paper.webp` stands for all of them.
    """
    levels = levels_for(width_px, height_px)
    (into / PAPER_FILE).write_bytes(_exact(Image.new("RGB", (TILE_PX, TILE_PX), (PAPER,) * 3)))
    for level in range(levels):
        (into / str(level)).mkdir()
    with ThreadPoolExecutor(2) as writers:
        tower = _Tower(width_px, height_px, levels, kind != "jpeg", into, writers)
        for y, strip in enumerate(_ahead(rows)):
            tower.add_row(0, y, _tiles(strip))
        tower.finish()
    size = _write_preview(tower.preview, into)
    picture = Picture(width_px, height_px, levels, TILE_PX, kind, *size)
    write_picture(into, picture)
    return asdict(picture)


class _Tower:
    """Rows of tiles go in at the bottom; each pair of rows, halved, becomes a row of the level above."""

    def __init__(
        self, width_px: int, height_px: int, levels: int, drawn: bool, into: Path, writers: ThreadPoolExecutor
    ) -> None:
        self.top = levels - 1
        self.down = [-(-height_px // (TILE_PX << level)) for level in range(levels)]
        self.drawn = drawn
        self.into = into
        self.writers = writers
        self.waiting: list[Future[None]] = []
        self.halves: list[dict[int, Pixels]] = [{} for _ in range(levels)]
        self.preview_level = max(
            (n for n in range(levels) if -(-max(width_px, height_px) // (1 << n)) >= PREVIEW_PX), default=0
        )
        size = (-(-height_px // (1 << self.preview_level)), -(-width_px // (1 << self.preview_level)))
        self.preview: Pixels = np.full((*size, 3), PAPER, np.uint8)

    def add_row(self, level: int, y: int, tiles: dict[int, Pixels]) -> None:
        """Take the tiles of one row that are not bare paper, by column, and write what follows from them."""
        for x, tile in tiles.items():
            self._write(level, x, y, tile)
            if level == self.preview_level:
                room = self.preview[y * TILE_PX : (y + 1) * TILE_PX, x * TILE_PX : (x + 1) * TILE_PX]
                room[:] = tile[: room.shape[0], : room.shape[1]]
        if level == self.top:
            return
        above = self.halves[level]
        for x, tile in tiles.items():
            parent = above.setdefault(x // 2, np.full((TILE_PX, TILE_PX, 3), PAPER, np.uint8))
            down, across = HALF * (y % 2), HALF * (x % 2)
            parent[down : down + HALF, across : across + HALF] = np.asarray(Image.fromarray(tile).reduce(2))
        if y % 2 == 1 or y == self.down[level] - 1:
            self.halves[level] = {}
            self.add_row(level + 1, y // 2, above)

    def finish(self) -> None:
        """Wait until every tile is on disk; raises what writing any of them raised."""
        for future in self.waiting:
            future.result()

    def _write(self, level: int, x: int, y: int, tile: Pixels) -> None:
        if len(self.waiting) >= _WAITING:
            self.waiting.pop(0).result()
        path = self.into / tile_name(level, x, y)
        self.waiting.append(self.writers.submit(_write_tile, path, tile, self.drawn))


def _ahead(rows: Iterable[Pixels]) -> Iterator[Pixels]:
    """The same strips, the next one being decoded while this one is cut."""
    coming = iter(rows)
    with ThreadPoolExecutor(1) as decoder:
        ready = decoder.submit(next, coming, None)
        while (strip := ready.result()) is not None:
            ready = decoder.submit(next, coming, None)
            yield strip


def _tiles(strip: Pixels) -> dict[int, Pixels]:
    """The tiles of one strip that are not bare paper, each full-size RGB, by column."""
    found = {}
    for x in range(-(-strip.shape[1] // TILE_PX)):
        tile = _on_paper(strip[:, x * TILE_PX : (x + 1) * TILE_PX])
        if tile is not None:
            found[x] = tile
    return found


def _on_paper(part: Pixels) -> Pixels | None:
    """A part of the picture laid on a tile of white paper, or None where only paper would show."""
    # Most of a plan is bare ground, so one colour all over is looked for first, four channels at a time.
    if part.shape[2] == 4 and (part.view(np.uint32) == part.view(np.uint32)[0, 0]).all():
        if part[0, 0, 3] == 0 or part[0, 0].min() == PAPER:
            return None
    elif part.min() == PAPER:
        return None
    if part.shape[2] == 4:
        part = _flat(part)
    tile: Pixels = np.full((TILE_PX, TILE_PX, 3), PAPER, np.uint8)
    tile[: part.shape[0], : part.shape[1]] = part
    return tile


def _flat(part: Pixels) -> Pixels:
    """Colours with transparency, laid over white paper."""
    over = Image.fromarray(np.ascontiguousarray(part), "RGBA")
    paper = Image.new("RGBA", over.size, (PAPER,) * 4)
    return np.asarray(Image.alpha_composite(paper, over).convert("RGB"))


def _write_tile(path: Path, tile: Pixels, drawn: bool) -> None:
    image = Image.fromarray(tile)
    data = _exact(image) if drawn else b""
    if not data or len(data) > _EXACT_BYTES:
        data = _close(image, _QUALITY)
    path.write_bytes(data)


def _exact(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "WEBP", lossless=True, quality=0, method=0)
    return out.getvalue()


def _close(image: Image.Image, quality: int, method: int = 0) -> bytes:
    out = io.BytesIO()
    image.save(out, "WEBP", quality=quality, method=method)
    return out.getvalue()


def _write_preview(pixels: Pixels, into: Path) -> tuple[int, int]:
    image = Image.fromarray(pixels)
    image.thumbnail((PREVIEW_PX, PREVIEW_PX), Image.Resampling.BOX)
    for quality in (75, 50, 25, 5, 0):
        data = _close(image, quality)
        if len(data) <= PREVIEW_BYTES:
            break
    else:
        raise RuntimeError("a preview of 1600 px did not fit 200 KB at the lowest quality")
    (into / PREVIEW_FILE).write_bytes(data)
    return image.size
