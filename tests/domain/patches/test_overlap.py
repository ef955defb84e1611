"""Overlap at the rule: exactly the minimum passes in every rotation, a sixty-fourth less never does."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import permutations

import pytest

from service.domain.patches.overlap import Piece, judge
from service.domain.shapes.outlines import Circle, Outline, Point, Polygon, Rectangle, Sides, Slit
from service.domain.words.measures import NM_PER_INCH

INCH = NM_PER_INCH
SIX = 6 * INCH
LESS = INCH // 64
DEGREES = range(360)


def turned(points: Sequence[Point], degrees: float, move: Point = (0, 0)) -> Polygon:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return Polygon(tuple((round(x * c - y * s + move[0]), round(x * s + y * c + move[1])) for x, y in points))


def box(length: int, width: int) -> list[Point]:
    u, v = length // 2, width // 2
    return [(-u, -v), (u, -v), (u, v), (-u, v)]


def assert_at_the_rule(damage: Outline, exact: list[Piece], short: list[Piece], short_by: int = LESS) -> None:
    at = judge(damage, exact, SIX)
    assert at.meets and at.overlap_nm == SIX and at.short_by_nm == 0
    under = judge(damage, short, SIX)
    assert not under.meets and under.overlap_nm is not None
    assert abs(under.short_by_nm - short_by) <= 300 and under.overlap_nm + under.short_by_nm == SIX


@pytest.mark.parametrize("degrees", DEGREES)
def test_exactly_the_minimum_passes_and_a_sixty_fourth_less_fails_at_this_angle(degrees: int) -> None:
    a = degrees * 1_000_000
    for length, width, damage in (
        (4 * INCH, 2 * INCH, Rectangle(4 * INCH, 2 * INCH, a)),
        (30 * INCH, INCH // 4, Slit(30 * INCH, INCH // 4, a)),
        (30 * INCH, 0, Slit(30 * INCH, 0, a)),
    ):
        long, wide = length + 2 * SIX, width + 2 * SIX
        for quarter in range(4):
            size = (long, wide) if quarter % 2 == 0 else (wide, long)
            angle = (a + quarter * 90_000_000) % 360_000_000
            assert_at_the_rule(
                damage,
                [Piece(Rectangle(*size, angle))],
                [Piece(Rectangle(size[0] - 2 * LESS, size[1], angle))],
            )
        assert_at_the_rule(
            damage,
            [Piece(turned(box(long, wide), degrees))],
            [Piece(turned(box(long, wide - 2 * LESS), degrees))],
        )
        assert_at_the_rule(
            damage,
            [Piece(sides=Sides(SIX, SIX, SIX, SIX, a))],
            [Piece(sides=Sides(SIX, SIX, SIX - LESS, SIX, a))],
        )


@pytest.mark.parametrize("degrees", DEGREES)
def test_a_round_hole_passes_at_the_minimum_under_any_shape_turned_so(degrees: int) -> None:
    hole, wide, a = Circle(INCH), 13 * INCH, degrees * 1_000_000
    assert_at_the_rule(hole, [Piece(Circle(wide))], [Piece(Circle(wide - 2 * LESS))])
    assert_at_the_rule(hole, [Piece(Rectangle(wide, wide, a))], [Piece(Rectangle(wide, wide - 2 * LESS, a))])
    assert_at_the_rule(
        hole,
        [Piece(turned(box(wide, wide), degrees))],
        [Piece(turned(box(wide, wide - 2 * LESS), degrees))],
    )


@pytest.mark.parametrize("degrees", DEGREES)
def test_cornered_damage_passes_at_the_minimum_under_round_and_square_patches_turned_so(degrees: int) -> None:
    three_four_five = turned([(-3 * INCH, -4 * INCH), (3 * INCH, -4 * INCH), (0, 4 * INCH)], degrees)
    assert_at_the_rule(three_four_five, [Piece(Circle(22 * INCH))], [Piece(Circle(22 * INCH - 2 * LESS))])
    a = degrees * 1_000_000
    assert_at_the_rule(
        three_four_five,
        [Piece(Rectangle(18 * INCH, 20 * INCH, a))],
        [Piece(Rectangle(18 * INCH, 20 * INCH - 2 * LESS, a))],
    )


@pytest.mark.parametrize("degrees", DEGREES)
def test_two_lapped_strips_and_two_lapped_discs_are_exact_as_one_at_this_angle(degrees: int) -> None:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    slit = Slit(30 * INCH, 0, degrees * 1_000_000)

    def strips(wide: int) -> list[Piece]:
        strip = Rectangle(24 * INCH, wide, degrees * 1_000_000)
        return [Piece(strip, (round(u * INCH * c), round(u * INCH * s))) for u in (-9, 9)]

    assert_at_the_rule(slit, strips(2 * SIX), strips(2 * SIX - 2 * LESS))
    # Discs of radius 10 in with centres 6 in each way of a pinhole: their edges cross 8 in from it.
    pin = Circle(4 * INCH)

    def discs(wide: int) -> list[Piece]:
        return [Piece(Circle(wide), (round(u * INCH * c), round(u * INCH * s))) for u in (-6, 6)]

    assert_at_the_rule(pin, discs(20 * INCH), discs(20 * INCH - 2 * LESS), round(10 / 8 * LESS))


def test_a_thousandth_of_an_inch_short_is_refused_though_a_many_cornered_circle_would_pass_it() -> None:
    """Source of the figure: a default eight-step buffer of 6 in reaches only 5.971 in (measured)."""
    assert not judge(Circle(INCH), [Piece(Circle(13 * INCH - INCH // 500))], SIX).meets
    assert not judge(Circle(INCH), [Piece(Circle(round(12.942 * INCH)))], SIX).meets


def test_a_float_never_decides_shapes_that_share_a_frame() -> None:
    for degrees in DEGREES:
        a = degrees * 1_000_000 + 123_457
        damage = Rectangle(4 * INCH + 1, 2 * INCH, a)
        assert judge(damage, [Piece(Rectangle(16 * INCH + 1, 14 * INCH, a))], SIX).meets
        assert judge(damage, [Piece(Rectangle(16 * INCH, 14 * INCH, a))], SIX).short_by_nm == 1
    assert judge(Circle(INCH), [Piece(Circle(13 * INCH - 1))], SIX).short_by_nm == 1
    assert judge(Rectangle(6 * INCH, 8 * INCH, 7), [Piece(Circle(22 * INCH))], SIX).meets
    assert judge(Rectangle(6 * INCH, 8 * INCH, 7), [Piece(Circle(22 * INCH - 1))], SIX).short_by_nm == 1


def test_what_was_placed_or_turned_may_miss_by_the_tolerance_and_no_more() -> None:
    """Places and turned corners are rounded on their way in; 0.0001 in is the one tolerance."""
    for degrees in DEGREES:
        at = turned([(5 * INCH, 0)], degrees).points[0]
        assert judge(Circle(INCH), [Piece(Circle(23 * INCH), at)], SIX).overlap_nm == SIX
        box_at = Rectangle(23 * INCH, 13 * INCH, degrees * 1_000_000)
        assert judge(Circle(INCH), [Piece(box_at, at)], SIX).overlap_nm == SIX
        assert judge(Circle(INCH), [Piece(Circle(23 * INCH - 5_000), at)], SIX).overlap_nm == SIX
        assert not judge(Circle(INCH), [Piece(Circle(23 * INCH - 5_200), at)], SIX).meets


def test_an_overlap_between_nanometres_is_never_rounded_up() -> None:
    assert judge(Circle(INCH), [Piece(Circle(13 * INCH), (1, 1))], INCH).overlap_nm == SIX - 2
    assert judge(Circle(INCH), [Piece(Circle(13 * INCH - 1))], INCH).overlap_nm == SIX - 1
    # A square of 1 nm has a diagonal of 1.41 nm: half of 13 less that is 5.79.
    assert judge(Rectangle(1, 1), [Piece(Circle(13))], INCH).overlap_nm == 5


def test_no_piece_has_no_overlap_and_is_short_by_all_of_it() -> None:
    none = judge(Circle(INCH), [], SIX)
    assert (none.overlap_nm, none.meets, none.short_by_nm) == (None, False, SIX)
    assert none.nearest is None and none.side is None


def test_damage_that_shows_counts_below_nothing_and_just_touching_is_nothing() -> None:
    hole = Circle(2 * INCH)
    assert judge(hole, [Piece(Circle(2 * INCH))], SIX).overlap_nm == 0
    assert judge(hole, [Piece(Circle(2 * INCH), (3 * INCH, 0))], SIX).overlap_nm == -3 * INCH
    assert judge(Rectangle(8 * INCH, 2 * INCH), [Piece(Circle(4 * INCH))], SIX).overlap_nm == (
        -math.isqrt(17 * INCH**2) - 1 + 2 * INCH
    )
    # Bare corner 3 in past one edge and 4 in past the other: 5 in from the patch.
    corner = judge(Rectangle(10 * INCH, 10 * INCH), [Piece(Rectangle(4 * INCH, 2 * INCH))], SIX)
    assert corner.overlap_nm == -5 * INCH and not corner.meets and corner.short_by_nm == 11 * INCH


def test_the_place_and_the_side_it_is_short_on_are_told() -> None:
    short = judge(Rectangle(4 * INCH, 2 * INCH), [Piece(sides=Sides(SIX, SIX - INCH // 4, SIX, SIX))], SIX)
    assert (short.side, short.short_by_nm, short.nearest) == (
        "right",
        INCH // 4,
        (7 * INCH + 3 * INCH // 4, 0),
    )
    moved = judge(Circle(INCH), [Piece(Circle(13 * INCH), (0, -INCH))], SIX)
    assert (moved.side, moved.nearest) == ("near", (0, round(5.5 * INCH)))
    for side, at in {"left": (INCH, 0), "right": (-INCH, 0), "near": (0, -INCH), "far": (0, INCH)}.items():
        assert judge(Circle(INCH), [Piece(Rectangle(13 * INCH, 13 * INCH), at)], SIX).side == side
        cornered = Polygon(tuple(box(13 * INCH, 13 * INCH)))
        assert judge(Circle(INCH), [Piece(cornered, at)], SIX).side == side


def test_a_wall_is_no_reading_and_four_walls_are_refused() -> None:
    assert judge(Circle(INCH), [Piece(sides=Sides(None, SIX, SIX, SIX))], SIX).overlap_nm == SIX
    assert judge(Circle(INCH), [Piece(sides=Sides(None, None, None, SIX - 1))], SIX).short_by_nm == 1
    with pytest.raises(ValueError, match="wall"):
        judge(Circle(INCH), [Piece(sides=Sides(None, None, None, None))], SIX)


def test_a_piece_at_a_wall_still_counts_with_another() -> None:
    at_wall = Piece(sides=Sides(None, 2 * INCH, SIX, SIX))
    beyond = Piece(Rectangle(20 * INCH, 13 * INCH), (4 * INCH, 0))
    together = judge(Circle(INCH), [at_wall, beyond], SIX)
    assert together.meets and together.overlap_nm == SIX


def test_pieces_that_lap_too_little_are_judged_alone() -> None:
    slit = Slit(30 * INCH)

    def strips(lap_nm: int) -> list[Piece]:
        half = (24 * INCH - lap_nm) // 2
        return [Piece(Rectangle(24 * INCH, 12 * INCH), (u, 0)) for u in (-half, half)]

    assert judge(slit, strips(SIX), SIX).meets
    assert not judge(slit, strips(SIX - LESS), SIX).meets
    assert (
        judge(slit, strips(SIX - LESS), SIX).overlap_nm == judge(slit, strips(SIX - LESS)[:1], SIX).overlap_nm
    )


@pytest.mark.parametrize("degrees", range(0, 180, 15))
def test_a_lap_is_told_as_exactly_when_the_strips_lie_turned(degrees: int) -> None:
    slit = Slit(30 * INCH, 0, degrees * 1_000_000)

    def strips(lap_nm: int) -> list[Piece]:
        half = (24 * INCH - lap_nm) // 2
        ends = turned([(-half, 0), (half, 0)], degrees).points
        return [Piece(Rectangle(24 * INCH, 20 * INCH, degrees * 1_000_000), end) for end in ends]

    assert judge(slit, strips(SIX), SIX).meets
    assert not judge(slit, strips(SIX - INCH // 1_000), SIX).meets


def test_pieces_count_together_through_a_third() -> None:
    slit = Slit(30 * INCH)
    row = [Piece(Rectangle(18 * INCH, 14 * INCH), (u * INCH, 0)) for u in (-12, 0, 12)]
    assert judge(slit, row, SIX).overlap_nm == SIX
    assert not judge(slit, [row[0], row[2]], SIX).meets


def test_a_hole_left_between_pieces_is_bare() -> None:
    frame = [Piece(Rectangle(40 * INCH, 12 * INCH), (0, y * INCH)) for y in (-14, 14)] + [
        Piece(Rectangle(12 * INCH, 40 * INCH), (x * INCH, 0)) for x in (-14, 14)
    ]
    found = judge(Circle(4 * INCH), frame, SIX)
    assert found.overlap_nm is not None and abs(found.overlap_nm + 8 * INCH) <= INCH // 500
    assert judge(Circle(INCH), [Piece(frame[0].outline)], INCH).meets


def test_the_order_of_pieces_and_logging_one_twice_change_nothing() -> None:
    pieces = [
        Piece(Circle(14 * INCH), (INCH, 0)),
        Piece(Rectangle(16 * INCH, 9 * INCH, 10_000_000), (-INCH, 0)),
        Piece(Polygon(tuple(box(10 * INCH, 20 * INCH))), (0, INCH)),
    ]
    found = {judge(Circle(2 * INCH), order, 3 * INCH).overlap_nm for order in permutations(pieces)}
    assert len(found) == 1
    assert judge(Circle(2 * INCH), [pieces[0]] * 3, 3 * INCH) == judge(Circle(2 * INCH), pieces[:1], 3 * INCH)


def test_a_sliver_of_bare_damage_between_three_pieces_is_seen_where_their_edges_meet_on_its_edge() -> None:
    """Found by the oracle: edges met the damage's own to within a float, and it was told as touching."""
    damage = Rectangle(136_033_465, 141_413_294, 30_000_000)
    ring = (
        (129_639_906, 45_171_441), (46_992_647, 102_281_873), (-183_833_142, 67_843_409),
        (-294_411_582, 23_956_770), (-267_633_678, -96_094_633), (181_032_479, -137_036_438),
    )  # fmt: skip
    pieces = [
        Piece(Polygon(ring), (-18_916_918, -63_130_161)),
        Piece(Circle(360_443_566), (74_415_543, 92_638_847)),
        Piece(Circle(193_979_631), (7_184_185, -1_641_454)),
    ]
    found = judge(damage, pieces, INCH).overlap_nm
    assert found is not None and -0.04 * INCH < found < -0.02 * INCH


def test_a_piece_of_no_breadth_beside_another_is_judged_and_lifts_nothing() -> None:
    """A closed slit may be logged as a patch, and readings of nothing on both sides of one are a line."""
    damage = Slit(10 * INCH)
    whole = Piece(Rectangle(22 * INCH, 12 * INCH))
    for line in (Piece(Slit(40 * INCH)), Piece(sides=Sides(SIX, SIX, 0, 0))):
        both = judge(damage, [whole, line], SIX)
        assert both.meets and both.overlap_nm == SIX
        assert judge(damage, [line, Piece(Circle(INCH), (90 * INCH, 0))], SIX).overlap_nm == 0
    between = Piece(sides=Sides(SIX, SIX, None, 0))
    assert judge(damage, [whole, between], SIX).meets, "film up to a wall is no line"
