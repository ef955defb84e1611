"""Tiles: every level matches the picture, checked against Pillow's own decoding and averaging."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from service.media.picture import Picture, preview_path, read_picture, tile_path
from service.media.sketches import prepare_sketch
from tests.media.making import NO_PLANS, PLANS, drawing, encoded, exif_with_place, pixels, scene

TILE = 256
PAPER = (255, 255, 255)
# Averaging level by level rounds at each of at most seven levels, by half a grey step at most (arithmetic).
ROUNDING = 4


def flattened(image: Image.Image, box: tuple[int, int, int, int]) -> Image.Image:
    """What stands in one box of the picture, over white paper, told by Pillow alone."""
    part = image.crop((box[0], box[1], min(box[2], image.width), min(box[3], image.height)))
    part = part.convert("RGBA")
    paper = Image.new("RGBA", (box[2] - box[0], box[3] - box[1]), (*PAPER, 255))
    paper.alpha_composite(part)
    return paper.convert("RGB")


def averaged(image: Image.Image, level: int, x: int, y: int) -> NDArray[np.int16]:
    """One tile of a level as the average of the full-size pixels under it, in one step."""
    times, left, top = 1 << level, x * TILE << level, y * TILE << level
    # Past the picture's last pixels there is paper only, and that is not averaged: it would be a gigabyte.
    across = min(TILE, -(-(image.width - left) // times))
    down = min(TILE, -(-(image.height - top) // times))
    full = flattened(image, (left, top, left + across * times, top + down * times))
    expected = np.full((TILE, TILE, 3), 255, np.int16)
    expected[:down, :across] = np.asarray(full if level == 0 else full.reduce(times))
    return expected


def tile(tiles: Path, picture: Picture, level: int, x: int, y: int) -> NDArray[np.int16]:
    path = tile_path(tiles, picture, level, x, y)
    assert path is not None
    got = pixels(path)
    assert got.shape == (TILE, TILE, 3)
    return got


def prepared(image: bytes, room: Path, **options: int) -> tuple[Picture, Path, Path]:
    source, tiles = room / "upload", room / "tiles"
    source.write_bytes(image)
    return prepare_sketch(source, tiles, **options), tiles, source


def every_tile(picture: Picture) -> list[tuple[int, int, int]]:
    found = []
    for level in range(picture.levels):
        across, down = picture.tiles_at(level)
        found += [(level, x, y) for y in range(down) for x in range(across)]
    return found


@pytest.mark.parametrize("size", [(1300, 900), (257, 256), (64, 1025), (256, 256)])
def test_every_tile_of_a_drawing_matches_the_picture_at_every_level(
    size: tuple[int, int], tmp_path: Path
) -> None:
    picture, tiles, source = prepared(encoded(drawing(*size), "PNG"), tmp_path)
    with Image.open(source) as image:
        for level, x, y in every_tile(picture):
            off = np.abs(tile(tiles, picture, level, x, y) - averaged(image, level, x, y))
            assert off.max() <= (0 if level == 0 else ROUNDING), (level, x, y)


@pytest.mark.parametrize("form", ["JPEG", "WEBP", "PNG"])
def test_every_tile_of_a_photograph_matches_within_what_webp_loses(form: str, tmp_path: Path) -> None:
    """WebP at this quality keeps smooth pictures within a few grey steps on average (from memory)."""
    picture, tiles, source = prepared(encoded(scene(1100, 700), form), tmp_path)
    with Image.open(source) as image:
        for level, x, y in every_tile(picture):
            off = np.abs(tile(tiles, picture, level, x, y) - averaged(image, level, x, y))
            assert off.mean() <= 4, (level, x, y)


def test_the_levels_halve_rounding_up_until_one_tile_holds_the_picture(tmp_path: Path) -> None:
    picture, tiles, _ = prepared(encoded(drawing(1025, 700), "PNG"), tmp_path)
    assert [picture.size_at(n) for n in range(picture.levels)] == [
        (1025, 700),
        (513, 350),
        (257, 175),
        (129, 88),
    ]
    assert [picture.tiles_at(n) for n in range(picture.levels)] == [(5, 3), (3, 2), (2, 1), (1, 1)]
    assert tile_path(tiles, picture, 0, 5, 0) is None
    assert tile_path(tiles, picture, 0, 0, -1) is None
    assert tile_path(tiles, picture, 4, 0, 0) is None
    assert read_picture(tiles) == picture


def test_bare_ground_shares_one_paper_tile_that_is_white(tmp_path: Path) -> None:
    image = Image.new("RGB", (1024, 1024), PAPER)
    image.paste((0, 0, 0), (10, 10, 60, 60))
    picture, tiles, _ = prepared(encoded(image, "PNG"), tmp_path)
    assert tile_path(tiles, picture, 0, 3, 3) == tile_path(tiles, picture, 0, 2, 1)
    assert (tile(tiles, picture, 0, 3, 3) == 255).all()
    assert len(list((tiles / "0").iterdir())) == 1


@pytest.mark.parametrize("hidden", [(0, 0, 0), (255, 0, 255)])
def test_a_transparent_ground_shows_as_white_whatever_colour_hides_in_it(
    hidden: tuple[int, int, int], tmp_path: Path
) -> None:
    image = Image.new("RGBA", (600, 400), (*hidden, 0))
    image.paste((0, 0, 0, 255), (300, 100, 310, 300))
    image.paste((255, 0, 0, 128), (100, 100, 140, 300))
    picture, tiles, _ = prepared(encoded(image, "PNG"), tmp_path)
    first = tile(tiles, picture, 0, 0, 0)
    assert (first[0, 0] == 255).all()
    assert np.abs(first[150, 120] - (255, 127, 127)).max() <= 1
    assert (tile(tiles, picture, 0, 1, 0)[150, 48] == 0).all()
    assert (pixels(preview_path(tiles))[0, 0] >= 253).all()


def test_see_through_colours_of_a_palette_show_as_white(tmp_path: Path) -> None:
    image = Image.new("P", (300, 300), 0)
    image.putpalette([9, 9, 9, 0, 0, 200])
    image.paste(1, (100, 100, 150, 150))
    picture, tiles, _ = prepared(encoded(image, "PNG", transparency=0), tmp_path)
    first = tile(tiles, picture, 0, 0, 0)
    assert (first[0, 0] == 255).all() and tuple(first[120, 120]) == (0, 0, 200)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "I;16", "P", "RGBA"])
def test_every_way_a_png_keeps_its_colours_is_read(mode: str, tmp_path: Path) -> None:
    grey = drawing(400, 300).convert("L")
    if mode == "I;16":
        image = Image.fromarray(np.asarray(grey, np.uint16) * 257)
    else:
        image = grey.convert(mode) if mode != "P" else drawing(400, 300).quantize(8)
    expected = np.asarray((grey if mode == "I;16" else image).convert("RGB"), np.int16)
    picture, tiles, _ = prepared(encoded(image, "PNG"), tmp_path)
    assert np.abs(tile(tiles, picture, 0, 0, 0) - expected[:256, :256]).max() <= 1


def test_a_press_jpeg_in_four_inks_shows_its_colours(tmp_path: Path) -> None:
    image = Image.new("CMYK", (300, 300), (0, 255, 255, 0))
    picture, tiles, _ = prepared(encoded(image, "JPEG"), tmp_path)
    red, green, blue = (int(value) for value in tile(tiles, picture, 0, 0, 0)[100, 100])
    assert red > 180 and green < 90 and blue < 90


@pytest.mark.parametrize(
    ("orientation", "corner"), [(1, "left top"), (3, "right low"), (6, "right top"), (8, "left low")]
)
def test_a_sketch_is_turned_as_its_exif_says(orientation: int, corner: str, tmp_path: Path) -> None:
    """CIPA DC-008 (Exif), tag 0x0112: where the stored first row and column are shown (from memory)."""
    image = Image.new("RGB", (600, 400), PAPER)
    image.paste((0, 0, 0), (0, 0, 100, 100))
    data = encoded(image, "JPEG", quality=95, exif=exif_with_place(orientation))
    picture, tiles, _ = prepared(data, tmp_path)
    turned = orientation in (6, 8)
    assert (picture.width_px, picture.height_px) == ((400, 600) if turned else (600, 400))
    seen = pixels(preview_path(tiles))
    across = 5 if "left" in corner else -5
    down = 5 if "top" in corner else -5
    assert seen[down, across].max() < 40
    assert seen[-down, -across].min() > 215


def test_the_preview_is_at_most_1600_px_and_200_kb_even_of_noise(tmp_path: Path) -> None:
    noise = np.random.default_rng(2).integers(0, 255, (1800, 2400, 3), dtype=np.uint8)
    picture, tiles, _ = prepared(encoded(Image.fromarray(noise), "PNG", compress_level=1), tmp_path)
    assert preview_path(tiles).stat().st_size <= 200_000
    assert (picture.preview_width_px, picture.preview_height_px) == (1600, 1200)
    assert pixels(preview_path(tiles)).shape == (1200, 1600, 3)


@pytest.mark.skipif(not PLANS.is_dir(), reason=NO_PLANS)
@pytest.mark.parametrize("name", ["tower-floor.png", "bent-block.png"])
def test_tiles_of_a_real_plan_match_it_at_every_level(name: str, tmp_path: Path) -> None:
    source = PLANS / name
    picture = prepare_sketch(source, tmp_path / "tiles")
    with Image.open(source) as image:
        assert (picture.width_px, picture.height_px) == image.size
        rng = np.random.default_rng(7)
        drawn = 0
        for level in range(picture.levels):
            across, down = picture.tiles_at(level)
            spots = {
                (int(rng.integers(across)), int(rng.integers(down))) for _ in range(40 if level < 2 else 8)
            }
            for x, y in spots:
                expected = averaged(image, level, x, y)
                off = np.abs(tile(tmp_path / "tiles", picture, level, x, y) - expected)
                assert off.max() <= (1 if level == 0 else ROUNDING), (level, x, y)
                drawn += int(expected.min() < 255)
        assert drawn > 20
