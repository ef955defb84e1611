"""How many passes a JPEG may be built up in: as many as programs write, and none that only waste time."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.media.headers import MOST_PARTS
from service.media.passes import MOST_PASSES, check_passes
from service.media.photos import prepare_photo
from service.media.refusals import BadPicture
from tests.media.making import encoded, exif_with_place, jpeg_of_passes, scene


def refused(data: bytes, folder: Path) -> str:
    """The code it is refused with, or nothing."""
    source = folder / "picture"
    source.write_bytes(data)
    try:
        check_passes(source)
    except BadPicture as bad:
        return bad.code
    return ""


def with_passes(count: int) -> bytes:
    """The first so many passes of one built up of 2,647."""
    pieces = jpeg_of_passes(64, 64).split(b"\xff\xda")
    return b"\xff\xda".join(pieces[: count + 1]) + b"\xff\xd9"


@pytest.mark.parametrize(("mode", "passes"), [("L", 6), ("RGB", 10), ("CMYK", 18)])
def test_what_programs_write_has_far_fewer_passes_and_is_taken(mode: str, passes: int) -> None:
    """As many as the shared library's own ladder gives, counted by another way than the service's."""
    data = encoded(scene(400, 300).convert(mode), "JPEG", progressive=True)
    assert data.count(b"\xff\xda") == passes
    assert 2 * passes < MOST_PASSES
    assert prepare_photo(data).width_px == 400


def test_forty_passes_are_taken_and_one_more_is_not(tmp_path: Path) -> None:
    assert refused(with_passes(40), tmp_path) == ""
    assert refused(with_passes(41), tmp_path) == "picture-too-hard"


def test_marks_between_the_parts_of_a_pass_count_as_nothing(tmp_path: Path) -> None:
    """Cameras write thousands, so that a fault in a file spoils little of it (ITU-T T.81, B.2.4.4)."""
    data = encoded(scene(1600, 1200), "JPEG", restart_marker_blocks=1)
    assert sum(data.count(b"\xff" + bytes((mark,))) for mark in range(0xD0, 0xD8)) > MOST_PARTS
    assert refused(data, tmp_path) == ""


def test_passes_in_a_note_or_behind_the_end_are_no_passes_of_the_picture(tmp_path: Path) -> None:
    note = b"\xff\xda\0\2" * 100
    noted = encoded(scene(80, 60), "JPEG", comment=note, exif=exif_with_place())
    assert refused(noted + note, tmp_path) == ""


def test_bytes_that_fill_and_marks_before_a_marker_hide_no_pass(tmp_path: Path) -> None:
    for before in (b"\xff\xff", b"\xff\xd0"):  # and a mark between parts has no length to be skipped
        filled = with_passes(41).replace(b"\xff\xda", before + b"\xff\xda")
        assert refused(filled, tmp_path) == "picture-too-hard"


def test_a_file_of_ever_more_parts_is_left_soon(tmp_path: Path) -> None:
    """Parts before the picture's size are counted where that is read; these stand behind it."""
    data = encoded(scene(80, 60), "JPEG")
    at = data.index(b"\xff\xda")
    for count, code in ((4_900, ""), (100_000, "picture-damaged")):
        assert refused(data[:at] + b"\xff\xfe\0\2" * count + data[at:], tmp_path) == code
