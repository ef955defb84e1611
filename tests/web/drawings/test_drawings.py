"""The drawings: tags that never pile up, true shapes, dimension lines that end where the patch ends."""

from __future__ import annotations

import math
import re

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit, corners
from service.domain.shapes.sides import Sides
from service.web.drawings.drawing import GridToDraw, Leader, MarkToDraw
from service.web.drawings.patch_drawing import draw_patch, live_rows
from service.web.drawings.paths import exit_nm, grown, shape
from service.web.drawings.zone_drawing import draw_zone
from service.web.serving.render import environment

IN = 25_400_000
RING = (
    (0, 0),
    (2_800_000, 0),
    (2_800_000, 1_400_000),
    (1_800_000, 1_400_000),
    (1_800_000, 2_000_000),
    (0, 2_000_000),
)
SCALE = 6_000_000.0  # 6 mm to a pixel
places = st.tuples(st.integers(0, 2_800_000), st.integers(0, 2_000_000))
states = st.sampled_from(["open", "not sealed", "sealed"])


def mark(
    tag: str, at: tuple[int, int] = (900_000, 700_000), state: str = "open", size: int = 6
) -> MarkToDraw:
    return MarkToDraw(tag, state, at, Circle(size * IN))


def tag_box(leader: Leader) -> tuple[float, float, float, float]:
    left = min(leader.x, leader.x + leader.shelf)
    return left, leader.y - 16, left + abs(leader.shelf), leader.y


def points_of(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path)]


@settings(deadline=None)
@given(st.lists(st.tuples(places, states), max_size=130))
def test_no_tag_covers_another_and_all_stay_on_the_drawing(found: list[tuple[tuple[int, int], str]]) -> None:
    marks = tuple(mark(f"B-{i:02d}", at, state) for i, (at, state) in enumerate(found))
    drawing = draw_zone(RING, SCALE, marks, kind="held", label="Zone B")
    boxes = [tag_box(m.leader) for m in drawing.marks if m.leader]
    for i, (l0, t0, r0, b0) in enumerate(boxes):
        assert l0 >= 0 and t0 >= 0 and r0 <= drawing.width and b0 <= drawing.height
        for l1, t1, r1, b1 in boxes[i + 1 :]:
            assert r0 <= l1 or r1 <= l0 or b0 <= t1 or b1 <= t0
    wanted = [m for m in drawing.marks if len(marks) <= 60 or m.state != "sealed"]
    assert drawing.untagged == sum(m.leader is None for m in wanted)


def test_above_sixty_marks_only_unsettled_ones_are_tagged() -> None:
    marks = tuple(mark(f"B-{i:02d}", (i * 40_000, 500_000), "sealed") for i in range(61))
    crowded = draw_zone(RING, SCALE, (*marks, mark("B-99")), kind="held", label="")
    assert [m.tag for m in crowded.marks if m.leader] == ["B-99"]
    assert any(m.leader for m in draw_zone(RING, SCALE, marks[:5], kind="held", label="").marks)


def test_a_withdrawn_mark_is_not_drawn() -> None:
    assert draw_zone(RING, SCALE, (mark("B-01", state="withdrawn"),), kind="clear", label="").marks == ()


def test_a_mark_too_small_to_see_is_ringed_and_a_large_one_is_not() -> None:
    small, large = draw_zone(
        RING,
        SCALE,
        (mark("B-01", size=1), mark("B-02", (2_000_000, 300_000), size=60)),
        kind="held",
        label="",
    ).marks
    assert small.ring and not large.ring


@pytest.mark.parametrize(
    "outline",
    [
        Circle(3 * IN),
        Rectangle(8 * IN, 2 * IN, 33_000_000),
        Slit(12 * IN, 0, -20_000_000),
        Polygon(((-3 * IN, -IN), (4 * IN, -2 * IN), (2 * IN, 3 * IN))),
    ],
)
def test_the_dashed_outline_stands_off_the_damage_by_the_overlap_all_round(outline: Outline) -> None:
    """Distances by GEOS from the path's own points to the damage: 6 in, to the path's tenth of a unit."""
    k = 100 / IN  # a hundred units to the inch
    path = grown(outline, 6 * IN, lambda u, v: (u * k, v * k), k)
    if isinstance(outline, Circle):
        assert path == shape(Circle(15 * IN), lambda u, v: (u * k, v * k), k)
        return
    damage = shapely.Polygon([(x * k, y * k) for x, y in corners(outline)])
    for x, y in points_of(path):
        assert damage.distance(shapely.Point(x, y)) == pytest.approx(600, abs=0.1)


