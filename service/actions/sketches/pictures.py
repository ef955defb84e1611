"""Hand out a sketch's picture piece by piece to those who may see it; say where a still piece was pressed."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.sketches.sketches import one_sketch, picture_of, tiles_name
from service.domain.nouns.site import Px
from service.domain.words.refusals import NotFound
from service.media.picture import TILE_PX, Picture, preview_path, tile_path
from service.media.window import CLOSEST, MOST_WINDOW_PX, Window, crop, level_to_show, window

__all__ = ["CLOSEST", "MOST_WINDOW_PX", "Taken", "Window"]


@dataclass(frozen=True, slots=True)
class Taken:
    """A picture that was taken in: its file's SHA-256 and, of a PDF, the page."""

    sha256: str
    page: int | None

    @property
    def name(self) -> str:
        """One word for an address, read back by `Taken.read`."""
        return tiles_name(self.sha256, self.page)

    @classmethod
    def read(cls, name: str) -> Taken:
        """From `name`. NotFound when it is none."""
        sha256, _, page = name.partition("-")
        hexadecimal = len(sha256) == 64 and all(sign in "0123456789abcdef" for sign in sha256)
        if not hexadecimal or not (page == "" or (page.isascii() and page.isdigit() and len(page) <= 5)):
            raise NotFound
        return cls(sha256, int(page) if page else None)


@dataclass(frozen=True, slots=True)
class Piece:
    """One WebP, and the name of its content for a cache: the same name is the same bytes for ever."""

    body: bytes
    name: str


@contextmanager
def arriving(desk: Desk, stream: BinaryIO) -> Iterator[Path]:
    """An upload as a file of its own, next to where it will be kept; gone afterwards unless it was moved."""
    with desk.blobs.coming() as folder:
        path = folder / "upload"
        with path.open("wb") as file:
            shutil.copyfileobj(stream, file, 1024 * 1024)
        yield path


def shown_picture(
    desk: Desk, by: str, sketch_id: str, revision: int | None = None, coming: Taken | None = None
) -> tuple[Taken, bool]:
    """The picture of a sketch as it is today, or one taken in for its next revision, for who may see it.

    True beside it where `revision` names exactly this picture, so that a browser may keep it for ever. A
    coming picture is told by its SHA-256, which nobody knows who does not have the file; only those who may
    add a sketch see it.
    """
    seen = one_sketch(desk, by, sketch_id)
    if coming is not None:
        allow(seen, "add a sketch")
        return coming, True
    return Taken(seen.sketch.sha256, seen.sketch.page), revision == seen.sketch.revision


def tile(desk: Desk, taken: Taken, level: int, x: int, y: int) -> Piece:
    """One tile of a picture somebody was shown. NotFound outside it."""
    folder = desk.blobs.tiles(taken.name)
    path = tile_path(folder, _picture(desk, taken), level, x, y)
    if path is None:
        raise NotFound
    return Piece(path.read_bytes(), f"{taken.name}-{level}-{x}-{y}")


def preview(desk: Desk, taken: Taken) -> Piece:
    """The whole picture, at most 1600 px and 200 KB."""
    _picture(desk, taken)
    return Piece(preview_path(desk.blobs.tiles(taken.name)).read_bytes(), f"{taken.name}-preview")


def still(desk: Desk, taken: Taken, centre: Px, level: int, width: int, height: int) -> Piece:
    """The still picture of a window. NotFound for a level or size there is none of."""
    picture = _picture(desk, taken)
    try:
        body = crop(desk.blobs.tiles(taken.name), picture, centre, level, width, height)
    except ValueError:
        raise NotFound from None
    return Piece(body, f"{taken.name}-{centre[0]}-{centre[1]}-{level}-{width}-{height}")


def _picture(desk: Desk, taken: Taken) -> Picture:
    return picture_of(desk, taken.sha256, taken.page)


def sizes_of(desk: Desk, taken: Taken) -> tuple[int, int, int]:
    """Width, height and number of levels of a picture that was taken in. Conflict when it is gone."""
    picture = _picture(desk, taken)
    return picture.width_px, picture.height_px, picture.levels


def window_at(sizes: tuple[int, int, int], centre: Px, level: int, width: int, height: int) -> Window:
    """The window round a place (thousandths of a pixel); the level is kept within what the picture has.

    `sizes`: width and height in pixels, and the number of levels.
    """
    picture = Picture(*sizes, TILE_PX, "", 0, 0)
    return window(picture, centre, min(max(level, CLOSEST), sizes[2] - 1), width, height)


def level_for_all(sizes: tuple[int, int, int], width: int, height: int) -> int:
    """The closest level at which the whole picture fits a window."""
    return level_to_show(Picture(*sizes, TILE_PX, "", 0, 0), width, height)
