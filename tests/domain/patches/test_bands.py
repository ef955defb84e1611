"""Tape over bare damage: at half the tape's width the rim only touches, nearer it crosses, at any angle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.patches.bands import PatchOnSketch, bands_on_damage, seen_from
from service.domain.patches.bare import left_bare
from service.domain.patches.overlap import Piece, judge
from service.domain.shapes.nearby import Placed, Px
from service.domain.shapes.outlines import Circle, Outline, Point, Polygon, Rectangle, Sides, Slit, corners
from service.domain.words.measures import NM_PER_INCH
from tests.domain.shapes.points_oracle import Shape, apart, covered, under_tape

INCH = NM_PER_INCH
SIX = 6 * INCH
TAPE = 4 * INCH
LESS = INCH // 64
# A pixel is a millimetre: a place is then written to the thousandth of one, well inside the tolerance.
PER_PX = 1e6
HOLE = Circle(INCH)
EVERY_ANGLE = range(0, 360, 3)


def at(x_nm: float, y_nm: float) -> Px:
    return round(x_nm / 1000), round(y_nm / 1000)


def turned(x_nm: float, y_nm: float, degrees: float) -> Point:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return round(x_nm * c - y_nm * s), round(x_nm * s + y_nm * c)


def mark(name: str, x_nm: float, y_nm: float, outline: Outline = HOLE) -> Placed:
    return Placed(name, outline, at(x_nm, y_nm))


def patch(
    name: str, on: Placed, shape: Outline | Sides, offset: Point = (0, 0), tape: int = TAPE
) -> PatchOnSketch:
    piece = Piece(sides=shape) if isinstance(shape, Sides) else Piece(shape, offset)
    return PatchOnSketch(name, piece, on, tape)


def bands(patches: Sequence[PatchOnSketch], marks: Sequence[Placed]) -> dict[str, tuple[str, ...]]:
    return bands_on_damage(patches, marks, PER_PX, SIX)


FIRST = mark("first", 0, 0)


def ring(length: int, width: int, udeg: int) -> Polygon:
    return Polygon(tuple((round(x), round(y)) for x, y in corners(Rectangle(length, width, udeg))))


@pytest.mark.parametrize("degrees", EVERY_ANGLE)
def test_half_the_tape_away_only_touches_and_a_sixty_fourth_nearer_crosses_at_this_angle(
    degrees: int,
) -> None:
    a, wide = degrees * 1_000_000, 13 * INCH
    for shape in (Rectangle(wide, wide, a), ring(wide, wide, a), Circle(wide), Sides(SIX, SIX, SIX, SIX, a)):
        for damage, reach in (
            (HOLE, INCH // 2),
            (Slit(8 * INCH, 0, a), 4 * INCH),
            (Rectangle(INCH, 2 * INCH, a), INCH // 2),
        ):
            if isinstance(shape, Circle) and isinstance(damage, Rectangle):
                continue  # a corner of it would be the nearest, not its middle
            outside = wide // 2 + TAPE // 2 + reach
            for distance, crosses in ((outside, False), (outside - LESS, True), (outside + LESS, False)):
                other = mark("other", *turned(distance, 0, degrees), damage)
                found = bands([patch("p", FIRST, shape)], [FIRST, other])
                assert found == ({"p": ("other",)} if crosses else {})


@pytest.mark.parametrize("degrees", EVERY_ANGLE)
def test_under_the_patch_the_band_reaches_as_far_in_as_half_the_tape_at_this_angle(degrees: int) -> None:
    a, wide = degrees * 1_000_000, 13 * INCH
    for shape in (Rectangle(wide, wide, a), ring(wide, wide, a), Circle(wide), Sides(SIX, SIX, SIX, SIX, a)):
        inside = wide // 2 - TAPE // 2 - INCH // 2
        for distance, crosses in ((inside, False), (inside + LESS, True), (inside - LESS, False)):
            other = mark("other", *turned(distance, 0, degrees))
            assert bands([patch("p", FIRST, shape)], [FIRST, other]) == ({"p": ("other",)} if crosses else {})


def test_a_doubt_within_the_tolerance_only_touches() -> None:
    one = patch("p", FIRST, Rectangle(13 * INCH, 13 * INCH))
    assert bands([one], [mark("other", 9 * INCH - 2_000, 0)]) == {}
    assert bands([one], [mark("other", 9 * INCH - 4_000, 0)]) == {"p": ("other",)}


def test_past_a_corner_the_band_is_half_the_tape_from_the_corner() -> None:
    one, corner = patch("p", FIRST, Rectangle(13 * INCH, 13 * INCH)), 6.5 * INCH
    off = 2.5 * INCH / math.sqrt(2)  # half the tape and the hole's radius, on the diagonal
    assert bands([one], [mark("other", corner + off + LESS, corner + off)]) == {}
    assert bands([one], [mark("other", corner + off - LESS, corner + off)]) == {"p": ("other",)}


def test_damage_that_holds_a_whole_round_patch_lies_under_its_band() -> None:
    wide = mark("wide", 0, 0, Rectangle(90 * INCH, 90 * INCH))
    assert bands([patch("p", wide, Circle(13 * INCH))], [wide]) == {"p": ("wide",)}
    assert bands([patch("p", wide, Rectangle(13 * INCH, 13 * INCH))], [wide]) == {"p": ("wide",)}


def test_damage_well_inside_a_large_patch_is_under_no_band() -> None:
    for shape in (Circle(90 * INCH), Rectangle(90 * INCH, 90 * INCH), ring(90 * INCH, 90 * INCH, 0)):
        assert bands([patch("p", FIRST, shape)], [FIRST, mark("other", 20 * INCH, 9 * INCH)]) == {}


def test_each_patch_has_the_band_of_its_own_tape() -> None:
    other, wide = mark("other", 8 * INCH, 0), Rectangle(13 * INCH, 13 * INCH)
    two_inch, three_inch = (patch(str(w), FIRST, wide, tape=w * INCH) for w in (2, 3))
    assert bands([two_inch, three_inch], [FIRST, other]) == {"3": ("other",)}
    assert bands([patch("p", FIRST, wide, tape=0)], [mark("on the edge", SIX, 0)]) == {}


def test_a_short_patch_has_its_own_damage_under_its_band() -> None:
    assert bands([patch("p", FIRST, Sides(INCH, SIX, SIX, SIX))], [FIRST]) == {"p": ("first",)}
    assert bands([patch("p", FIRST, Sides(2 * INCH, SIX, SIX, SIX))], [FIRST]) == {}


def test_a_neighbour_whose_own_patch_reaches_six_inches_is_not_bare_and_a_sixteenth_short_it_is() -> None:
    other = mark("other", 8 * INCH, 0)
    one, short = patch("p", FIRST, Circle(13 * INCH)), SIX - INCH // 16
    for whole in (Sides(SIX, SIX, SIX, SIX), Sides(SIX, None, SIX, SIX), Rectangle(13 * INCH, 13 * INCH)):
        assert bands([one, patch("q", other, whole)], [other]) == {}
    assert bands([one, patch("q", other, Sides(SIX, SIX, SIX, short))], [other]) == {"p": ("other",)}


@pytest.mark.parametrize("degrees", EVERY_ANGLE)
def test_two_patches_that_lap_six_inches_cover_a_slit_for_each_other_and_a_sixty_fourth_less_does_not(
    degrees: int,
) -> None:
    a = degrees * 1_000_000
    slit = mark("slit", 0, 0, Slit(30 * INCH, 0, a))
    elsewhere = mark("elsewhere", *turned(9 * INCH, 0, degrees))
    for less, bare in ((0, False), (LESS, True)):
        here = patch("p", slit, Rectangle(24 * INCH - 2 * less, 12 * INCH, a), turned(-9 * INCH, 0, degrees))
        # The other was logged on another mark: where it lies is what counts.
        there = patch("q", elsewhere, Rectangle(24 * INCH, 12 * INCH, a))
        assert bands([here, there], [slit]) == ({"p": ("slit",), "q": ("slit",)} if bare else {})


def test_where_only_several_patches_leave_a_gap_each_band_over_the_damage_is_told() -> None:
    slit = mark("slit", 0, 0, Slit(30 * INCH))
    ends = [patch(f"p{x}", slit, Rectangle(20 * INCH, 12 * INCH), (x * INCH, 0)) for x in (-12, 12)]
    assert bands(ends, [slit]) == {"p-12": ("slit",), "p12": ("slit",)}
    middle = patch("over", mark("far", 0, 30 * INCH), Rectangle(30 * INCH, 12 * INCH), (0, -30 * INCH))
    assert bands([*ends, middle], [slit]) == {}


def test_a_notch_an_inch_deep_between_lapping_patches_leaves_the_slit_beside_it_bare() -> None:
    slit = mark("slit", 0, 0, Slit(60 * INCH))
    strip, left = Rectangle(72 * INCH, 11 * INCH), Rectangle(44 * INCH, 12 * INCH)
    under = patch("under", slit, strip, (0, -INCH // 2))
    pieces = [under, patch("left", slit, left, (-14 * INCH, 0))]
    for right, offset, told in ((14, 29, {"left": ("slit",), "right": ("slit",)}), (34, 19, {})):
        over = patch("right", slit, Rectangle(right * INCH, 12 * INCH), (offset * INCH, 0))
        assert bands([*pieces, over], [slit]) == told


def test_a_side_sealed_to_a_wall_has_no_tape_there() -> None:
    beyond = mark("beyond", -2 * INCH, 0)
    assert bands([patch("p", FIRST, Sides(0, SIX, SIX, SIX))], [beyond]) == {"p": ("beyond",)}
    assert bands([patch("p", FIRST, Sides(None, SIX, SIX, SIX))], [beyond]) == {}
    assert bands([patch("p", FIRST, Sides(None, SIX, SIX, SIX))], [mark("far off", -7 * INCH, 0)]) == {}


@pytest.mark.parametrize("degrees", EVERY_ANGLE)
def test_beside_a_wall_the_tape_runs_on_to_where_the_wall_may_stand(degrees: int) -> None:
    walls = {"left": (-1, 0), "right": (1, 0), "far": (0, -1), "near": (0, 1)}
    for word, (u, v) in walls.items():
        readings = {f"{side}_nm": None if side == word else SIX for side in walls}
        one = patch("p", FIRST, Sides(**readings, angle_udeg=degrees * 1_000_000))
        # On the edge beside the wall: within the minimum of the damage there is tape, beyond the wall none.
        for out, crosses in ((5 * INCH, True), (8 * INCH, True), (10 * INCH, False)):
            place = (u * out or 6.5 * INCH, v * out or 6.5 * INCH)
            other = mark("other", *turned(*place, degrees))
            assert bands([one], [other]) == ({"p": ("other",)} if crosses else {})


def test_a_patch_of_no_breadth_between_two_walls_covers_nothing_and_breaks_nothing() -> None:
    slit = mark("slit", 0, 0, Slit(30 * INCH))
    thin = patch("thin", slit, Sides(SIX, SIX, None, None))
    other = mark("other", 20 * INCH, INCH)
    more = patch("more", other, Sides(INCH, SIX, SIX, SIX))
    assert bands([thin, more], [other]) == {"thin": ("other",), "more": ("other",)}
    assert bands_on_damage([thin, replace(thin, id="too")], [other], PER_PX, 1).keys() == {"thin", "too"}


def test_the_marks_are_told_in_their_order_and_nothing_asked_gives_nothing() -> None:
    one = patch("p", FIRST, Rectangle(13 * INCH, 13 * INCH))
    marks = [mark(name, x * INCH, 0) for name, x in (("z", 7), ("y", -7), ("x", 30), ("w", 6))]
    assert bands([one], marks) == {"p": ("z", "y", "w")}
    assert bands([], marks) == bands([one], []) == {}


def test_one_patch_too_many_to_judge_together_is_no_pass() -> None:
    # Forty and forty-one pieces a foot apart, each lapping the next by a foot.
    for count, passes in ((40, True), (41, False)):
        long = mark("long", 0, 0, Slit((count + 1) * 12 * INCH - 12 * INCH))
        row = [
            patch(f"p{k}", long, Rectangle(24 * INCH, 12 * INCH), ((12 * k - 6 * (count - 1)) * INCH, 0))
            for k in range(count)
        ]
        assert (bands(row, [long]) == {}) is passes


def test_seen_from_its_own_mark_a_piece_is_exactly_as_it_was_measured() -> None:
    piece = Piece(sides=Sides(SIX, None, SIX + 1, SIX, 17_000_001))
    assert seen_from(piece, FIRST, FIRST, PER_PX) is piece


def test_seen_from_another_mark_a_piece_lies_where_the_sketch_says_and_ends_at_the_damage_by_a_wall() -> None:
    other = mark("other", 20 * INCH, -5 * INCH)
    round_one = seen_from(Piece(Circle(13 * INCH), (INCH, 0)), FIRST, other, PER_PX)
    assert round_one == Piece(Circle(13 * INCH), (-19 * INCH, 5 * INCH))
    walled = seen_from(Piece(sides=Sides(SIX, None, SIX, SIX)), FIRST, other, PER_PX)
    assert walled == Piece(Rectangle(7 * INCH, 13 * INCH), (-23 * INCH, 5 * INCH))


SIZE = st.integers(INCH // 8, 6 * INCH)
WIDE = st.integers(9 * INCH, 22 * INCH)
ANGLE = st.integers(0, 359_999_999)
DAMAGES = st.one_of(
    st.builds(Circle, SIZE),
    st.builds(Rectangle, SIZE, SIZE, ANGLE),
    st.builds(Slit, SIZE, st.just(0) | SIZE, ANGLE),
    st.builds(lambda x, y, z: Polygon(((-x, -y), (z, -y // 2), (0, y))), SIZE, SIZE, SIZE),
)
SHAPES = st.one_of(
    st.builds(Circle, WIDE), st.builds(Rectangle, WIDE, WIDE, ANGLE), st.builds(ring, WIDE, WIDE, ANGLE)
)
PLACES = st.builds(at, st.integers(0, 40 * INCH), st.integers(0, 40 * INCH))
NEAR = st.integers(-2 * INCH, 2 * INCH)
LOGGED = st.tuples(DAMAGES, PLACES, SHAPES, NEAR, NEAR, st.integers(INCH, 6 * INCH))
LAID_OUT = st.lists(LOGGED, min_size=1, max_size=6)
# So close together that only several patches as one cover most of the damage.
CLOSE = st.builds(at, st.integers(0, 12 * INCH), st.integers(0, 12 * INCH))
CROWDED = st.lists(st.tuples(DAMAGES, CLOSE, SHAPES, NEAR, NEAR, st.just(TAPE)), min_size=2, max_size=7)
Logged = tuple[Outline, Px, Outline, int, int, int]


def outline_of(piece: Piece) -> Outline:
    assert piece.outline is not None
    return piece.outline


def laid_out(drawn: list[Logged]) -> tuple[list[Placed], list[PatchOnSketch]]:
    marks = [Placed(f"m{k}", damage, place) for k, (damage, place, *_) in enumerate(drawn)]
    return marks, [
        patch(f"p{k}", marks[k], shape, (x, y), tape) for k, (_, _, shape, x, y, tape) in enumerate(drawn)
    ]


def shape_of(outline: Outline, place: Px, offset: Point = (0, 0)) -> Shape:
    """The outline in inches for the oracle."""
    x, y = (place[0] * 1000 + offset[0]) / INCH, (place[1] * 1000 + offset[1]) / INCH
    if isinstance(outline, Circle):
        return Shape(((x, y),), outline.diameter_nm / 2 / INCH)
    return Shape(tuple((x + u / INCH, y + v / INCH) for u, v in corners(outline)))


@settings(max_examples=100, deadline=None)
@given(LAID_OUT)
def test_bands_over_bare_damage_agree_with_sampled_points(drawn: list[Logged]) -> None:
    marks, patches = laid_out(drawn)
    found, step = bands(patches, marks), 0.2
    films = [shape_of(outline_of(p.piece), p.on.at, p.piece.offset) for p in patches]
    for one in marks:
        damage = shape_of(one.outline, one.at)
        safe = covered(damage, films, 6.0, step)
        for film, laid in zip(films, patches, strict=True):
            crosses = under_tape(film, damage, laid.tape_width_nm / 2 / INCH, step)
            told = one.id in found.get(laid.id, ())
            if crosses is False or safe is True:
                assert not told
            elif crosses and safe is False:
                assert told


@settings(max_examples=150, deadline=None)
@given(CROWDED)
def test_damage_is_left_bare_just_where_the_judge_finds_all_the_patches_near_it_short(
    drawn: list[Logged],
) -> None:
    marks, patches = laid_out(drawn)
    bare = left_bare(marks, patches, PER_PX, SIX)
    for k, one in enumerate(marks):
        pieces = [seen_from(p.piece, p.on, one, PER_PX) for p in patches]
        if k not in bare:
            assert judge(one.outline, pieces, SIX).meets
        damage = shape_of(one.outline, one.at)
        near = [p for p in pieces if apart(damage, shape_of(outline_of(p), one.at, p.offset), 0.5) <= 6]
        if judge(one.outline, near, SIX).meets:
            assert k not in bare


@settings(max_examples=80, deadline=None)
@given(LAID_OUT, LOGGED)
def test_one_more_patch_never_bares_damage_and_one_more_mark_never_frees_a_band(
    drawn: list[Logged], added: Logged
) -> None:
    marks, patches = laid_out(drawn)
    more_marks, more_patches = laid_out([*drawn, added])
    before = bands(patches, marks)
    with_patch, with_mark = bands(more_patches, marks), bands(patches, more_marks)
    for p in patches:
        assert set(with_patch.get(p.id, ())) <= set(before.get(p.id, ()))
        assert set(before.get(p.id, ())) <= set(with_mark.get(p.id, ()))
