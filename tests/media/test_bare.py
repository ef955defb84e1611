"""What is kept of a sketch: its picture as it came, and nothing else. Pillow is the outside word."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from service.media.bare import write_bare
from service.media.headers import what_is
from service.media.refusals import BadPicture
from service.media.sketches import bare_picture, prepare_sketch
from tests.media.hostile import TRAPS
from tests.media.loaded import LOADED, MARKS_OF_PAYLOAD
from tests.media.making import chunk, drawing, encoded, exif_with_place, pdf, pixels, scene

_CLEAR = Image.new("RGBA", (96, 96), (200, 0, 0, 90))
PLAIN: dict[str, Callable[[], bytes]] = {
    "a JPEG": lambda: encoded(scene(300, 200), "JPEG"),
    "a JPEG in passes": lambda: encoded(scene(300, 200), "JPEG", progressive=True),
    "a JPEG with marks between its parts": lambda: encoded(
        scene(300, 200), "JPEG", restart_marker_blocks=1, subsampling=0
    ),
    "a JPEG in grey": lambda: encoded(scene(300, 200).convert("L"), "JPEG"),
    "a JPEG in four inks": lambda: encoded(scene(300, 200).convert("CMYK"), "JPEG"),
    "a PNG": lambda: encoded(drawing(300, 200), "PNG", dpi=(200, 200)),
    "a PNG with a palette and a clear colour": lambda: encoded(
        drawing(300, 200).quantize(8), "PNG", transparency=1
    ),
    "a PNG that is see-through": lambda: encoded(_CLEAR, "PNG"),
    "a WebP": lambda: encoded(scene(300, 200), "WEBP"),
    "a WebP to the bit": lambda: encoded(drawing(300, 200), "WEBP", lossless=True),
    "a WebP that is see-through": lambda: encoded(_CLEAR, "WEBP"),
}


def bare(data: bytes, folder: Path) -> bytes:
    source = folder / "upload"
    source.write_bytes(data)
    return bare_picture(source, folder).read_bytes()


def seen(data: bytes) -> tuple[str, np.ndarray]:
    with Image.open(io.BytesIO(data)) as image:
        return image.mode, np.asarray(image.convert("RGBA"))


@pytest.mark.parametrize("name", PLAIN)
def test_a_file_that_is_nothing_but_a_picture_is_kept_to_the_byte(name: str, tmp_path: Path) -> None:
    data = PLAIN[name]()
    assert bare(data, tmp_path) == data


NOTED = {name: make for name, make in TRAPS.items() if "swells" not in name}  # that one's data are its own


@pytest.mark.parametrize("name", [*LOADED, *NOTED])
def test_of_a_loaded_file_the_pixels_are_kept_and_nothing_else(name: str, tmp_path: Path) -> None:
    data = (LOADED | NOTED)[name]()
    left = bare(data, tmp_path)
    assert [mark for mark in MARKS_OF_PAYLOAD if mark in left] == []
    assert len(left) < len(data)
    with Image.open(io.BytesIO(left)) as image:
        assert not image.getexif() and not {"icc_profile", "xmp", "comment", "exif"} & set(image.info)
    if name not in NOTED:  # which Pillow will not open
        (mode, came), (kept_mode, kept) = seen(data), seen(left)
        assert (kept_mode, kept.shape) == (mode, came.shape)
        assert np.array_equal(kept, came)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_that_lies_on_its_side_is_kept_upright_without_its_notes(form: str, tmp_path: Path) -> None:
    """As its tiles show it: places on a sketch are told in pixels of the upright picture."""
    data = encoded(scene(300, 200), form, exif=exif_with_place(6))
    left = bare(data, tmp_path)
    with Image.open(io.BytesIO(data)) as image:
        upright = np.asarray(ImageOps.exif_transpose(image).convert("RGB"), np.int16)
    picture = prepare_sketch(tmp_path / "upload", tmp_path / "tiles")
    assert pixels(left).shape == upright.shape == (picture.height_px, picture.width_px, 3)
    assert np.abs(pixels(left) - upright).mean() < 5
    assert [mark for mark in MARKS_OF_PAYLOAD if mark in left] == []


def test_a_pdf_is_kept_as_it_was_issued(tmp_path: Path) -> None:
    data = pdf([(200, 200, "0 0 90 90 re f")])
    assert bare(data, tmp_path) == data


def test_a_note_that_bears_a_parts_name_and_is_larger_than_such_a_part_goes(tmp_path: Path) -> None:
    data = encoded(drawing(96, 96), "PNG")
    at = data.index(b"IDAT") - 4
    assert bare(data[:at] + chunk(b"gAMA", b"x" * 5) + data[at:], tmp_path) == data


def test_a_file_of_ever_more_parts_is_refused(tmp_path: Path) -> None:
    data = encoded(drawing(96, 96), "PNG")
    source = tmp_path / "upload"
    source.write_bytes(data[:-12] + chunk(b"IDAT", b"") * 100_001 + data[-12:])
    with pytest.raises(BadPicture) as refused:
        write_bare(source, what_is(source), tmp_path / "bare")
    assert refused.value.code == "picture-damaged"


def test_the_small_picture_in_a_jpegs_header_goes(tmp_path: Path) -> None:
    """It may show what was cut off the large one (JFIF 1.02: its size and 3 bytes a dot end the header)."""
    data = encoded(scene(300, 200), "JPEG")
    assert data[2:6] == b"\xff\xe0\0\x10" and data[18:20] == b"\0\0"
    small = data[:4] + b"\0\x1c" + data[6:18] + b"\2\2" + b"canary of 12" + data[20:]
    with Image.open(io.BytesIO(small)) as image:
        image.load()
    assert bare(small, tmp_path) == data
