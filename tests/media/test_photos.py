"""Photos: upright, small, and nothing in what is stored but the picture."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from service.media.photos import prepare_photo
from service.media.sketches import prepare_sketch
from tests.media.loaded import LOADED, MARKS_OF_PAYLOAD
from tests.media.making import encoded, exif_with_place, pixels, scene


@pytest.mark.parametrize("name", LOADED)
def test_nothing_but_the_picture_is_in_what_is_stored(name: str, tmp_path: Path) -> None:
    data = LOADED[name]()
    assert any(mark in data for mark in MARKS_OF_PAYLOAD)
    photo = prepare_photo(data)
    source = tmp_path / "upload"
    source.write_bytes(data)
    prepare_sketch(source, tmp_path / "tiles")
    stored = [file.read_bytes() for file in (tmp_path / "tiles").rglob("*") if file.is_file()]
    for blob in (photo.full, photo.small, *stored):
        assert [mark for mark in MARKS_OF_PAYLOAD if mark in blob] == []


@pytest.mark.parametrize("name", LOADED)
def test_a_stored_photo_holds_no_part_but_what_a_plain_jpeg_needs(name: str) -> None:
    """Marker codes of ITU-T T.81, table B.1; APP0 is the JFIF header."""
    photo = prepare_photo(LOADED[name]())
    for blob in (photo.full, photo.small):
        assert set(_markers(blob)) <= {0xE0, 0xDB, 0xC0, 0xC4, 0xDA}
        assert blob.endswith(b"\xff\xd9")


def _markers(data: bytes) -> list[int]:
    at, found = 2, []
    while True:
        assert data[at] == 0xFF
        found.append(data[at + 1])
        if data[at + 1] == 0xDA:
            return found
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_stands_upright_as_its_exif_says(orientation: int) -> None:
    """Pillow's own turning of the same file is the outside word."""
    data = encoded(scene(900, 500), "JPEG", quality=92, exif=exif_with_place(orientation))
    photo = prepare_photo(data)
    with Image.open(io.BytesIO(data)) as image:
        upright = np.asarray(ImageOps.exif_transpose(image).convert("RGB"), np.int16)
    seen = pixels(photo.full)
    assert seen.shape == upright.shape == (photo.height_px, photo.width_px, 3)
    assert np.abs(seen - upright).mean() < 5


def test_a_large_photo_becomes_1600_and_320_px_long_and_a_small_one_stays(tmp_path: Path) -> None:
    big = tmp_path / "big"
    big.write_bytes(encoded(scene(4000, 3000), "JPEG", quality=80))
    photo = prepare_photo(big)
    assert (photo.width_px, photo.height_px) == (1600, 1200)
    assert (photo.small_width_px, photo.small_height_px) == (320, 240)
    assert pixels(photo.full).shape == (1200, 1600, 3) and pixels(photo.small).shape == (240, 320, 3)
    little = prepare_photo(encoded(scene(200, 120), "PNG"))
    assert (little.width_px, little.height_px, little.small_width_px) == (200, 120, 200)


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_a_photo_in_grey_or_in_four_inks_is_stored_in_screen_colours(mode: str) -> None:
    photo = prepare_photo(encoded(scene(400, 300).convert(mode), "JPEG"))
    with Image.open(io.BytesIO(photo.full)) as image:
        assert image.mode == "RGB"


def test_a_see_through_photo_lies_on_white() -> None:
    photo = prepare_photo(encoded(Image.new("RGBA", (400, 300), (0, 0, 0, 0)), "PNG"))
    assert pixels(photo.full).min() >= 253
