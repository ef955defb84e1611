"""Shapes of damage and patches: read, kept, told, and the size of the piece that covers them."""

from __future__ import annotations

import json
import math
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.shapes.outline_texts import (
    BadOutline,
    read_offset,
    read_outline,
    say_outline,
    say_outline_json,
)
from service.domain.shapes.outlines import (
    Circle,
    Outline,
    Polygon,
    Rectangle,
    Slit,
    cut_size,
    into_half_turn,
    least_rectangle,
    outline_from_json,
    outline_to_json,
    reach_nm,
    rings,
)
from service.domain.words.measures import NM_PER_INCH

INCH = NM_PER_INCH
SQUARE: list[list[str]] = [["0 in", "0 in"], ["4 in", "0 in"], ["4 in", "4 in"], ["0 in", "4 in"]]


def test_an_outline_is_read_from_texts_with_units() -> None:
    assert read_outline({"shape": "circle", "diameter": "1/2 in"}) == Circle(12_700_000)
    assert read_outline(
        {"shape": "rectangle", "length": "4 in", "width": "2 in", "angle_deg": 30}
    ) == Rectangle(4 * INCH, 2 * INCH, 30_000_000)
    assert read_outline({"shape": "slit", "length": "30 in"}) == Slit(30 * INCH, 0, 0)
    assert read_outline({"shape": "slit", "length": "30 in", "opening": "1/4 in", "angle_deg": -10}) == Slit(
        30 * INCH, INCH // 4, 350_000_000
    )


def test_a_polygon_is_read_with_signs_and_turned_clockwise_on_the_sketch() -> None:
    given_points = [["-1 in", "0 in"], ["1 in", 0], ["0 in", "2 in"]]
    read = read_outline({"shape": "polygon", "points": given_points, "angle_deg": 90})
    # (u, v) goes to (-v, u) in a quarter turn with y down.
    assert read == Polygon(((0, -INCH), (0, INCH), (-2 * INCH, 0)))


REFUSED: list[tuple[object, str, str]] = [
    (None, "not-an-outline", "shape"),
    ([], "not-an-outline", "shape"),
    ({}, "no-such-shape", "shape"),
    ({"shape": ["circle"]}, "no-such-shape", "shape"),
    ({"shape": "circle"}, "empty", "diameter"),
    ({"shape": "circle", "diameter": 5}, "not-text", "diameter"),
    ({"shape": "circle", "diameter": "6"}, "no-unit", "diameter"),
    ({"shape": "circle", "diameter": "-3 in"}, "signed", "diameter"),
    ({"shape": "circle", "diameter": "0 in"}, "zero", "diameter"),
    ({"shape": "circle", "diameter": "201 m"}, "too-big", "diameter"),
    ({"shape": "rectangle", "length": "4 in"}, "empty", "width"),
    ({"shape": "slit", "length": "4 in", "angle_deg": math.nan}, "bad-angle", "angle_deg"),
    ({"shape": "slit", "length": "4 in", "angle_deg": math.inf}, "bad-angle", "angle_deg"),
    ({"shape": "slit", "length": "4 in", "angle_deg": "30"}, "bad-angle", "angle_deg"),
    ({"shape": "slit", "length": "4 in", "angle_deg": True}, "bad-angle", "angle_deg"),
    ({"shape": "slit", "length": "4 in", "angle_deg": 10**400}, "bad-angle", "angle_deg"),
    ({"shape": "polygon"}, "bad-point", "points"),
    ({"shape": "polygon", "points": "abc"}, "bad-point", "points"),
    ({"shape": "polygon", "points": [["1 in"]]}, "bad-point", "points"),
    ({"shape": "polygon", "points": SQUARE[:2]}, "too-few-points", "points"),
    ({"shape": "polygon", "points": [SQUARE[0]] * 5}, "too-few-points", "points"),
    (
        {"shape": "polygon", "points": [["0 in", "0 in"], ["1 in", "1 in"], ["2 in", "2 in"]]},
        "no-area",
        "points",
    ),
    ({"shape": "polygon", "points": [SQUARE[i] for i in (0, 2, 1, 3)]}, "crosses-itself", "points"),
    ({"shape": "polygon", "points": SQUARE * 126}, "too-many-points", "points"),
    (
        {"shape": "polygon", "points": [["0 in", "0 in"], ["201 m", "0 in"], ["0 in", "4 in"]]},
        "too-big",
        "points",
    ),
]


@pytest.mark.parametrize(("given_outline", "code", "field"), REFUSED)
def test_what_is_no_outline_is_refused_naming_the_field(given_outline: object, code: str, field: str) -> None:
    with pytest.raises(BadOutline) as refused:
        read_outline(given_outline)
    assert (refused.value.code, refused.value.field) == (code, field)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["1 in", "2 mm"]),
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)
KEYS = ("shape", "diameter", "length", "width", "opening", "angle_deg", "points")


