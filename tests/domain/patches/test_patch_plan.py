"""Which repairs together: worked cases, what holds for any marks, and cut lists."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.patches.least_patch import Field
from service.domain.patches.overlap import Piece, judge
from service.domain.patches.patch_groups import components, exact_groups, near_groups
from service.domain.patches.patch_plan import Plan, PlanMark, offer, plan, seamed_pieces
from service.domain.patches.roll_cuts import cut_list, off_the_roll, too_wide
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit, cut_size

INCH = 25_400_000
SIXTEENTH = INCH // 16
FOOT = 12 * INCH
SIX = 6 * INCH
NM_PER_PX = 1_000.0  # a thousandth of a pixel is a nanometre
STAKE = Circle(5 * INCH // 8)


def mark(k: int, x_in: float, y_in: float, outline: Outline = STAKE) -> PlanMark:
    return PlanMark(f"m{k}", f"B-{k:02d}", outline, (round(x_in * INCH), round(y_in * INCH)))


def planned(*marks: PlanMark, rolls: tuple[int, ...] = (), overlap: int = SIX) -> Plan:
    return plan(marks, nm_per_px=NM_PER_PX, overlap_nm=overlap, roll_widths_nm=rolls)


def square_inches(nm2: int) -> float:
    return nm2 / INCH**2


# Worked by hand: damage a by b takes a + 2o by b + 2o (calculated), so a 5/8 in stake hole with 6 in of
# overlap takes 12 5/8 by 12 5/8 in, and two 8 in apart take 20 5/8 by 12 5/8 in together.


def test_two_stake_holes_eight_inches_apart_go_under_one_patch() -> None:
    found = planned(mark(1, 0, 0), mark(2, 8, 0))
    (group,) = found.groups
    assert (group.length_nm, group.width_nm, group.angle_udeg) == (330 * SIXTEENTH, 202 * SIXTEENTH, 0)
    assert group.marks == ("m1", "m2") and group.offset_nm == (4 * INCH, 0) and group.centre == (4 * INCH, 0)
    assert square_inches(found.film_nm2) == pytest.approx(20.625 * 12.625)
    assert square_inches(found.single_film_nm2) == pytest.approx(2 * 12.625**2)
    assert (found.tape_nm, found.single_tape_nm) == (2 * 33.25 * INCH, 8 * 12.625 * INCH)
    assert found.exact and found.film_saved_nm2 > 0


def test_two_stake_holes_thirteen_inches_apart_get_a_patch_each() -> None:
    found = planned(mark(1, 0, 0), mark(2, 13, 0))
    assert [group.marks for group in found.groups] == [("m1",), ("m2",)]
    assert found.film_saved_nm2 == 0 == found.tape_saved_nm


def test_where_film_is_the_same_the_patch_with_less_tape_is_taken() -> None:
    found = planned(mark(1, 0, 0), mark(2, 12.625, 0))
    assert len(found.groups) == 1 and found.film_saved_nm2 == 0
    assert found.tape_saved_nm == 2 * 202 * SIXTEENTH


def test_a_row_of_five_stake_holes_goes_under_one_strip_along_the_row() -> None:
    along = math.radians(30)
    found = planned(*(mark(k, 8 * k * math.cos(along), 8 * k * math.sin(along)) for k in range(5)))
    (group,) = found.groups
    assert abs(group.length_nm - 44.625 * INCH) <= 2 and abs(group.width_nm - 12.625 * INCH) <= 2
    assert abs(group.angle_udeg - 30_000_000) <= 2


def test_a_tear_alone_takes_the_cut_size_it_is_told() -> None:
    """Calculated: a 4 by 2 in tear with 6 in on every side takes 16 by 14 in."""
    (group,) = planned(mark(1, 3, 4, Rectangle(4 * INCH, 2 * INCH, 25_000_000))).groups
    assert (group.length_nm, group.width_nm, group.angle_udeg) == (16 * INCH, 14 * INCH, 25_000_000)
    assert group.offset_nm == (0, 0) and group.pieces == ((16 * INCH, 14 * INCH),) and not group.seamed


def test_the_cut_allowance_is_added_on_every_side() -> None:
    found = plan([mark(1, 0, 0)], nm_per_px=NM_PER_PX, overlap_nm=SIX, allowance_nm=INCH // 2)
    assert found.groups[0].length_nm == round(13.625 * INCH)


def test_a_hole_amid_four_cuts_joins_their_patch_though_with_each_alone_it_would_not() -> None:
    """What lies round it decides: with one cut it takes 42 by 27 in against 504 and 159 square inches."""
    cut, across = Slit(30 * INCH, 0, 0), Slit(30 * INCH, 0, 90_000_000)
    cuts = [mark(1, 15, 0, cut), mark(2, 15, 30, cut), mark(3, 0, 15, across), mark(4, 30, 15, across)]
    hole = mark(9, 15, 15)
    assert all(len(planned(one, hole).groups) == 2 for one in cuts)
    (group,) = planned(*cuts, hole).groups
    assert (group.length_nm, group.width_nm) == (42 * INCH, 42 * INCH)


def test_no_marks_need_no_patches() -> None:
    assert planned() == Plan((), 0, 0, 0, 0, True)


def test_forty_holes_in_a_square_foot_go_under_one_patch() -> None:
    rng = random.Random(3)
    found = planned(*(mark(k, rng.uniform(0, 12), rng.uniform(0, 12)) for k in range(40)))
    assert len(found.groups) == 1 and not found.exact


SIZE = st.integers(INCH // 4, 8 * INCH)
ANGLE = st.integers(-89_000_000, 90_000_000)
OUTLINES = st.one_of(
    st.builds(Circle, SIZE),
    st.builds(Rectangle, SIZE, SIZE, ANGLE),
    st.builds(Slit, SIZE, st.just(0), ANGLE),
    st.builds(lambda x, y: Polygon(((-x, -y), (x, -y), (0, y))), SIZE, SIZE),
)
PLACE = st.integers(0, 50 * INCH)
MARKS = st.lists(st.tuples(OUTLINES, PLACE, PLACE), min_size=1, max_size=8).map(
    lambda found: [PlanMark(f"m{k}", f"B-{k:02d}", o, (x, y)) for k, (o, x, y) in enumerate(found)]
)
OVERLAP = st.sampled_from([3 * INCH, SIX, 12 * INCH])


@settings(max_examples=60, deadline=None)
@given(MARKS, OVERLAP)
def test_a_plan_is_never_worse_than_one_patch_each_and_holds_every_mark_once(
    marks: list[PlanMark], overlap: int
) -> None:
    found = planned(*marks, overlap=overlap)
    assert sorted(m for group in found.groups for m in group.marks) == [m.id for m in marks]
    sizes = [cut_size(m.outline, overlap) for m in marks]
    assert found.film_nm2 <= sum(a * b for a, b, _ in sizes) == found.single_film_nm2


@settings(max_examples=60, deadline=None)
@given(MARKS, OVERLAP)
def test_every_mark_is_covered_by_its_planned_patch_with_the_whole_overlap(
    marks: list[PlanMark], overlap: int
) -> None:
    by_id = {m.id: m for m in marks}
    for group in planned(*marks, overlap=overlap).groups:
        patch = Rectangle(group.length_nm, group.width_nm, group.angle_udeg)
        first = by_id[group.marks[0]]
        for m in (by_id[name] for name in group.marks):
            away = [first.at[axis] + group.offset_nm[axis] - m.at[axis] for axis in (0, 1)]
            assert judge(m.outline, [Piece(patch, (away[0], away[1]))], overlap).meets, m


@settings(max_examples=60, deadline=None)
@given(MARKS, OVERLAP)
def test_an_added_mark_never_lowers_the_film(marks: list[PlanMark], overlap: int) -> None:
    more = planned(*marks, overlap=overlap).film_nm2
    less = planned(*marks[:-1], overlap=overlap).film_nm2
    # Whole nanometres a side, and whole micro-degrees of turning: less than 0.01 mm² a patch.
    assert less <= more + 10**10 * len(marks)


@settings(max_examples=40, deadline=None)
@given(MARKS, st.randoms(use_true_random=False))
def test_the_order_in_which_marks_come_changes_nothing(marks: list[PlanMark], rng: random.Random) -> None:
    shuffled = list(marks)
    rng.shuffle(shuffled)
    assert planned(*shuffled).groups == planned(*marks).groups


def scattered(seed: int, count: int, side_in: float) -> Field:
    rng = random.Random(seed)
    outlines: list[Outline] = []
    for _ in range(count):
        size = rng.randint(4, 80) * SIXTEENTH
        box = Rectangle(size, rng.randint(4, 32) * SIXTEENTH, rng.randint(-5, 6) * 15_000_000)
        outlines.append(box if rng.random() < 0.5 else Circle(size))
    at = [(rng.uniform(0, side_in) * INCH, rng.uniform(0, side_in) * INCH) for _ in range(count)]
    return Field.of(outlines, at, SIX, 0, None)


def film(field: Field, groups: list[tuple[int, ...]]) -> int:
    return sum(field.cost(group)[0] for group in groups)


def test_marks_kept_apart_share_no_patch_in_the_least_plan_of_all_together() -> None:
    parted = 0
    for seed in range(60):
        field = scattered(seed, 10, 90)
        clusters = components(field, range(10))
        whole = exact_groups(field, range(10))
        parted += len(clusters) > 1
        for group in whole:
            assert any(set(group) <= set(cluster) for cluster in clusters), f"seed {seed}: {group}"
        assert film(field, whole) == film(field, [g for c in clusters for g in exact_groups(field, c)])
    assert parted > 30, "in many of the cases marks must be kept apart"


def test_marks_inside_the_hull_of_the_others_are_left_out_of_no_answer() -> None:
    for seed in range(40):
        field, everything = scattered(500 + seed, 12, 30), tuple(range(12))
        film_of_sets, tape_of_sets = field.costs(everything)
        assert field.cost(everything) == (film_of_sets[-1], tape_of_sets[-1])
        assert len(field.outer(everything)) < 12


def test_many_marks_are_planned_nearly_as_well_as_exactly() -> None:
    """On twelve marks, where the exact plan is known: never below it, and most often the same."""
    gaps = []
    for seed in range(25):
        field = scattered(100 + seed, 12, 50)
        exact, near = film(field, exact_groups(field, range(12))), film(field, near_groups(field, range(12)))
        assert exact <= near <= film(field, [(k,) for k in range(12)])
        gaps.append(near / exact - 1)
    assert sum(gap == 0 for gap in gaps) > 20 and sum(gaps) / len(gaps) < 5e-3


def test_damage_wider_than_the_roll_stays_alone_and_is_seamed() -> None:
    """19 by 15 ft of damage with 6 in takes 20 by 16 ft: of a 12 ft roll two strips, 12 and 4 1/2 ft wide."""
    wide = mark(1, 0, 0, Rectangle(19 * FOOT, 15 * FOOT))
    found = planned(wide, mark(2, 0, 10 * 12), rolls=(12 * FOOT, 6 * FOOT))
    assert [group.seamed for group in found.groups] == [True, False]
    assert found.groups[0].pieces == ((20 * FOOT, 12 * FOOT), (20 * FOOT, 9 * FOOT // 2))
    assert found.groups[0].film_nm2 == 20 * FOOT * (33 * FOOT // 2)
    assert found.groups[0].tape_nm == 2 * 36 * FOOT + 20 * FOOT
    assert found.single_film_nm2 == found.film_nm2


def test_a_patch_just_as_wide_as_the_roll_is_cut_in_one_piece() -> None:
    wide = mark(1, 0, 0, Rectangle(19 * FOOT, 11 * FOOT))
    assert not planned(wide, rolls=(12 * FOOT,)).groups[0].seamed
    assert planned(wide, rolls=(12 * FOOT - SIXTEENTH,)).groups[0].seamed


def test_no_patch_over_several_marks_is_wider_than_the_widest_roll() -> None:
    four = [mark(k, 7 * (k % 2), 7 * (k // 2)) for k in range(4)]
    assert len(planned(*four).groups) == 1
    narrow = planned(*four, rolls=(13 * INCH,))
    assert len(narrow.groups) == 2 and all(group.width_nm <= 13 * INCH for group in narrow.groups)


@pytest.mark.parametrize(("width", "lap_in", "strips"), [(58, 6, 4), (58, 12, 5), (57, 6, 4), (57, 12, 4)])
def test_strips_are_counted_as_sheets_are(width: int, lap_in: int, strips: int) -> None:
    """Calculated: 1 + (W - w) / (w - l) rounded up, of 15 ft rolls; 57 ft with a 12 in lap is exact."""
    pieces = seamed_pieces(60 * FOOT, width * FOOT, 15 * FOOT, lap_in * INCH)
    assert len(pieces) == strips
    assert sum(w for _, w in pieces) - (strips - 1) * lap_in * INCH == width * FOOT
    assert all(lap_in * INCH < w <= 15 * FOOT for _, w in pieces)


def test_a_roll_no_wider_than_the_lap_gives_no_strips() -> None:
    assert seamed_pieces(20 * FOOT, 16 * FOOT, SIX, SIX) == ()
    (group,) = planned(mark(1, 0, 0, Rectangle(FOOT, FOOT)), rolls=(SIX,)).groups
    assert group.seamed and group.pieces == ()
    assert too_wide(planned(mark(1, 0, 0), rolls=(SIX,)), SIX)


def test_pieces_lie_side_by_side_across_the_roll() -> None:
    """Eleven patches of 12 5/8 in fit across 144 in, so twelve take two rows: 25 1/4 in off the roll."""
    found = planned(*(mark(k, 40 * k, 0) for k in range(12)))
    rows = cut_list(found, 144 * INCH)
    assert [len(row.pieces) for row in rows] == [11, 1]
    assert off_the_roll(rows) == 404 * SIXTEENTH
    assert [piece.tags for piece in rows[0].pieces][:2] == [("B-00",), ("B-01",)]


@pytest.mark.parametrize("roll", [30, 50, 144])
def test_a_cut_list_holds_every_piece_once_within_the_roll(roll: int) -> None:
    rng = random.Random(roll)
    boxes = [Rectangle(rng.randint(1, 60) * INCH, rng.randint(1, 12) * INCH) for _ in range(30)]
    found = planned(*(mark(k, 200 * k, 0, box) for k, box in enumerate(boxes)), rolls=(roll * INCH,))
    rows = cut_list(found, roll * INCH)
    cut = [(p.tags, p.length_nm, p.width_nm) for row in rows for p in row.pieces]
    assert sorted(cut) == sorted((g.tags, a, b) for g in found.groups for a, b in g.pieces)
    for row in rows:
        assert sum(piece.across_nm for piece in row.pieces) <= roll * INCH
        assert row.length_nm == max(piece.along_nm for piece in row.pieces)
    assert off_the_roll(rows) * roll * INCH >= found.film_nm2


def test_a_roll_narrower_than_a_planned_patch_is_said_to_be_so() -> None:
    found = planned(mark(1, 0, 0), mark(2, 90, 0, Rectangle(3 * FOOT, 2 * FOOT)))
    assert [group.tags for group in too_wide(found, 20 * INCH)] == [("B-02",)]
    assert [p.tags for row in cut_list(found, 20 * INCH) for p in row.pieces] == [("B-01",)]


def offered(one: PlanMark, *others: PlanMark, rolls: tuple[int, ...] = ()) -> tuple[str, ...] | None:
    found = offer(one, others, nm_per_px=NM_PER_PX, overlap_nm=SIX, roll_widths_nm=rolls)
    return None if found is None else found.group.marks


def test_a_neighbour_just_at_the_overlap_is_reached_and_one_sixteenth_farther_is_not() -> None:
    assert offered(mark(1, 0, 0), mark(2, 6.625, 0)) == ("m1", "m2")
    assert offered(mark(1, 0, 0), mark(2, 6.6875, 0)) is None
    torn = mark(3, 10, 0, Rectangle(4 * INCH, 2 * INCH, 90_000_000))
    assert offered(torn, mark(4, 10 - 1 - 6 - 5 / 16, 0)) == ("m3", "m4")
    assert offered(torn, mark(4, 10 - 1 - 6 - 6 / 16, 0)) is None


def test_an_offer_tells_the_patch_from_the_mark_asked_about_and_what_it_saves() -> None:
    one, other = mark(2, 0, 0), mark(1, 0, 6)
    found = offer(one, [one, other, mark(3, 40, 0)], nm_per_px=NM_PER_PX, overlap_nm=SIX)
    assert found is not None and found.group.marks == ("m2", "m1")
    assert found.group.offset_nm == (0, 3 * INCH) and found.group.angle_udeg == 90_000_000
    assert (found.group.length_nm, found.group.width_nm) == (298 * SIXTEENTH, 202 * SIXTEENTH)
    assert square_inches(found.separate_film_nm2) == pytest.approx(2 * 12.625**2)
    assert found.saves_film and found.saves_tape


def test_an_offer_that_takes_more_film_says_so() -> None:
    """A long slit and a hole beside its end, square to it: one patch is a big square."""
    slit = mark(1, 0, 0, Slit(60 * INCH, 0, 0))
    other = mark(2, -29, 35.5, Slit(60 * INCH, 0, 90_000_000))
    found = offer(slit, [other], nm_per_px=NM_PER_PX, overlap_nm=SIX)
    assert found is not None and not found.saves_film
    assert found.separate_tape_nm == 2 * 168 * INCH


def test_nothing_is_offered_that_no_roll_can_give() -> None:
    slit = mark(1, 0, 0, Slit(60 * INCH, 0, 0))
    other = mark(2, -29, 35.5, Slit(60 * INCH, 0, 90_000_000))
    assert offered(slit, other, rolls=(40 * INCH,)) is None
    assert offered(slit, other, rolls=(144 * INCH,)) == ("m1", "m2")
