"""A zone on paper is as large as its scale says: measured in the drawing and on the printed page."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.nouns.rules import ready_made
from service.domain.nouns.site import Alignment, GridLine, Site
from service.domain.shapes.outlines import Circle, Rectangle
from service.domain.words.measures import Units
from service.history.facts import facts as f
from service.papers.drawing.scale_drawing import ScaleDrawing, draw_to_scale
from service.papers.drawing.scales import bar_for, scale_that_fits, usual_scales
from service.papers.setting.typeset import compile_pdf
from tests.history.story import INCH, MANAGER, Story, ground, mark, patch, pipe, px, ring, seal, seam, whole
from tests.papers.reading import printed_outline
from tests.papers.test_typeset import specimen

AT = datetime(2026, 11, 25, tzinfo=UTC)
FOOT_MM = 304.8
SVG = "{http://www.w3.org/2000/svg}"


def ten_feet() -> Story:
    """A zone of 10 by 10 ft, 10 px a foot."""
    corners = ring(((100, 100), (200, 100), (200, 200), (100, 200)))
    return ground().tell(f.ZoneOutlined("zt", "s", "T", "Pit", corners, None), who=MANAGER)


def drawn(site: Site, zone: str = "zt", width: float = 174.0, height: float = 170.0) -> ScaleDrawing:
    found = draw_to_scale(site, zone, width, height)
    assert found is not None
    return found


def paths(drawing: ScaleDrawing, kind: str) -> list[list[tuple[float, float]]]:
    """The corners of every path of a kind, in millimetres of paper; a circle as its left and right end."""
    root = ElementTree.fromstring(drawing.svg)
    return [
        corners(found.attrib["d"]) for found in root.iter(f"{SVG}path") if found.attrib.get("data-is") == kind
    ]


def corners(d: str) -> list[tuple[float, float]]:
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", d)]
    if "a" in d:
        return [(numbers[0], numbers[1]), (numbers[0] + numbers[7], numbers[1])]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def extent(points: list[tuple[float, float]]) -> tuple[float, float]:
    xs, ys = zip(*points, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def words(drawing: ScaleDrawing) -> list[str]:
    return [found.text or "" for found in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text")]


def printed_sides(drawing: ScaleDrawing) -> tuple[float, float]:
    """How wide and tall a lone zone of 10 by 10 ft is on the printed page, in millimetres."""
    data = specimen(width_mm=drawing.width_mm, why=[], lines=[], told=[])
    pdf = compile_pdf("specimen", data, {"figure.svg": drawing.svg}, "Specimen", AT)
    side = drawing.scale.paper_mm(FOOT_MM * 10 * 1e6)
    return printed_outline(pdf, 0, side, side)


def test_a_side_of_ten_feet_is_as_long_on_paper_as_the_scale_says() -> None:
    drawing = drawn(ten_feet().site)
    assert drawing.scale.words == "1/2 in = 1 ft (1:24)"
    wide, tall = extent(paths(drawing, "outline")[0])
    assert wide == pytest.approx(127.0, abs=0.002) and tall == pytest.approx(
        127.0, abs=0.002
    )  # 10 ft at 1/2 in


def test_on_the_printed_page_it_is_so_to_a_tenth_of_a_millimetre() -> None:
    wide, tall = printed_sides(drawn(ten_feet().site, width=120, height=110))  # 1/4 in to the foot
    assert wide == pytest.approx(63.5, abs=0.1) and tall == pytest.approx(63.5, abs=0.1)


def test_a_newer_picture_that_is_turned_and_larger_changes_nothing_of_the_size() -> None:
    story = ten_feet()
    sketch = story.site.sketches["s"]
    # A quarter turn clockwise, twice as large: the base frame's x runs down the new picture.
    moved = Alignment(px(0, 0), px(100, 0), px(2000, 0), px(2000, 200))
    story.site.sketches["s"] = replace(sketch, alignment=moved)
    story.tell(mark("05", (150, 120), "tear", Rectangle(40 * INCH, 10 * INCH), zone="zt"))
    drawing = drawn(story.site)
    assert extent(paths(drawing, "outline")[0]) == pytest.approx((127.0, 127.0), abs=0.002)
    assert extent(paths(drawing, "mark")[0]) == pytest.approx((10 * 25.4 / 24, 40 * 25.4 / 24), abs=0.002)


def test_a_metric_project_is_drawn_at_a_metric_scale() -> None:
    story = ground(ready_made("metric"))
    assert story.site.project is not None
    story.site.project = replace(story.site.project, units="metric")
    drawing = drawn(story.site, "zb")
    assert (drawing.scale.words, drawing.bar.labels) == ("1:200", ("0", "5", "10 m"))
    assert extent(paths(drawing, "outline")[0])[0] == pytest.approx(80 * FOOT_MM / 200, abs=0.002)


def test_everything_is_drawn_by_its_true_outline_however_small() -> None:
    story = ten_feet().tell(
        mark("01", (120, 120), outline=Circle(INCH // 4), zone="zt"),
        mark("02", (160, 160), "tear", Rectangle(12 * INCH, 3 * INCH), zone="zt"),
        pipe("1", (180, 120), zone="zt", tag="T-P1"),
    )
    story.tell(patch("p2", "02", (160, 160), zone="zt"))
    drawing = drawn(story.site)
    small, tear = paths(drawing, "mark")
    assert extent(small)[0] == pytest.approx(25.4 / 4 / 24, abs=0.001)  # a quarter inch: 0.26 mm of paper
    assert extent(tear) == pytest.approx((12 * 25.4 / 24, 3 * 25.4 / 24), abs=0.002)
    assert extent(paths(drawing, "patch")[0]) == pytest.approx((24 * 25.4 / 24, 15 * 25.4 / 24), abs=0.002)
    assert extent(paths(drawing, "pipe")[0])[0] == pytest.approx(4.5 * 25.4 / 24, abs=0.002)
    assert {"B-01", "B-02", "T-P1"} <= set(words(drawing)) and drawing.untagged == 0


def test_the_bar_is_as_long_as_the_ground_it_stands_for() -> None:
    drawing = drawn(whole().site, "zb")
    assert drawing.bar.labels[2] == "20 ft"
    assert extent(paths(drawing, "bar")[0])[0] == pytest.approx(20 * FOOT_MM / 192, abs=0.002)
    assert "Scale 1/16 in = 1 ft (1:192)" in words(drawing)


def test_nothing_that_is_written_reaches_off_the_drawing() -> None:
    """A line of letters stands on its `y` and hangs below it by a fifth of its size (parentheses, commas)."""
    drawing = drawn(whole().site, "zb")
    for found in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text"):
        size, y = float(found.attrib["font-size"]), float(found.attrib["y"])
        assert size < y < drawing.height_mm - 0.2 * size, found.text


@given(
    st.floats(1e8, 3e12),
    st.floats(1e8, 3e12),
    st.sampled_from(("us", "metric")),
    st.floats(60, 400),
    st.floats(60, 400),
)
def test_the_scale_is_the_largest_usual_one_that_fits(
    wide: float, tall: float, units: Units, width: float, height: float
) -> None:
    scale = scale_that_fits(wide, tall, width, height, units)
    assert scale.paper_mm(wide) <= width * 1.000001 and scale.paper_mm(tall) <= height * 1.000001
    larger = [usual for usual in usual_scales(units) if usual.ratio < scale.ratio]
    assert not larger or larger[-1].paper_mm(wide) > width or larger[-1].paper_mm(tall) > height
    bar = bar_for(scale, units, 60)
    assert bar.paper_mm <= 60 and bar.paper_mm == pytest.approx(bar.ground_nm / 1e6 / float(scale.ratio))


def test_the_words_of_a_scale_say_its_ratio() -> None:
    """1/8 in to the foot is 1:96, 1 in to 20 ft is 1:240: arithmetic."""
    told = {scale.words: scale.ratio for scale in usual_scales("us")}
    assert told["1/8 in = 1 ft (1:96)"] == 96 and told["1 in = 20 ft (1:240)"] == Fraction(240)
    assert told["3/32 in = 1 ft (1:128)"] == 128


def test_what_is_not_sealed_is_heavier_than_what_is() -> None:
    story = ten_feet().tell(
        pipe("1", (120, 120), zone="zt", tag="T-P1"), pipe("2", (180, 180), zone="zt", tag="T-P2")
    )
    story.tell(seal("c1", "1", zone="zt"))
    found = re.findall(r'stroke-width="([\d.]+)" data-is="pipe"', drawn(story.site).svg.decode())
    assert found == ["0.15", "0.45"]


def test_a_seam_not_walked_is_dashed_and_a_walked_one_is_ticked() -> None:
    bare = ground().tell(seam("1"))
    assert 'stroke-dasharray="3 1 .6 1" data-is="seam"' in drawn(bare.site, "zb").svg.decode()
    assert 'stroke-dasharray="3 1 .6 1"' not in drawn(whole().site, "zb").svg.decode()


def test_a_row_of_penetrations_is_told_by_one_tag() -> None:
    story = ground().tell(*(pipe(str(n), (300 + 8 * n, 300), tag=f"B-P0{n}") for n in range(1, 7)))
    assert "B-P01 to P06" in words(drawn(story.site, "zb"))


def test_a_label_is_written_as_it_is_and_never_read_as_markup() -> None:
    story = ground()
    hostile = GridLine('<script>"&中', px(500, 0), px(500, 1000))
    story.site.sketches["s"] = replace(story.site.sketches["s"], grid=(hostile,))
    assert '<script>"&[U+4E2D]' in words(drawn(story.site, "zb"))


def test_a_sketch_with_no_scale_gives_no_drawing() -> None:
    story = ground()
    story.site.sketches["s"] = replace(story.site.sketches["s"], scale=None)
    assert draw_to_scale(story.site, "zb") is None


def test_marks_that_find_no_room_for_a_tag_are_counted() -> None:
    story = ten_feet().tell(
        *(mark(f"{n:03}", (150 + n % 20 * 0.1, 150 + n // 20 * 0.1), zone="zt") for n in range(120))
    )
    drawing = drawn(story.site)
    assert len(paths(drawing, "mark")) == 120
    tagged = len([word for word in words(drawing) if word.startswith("B-")])
    assert tagged > 0 and tagged + drawing.untagged == 120
