"""A still window onto a sketch, for choosing a place by pressing the picture where no script runs."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from service.domain.nouns.site import Px
from service.media.picture import Picture, tile_path

PX = 1000
"""Positions are thousandths of a full-size pixel."""
MOST_WINDOW_PX = 1024
CLOSEST = -3
"""Level -3 shows one pixel of the sketch as 8 by 8, so that a place can be chosen within a pixel."""
PAPER_COLOUR = (255, 255, 255)


@dataclass(frozen=True)
class Window:
    """What part of a sketch a still picture shows.

    `left` and `top` are pixels of its level, from the sketch's origin (negative past its edge); `level`
    counts as in `Picture`, and goes on below 0, doubling, to -3. `width`, `height`: the still picture's.
    """

    left: int
    top: int
    level: int
    width: int
    height: int

    def place_at(self, x: int, y: int) -> Px:
        """The place (thousandths of a full-size pixel) under the middle of a pressed pixel."""
        return _to_full(2 * (self.left + x) + 1, self.level), _to_full(2 * (self.top + y) + 1, self.level)

    def shows_at(self, place: Px) -> tuple[int, int]:
        """The still picture's pixel for a place (thousandths of a full-size pixel), in it or not."""
        return _from_full(place[0], self.level) - self.left, _from_full(place[1], self.level) - self.top


def window(picture: Picture, centre_px: Px, level: int, width: int, height: int) -> Window:
    """The window of a size around a place given in thousandths of a full-size pixel.

    The centre is kept on the sketch. Raises ValueError for a level the sketch does not have (-3 up to
    `picture.levels - 1`) or a size outside 1..1024.
    """
    if not CLOSEST <= level < picture.levels:
        raise ValueError(f"level {level} is not one of {CLOSEST} to {picture.levels - 1}")
    if not (1 <= width <= MOST_WINDOW_PX and 1 <= height <= MOST_WINDOW_PX):
        raise ValueError(f"a window must be 1 to {MOST_WINDOW_PX} pixels each way")
    x = min(max(centre_px[0], 0), picture.width_px * PX)
    y = min(max(centre_px[1], 0), picture.height_px * PX)
    return Window(_from_full(x, level) - width // 2, _from_full(y, level) - height // 2, level, width, height)


def level_to_show(picture: Picture, width: int, height: int) -> int:
    """The closest level at which the whole sketch still fits a window."""
    for level in range(picture.levels):
        across, down = picture.size_at(level)
        if across <= width and down <= height:
            return level
    return picture.levels - 1


def crop(tiles_dir: Path, picture: Picture, centre_px: Px, level: int, width: int, height: int) -> bytes:
    """The still picture (WebP) of `window(...)` with the same arguments, put together from tiles.

    Past the sketch's edge it shows paper. Raises ValueError as `window` does.
    """
    view = window(picture, centre_px, level, width, height)
    grow = 1 << max(-level, 0)
    # Below level 0 the full-size pixels are enlarged: whole ones are taken, then the window is cut from them.
    left, top = view.left // grow, view.top // grow
    across = -(-(view.left + width) // grow) - left
    down = -(-(view.top + height) // grow) - top
    image = _assembled(tiles_dir, picture, max(level, 0), left, top, across, down)
    if grow > 1:
        image = image.resize((across * grow, down * grow), Image.Resampling.NEAREST)
        shift_x, shift_y = view.left - left * grow, view.top - top * grow
        image = image.crop((shift_x, shift_y, shift_x + width, shift_y + height))
    out = io.BytesIO()
    image.save(out, "WEBP", quality=80, method=0)
    return out.getvalue()


def _assembled(
    tiles_dir: Path, picture: Picture, level: int, left: int, top: int, across: int, down: int
) -> Image.Image:
    image = Image.new("RGB", (across, down), PAPER_COLOUR)
    side = picture.tile_px
    for y in range(top // side, (top + down - 1) // side + 1):
        for x in range(left // side, (left + across - 1) // side + 1):
            path = tile_path(tiles_dir, picture, level, x, y)
            if path is not None and path.stem != "paper":
                with Image.open(path, formats=("WEBP",)) as tile:
                    image.paste(tile, (x * side - left, y * side - top))
    return image


def _to_full(twice: int, level: int) -> int:
    """Thousandths of a full-size pixel of a position given as twice a level's pixels."""
    return twice * PX << level >> 1 if level >= 0 else twice * PX >> (1 - level)


def _from_full(thousandths: int, level: int) -> int:
    """The level's pixel that a position in thousandths of a full-size pixel falls in."""
    return thousandths // (PX << level) if level >= 0 else (thousandths << -level) // PX
