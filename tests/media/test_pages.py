"""A page of a PDF, drawn at 200 dots per inch: where its ink lies, how big it is, which pages there are."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.media.picture import preview_path
from service.media.refusals import BadPicture
from service.media.sketches import pdf_pages, prepare_sketch
from tests.media.making import drawing, encoded, pdf, pixels

# One black square, 72 points (1 in) each way, 72 points from the left and 36 from the foot of a letter page.
SQUARE = "0 0 0 rg 72 36 72 72 re f"
LETTER = (612, 792, SQUARE)
LARGE = (3024, 2160, "1 0 0 rg 0 0 3024 2160 re f")


def put(data: bytes, room: Path) -> Path:
    source = room / "plans"
    source.write_bytes(data)
    return source


def test_a_page_is_drawn_at_200_dots_per_inch_with_its_ink_in_place(tmp_path: Path) -> None:
    """72 points are an inch (ISO 32000-1, 8.3.2.3), so 200 pixels; PDF measures up from the foot."""
    picture = prepare_sketch(put(pdf([LETTER]), tmp_path), tmp_path / "tiles")
    assert (picture.width_px, picture.height_px, picture.kind) == (1700, 2200, "pdf")
    shown = pixels(preview_path(tmp_path / "tiles"))
    scale = shown.shape[0] / 2200
    left, top, right, low = (round(v * scale) for v in (200, 1900, 400, 2100))
    assert shown[top + 4 : low - 4, left + 4 : right - 4].max() < 40
    assert (
        shown[: top - 4].min() > 215
        and shown[:, right + 4 :].min() > 215
        and shown[:, : left - 4].min() > 215
    )


def test_the_pages_are_listed_with_the_size_they_would_have(tmp_path: Path) -> None:
    pages = pdf_pages(put(pdf([LETTER, LARGE]), tmp_path))
    assert [(p.number, p.width_pt, p.height_pt, p.width_px, p.height_px) for p in pages] == [
        (1, 612, 792, 1700, 2200),
        (2, 3024, 2160, 8400, 6000),
    ]


def test_the_page_asked_for_is_the_page_drawn_and_the_first_is_drawn_when_none_is(tmp_path: Path) -> None:
    source = put(pdf([LETTER, LARGE]), tmp_path)
    second = prepare_sketch(source, tmp_path / "second", page=2)
    assert (second.width_px, second.height_px) == (8400, 6000)
    red, green, _ = (int(value) for value in pixels(preview_path(tmp_path / "second"))[500, 500])
    assert red > 240 and green < 20
    assert prepare_sketch(source, tmp_path / "first").width_px == 1700


@pytest.mark.parametrize("page", [0, -1, 3, 10**9])
def test_a_page_that_is_not_there_is_refused_and_the_pages_there_are_told(page: int, tmp_path: Path) -> None:
    with pytest.raises(BadPicture) as refused:
        prepare_sketch(put(pdf([LETTER, LARGE]), tmp_path), tmp_path / "tiles", page=page)
    assert refused.value.code == "page-missing"
    assert "2 pages" in refused.value.message


def test_a_second_page_of_a_picture_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadPicture) as refused:
        prepare_sketch(put(encoded(drawing(99, 99), "PNG"), tmp_path), tmp_path / "tiles", page=2)
    assert refused.value.code == "page-missing"


def test_a_page_too_big_to_draw_is_refused_with_its_size(tmp_path: Path) -> None:
    with pytest.raises(BadPicture) as refused:
        prepare_sketch(put(pdf([(3600, 3600, "")]), tmp_path), tmp_path / "tiles")
    assert refused.value.code == "too-many-pixels"
    assert "50.0 by 50.0 in" in refused.value.message and "10,000 by 10,000 pixels" in refused.value.message


def test_pages_are_only_asked_of_a_pdf(tmp_path: Path) -> None:
    with pytest.raises(BadPicture) as refused:
        pdf_pages(put(encoded(drawing(99, 99), "PNG"), tmp_path))
    assert refused.value.code == "not-a-picture"
