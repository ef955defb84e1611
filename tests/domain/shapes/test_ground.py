"""The sketch as ground: zones that can stand, marks that reach in, walls that close a side, places."""

from __future__ import annotations

import math
import random

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from service.domain.patches.overlap import Piece, judge
from service.domain.shapes.ground import (
    closed_sides,
    inside,
    marks_reaching_into,
    nearest_zone,
    reaches_into,
    wall_sides,
)
from service.domain.shapes.outline_texts import BadOutline, read_sides
from service.domain.shapes.outlines import (
    Circle,
    Outline,
    Polygon,
    Rectangle,
    Sides,
    Slit,
    sides_as_rectangle,
)
from service.domain.shapes.sides import side_angle, sides_from_json, sides_that_fit, sides_to_json
from service.domain.sketch.alignment import Similarity, scale_nm_per_px, similarity
from service.domain.sketch.grid import Grid, GridLine, check_grid, place_words
from service.domain.sketch.zones import BadZone, area_m2, check_zone_outline, perimeter_nm
from service.domain.words.measures import NM_PER_INCH

INCH = NM_PER_INCH
MM = 1_000_000
SIX = 6 * INCH
# One pixel is an inch; positions are thousandths of a pixel.
PER_PX = float(INCH)
ZONE = [(0, 0), (100_000, 0), (100_000, 80_000), (0, 80_000)]


def test_a_plain_zone_stands() -> None:
    check_zone_outline(ZONE, 100, 80)


@pytest.mark.parametrize(
    ("ring", "code"),
    [
        ([(0, 0), (9_000, 0)], "too-few-corners"),
        ([(0, 0), (9_000, 0), (0, 0)], "too-few-corners"),
        ([(0, 0), (9_000, 9_000), (9_000, 0), (0, 9_000)], "crosses-itself"),
        ([(0, 0), (4_000, 4_000), (9_000, 9_000)], "no-area"),
        ([(0, 0), (500, 0), (500, 500)], "no-area"),
        ([(0, 0), (100_001, 0), (0, 9_000)], "outside-sketch"),
        ([(0, -1), (9_000, 0), (0, 9_000)], "outside-sketch"),
        ([(i, i * i) for i in range(2_001)], "too-many-corners"),
    ],
)
def test_a_zone_that_cannot_stand_is_refused_with_the_reason(ring: list[tuple[int, int]], code: str) -> None:
    with pytest.raises(BadZone) as refused:
        check_zone_outline(ring, 100, 80)
    assert refused.value.code == code and str(refused.value).endswith(".")


def test_area_and_perimeter_follow_the_scale() -> None:
    assert area_m2(ZONE, 1e7) == pytest.approx(0.8)  # 100 by 80 px at 10 mm
    assert perimeter_nm(ZONE, 1e7) == 3_600 * MM
    assert area_m2(ZONE[::-1], 1e7) == area_m2(ZONE, 1e7)
    assert scale_nm_per_px((0, 0), (30_000, 40_000), 50 * INCH) == INCH
    with pytest.raises(ValueError, match="apart"):
        scale_nm_per_px((5, 5), (5, 5), INCH)


def test_a_point_on_the_line_is_inside() -> None:
    assert inside((0, 0), ZONE) and inside((50_000, 0), ZONE) and inside((1, 1), ZONE)
    assert not inside((-1, 0), ZONE)
    other = [(x + 200_000, y) for x, y in ZONE]
    assert nearest_zone((120_000, 5), {"A": ZONE, "B": other}) == "A"
    assert nearest_zone((190_000, 5), {"A": ZONE, "B": other}) == "B"
    assert nearest_zone((0, 0), {}) is None