@given(
    st.fixed_dictionaries(
        {"shape": st.sampled_from(["circle", "rectangle", "slit", "polygon"]) | JSON},
        optional={key: JSON for key in KEYS[1:]},
    )
)
def test_reading_an_outline_never_raises_anything_but_its_own_error(anything: dict[str, Any]) -> None:
    with suppress(BadOutline):
        read_outline(anything)


LENGTH = st.integers(1, 200 * 10**9)
ANGLE = st.integers(0, 359_999_999)
OUTLINES = st.one_of(
    st.builds(Circle, LENGTH),
    st.builds(Rectangle, LENGTH, LENGTH, ANGLE),
    st.builds(Slit, LENGTH, st.integers(0, 10**9), ANGLE),
    st.builds(
        lambda x, y, z: Polygon(((0, 0), (x, z), (-z, y))), LENGTH, LENGTH, st.integers(-(10**9), 10**9)
    ),
)


@given(OUTLINES)
def test_the_stored_form_gives_the_same_outline_back(outline: Outline) -> None:
    assert outline_from_json(json.loads(json.dumps(outline_to_json(outline)))) == outline


@given(OUTLINES)
def test_the_told_form_has_the_keys_that_are_read(outline: Outline) -> None:
    told = say_outline_json(outline, "us")
    assert set(told) <= set(KEYS)
    assert json.dumps(told)


def test_an_offset_may_go_left_and_up() -> None:
    assert read_offset(["-1 1/2 in", "2 in"]) == (-38_100_000, 2 * INCH)
    assert read_offset(None) == (0, 0)
    with pytest.raises(BadOutline):
        read_offset(["1 in"])


# Worked sizes, by arithmetic alone: patch = (a + 2o) by (b + 2o), o the overlap on each side.
WORKED: list[tuple[Outline, int, tuple[float, float]]] = [
    (Rectangle(INCH * 5 // 8, INCH * 5 // 8), 6, (12.625, 12.625)),
    (Circle(INCH * 5 // 8), 6, (12.625, 12.625)),
    (Circle(INCH * 5 // 8), 12, (24.625, 24.625)),
    (Rectangle(4 * INCH, 2 * INCH), 6, (16, 14)),
    (Rectangle(4 * INCH, 2 * INCH), 12, (28, 26)),
    (Slit(30 * INCH, INCH // 4), 6, (42, 12.25)),
    (Slit(30 * INCH, INCH // 4), 12, (54, 24.25)),
]


@pytest.mark.parametrize(("damage", "overlap", "size"), WORKED)
def test_the_cut_size_adds_the_overlap_twice_each_way(
    damage: Outline, overlap: int, size: tuple[float, float]
) -> None:
    length, width, _ = cut_size(damage, overlap * INCH)
    assert (length / INCH, width / INCH) == size


def test_the_allowance_is_added_on_every_side() -> None:
    assert cut_size(Rectangle(4 * INCH, 2 * INCH, 7), 6 * INCH, INCH) == (18 * INCH, 16 * INCH, 7)


@pytest.mark.parametrize("degrees", range(0, 180, 7))
def test_a_turned_box_of_corners_has_its_own_sides_as_least_rectangle(degrees: int) -> None:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    box = [(-4, -1), (4, -1), (4, 1), (-4, 1)]
    turned = tuple((round((u * c - v * s) * INCH), round((u * s + v * c) * INCH)) for u, v in box)
    length, width, angle = least_rectangle(Polygon(turned))
    assert abs(length - 8 * INCH) <= 30 and abs(width - 2 * INCH) <= 30
    assert abs(into_half_turn(angle - degrees * 1_000_000)) <= 2


def test_the_reach_is_the_farthest_corner_rounded_up() -> None:
    assert reach_nm(Circle(3)) == 2
    assert reach_nm(Rectangle(6, 8, 12_345)) == 5
    assert reach_nm(Rectangle(2, 2)) == 2
    assert reach_nm(Polygon(((3, 4), (-1, 0), (0, -1)))) == 5


def test_circles_are_drawn_as_circles_and_boxes_by_their_corners() -> None:
    (ring,) = rings(Circle(10), (3, 4))
    assert ring.points == ((3.0, 4.0),) and ring.radius_nm == 5
    (box,) = rings(Rectangle(4, 2, 90_000_000), (10, 0))
    assert box.points == ((11, -2), (11, 2), (9, 2), (9, -2))


def test_outlines_are_said_in_words() -> None:
    assert say_outline(Circle(12_700_000), "us") == "1/2 in across"
    assert say_outline(Rectangle(4 * INCH, 2 * INCH), "us") == "4 by 2 in"
    assert say_outline(Slit(30 * INCH, INCH // 4), "us") == "30 in long, 1/4 in open"
    assert say_outline(Slit(30 * INCH), "us") == "30 in long, closed"
    five = Polygon(((0, 0), (12 * INCH, 0), (12 * INCH, 8 * INCH), (6 * INCH, 8 * INCH), (0, 7 * INCH)))
    assert say_outline(five, "us") == "shape of 5 corners, 12 by 8 in"
