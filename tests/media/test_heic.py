"""HEIC photos, as phones make them: upright, small, stripped, and held to the limits of every other photo."""

from __future__ import annotations

import io
import struct

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from service.media import limits
from service.media.photos import prepare_photo
from service.media.refusals import BadPicture
from tests.media.loaded import MARKS_OF_PAYLOAD
from tests.media.making import CANARY, exif_with_place, pixels, scene

# An encoder in no hurry takes ten seconds for these, and makes the same kind of file.
QUICK = {"preset": "ultrafast"}


def heic(image: Image.Image, **options: object) -> bytes:
    """A HEIC file, encoded by the library that a phone's own stands in for here."""
    out = io.BytesIO()
    pillow_heif.from_pillow(image).save(out, quality=90, enc_params=QUICK, **options)
    return out.getvalue()


def corners() -> Image.Image:
    """Red at the upper left, green at the upper right, blue at the lower left, and wider than tall."""
    image = Image.new("RGB", (480, 320), "white")
    for colour, at in (("red", (0, 0)), ((0, 160, 0), (360, 0)), ("blue", (0, 200))):
        image.paste(colour, (*at, at[0] + 120, at[1] + 120))
    return image


def test_a_heic_photo_becomes_the_same_two_jpegs_as_any_other() -> None:
    drawn = scene(1800, 1350)
    photo = prepare_photo(heic(drawn))
    assert photo.full.startswith(b"\xff\xd8\xff") and photo.small.startswith(b"\xff\xd8\xff")
    assert (photo.width_px, photo.height_px) == (1600, 1200)
    assert (photo.small_width_px, photo.small_height_px) == (320, 240)
    right = np.asarray(drawn.resize((1600, 1200), Image.Resampling.LANCZOS), np.int16)
    assert np.abs(pixels(photo.full) - right).mean() < 6


@pytest.mark.parametrize("orientation", range(1, 9))
def test_it_stands_upright_whatever_way_the_phone_was_held(orientation: int) -> None:
    """Encoded with a turn in its container (irot, imir) that undoes how the sensor lay."""
    turns = {
        2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }  # fmt: skip
    lying = corners().transpose(turns[orientation]) if orientation in turns else corners()
    exif = Image.Exif()
    exif[0x0112] = orientation
    out = io.BytesIO()
    pillow_heif.register_heif_opener()
    lying.save(out, "HEIF", exif=exif.tobytes(), quality=95)
    photo = prepare_photo(out.getvalue())
    assert (photo.width_px, photo.height_px) == (480, 320)
    seen = pixels(photo.full)
    for colour, (x, y) in (((255, 0, 0), (60, 60)), ((0, 160, 0), (420, 60)), ((0, 0, 255), (60, 260))):
        assert np.abs(seen[y, x] - np.array(colour)).max() < 40, (orientation, colour, seen[y, x])


def test_place_device_and_notes_are_gone() -> None:
    data = heic(corners(), exif=exif_with_place(), xmp=b"<x:xmpmeta>" + CANARY + b"</x:xmpmeta>")
    assert CANARY in data and b"Exif" in data
    photo = prepare_photo(data + CANARY)
    for payload in MARKS_OF_PAYLOAD:
        assert payload not in photo.full and payload not in photo.small
    with Image.open(io.BytesIO(photo.full)) as full:
        assert not full.getexif() and "icc_profile" not in full.info


def test_a_photo_with_transparency_lies_on_white() -> None:
    drawn = Image.new("RGBA", (200, 120), (255, 0, 0, 0))
    assert pixels(prepare_photo(heic(drawn)).full).min() > 245


# --- what is hostile --------------------------------------------------------------------------------------


TOLD = ("too-many-pixels", "too-narrow", "picture-damaged", "picture-too-hard")


def saying(data: bytes, width: int, height: int) -> bytes:
    """The file with another size in every `ispe` (ISO/IEC 23008-12, 6.5.3)."""
    place = data.find(b"ispe")
    while place >= 0:
        data = data[: place + 8] + struct.pack(">II", width, height) + data[place + 16 :]
        place = data.find(b"ispe", place + 4)
    return data


def refused(data: bytes) -> str:
    with pytest.raises(BadPicture) as caught:
        prepare_photo(data)
    assert caught.value.message.endswith(".") and "Traceback" not in caught.value.message
    return caught.value.code


def test_a_true_heic_of_too_many_pixels_is_refused_before_it_is_decoded() -> None:
    """One colour packs 51 million pixels into a few kB."""
    bomb = heic(Image.new("RGB", (8500, 6000), "grey"))
    assert len(bomb) < 200_000
    assert refused(bomb) == "too-many-pixels"
    # The same one claiming to be small: whoever decodes it meets the true size, within the child's limits.
    assert refused(saying(bomb, 480, 320)) in TOLD


@pytest.mark.parametrize("size", [(65_535, 65_535), (2**31, 2**31), (2**32 - 1, 1), (9_000, 9_000)])
def test_one_that_claims_to_be_huge_is_refused(size: tuple[int, int]) -> None:
    assert refused(saying(heic(corners()), *size)) in TOLD


def test_one_cut_short_or_spoiled_is_refused() -> None:
    whole = heic(scene(600, 400))
    assert refused(whole[: len(whole) // 2]) == "picture-truncated"
    head = whole.find(b"mdat")
    assert refused(whole[:60] + bytes(255 - byte for byte in whole[60:head]) + whole[head:]) in (
        "picture-damaged", "picture-truncated", "picture-too-hard"
    )  # fmt: skip
    assert refused(whole[:16] + b"\0" * 400) in ("picture-damaged", "picture-truncated")


def test_one_too_narrow_or_too_heavy_is_refused() -> None:
    assert refused(heic(Image.new("RGB", (640, 8), "grey"))) == "too-narrow"
    assert refused(heic(corners()).ljust(limits.PHOTO.file_bytes + 1, b"\0")) == "too-large"