def test_a_mark_on_the_joint_reaches_into_both_zones() -> None:
    right = [(x + 100_000, y) for x, y in ZONE]
    at = (99_500, 40_000)
    assert reaches_into(Circle(2 * INCH), at, PER_PX, ZONE) and reaches_into(
        Circle(2 * INCH), at, PER_PX, right
    )
    assert reaches_into(Circle(INCH), at, PER_PX, right), "touching the line is reaching in"
    assert not reaches_into(Circle(INCH - 10_000), at, PER_PX, right)
    assert reaches_into(Slit(30 * INCH, 0, 0), (86_000, 9_000), PER_PX, right)
    assert not reaches_into(Slit(30 * INCH, 0, 90_000_000), (86_000, 9_000), PER_PX, right)
    assert reaches_into(Polygon(((-INCH, 0), (INCH, 0), (0, INCH))), (99_000, 9_000), PER_PX, right)


SHAPES = st.sampled_from([Circle(INCH), Slit(9 * INCH), Rectangle(INCH, 3 * INCH, 7)])
SPOTS = st.tuples(st.integers(-20_000, 120_000), st.integers(-20_000, 120_000))


@given(st.lists(st.tuples(SHAPES, SPOTS)))
def test_many_marks_at_once_reach_as_one_by_one(marks: list[tuple[Outline, tuple[int, int]]]) -> None:
    assert marks_reaching_into(marks, PER_PX, ZONE) == [reaches_into(*mark, PER_PX, ZONE) for mark in marks]


@given(st.integers(-180, 180), st.floats(0.1, 10), st.integers(-9_999, 9_999), st.integers(0, 9_999_999))
def test_two_common_points_give_the_turn_the_scale_and_the_shift(
    degrees: int, scale: float, shift: int, x: int
) -> None:
    a, b = scale * math.cos(math.radians(degrees)), scale * math.sin(math.radians(degrees))
    true = Similarity(a, b, float(shift), float(-shift))
    pair = ((0, 0), (9_000_000, 4_000_000))
    found = similarity(pair, (true.apply(pair[0]), true.apply(pair[1])))
    there = true.apply((x, 77_000))
    assert max(abs(p - q) for p, q in zip(found.apply((x, 77_000)), there, strict=True)) <= 3
    back = true.inverse().apply(there)
    assert max(abs(p - q) for p, q in zip(back, (x, 77_000), strict=True)) <= 2 + 1 / scale


def test_two_points_on_one_spot_align_nothing() -> None:
    with pytest.raises(ValueError, match="apart"):
        similarity(((1, 1), (1, 1)), ((0, 0), (5, 5)))


def test_a_wall_within_the_overlap_closes_its_side_and_one_past_it_does_not() -> None:
    at, hole = (50_000, 40_000), Circle(2 * INCH)
    for side, (wall_from, wall_to) in {
        "right": ((57_000, 0), (57_000, 80_000)),
        "left": ((43_000, 80_000), (43_000, 0)),
        "near": ((0, 47_000), (99_000, 47_000)),
        "far": ((99_000, 33_000), (0, 33_000)),
    }.items():
        assert wall_sides(hole, at, PER_PX, wall_from, wall_to, 0, SIX) == {side}
        assert wall_sides(hole, at, PER_PX, wall_from, wall_to, 0, SIX - 3_000) == set()


def test_the_side_a_wall_closes_follows_the_frame() -> None:
    wall = ((57_000, 0), (57_000, 80_000))
    assert wall_sides(Circle(2 * INCH), (50_000, 40_000), PER_PX, *wall, 90_000_000, SIX) == {"far"}
    assert wall_sides(Slit(2 * INCH, 0, 0), (50_000, 40_000), PER_PX, *wall, 0, SIX) == {"right"}


def test_a_wall_that_ends_halfway_closes_nothing_and_two_end_to_end_do() -> None:
    at, hole = (50_000, 40_000), Circle(2 * INCH)
    upper, lower = ((55_000, 0), (55_000, 40_000)), ((55_000, 40_000), (55_000, 80_000))
    assert closed_sides(hole, at, PER_PX, [upper], 0, SIX) == set()
    assert closed_sides(hole, at, PER_PX, [upper, lower], 0, SIX) == {"right"}
    apart = ((55_000, 40_500), (55_000, 80_000))
    assert closed_sides(hole, at, PER_PX, [upper, apart], 0, SIX) == set()


