"""A zone's edge: numbered sides, paths along it, what no path lies along. Oracle: plain sums of lengths."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.domain.installed.edges import (
    BadStretch,
    edges_of,
    overlapping,
    stretch_path,
    undescribed,
    whole_edge,
    whole_perimeter,
)

INCH = 25_400_000  # the international inch is exactly 25.4 mm (1959 agreement; from memory)
SIXTEENTH = INCH // 16
# One pixel is an inch; positions are thousandths of a pixel.
PER_PX = float(INCH)
ZONE = ((0, 0), (100_000, 0), (100_000, 80_000), (0, 80_000))
# One pixel is a millimetre: a place rounded to a thousandth of a pixel is off by less than ROUNDED_NM.
FINE = 1_000_000.0
ROUNDED_NM = 1_000

Px = tuple[int, int]


@st.composite
def zones(draw: st.DrawFn) -> tuple[Px, ...]:
    """Rings of 3 to 12 corners round a middle, up to 16 m across."""
    count = draw(st.integers(3, 12))
    radii = draw(st.lists(st.integers(2_000_000, 8_000_000), min_size=count, max_size=count))
    turned = draw(st.floats(0, 6.28))
    return tuple(
        (
            round(9e6 + r * math.cos(turned + math.tau * i / count)),
            round(9e6 + r * math.sin(turned + math.tau * i / count)),
        )
        for i, r in enumerate(radii)
    )


def lengths(zone: tuple[Px, ...], nm_per_px: float) -> list[float]:
    """The oracle's own sides, in nanometres."""
    return [math.dist(a, b) * nm_per_px / 1000 for a, b in pairwise((*zone, zone[0]))]


@st.composite
def cut_zones(draw: st.DrawFn) -> tuple[tuple[Px, ...], list[tuple[int, int, int, int]]]:
    """A zone, and its perimeter cut into (first, from_nm, last, to_nm), each at least a foot long."""
    zone = draw(zones())
    sides = lengths(zone, FINE)
    starts = {(1, 0), (2, 0)}
    for number, part in draw(
        st.lists(st.tuples(st.integers(1, len(zone)), st.floats(0, 1)), min_size=1, max_size=9)
    ):
        starts.add((number, round(part * (sides[number - 1] - 13 * INCH)) + 12 * INCH))
    cuts = sorted(starts)
    assume(all(a[0] != b[0] or b[1] - a[1] >= 12 * INCH for a, b in pairwise(cuts)))
    pieces = []
    for (first, from_nm), (last, to_nm) in pairwise([*cuts, (len(zone) + 1, 0)]):
        ends = (last, to_nm) if to_nm else (last - 1, round(sides[last - 2]))
        pieces.append((first, from_nm, *ends))
    return zone, pieces


def test_the_sides_are_numbered_in_the_order_of_the_corners() -> None:
    assert [(edge.number, edge.a, edge.b, edge.length_nm) for edge in edges_of(ZONE, PER_PX)] == [
        (1, (0, 0), (100_000, 0), 100 * INCH),
        (2, (100_000, 0), (100_000, 80_000), 80 * INCH),
        (3, (100_000, 80_000), (0, 80_000), 100 * INCH),
        (4, (0, 80_000), (0, 0), 80 * INCH),
    ]


def test_a_corner_given_twice_makes_no_side() -> None:
    twice = (ZONE[0], ZONE[1], ZONE[1], ZONE[2], ZONE[3], ZONE[0])
    assert edges_of(twice, PER_PX) == edges_of(ZONE, PER_PX)
    assert undescribed(twice, [whole_perimeter(ZONE)], PER_PX) == ()


@pytest.mark.parametrize(
    ("stretch", "path"),
    [
        ((1, 10, 1, 25), ((10_000, 0), (25_000, 0))),
        ((1, 90, 2, 20), ((90_000, 0), (100_000, 0), (100_000, 20_000))),
        ((2, 0, 2, 80), ((100_000, 0), (100_000, 80_000))),
        ((1, 100, 2, 5), ((100_000, 0), (100_000, 5_000))),
        ((4, 70, 1, 10), ((0, 10_000), (0, 0), (10_000, 0))),
        ((3, 50, 1, 0), ((50_000, 80_000), (0, 80_000), (0, 0))),
        ((1, 0, 4, 80), (*ZONE, ZONE[0])),
        ((3, 0, 2, 80), (ZONE[2], ZONE[3], ZONE[0], ZONE[1], ZONE[2])),
    ],
)
def test_a_stretch_follows_the_outline_round_its_corners(
    stretch: tuple[int, int, int, int], path: tuple[Px, ...]
) -> None:
    first, from_in, last, to_in = stretch
    assert stretch_path(ZONE, first, from_in * INCH, last, to_in * INCH, PER_PX) == path


