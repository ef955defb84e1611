"""What lies near what: exactly so far is near at any angle, and sampled points say the same."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.shapes.nearby import Placed, Px, reached_marks, within
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit, corners
from service.domain.words.measures import NM_PER_INCH
from tests.domain.shapes.points_oracle import Shape, apart

INCH = NM_PER_INCH
FAR = 12 * INCH
LESS = INCH // 64
# A pixel is a millimetre: a place is then written to the thousandth of one, well inside the tolerance.
PER_PX = 1e6


def at(x_nm: float, y_nm: float) -> Px:
    return round(x_nm / 1000), round(y_nm / 1000)


def along(degrees: float, nm: float) -> Px:
    return at(nm * math.cos(math.radians(degrees)), nm * math.sin(math.radians(degrees)))


def near(one: Outline, other: Outline, place: Px, far_nm: int = FAR) -> bool:
    return bool(within([Placed("a", one, (0, 0))], [Placed("b", other, place)], PER_PX, far_nm))


@pytest.mark.parametrize("degrees", range(0, 360, 5))
def test_exactly_so_far_apart_is_near_and_a_sixty_fourth_more_is_not_at_this_angle(degrees: int) -> None:
    a = degrees * 1_000_000
    for one, other, between in (
        (Circle(INCH), Circle(3 * INCH), 2 * INCH),
        (Rectangle(4 * INCH, 2 * INCH, a), Rectangle(6 * INCH, INCH, a), 5 * INCH),
        (Slit(30 * INCH, 0, a), Slit(10 * INCH, 0, a), 20 * INCH),
        (Slit(30 * INCH, 0, a), Circle(INCH), 15 * INCH + INCH // 2),
        (Circle(INCH), Rectangle(4 * INCH, 2 * INCH, a), 2 * INCH + INCH // 2),
    ):
        assert near(one, other, along(degrees, between + FAR))
        assert near(one, other, along(degrees, between + FAR - LESS))
        assert not near(one, other, along(degrees, between + FAR + LESS))


def test_a_doubt_within_the_tolerance_is_near_and_beyond_it_is_not() -> None:
    hole = Circle(INCH)
    assert near(hole, hole, at(INCH + FAR + 2_000, 0)) and not near(hole, hole, at(INCH + FAR + 4_000, 0))


def test_a_round_hole_is_as_far_off_as_its_true_radius_says_not_its_box() -> None:
    # Corner to corner the boxes of these two overlap; the discs are 2 (sqrt 2 - 1) radii apart.
    disc, place = Circle(20 * INCH), at(20 * INCH, 20 * INCH)
    assert not near(disc, disc, place, 8 * INCH) and near(disc, disc, place, 9 * INCH)


def test_what_lies_inside_or_across_another_is_near_at_no_distance() -> None:
    wide = Rectangle(40 * INCH, 40 * INCH)
    for one in (Circle(INCH), Slit(4 * INCH), Rectangle(INCH, INCH), Circle(60 * INCH), Slit(90 * INCH)):
        assert near(one, wide, at(3 * INCH, 2 * INCH), 0) and near(wide, one, at(3 * INCH, 2 * INCH), 0)
    assert near(Slit(10 * INCH), Slit(10 * INCH, 0, 90_000_000), (0, 0), 0)


def test_touching_is_near_at_no_distance() -> None:
    assert near(Circle(INCH), Rectangle(INCH, INCH), at(INCH, 0), 0)


def test_the_near_ones_are_told_in_the_order_they_were_given_and_nothing_is_near_itself() -> None:
    marks = [Placed(name, Circle(INCH), at(k * 10 * INCH, 0)) for k, name in enumerate("dbca")]
    found = within(marks, list(reversed(marks)), PER_PX, 9 * INCH)
    assert found == {"d": ("b",), "b": ("c", "d"), "c": ("a", "b"), "a": ("c",)}


def test_a_mark_with_nothing_near_is_left_out_and_no_marks_give_no_answer() -> None:
    marks = [Placed("a", Circle(INCH), (0, 0)), Placed("b", Circle(INCH), at(90 * INCH, 0))]
    assert within(marks, marks, PER_PX, FAR) == {}
    assert within([], marks, PER_PX, FAR) == within(marks, [], PER_PX, FAR) == {}


def test_the_scale_of_the_sketch_says_how_far_a_pixel_is() -> None:
    marks = [Placed("a", Circle(INCH), (0, 0)), Placed("b", Circle(INCH), (10_000, 0))]
    assert within(marks, marks, float(INCH), 9 * INCH) == {"a": ("b",), "b": ("a",)}
    assert within(marks, marks, 2.0 * INCH, 9 * INCH) == {}


def test_a_required_outline_reaches_the_marks_it_touches() -> None:
    mark = Placed("a", Rectangle(4 * INCH, 2 * INCH), (0, 0))
    touched = Placed("b", Circle(INCH), at(0, 7 * INCH + INCH // 2))
    missed = Placed("c", Circle(INCH), at(0, -(7 * INCH + INCH // 2 + LESS)))
    assert reached_marks(mark, [missed, touched, mark], PER_PX, 6 * INCH) == ("b",)
    assert reached_marks(mark, [missed], PER_PX, 6 * INCH) == ()


def shape_of(outline: Outline, place: Px) -> Shape:
    """The outline in inches for the oracle."""
    x, y = place[0] * 1000 / INCH, place[1] * 1000 / INCH
    if isinstance(outline, Circle):
        return Shape(((x, y),), outline.diameter_nm / 2 / INCH)
    return Shape(tuple((x + u / INCH, y + v / INCH) for u, v in corners(outline)))


SIZE = st.integers(INCH // 8, 14 * INCH)
ANGLE = st.integers(0, 359_999_999)
OUTLINES = st.one_of(
    st.builds(Circle, SIZE),
    st.builds(Rectangle, SIZE, SIZE, ANGLE),
    st.builds(Slit, SIZE, st.just(0) | SIZE, ANGLE),
    st.builds(lambda x, y, z: Polygon(((-x, -y), (z, -y // 2), (0, y))), SIZE, SIZE, SIZE),
)
PLACES = st.builds(at, st.integers(0, 60 * INCH), st.integers(0, 60 * INCH))
SCATTERED = st.lists(st.tuples(OUTLINES, PLACES), min_size=1, max_size=5)


@settings(max_examples=150, deadline=None)
@given(SCATTERED, SCATTERED, st.integers(0, 20 * INCH))
def test_what_is_near_agrees_with_points_sampled_on_both(
    these: list[tuple[Outline, Px]], those: list[tuple[Outline, Px]], far_nm: int
) -> None:
    marks = [Placed(f"m{k}", *one) for k, one in enumerate(these)]
    others = [Placed(f"o{k}", *one) for k, one in enumerate(those)]
    found, step = within(marks, others, PER_PX, far_nm), 0.1
    for mark in marks:
        for other in others:
            told = other.id in found.get(mark.id, ())
            sampled = apart(shape_of(mark.outline, mark.at), shape_of(other.outline, other.at), step)
            if sampled <= far_nm / INCH:
                assert told
            elif sampled - step > far_nm / INCH:
                assert not told


@settings(max_examples=60, deadline=None)
@given(SCATTERED, SCATTERED, st.integers(0, 20 * INCH), st.integers(0, 5 * INCH))
def test_looking_farther_loses_none_and_many_at_once_say_the_same_as_one_by_one(
    these: list[tuple[Outline, Px]], those: list[tuple[Outline, Px]], far_nm: int, more: int
) -> None:
    marks = [Placed(f"m{k}", *one) for k, one in enumerate(these)]
    others = [Placed(f"o{k}", *one) for k, one in enumerate(those)]
    found, farther = within(marks, others, PER_PX, far_nm), within(marks, others, PER_PX, far_nm + more)
    for mark in marks:
        assert set(found.get(mark.id, ())) <= set(farther.get(mark.id, ()))
        one_by_one = tuple(o.id for o in others if within([mark], [o], PER_PX, far_nm))
        assert found.get(mark.id, ()) == one_by_one == reached_marks(mark, others, PER_PX, far_nm)