def test_a_wall_behind_the_damage_closes_nothing_in_front() -> None:
    corner = [((45_000, 0), (45_000, 80_000)), ((0, 35_000), (99_000, 35_000))]
    assert closed_sides(Circle(2 * INCH), (50_000, 40_000), PER_PX, corner, 0, SIX) == {"left", "far"}


def test_right_points_along_the_long_axis_brought_into_a_half_turn() -> None:
    assert side_angle(Rectangle(4, 2, 30_000_000)) == 30_000_000
    assert side_angle(Rectangle(4, 2, 210_000_000)) == 30_000_000
    assert side_angle(Rectangle(2, 4, 30_000_000)) == -60_000_000
    assert side_angle(Slit(4, 0, 90_000_000)) == 90_000_000
    assert side_angle(Slit(4, 0, 270_000_000)) == 90_000_000
    assert side_angle(Circle(4)) == 0 and side_angle(Circle(4), 350_000_000) == -10_000_000


def test_sides_are_read_with_walls_and_told_back() -> None:
    hole = Rectangle(4 * INCH, 2 * INCH, 30_000_000)
    read = read_sides({"left": "wall", "right": "6 in", "near": "6 1/2 in", "far": "0 in"}, hole)
    assert read == Sides(None, SIX, SIX + INCH // 2, 0, 30_000_000)
    assert sides_from_json(sides_to_json(read)) == read
    for given_sides, code in (
        ({"left": "6 in", "right": "6 in", "near": "6 in"}, "empty"),
        ({"left": "6", "right": "6 in", "near": "6 in", "far": "6 in"}, "no-unit"),
        (dict.fromkeys(("left", "right", "near", "far"), "wall"), "all-walls"),
        (None, "not-sides"),
    ):
        with pytest.raises(BadOutline) as refused:
            read_sides(given_sides, hole)
        assert refused.value.code == code


def test_readings_that_cannot_add_up_to_the_cut_are_told() -> None:
    tear = Rectangle(4 * INCH, 2 * INCH)
    sides = Sides(SIX, SIX, SIX, SIX)
    assert sides_that_fit(tear, sides, 16 * INCH, 14 * INCH) is None
    assert sides_that_fit(tear, sides, 16 * INCH + INCH // 2, 14 * INCH - INCH // 2) is None
    told = sides_that_fit(tear, sides, 18 * INCH, 14 * INCH)
    assert told == "left 6 in + damage 4 in + right 6 in make 16 in, but the cut is 18 in long."
    assert sides_that_fit(tear, sides, 14 * INCH, 16 * INCH) is not None, (
        "length lies along the readings' angle"
    )
    assert "wide" in str(sides_that_fit(tear, sides, 16 * INCH, 14 * INCH + INCH // 2 + 1))


def test_beside_a_wall_only_too_much_to_fit_is_told() -> None:
    tear, sides = Rectangle(4 * INCH, 2 * INCH), Sides(None, SIX, SIX, SIX)
    assert sides_that_fit(tear, sides, 30 * INCH, 14 * INCH) is None
    assert sides_that_fit(tear, sides, 9 * INCH, 14 * INCH) == (
        "right 6 in + damage 4 in make 10 in, but the cut is 9 in long."
    )


@given(
    st.integers(0, 359_999_999),
    st.tuples(*[st.integers(0, 12 * INCH)] * 4),
    st.sampled_from([Circle(3 * INCH), Rectangle(4 * INCH, 2 * INCH, 20_000_000), Slit(9 * INCH, 0, 5)]),
)
def test_readings_and_the_rectangle_they_make_reach_alike(
    angle: int, read: tuple[int, int, int, int], damage: Outline
) -> None:
    sides = Sides(*read, angle_udeg=angle)
    rectangle, offset = sides_as_rectangle(damage, sides)
    by_tape = judge(damage, [Piece(sides=sides)], 90 * INCH).overlap_nm
    by_shape = judge(damage, [Piece(rectangle, offset)], 90 * INCH).overlap_nm
    assert by_tape is not None and by_shape is not None and abs(by_tape - by_shape) <= 3


def lines(*labels: str, upright: bool) -> tuple[GridLine, ...]:
    """Lines 240 px (20 ft) apart."""
    return tuple(
        GridLine(label, (i * 240_000, 0), (i * 240_000, 9_000))
        if upright
        else GridLine(label, (0, i * 240_000), (9_000, i * 240_000))
        for i, label in enumerate(labels)
    )


GRID = Grid(lines("A", "B", "C", upright=False), lines("1", "2", "3", "4", upright=True))


def test_a_place_is_told_from_the_nearest_crossing() -> None:
    assert place_words((756_000, 480_000), GRID, PER_PX, "us") == "C/4, 3 ft east"
    assert place_words((720_000, 480_000), GRID, PER_PX, "us") == "at C/4"
    assert place_words((222_000, 30_000), GRID, PER_PX, "us") == "A/2, 1 ft 6 in west, 2 ft 6 in south"
    assert place_words((240_000, 200_000), GRID, PER_PX, "metric") == "B/2, 1 m north"
    assert place_words((0, 0), Grid((), GRID.second), PER_PX, "us") is None


def test_north_need_not_be_up() -> None:
    east_is_up = Grid(GRID.first, GRID.second, north_udeg=-90_000_000)
    assert place_words((720_000, 444_000), east_is_up, PER_PX, "us") == "C/4, 3 ft east"
    assert place_words((750_000, 444_000), east_is_up, PER_PX, "us") == "C/4, 3 ft east, 2 ft 6 in south"


def test_grid_lines_need_labels_of_their_own() -> None:
    assert check_grid(GRID.first) is None
    assert check_grid([GRID.first[0], GRID.first[0]]) == "Two grid lines have the same label."
    assert check_grid([GridLine("A", (1, 1), (1, 1))]) == "A grid line needs two different points."
    assert check_grid([GridLine(" ", (0, 0), (1, 1))]) is not None


def a_ring(draw: random.Random) -> list[tuple[int, int]]:
    """A simple ring of whole places, with corners at one height often."""
    turns = sorted(draw.random() * math.tau for _ in range(draw.randint(3, 9)))
    far = draw.choice([9, 300, 900_000])
    ring = [(round(far * math.cos(a) * draw.uniform(0.3, 1)), round(far * math.sin(a))) for a in turns]
    return [(x, draw.choice([y, 0])) for x, y in ring] if draw.random() < 0.3 else ring


def test_whether_a_mark_reaches_in_is_the_same_where_its_middle_settles_it() -> None:
    """Places inside, outside, at corners and on sides; rings as simple as a zone's have to be."""
    draw, told = random.Random(5), list[bool]()
    while len(told) < 3_000:
        ring = a_ring(draw)
        if not shapely.Polygon(ring).is_valid or shapely.Polygon(ring).area == 0:
            continue
        a, b = draw.sample(ring, 2)
        wide = max(abs(n) for place in ring for n in place)
        places = [a, ((a[0] + b[0]) // 2, (a[1] + b[1]) // 2), (draw.randint(-wide, wide), a[1])]
        at = draw.choice([*places, (draw.randint(-wide, wide), draw.randint(-wide, wide))])
        angle = draw.randint(0, 179) * 1_000_000
        aside = Polygon(((3000, 0), (9000, 0), (9000, 90)))  # its middle is no place of it
        shapes: list[Outline] = [Circle(1), Rectangle(2000, 9, angle), Slit(900, 0, angle), aside]
        shape = draw.choice(shapes)
        reaches = reaches_into(shape, at, 1_000_000.0, ring)
        assert reaches == marks_reaching_into([(shape, at)], 1_000_000.0, ring)[0], (shape, at, ring)
        told.append(reaches)
    assert 500 < sum(told) < 2_900