@pytest.mark.parametrize(
    ("stretch", "code"),
    [
        ((1, 0, 1, 100 * INCH + SIXTEENTH + 1), "past-end"),
        ((2, 81 * INCH, 3, INCH), "past-end"),
        ((1, -1, 1, INCH), "before-start"),
        ((0, 0, 1, INCH), "no-such-edge"),
        ((1, 0, 5, INCH), "no-such-edge"),
        ((1, 5 * INCH, 1, 5 * INCH), "empty"),
        ((1, 5 * INCH, 1, 5 * INCH + SIXTEENTH // 2), "empty"),
        ((1, 100 * INCH, 2, 0), "empty"),
        ((4, 80 * INCH, 1, 0), "empty"),
        ((1, 9 * INCH, 1, 5 * INCH), "backwards"),
    ],
)
def test_a_stretch_the_outline_does_not_have_is_refused_in_words(
    stretch: tuple[int, int, int, int], code: str
) -> None:
    with pytest.raises(BadStretch, match=r"^[A-Z].*\.$") as refused:
        stretch_path(ZONE, *stretch, nm_per_px=PER_PX)
    assert refused.value.code == code


def test_a_sixteenth_past_the_end_of_an_edge_is_its_end() -> None:
    assert stretch_path(ZONE, 1, 0, 1, 100 * INCH + SIXTEENTH, PER_PX) == ZONE[:2]


def test_a_whole_edge_and_the_whole_perimeter_are_paths() -> None:
    assert whole_edge(ZONE, 4) == (ZONE[3], ZONE[0])
    assert whole_perimeter(ZONE) == (*ZONE, ZONE[0])
    with pytest.raises(BadStretch, match="edges 1 to 4"):
        whole_edge(ZONE, 5)


def test_a_zone_nobody_described_is_undescribed_edge_for_edge() -> None:
    edges = edges_of(ZONE, PER_PX)
    assert undescribed(ZONE, [], PER_PX) == tuple((e.number, e.a, e.b, e.length_nm) for e in edges)


def test_the_whole_perimeter_described_leaves_nothing() -> None:
    assert undescribed(ZONE, [whole_perimeter(ZONE)], PER_PX) == ()
    assert undescribed(ZONE, [whole_perimeter(ZONE)[::-1]], PER_PX) == ()
    assert undescribed(ZONE, [whole_edge(ZONE, number) for number in (3, 1, 4, 2)], PER_PX) == ()


def test_what_is_left_is_told_from_where_to_where() -> None:
    left = undescribed(ZONE, [((20_000, 0), ZONE[1], ZONE[2], ZONE[3])], PER_PX)
    assert left == ((1, (0, 0), (20_000, 0), 20 * INCH), (4, (0, 80_000), (0, 0), 80 * INCH))


@settings(max_examples=150, deadline=None)
@given(cut_zones())
def test_a_perimeter_cut_anyhow_and_described_piece_by_piece_leaves_nothing(
    cut: tuple[tuple[Px, ...], list[tuple[int, int, int, int]]],
) -> None:
    zone, pieces = cut
    paths = [stretch_path(zone, *piece, nm_per_px=FINE) for piece in pieces]
    assert undescribed(zone, paths, FINE) == ()
    assert all(overlapping(zone, paths, path, FINE) == (index,) for index, path in enumerate(paths))


@settings(max_examples=150, deadline=None)
@given(cut_zones(), st.data())
def test_a_piece_taken_away_is_left_at_exactly_its_length(
    cut: tuple[tuple[Px, ...], list[tuple[int, int, int, int]]], data: st.DataObject
) -> None:
    zone, pieces = cut
    gone = data.draw(st.sampled_from(pieces))
    paths = [stretch_path(zone, *piece, nm_per_px=FINE) for piece in pieces if piece != gone]
    left = undescribed(zone, paths, FINE)
    first, from_nm, last, to_nm = gone
    whole = sum(lengths(zone, FINE)[first - 1 : last - 1])
    assert sum(nm for *_, nm in left) == pytest.approx(whole - from_nm + to_nm, abs=4 * ROUNDED_NM)
    assert [number for number, *_ in left] == list(range(first, last + 1))


@settings(max_examples=150, deadline=None)
@given(zones(), st.data())
def test_two_stretches_overlap_just_where_their_distances_do(
    zone: tuple[Px, ...], data: st.DataObject
) -> None:
    sides = lengths(zone, FINE)
    starts = [sum(sides[:index]) for index in range(len(sides))]
    spans, paths = [], []
    for _ in range(2):
        first = data.draw(st.integers(1, len(zone)))
        last = data.draw(st.integers(first, len(zone)))
        from_nm = round(data.draw(st.floats(0, 0.45)) * sides[first - 1])
        to_nm = round(data.draw(st.floats(0.55, 1)) * sides[last - 1])
        spans.append((starts[first - 1] + from_nm, starts[last - 1] + to_nm))
        paths.append(stretch_path(zone, first, from_nm, last, to_nm, FINE))
    shared = min(spans[0][1], spans[1][1]) - max(spans[0][0], spans[1][0])
    assume(abs(shared - SIXTEENTH) > 4 * ROUNDED_NM)
    assert overlapping(zone, [paths[0]], paths[1], FINE) == ((0,) if shared > SIXTEENTH else ())


@pytest.mark.parametrize(("gap_px", "told"), [(62, 0), (63, 1), (250, 1)])
def test_a_gap_under_a_sixteenth_is_none(gap_px: int, told: int) -> None:
    # 1/16 in is 62.5 thousandths of an inch; a pixel is an inch.
    broken = [((0, 0), (50_000, 0)), ((50_000 + gap_px, 0), *ZONE[1:], ZONE[0])]
    assert len(undescribed(ZONE, broken, PER_PX)) == told


def test_a_gap_of_just_a_sixteenth_is_a_gap() -> None:
    # At 16 pixels to the inch, a sixteenth is one pixel to the nanometre.
    broken = [((0, 0), (50_000, 0)), ((51_000, 0), *ZONE[1:], ZONE[0])]
    assert undescribed(ZONE, broken, INCH / 16) == ((1, (50_000, 0), (51_000, 0), SIXTEENTH),)


@pytest.mark.parametrize("corner", [0, 2])
def test_a_gap_round_a_corner_is_one_gap(corner: int) -> None:
    """3/64 in on each side of a corner is less than 1/16 in twice, and 3/32 in together."""
    ring = ZONE[corner:] + ZONE[:corner]
    (x, y), (ax, ay), (bx, by) = ring[0], ring[1], ring[-1]
    after = (x + (47 if ax > x else -47 if ax < x else 0), y + (47 if ay > y else -47 if ay < y else 0))
    before = (x + (47 if bx > x else -47 if bx < x else 0), y + (47 if by > y else -47 if by < y else 0))
    assert len(undescribed(ZONE, [(after, *ring[1:], before)], PER_PX)) == 2


def test_a_curve_of_sides_shorter_than_a_sixteenth_is_not_lost() -> None:
    """Traced closely, every side of a curve is too short to be a gap alone; the curve is not."""
    curve = tuple(
        (
            round(5_000_000 - 100_000 * math.cos(i * math.pi / 300)),
            round(100_000 * math.sin(i * math.pi / 300)),
        )
        for i in range(301)
    )
    assert max(lengths(curve, FINE)[:-1]) < SIXTEENTH
    left = undescribed(curve, [whole_edge(curve, 301)], FINE)
    assert [number for number, *_ in left] == list(range(1, 301))


@pytest.mark.parametrize(("beside_px", "left"), [(0, 0), (62, 0), (63, 1), (1_000, 1)])
def test_a_path_counts_only_on_the_outline(beside_px: int, left: int) -> None:
    paths = [((0, beside_px), (100_000, beside_px)), (*ZONE[1:], ZONE[0])]
    assert len(undescribed(ZONE, paths, PER_PX)) == left


def test_a_place_rounded_to_the_sketch_still_lies_on_its_outline() -> None:
    """Where a thousandth of a pixel is more than a sixteenth, a path may be off by that."""
    zone = ((0, 0), (999, 1_000), (-3_001, 2_000))
    assert undescribed(zone, [((0, 0), (500, 500), *zone[1:], zone[0])], 8_000_000_000.0) == ()


def test_a_corner_moved_a_pixel_leaves_both_its_sides_undescribed() -> None:
    changed = (*ZONE[:2], (101_000, 80_000), ZONE[3])
    left = undescribed(changed, [whole_perimeter(ZONE)], PER_PX)
    # The third side still lies on its old line, up to the old corner.
    assert [number for number, *_ in left] == [2, 3]
    assert left[1] == (3, (101_000, 80_000), (100_000, 80_000), INCH)


def test_a_side_bent_within_an_old_path_is_undescribed_on_both_sides_of_the_bend() -> None:
    bent = (ZONE[0], (50_000, 200), *ZONE[1:])
    assert [number for number, *_ in undescribed(bent, [whole_perimeter(ZONE)], PER_PX)] == [1, 2]


def test_a_corner_put_on_a_straight_side_changes_nothing() -> None:
    assert undescribed((ZONE[0], (33_333, 0), *ZONE[1:]), [whole_perimeter(ZONE)], PER_PX) == ()


def test_a_path_that_crosses_an_edge_does_not_lie_along_it() -> None:
    paths = [((50_000, -9_000), (50_000, 9_000)), ((40_000, -50), (60_000, 70)), ((0, 0), (100_000, 80_000))]
    assert undescribed(ZONE, paths, PER_PX) == undescribed(ZONE, [], PER_PX)


def test_a_side_described_does_not_describe_its_neighbour_at_a_sharp_corner() -> None:
    sharp = ((0, 0), (100_000, 0), (0, 3_000))
    left = undescribed(sharp, [whole_edge(sharp, 1)], PER_PX)
    assert [(number, a, b) for number, a, b, _ in left] == [(2, sharp[1], sharp[2]), (3, sharp[2], sharp[0])]


def test_a_stretch_over_described_ones_names_each_of_them() -> None:
    paths = [whole_edge(ZONE, 1), whole_edge(ZONE, 2), whole_edge(ZONE, 3), ((0, 40_000), (0, 20_000))]
    assert overlapping(ZONE, paths, stretch_path(ZONE, 1, 90 * INCH, 2, INCH, PER_PX), PER_PX) == (0, 1)
    assert overlapping(ZONE, paths, whole_perimeter(ZONE), PER_PX) == (0, 1, 2, 3)
    assert overlapping(ZONE, paths, ((0, 80_000), (0, 40_000)), PER_PX) == ()
    assert overlapping(ZONE, [], whole_perimeter(ZONE), PER_PX) == ()
    assert overlapping(ZONE, paths, ((10_000, 10_000), (20_000, 10_000)), PER_PX) == ()


@pytest.mark.parametrize(("shared_px", "refused"), [(0, ()), (1_000, ()), (1_002, (0,)), (2_000, (0,))])
def test_a_stretch_may_share_a_sixteenth_and_no_more(shared_px: int, refused: tuple[int, ...]) -> None:
    # A pixel is 1/16 in; a thousandth of that is under the tolerance of 0.0001 in, two are over it.
    path = ((50_000 - shared_px, 0), (100_000, 0))
    assert overlapping(ZONE, [((0, 0), (50_000, 0))], path, INCH / 16) == refused


def test_five_hundred_corners_in_five_hundred_stretches_leave_nothing_but_what_is_taken_away() -> None:
    ring = tuple(
        (round(9e6 + 8e6 * math.cos(math.tau * i / 500)), round(9e6 + 8e6 * math.sin(math.tau * i / 500)))
        for i in range(500)
    )
    paths = [whole_edge(ring, number) for number in range(1, 501)]
    assert undescribed(ring, paths, FINE) == ()
    assert [number for number, *_ in undescribed(ring, paths[:77] + paths[78:], FINE)] == [78]
