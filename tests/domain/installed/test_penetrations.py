"""Collars, mastic and dams: what a seal must be, what is wrong with one as built, what stands in a row."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.installed.penetrations import (
    FAULT_WORDS,
    CollarNeed,
    collar_need,
    girth_nm,
    row_of,
    row_spaced,
    seal_faults,
    too_large_to_cut,
)
from service.domain.installed.trade_sizes import size_of
from service.domain.nouns.installed import COLLAR, DAM, MASTIC, Px, Seal, Signed, Work
from service.domain.nouns.rules import ready_made
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit

INCH = 25_400_000
SIXTY_FOURTH = INCH // 64
FOOT = 12 * INCH
US = Numbers.of(ready_made("us"))
# One pixel is an inch; positions are thousandths of a pixel.
PER_PX = float(INCH)
PIPE = Circle(size_of("steel pipe", "4").od_nm)
BAR = Circle(size_of("reinforcing bar", "8").od_nm)

WORK = Work(cleaned=True, dry=True, tape_width_nm=4 * INCH, film_mf=None, lot="", note="")
SIGNED = Signed("p1", "crew lead", datetime(2026, 3, 2, 14, tzinfo=UTC), 7)


def a_seal(method: str = COLLAR, **changed: Any) -> Seal:
    """A well-made seal with everything done that any method asks: a collar of 12 by 21 1/4 in."""
    work = {name: changed.pop(name) for name in list(changed) if name in Work.__slots__}
    seal = Seal("s1", method, ("a",), 12 * INCH, 21 * INCH + INCH // 4, True, True, True, True, WORK, SIGNED)
    return replace(seal, work=replace(WORK, **work), **changed)


def inches(*points: tuple[float, float]) -> Polygon:
    return Polygon(tuple((round(x * INCH), round(y * INCH)) for x, y in points))


# Girth.


def test_the_girth_of_a_round_pipe_is_never_rounded_down() -> None:
    """pi from Machin's formula in whole numbers, not from the program under test."""
    digits = 10**40
    fifth = sum((-1) ** k * digits // ((2 * k + 1) * 5 ** (2 * k + 1)) for k in range(60))
    far = sum((-1) ** k * digits // ((2 * k + 1) * 239 ** (2 * k + 1)) for k in range(20))
    pi = 4 * (4 * fifth - far)
    for diameter in (1, 7, 113, 21_336_000, 114_300_000, 10**13, 10**25):
        girth = girth_nm(Circle(diameter))
        assert girth * digits >= diameter * (pi - 10**6)
        assert (girth - 1) * digits < diameter * (pi + 10**6)


def test_a_square_column_has_the_girth_of_its_four_sides_at_any_angle() -> None:
    assert girth_nm(Rectangle(16 * INCH, 12 * INCH)) == 56 * INCH
    assert girth_nm(Rectangle(16 * INCH, 12 * INCH, 33_000_000)) == 56 * INCH
    assert girth_nm(Slit(10 * INCH)) == 20 * INCH


def test_tape_round_a_hollow_shape_runs_straight_across_the_hollow() -> None:
    """An I-shaped column 12 by 8 in: the tape runs round its box, 40 in."""
    column = inches(
        (-4, -6), (4, -6), (4, -5), (0.5, -5), (0.5, 5), (4, 5), (4, 6), (-4, 6), (-4, 5), (-0.5, 5),
        (-0.5, -5), (-4, -5),
    )  # fmt: skip
    assert girth_nm(column) == 40 * INCH


def test_the_girth_of_a_slanted_shape_is_its_sides_rounded_up_once() -> None:
    """A right triangle of 1, 1 and root 2: 3.414213562373095... in units of 10 m."""
    # The second's long side is a third of a millionth of a nanometre over a whole one (Pell: p² = 2q² - 1).
    for unit in (10**10, 1_136_689):
        girth = girth_nm(Polygon(((0, 0), (unit, 0), (0, unit))))
        assert girth == 2 * unit + math.isqrt(2 * unit**2) + 1
    unit = 10**10
    assert girth_nm(Polygon(((0, 0), (unit, 0), (2 * unit, 0)))) == 4 * unit


RINGS = st.lists(
    st.tuples(st.integers(-(10**9), 10**9), st.integers(-(10**9), 10**9)), min_size=3, max_size=12
)


@given(RINGS)
def test_the_girth_is_never_below_the_true_perimeter_nor_a_nanometre_above(
    ring: list[tuple[int, int]],
) -> None:
    """The hull walked by hand: gift wrapping, with lengths added exactly as far as floats go."""
    hull = [min(ring)]
    while True:
        ahead = hull[-1]
        for point in ring:
            side = _turn(hull[-1], ahead, point)
            further = math.dist(hull[-1], point) > math.dist(hull[-1], ahead)
            if ahead == hull[-1] or side < 0 or (side == 0 and further):
                ahead = point
        if ahead == hull[0]:
            break
        hull.append(ahead)
    true = math.fsum(math.dist(p, q) for p, q in pairwise([*hull, hull[0]]))
    assert true - 1e-4 <= girth_nm(Polygon(tuple(ring))) <= true + 1 + 1e-4


def _turn(o: tuple[int, int], a: tuple[int, int], b: tuple[int, int]) -> int:
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


# What is needed.


def test_a_collar_is_as_wide_as_the_sheet_asks_and_one_and_a_half_girths_long() -> None:
    """12 in wide, 1.5 circumferences long, fingers half the width: common practice, no source."""
    need = collar_need(Rectangle(16 * INCH, 12 * INCH), US)
    assert need == CollarNeed(12 * INCH, 84 * INCH, 6 * INCH, False)
    wider = replace(US, collar_width_nm=18 * INCH, collar_length_thousandths=2000)
    assert collar_need(Rectangle(16 * INCH, 12 * INCH), wider) == CollarNeed(
        18 * INCH, 112 * INCH, 9 * INCH, False
    )


@pytest.mark.parametrize(
    ("outline", "may"),
    [
        (Circle(INCH), True),
        (Circle(INCH + 1), False),
        (Rectangle(INCH, 0), True),
        (Rectangle(3 * INCH // 5, 4 * INCH // 5, 20_000_000), True),  # 0.6 by 0.8: 1 across its corners
        (Rectangle(3 * INCH // 5, 4 * INCH // 5 + 1), False),
        (Rectangle(INCH, INCH), False),
        (Slit(INCH, 1), False),
        (inches((0, 0), (0.6, 0), (0.6, 0.8)), True),
        (inches((0, 0), (0.6, 0), (0.6, 0.81)), False),
    ],
)
def test_mastic_may_do_up_to_the_limit_across_the_widest_way_and_no_further(
    outline: Outline, may: bool
) -> None:
    assert collar_need(outline, US).mastic_allowed is may
    assert collar_need(outline, replace(US, mastic_up_to_nm=0)).mastic_allowed is False
    assert collar_need(Slit(0), replace(US, mastic_up_to_nm=0)).mastic_allowed is False


def test_a_bar_of_one_inch_may_be_sealed_with_mastic_and_the_next_may_not() -> None:
    """ASTM A615: #8 is 1.000 in, #9 1.128 in. The limit of 1 in is common practice, no source."""
    assert collar_need(BAR, US).mastic_allowed
    assert not collar_need(Circle(size_of("reinforcing bar", "#9").od_nm), US).mastic_allowed


# What is wrong with a seal.


def test_a_well_made_collar_has_no_fault() -> None:
    assert seal_faults([PIPE], a_seal(), US) == ()


def test_a_collar_of_exactly_the_length_asked_passes_and_a_nanometre_less_does_not() -> None:
    need = collar_need(PIPE, US)
    assert seal_faults([PIPE], a_seal(collar_length_nm=need.length_nm), US) == ()
    assert seal_faults([PIPE], a_seal(collar_length_nm=need.length_nm - 1), US) == ("collar-short",)


@pytest.mark.parametrize(
    ("changed", "fault"),
    [
        ({"collar_width_nm": 12 * INCH - SIXTY_FOURTH}, "collar-narrow"),
        ({"collar_length_nm": 18 * INCH}, "collar-short"),  # 1.5 girths of the nominal 4 in would be 18.85 in
        ({"fingers": False}, "no-fingers"),
        ({"taped_to_pipe": False}, "not-taped-to-pipe"),
        ({"taped_to_film": False}, "not-taped-to-film"),
        ({"tape_width_nm": 4 * INCH - SIXTY_FOURTH}, "tape-narrow"),
        ({"cleaned": False}, "not-cleaned"),
        ({"dry": False}, "not-dry"),
        ({"film_mf": 39_999}, "too-cold"),
    ],
)
def test_each_thing_left_undone_on_a_collar_is_a_fault_of_its_own(
    changed: dict[str, Any], fault: str
) -> None:
    assert seal_faults([PIPE], a_seal(**changed), US) == (fault,)


def test_film_just_warm_enough_passes_and_a_temperature_nobody_took_is_no_fault() -> None:
    """About 40 °F for standard acrylic tapes: common practice, no source."""
    assert seal_faults([PIPE], a_seal(film_mf=40_000), US) == ()
    assert seal_faults([PIPE], a_seal(film_mf=None), US) == ()


def test_a_collar_does_not_need_the_hole_cut_close() -> None:
    assert seal_faults([PIPE], a_seal(close_cut=False), US) == ()


def test_mastic_asks_for_a_small_thing_in_a_close_hole_and_for_no_collar() -> None:
    bare = {"collar_width_nm": 0, "collar_length_nm": 0, "fingers": False, "taped_to_pipe": False}
    mastic = a_seal(MASTIC, **bare, taped_to_film=False, tape_width_nm=0)
    assert seal_faults([BAR], mastic, US) == ()
    assert seal_faults([PIPE], mastic, US) == ("too-large-for-mastic",)
    assert seal_faults([BAR], replace(mastic, close_cut=False), US) == ("hole-not-close",)
    assert seal_faults([BAR], mastic, replace(US, mastic_up_to_nm=0)) == ("too-large-for-mastic",)


def test_mastic_round_several_is_too_little_when_one_of_them_is_too_large() -> None:
    assert seal_faults([BAR, BAR], a_seal(MASTIC), US) == ()
    assert seal_faults([BAR, PIPE], a_seal(MASTIC), US) == ("too-large-for-mastic",)


def test_a_dam_is_for_several() -> None:
    assert seal_faults([PIPE, PIPE], a_seal(DAM), US) == ()
    assert seal_faults([PIPE], a_seal(DAM), US) == ("dam-for-one",)
    assert seal_faults([PIPE, BAR], a_seal(DAM, close_cut=False), US) == ("hole-not-close",)


def test_one_collar_round_several_never_seals_however_long() -> None:
    long = a_seal(collar_width_nm=40 * INCH, collar_length_nm=400 * INCH)
    assert seal_faults([PIPE, PIPE], long, US) == ("one-collar-for-several",)
    gone = replace(long, together=("a", "b"))
    assert seal_faults([PIPE], gone, US) == ("one-collar-for-several",)
    short = a_seal(collar_length_nm=10 * INCH)
    assert seal_faults([BAR, PIPE], short, US) == ("one-collar-for-several", "collar-short")


@pytest.mark.parametrize("method", [MASTIC, DAM])
def test_every_way_of_sealing_asks_for_clean_dry_and_warm_film(method: str) -> None:
    inside = [BAR, BAR] if method == DAM else [BAR]
    bad = a_seal(method, cleaned=False, dry=False, film_mf=0)
    assert seal_faults(inside, bad, US) == ("not-cleaned", "not-dry", "too-cold")


def test_what_the_rules_do_not_know_never_seals() -> None:
    assert seal_faults([PIPE], a_seal("chewing gum"), US) == ("no-such-seal",)
    assert seal_faults([], a_seal(), US) == ("nothing-inside",)
    assert seal_faults([], a_seal(DAM), US) == ("nothing-inside",)


def test_every_fault_has_its_words() -> None:
    undone = {"fingers": False, "taped_to_pipe": False, "taped_to_film": False, "close_cut": False}
    unclean = {"cleaned": False, "dry": False, "film_mf": 0, "tape_width_nm": 0}
    told: set[str] = set()
    for method in (COLLAR, MASTIC, DAM, "gum"):
        seal = a_seal(method, collar_width_nm=0, collar_length_nm=0, **undone, **unclean)
        told |= {fault for inside in ([], [PIPE], [PIPE, PIPE]) for fault in seal_faults(inside, seal, US)}
    assert told == set(FAULT_WORDS)


SEALS = st.builds(
    lambda method, width, length, made, tape, mf: a_seal(
        method, collar_width_nm=width, collar_length_nm=length, fingers=made[0], taped_to_pipe=made[1],
        taped_to_film=made[2], close_cut=made[3], cleaned=made[4], dry=made[5], tape_width_nm=tape,
        film_mf=mf,
    ),
    st.sampled_from([COLLAR, MASTIC, DAM]),
    st.integers(0, 24 * INCH), st.integers(0, 80 * INCH), st.lists(st.booleans(), min_size=6, max_size=6),
    st.integers(0, 8 * INCH), st.none() | st.integers(0, 90_000),
)  # fmt: skip
INSIDE = st.lists(
    st.builds(Circle, st.integers(1, 14 * INCH))
    | st.builds(Rectangle, st.integers(1, 14 * INCH), st.integers(1, 14 * INCH), st.integers(0, 359_999_999)),
    max_size=3,
)
MORE = st.integers(0, 10 * INCH)


@given(INSIDE, SEALS, MORE, MORE)
def test_a_bigger_collar_never_adds_a_fault(
    inside: list[Outline], seal: Seal, wider: int, longer: int
) -> None:
    bigger = replace(
        seal,
        collar_width_nm=seal.collar_width_nm + wider,
        collar_length_nm=seal.collar_length_nm + longer,
        work=replace(seal.work, tape_width_nm=seal.work.tape_width_nm + wider),
    )
    assert set(seal_faults(inside, bigger, US)) <= set(seal_faults(inside, seal, US))


@given(INSIDE, SEALS, MORE, st.integers(0, 1000), st.integers(0, 30_000))
def test_asking_more_never_takes_a_fault_away(
    inside: list[Outline], seal: Seal, more: int, factor: int, warmer: int
) -> None:
    stricter = replace(
        US,
        collar_width_nm=US.collar_width_nm + more,
        collar_length_thousandths=US.collar_length_thousandths + factor,
        tape_width_nm=US.tape_width_nm + more,
        mastic_up_to_nm=max(0, US.mastic_up_to_nm - more),
        tape_mf=US.tape_mf + warmer,
    )
    assert set(seal_faults(inside, seal, US)) <= set(seal_faults(inside, seal, stricter))


# Rows.


def test_a_row_stands_evenly_with_both_its_ends() -> None:
    assert row_of((0, 0), (9_000, 3_000), 4) == ((0, 0), (3_000, 1_000), (6_000, 2_000), (9_000, 3_000))
    assert row_of((5, 5), (8, 5), 2) == ((5, 5), (8, 5))
    assert row_of((0, 0), (-10, 0), 4) == ((0, 0), (-3, 0), (-7, 0), (-10, 0))


COORDINATES = st.tuples(st.integers(-(10**7), 10**7), st.integers(-(10**7), 10**7))


@given(COORDINATES, COORDINATES, st.integers(2, 200))
def test_every_place_of_a_row_is_within_half_a_step_of_where_it_belongs(
    first: Px, last: Px, count: int
) -> None:
    if math.dist(first, last) < 2 * count:
        return
    row = row_of(first, last, count)
    assert (row[0], row[-1], len(row)) == (first, last, count)
    for i, place in enumerate(row):
        for axis in (0, 1):
            off = place[axis] * (count - 1) - (first[axis] * (count - 1 - i) + last[axis] * i)
            assert abs(2 * off) <= count - 1


@pytest.mark.parametrize("count", [-1, 0, 1, 201])
def test_a_row_of_one_or_of_too_many_is_refused(count: int) -> None:
    with pytest.raises(ValueError, match="2 to 200"):
        row_of((0, 0), (10_000, 0), count)


def test_a_row_with_no_room_is_refused() -> None:
    with pytest.raises(ValueError, match="too close together"):
        row_of((5, 5), (5, 5), 2)
    with pytest.raises(ValueError, match="too close together"):
        row_of((0, 0), (10, 0), 50)


def test_bars_every_foot_stand_a_foot_apart_up_to_the_last_that_fits() -> None:
    """48 in along an inch to the pixel: five bars; 47 in hold four."""
    assert row_spaced((0, 0), (48_000, 0), FOOT, PER_PX) == tuple((x, 0) for x in range(0, 48_001, 12_000))
    assert row_spaced((0, 0), (47_000, 0), FOOT, PER_PX)[-1] == (36_000, 0)
    assert row_spaced((0, 0), (0, 25_000), FOOT, PER_PX) == ((0, 0), (0, 12_000), (0, 24_000))


def test_a_row_pressed_a_sixteenth_short_still_holds_its_last() -> None:
    assert len(row_spaced((0, 0), (47_938, 0), FOOT, PER_PX)) == 5
    assert len(row_spaced((0, 0), (47_930, 0), FOOT, PER_PX)) == 4


@pytest.mark.parametrize(
    ("last", "spacing", "why"),
    [
        ((48_000, 0), 0, "how far apart"),
        ((48_000, 0), -FOOT, "how far apart"),
        ((0, 0), FOOT, "a last one apart"),
        ((0, 0), 1, "a last one apart"),
        ((11_000, 0), FOOT, "it holds one"),
        ((201_000, 0), INCH, "would hold 202"),
        ((1, 0), INCH // 20_000, "told apart|would hold"),
        ((10, 0), INCH // 2_500, "told apart|would hold"),
    ],
)
def test_a_spacing_that_makes_no_row_is_refused(last: Px, spacing: int, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        row_spaced((0, 0), last, spacing, PER_PX)


# Cutting from a roll. Rolls of 8 to 20 ft by 100 to 200 ft: common practice, no source.


def test_a_collar_for_a_pipe_is_cut_from_any_roll() -> None:
    assert too_large_to_cut(PIPE, US, 8 * FOOT, 100 * FOOT) is None


def test_a_collar_longer_than_the_roll_cannot_be_cut() -> None:
    """A blockout of 17 by 17 ft: 68 ft round, a collar of 102 ft."""
    blockout = Rectangle(17 * FOOT, 17 * FOOT)
    assert "longer than the roll" in str(too_large_to_cut(blockout, US, 8 * FOOT, 100 * FOOT))
    assert too_large_to_cut(blockout, US, 8 * FOOT, 102 * FOOT) is None
    assert too_large_to_cut(blockout, US, 8 * FOOT, 102 * FOOT - 1) is not None


def test_a_collar_wider_than_the_roll_cannot_be_cut_unless_it_lies_across() -> None:
    wide = replace(US, collar_width_nm=9 * FOOT)
    assert "wider than the roll" in str(too_large_to_cut(Circle(3 * FOOT), wide, 8 * FOOT, 100 * FOOT))
    assert too_large_to_cut(PIPE, wide, 8 * FOOT, 100 * FOOT) is None
