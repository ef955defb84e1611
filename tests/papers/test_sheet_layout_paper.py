"""A layout on paper is as large as its scale says, and tells every sheet with its cut length."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import pytest

from service.actions.closeout.layout_paper import layout_paper, sheets_to_draw
from service.actions.film.layout_ground import ground_of_layout
from service.actions.frame.desk import Desk
from service.domain.nouns.site import Zone
from service.papers.sheet_layout import SheetsToDraw, draw_sheets
from tests import builders
from tests.cast import Cast
from tests.papers.reading import broken_rules, must_be_an_archive_that_can_be_heard, words

SVG = "{http://www.w3.org/2000/svg}"
FOOT_MM = 304.8


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    """80 by 60 ft."""
    return builders.a_zone(desk, cast)


def numbers_in(svg: bytes, kind: str) -> list[float]:
    root = ElementTree.fromstring(svg)
    (path,) = (p.attrib["d"] for p in root.iter(f"{SVG}path") if p.attrib.get("data-is") == kind)
    return [float(n) for n in re.findall(r"-?[\d.]+", path)]


def drawn(desk: Desk, cast: Cast, zone: Zone, **given: Any) -> tuple[SheetsToDraw, bytes]:
    layout = builders.a_layout(desk, cast, zone, **given)
    what = sheets_to_draw(*ground_of_layout(desk, cast.lead.id, layout.id))
    return what, draw_sheets(what).svg


def test_a_sheet_of_eighty_feet_is_as_long_on_paper_as_the_scale_says(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    what, svg = drawn(desk, cast, zone)
    drawing = draw_sheets(what)
    # 80 ft across 155 mm of paper asks 1 : 157.3 at least; the next usual scale is 1 : 192 (1/16 in = 1 ft).
    assert drawing.scale.words == "1/16 in = 1 ft (1:192)"
    xs = numbers_in(svg, "sheets")[::2]
    assert max(xs) - min(xs) == pytest.approx(80 * FOOT_MM / 192, abs=0.002)
    ys = numbers_in(svg, "sheets")[1::2]
    assert max(ys) - min(ys) == pytest.approx((5 * 15 - 4 * 0.5) * FOOT_MM / 192, abs=0.002)


def test_each_sheet_is_told_with_its_number_and_cut_length_on_the_drawing(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    _, svg = drawn(desk, cast, zone)
    told = [found.text for found in ElementTree.fromstring(svg).iter(f"{SVG}text")]
    assert [text for text in told if text and ": 80 ft" in text] == [f"{n}: 80 ft" for n in range(1, 6)]


def test_the_paper_is_an_archive_that_tells_sheets_cautions_and_whose_word_comes_first(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    layout = builders.a_layout(desk, cast, zone, draw_seams=True)
    paper = layout_paper(desk, cast.lead.id, layout.id)
    assert paper.name == "sheets-B.pdf"
    must_be_an_archive_that_can_be_heard(paper.content, "Sheets of zone B")
    assert broken_rules(paper.content) == []
    told = " ".join(words(paper.content).split())
    for each in ("15 ft by 200 ft", "6 in along, 6 in across", "to the right on the sketch", "two people"):
        assert each in told
    assert layout_paper(desk, cast.lead.id, layout.id).content == paper.content, "the same bytes again"
