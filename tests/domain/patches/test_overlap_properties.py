"""Overlap whatever the shapes: turning changes nothing, more film never lowers it, many are judged as one."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.patches.overlap import Piece, judge, judge_many
from service.domain.shapes.outlines import Circle, Outline, Point, Polygon, Rectangle, Slit
from tests.domain.patches.test_overlap import INCH, SIX, box, turned

SIZE = st.integers(INCH // 8, 30 * INCH)
NEAR = st.integers(-6 * INCH, 6 * INCH)
ANGLE = st.integers(0, 359_999_999)
DAMAGES = st.one_of(
    st.builds(Circle, SIZE),
    st.builds(Rectangle, SIZE, SIZE, ANGLE),
    st.builds(Slit, SIZE, st.integers(0, INCH), ANGLE),
    st.builds(lambda x, y: turned([(-x, -y), (x, -y), (0, y)], 17), SIZE, SIZE),
)
PATCHES = st.one_of(
    st.builds(Circle, SIZE.map(lambda nm: nm + 6 * INCH)),
    st.builds(Rectangle, SIZE.map(lambda nm: nm + 6 * INCH), SIZE.map(lambda nm: nm + 6 * INCH), ANGLE),
    st.builds(lambda x, y: turned(box(x + 6 * INCH, y + 6 * INCH), 41), SIZE, SIZE),
)
PLACED = st.lists(st.builds(Piece, PATCHES, st.tuples(NEAR, NEAR)), min_size=1, max_size=3)


def rotated(outline: Outline, udeg: int) -> Outline:
    match outline:
        case Circle():
            return outline
        case Polygon(points):
            return turned(points, udeg / 1_000_000)
        case Rectangle(length, width, angle):
            return Rectangle(length, width, (angle + udeg) % 360_000_000)
        case Slit(length, opening, angle):
            return Slit(length, opening, (angle + udeg) % 360_000_000)


@settings(max_examples=120, deadline=None)
@given(DAMAGES, PLACED, ANGLE)
def test_turning_everything_changes_nothing(damage: Outline, pieces: list[Piece], udeg: int) -> None:
    moved = []
    for piece in pieces:
        assert piece.outline is not None
        (offset,) = turned([piece.offset], udeg / 1_000_000).points
        moved.append(Piece(rotated(piece.outline, udeg), offset))
    here, there = judge(damage, pieces, SIX).overlap_nm, judge(rotated(damage, udeg), moved, SIX).overlap_nm
    assert here is not None and there is not None
    # Turned by rounding, a lap may meet the minimum on one side and miss it on the other: one piece has none.
    if len(pieces) == 1:
        assert abs(here - there) <= (3_000 if here >= 0 else 60_000)


@settings(max_examples=120, deadline=None)
@given(DAMAGES, PATCHES, st.tuples(NEAR, NEAR), st.integers(0, 4 * INCH))
def test_a_larger_patch_never_lowers_the_overlap(
    damage: Outline, patch: Outline, at: Point, more: int
) -> None:
    match patch:
        case Circle(diameter):
            larger: Outline = Circle(diameter + more)
        case Rectangle(length, width, angle):
            larger = Rectangle(length + more, width + more, angle)
        case Polygon(points):
            larger = Polygon(tuple((x + x * more // INCH, y + y * more // INCH) for x, y in points))
        case _:
            return
    small, large = (judge(damage, [Piece(shape, at)], SIX).overlap_nm for shape in (patch, larger))
    assert small is not None and large is not None and large >= small - 60_000 * (small < 0) - 2


@settings(max_examples=80, deadline=None)
@given(DAMAGES, PLACED)
def test_one_more_piece_never_lowers_the_overlap(damage: Outline, pieces: list[Piece]) -> None:
    fewer, all_of_them = (judge(damage, some, 2 * INCH).overlap_nm for some in (pieces[1:] or pieces, pieces))
    assert fewer is not None and all_of_them is not None
    assert all_of_them >= fewer - 60_000 * (fewer < 0) - 2


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(DAMAGES, PLACED), max_size=8))
def test_judging_many_at_once_says_the_same_as_one_by_one(asked: list[tuple[Outline, list[Piece]]]) -> None:
    together = judge_many([(damage, pieces, SIX) for damage, pieces in asked])
    alone = [judge(damage, pieces, SIX) for damage, pieces in asked]
    assert together == alone
    assert [found.side for found in together] == [found.side for found in alone]