def test_a_leader_leaves_a_long_mark_at_its_edge() -> None:
    outline = Rectangle(8 * IN, 2 * IN)
    assert exit_nm(outline, 1, 0) == pytest.approx(4 * IN)
    assert exit_nm(outline, 0, -1) == pytest.approx(IN)
    assert exit_nm(outline, 1, 1) == pytest.approx(math.sqrt(2) * IN)


def lengths(sides: Sides, damage: Outline) -> dict[str, float]:
    """Length of each dimension line in inches, by the scale that the drawing itself gives patch.js."""
    drawing = draw_patch(
        damage, 6 * IN, sides, label="", live=live_rows(damage, 6 * IN, sides.angle_udeg, "us")
    )
    assert drawing.live
    frame = drawing.live["frame"]
    assert isinstance(frame, list)
    return {d.side: math.dist(*points_of(d.path)) / frame[0] / IN for d in drawing.dimensions}


@settings(deadline=None)
@given(st.integers(0, 40), st.integers(0, 40), st.integers(0, 40), st.integers(0, 40), st.integers(-89, 90))
def test_a_dimension_line_is_as_long_as_its_reading(
    left: int, right: int, near: int, far: int, turn: int
) -> None:
    damage = Polygon(((-3 * IN, -IN), (4 * IN, -2 * IN), (2 * IN, 3 * IN)))
    sides = Sides(left * IN, right * IN, near * IN, far * IN, turn * 1_000_000)
    drawn = lengths(sides, damage)
    assert drawn == pytest.approx({"left": left, "right": right, "near": near, "far": far}, abs=0.08)


def test_a_wall_side_is_drawn_as_a_wall_and_asks_nothing() -> None:
    drawing = draw_patch(Rectangle(4 * IN, 2 * IN), 6 * IN, Sides(None, 6 * IN, 6 * IN, 6 * IN), label="")
    assert len(drawing.walls) == 1
    assert {d.side for d in drawing.dimensions} == {"right", "near", "far"}


@pytest.mark.parametrize("kind", ["laying", "held", "clear", "ready", "placed", "placed-without-release"])
def test_every_state_of_a_zone_is_told_by_its_own_lines(kind: str) -> None:
    source = '{% import "parts/drawing.html" as d %}{{ d.zone_svg(drawing) }}'
    draw = environment().from_string(source).render
    pages = {
        k: draw(drawing=draw_zone(RING, SCALE, (mark("B-01"),), kind=k, label="Zone B"))
        for k in ("laying", "held", "clear", "ready", "placed", "placed-without-release")
    }
    assert sum(page == pages[kind] for page in pages.values()) == 1
    assert 'aria-label="Zone B"' in pages[kind]
    lines = pages[kind].count(drawn_outline(pages[kind]))
    assert lines == (2 if kind in ("ready", "placed", "placed-without-release") else 1)
    assert ("url(#zone-held)" in pages[kind]) == (kind in ("held", "placed-without-release"))


def test_a_wall_longer_than_its_zone_runs_under_the_names_of_the_grid() -> None:
    """Along a grid line it runs through the bubble that names it."""
    along = GridToDraw("E", (-900_000, 2_000_000), (3_700_000, 2_000_000))
    wall = (along.start, along.end)
    drawing = draw_zone(RING, SCALE, (), kind="open", label="Zone D", walls=(wall,), grid=(along,))
    source = '{% import "parts/drawing.html" as d %}{{ d.zone_svg(drawing) }}'
    svg, _, _ = environment().from_string(source).render(drawing=drawing).partition("</svg>")
    assert 0 < svg.rindex('class="wall"') < svg.index("bubble") < svg.index(">E</text>")


def drawn_outline(svg: str) -> str:
    found = re.search(r'<path class="outline[^"]*" d="([^"]+)"', svg)
    assert found
    return found[1]


def test_where_room_is_short_unsettled_marks_get_their_tags_first() -> None:
    sealed = tuple(mark(f"B-{i:02d}", (900_000 + i, 700_000), "sealed") for i in range(59))
    drawn = draw_zone(RING, SCALE, (*sealed, mark("B-99")), kind="held", label="").marks
    assert drawn[-1].leader
    assert not all(m.leader for m in drawn)
