"""The still window: shows what the sketch shows there, and a press on it names the right place."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from service.media.picture import Picture
from service.media.sketches import prepare_sketch
from service.media.window import crop, level_to_show, window
from tests.media.making import drawing, encoded, pixels

WIDE, HIGH = 1500, 1100
PAST = 2048
SIZES = Picture(WIDE, HIGH, 4, 256, "png", 1500, 1100)


@pytest.fixture(scope="module")
def sketch(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Picture]:
    room = tmp_path_factory.mktemp("window")
    (room / "plan").write_bytes(encoded(drawing(WIDE, HIGH), "PNG"))
    return room / "tiles", prepare_sketch(room / "plan", room / "tiles")


def _expected(left: int, top: int, width: int, height: int, level: int) -> NDArray[np.int16]:
    """The same window cut by Pillow from the picture itself, on white."""
    paper = Image.new("RGB", (6144, 6144), "white")
    paper.paste(drawing(WIDE, HIGH), (PAST, PAST))
    if level >= 0:
        near = paper.reduce(1 << level)
        off = PAST >> level
        box = (off + left, off + top, off + left + width, off + top + height)
        return np.asarray(near.crop(box), np.int16)
    grow = 1 << -level
    box = (PAST + left // grow, PAST + top // grow, PAST + left // grow + 200, PAST + top // grow + 200)
    near = paper.crop(box).resize((200 * grow, 200 * grow), Image.Resampling.NEAREST)
    return np.asarray(
        near.crop((left % grow, top % grow, left % grow + width, top % grow + height)), np.int16
    )


@pytest.mark.parametrize("level", [-3, -1, 0, 1, 3])
@pytest.mark.parametrize("centre", [(0, 0), (700_250, 500_900), (1_500_000, 1_100_000), (1_499_000, 3_000)])
def test_a_window_shows_what_the_sketch_shows_there(
    sketch: tuple[Path, Picture], level: int, centre: tuple[int, int]
) -> None:
    tiles, picture = sketch
    view = window(picture, centre, level, 300, 200)
    seen = pixels(crop(tiles, picture, centre, level, 300, 200))
    assert seen.shape == (200, 300, 3)
    assert np.abs(seen - _expected(view.left, view.top, 300, 200, level)).mean() < 6


@given(
    st.integers(0, WIDE * 1000),
    st.integers(0, HIGH * 1000),
    st.integers(-3, 3),
    st.integers(1, 900),
    st.data(),
)
def test_a_pressed_pixel_names_a_place_that_the_same_pixel_shows(
    x: int, y: int, level: int, size: int, data: st.DataObject
) -> None:
    view = window(SIZES, (x, y), level, size, size)
    press = (data.draw(st.integers(0, size - 1)), data.draw(st.integers(0, size - 1)))
    assert view.shows_at(view.place_at(*press)) == press


def test_a_press_at_full_size_names_the_middle_of_the_pressed_pixel() -> None:
    view = window(SIZES, (700_000, 500_000), 0, 300, 200)
    assert (view.left, view.top) == (550, 400)
    assert view.place_at(0, 0) == (550_500, 400_500)
    assert window(SIZES, (700_000, 500_000), 1, 300, 200).place_at(150, 100) == (701_000, 501_000)
    assert window(SIZES, (700_000, 500_000), -1, 300, 200).place_at(150, 100) == (700_250, 500_250)


def test_pressing_again_closer_in_ends_within_an_eighth_of_a_pixel() -> None:
    aim = (1_234_567, 765_432)
    place = (WIDE * 500, HIGH * 500)
    for level in (3, 1, -1, -3):
        view = window(SIZES, place, level, 640, 640)
        x, y = view.shows_at(aim)
        assert 0 <= x < 640 and 0 <= y < 640
        place = view.place_at(x, y)
    assert max(abs(place[0] - aim[0]), abs(place[1] - aim[1])) <= 125


def test_a_centre_off_the_sketch_is_brought_to_its_edge() -> None:
    assert window(SIZES, (-9_000_000, 10**12), 0, 100, 100) == window(SIZES, (0, HIGH * 1000), 0, 100, 100)


@pytest.mark.parametrize(
    ("level", "width", "height"), [(4, 100, 100), (-4, 100, 100), (0, 0, 100), (0, 100, 1025), (0, 10**9, 1)]
)
def test_a_window_of_no_such_level_or_size_is_refused(level: int, width: int, height: int) -> None:
    with pytest.raises(ValueError, match=r"level|window"):
        window(SIZES, (0, 0), level, width, height)


def test_the_whole_sketch_is_shown_at_the_closest_level_that_fits() -> None:
    assert level_to_show(SIZES, 400, 400) == 2
    assert level_to_show(SIZES, 1500, 1100) == 0
    assert level_to_show(SIZES, 50, 50) == 3
