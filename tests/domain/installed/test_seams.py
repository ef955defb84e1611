"""Seams: places along them, readings and gaps, runs at fault and their cover strips, what a walk shows."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise

import pytest
import shapely
from hypothesis import assume, example, given
from hypothesis import strategies as st

from service.domain.installed import seams
from service.domain.installed.seams import (
    CoverStrip,
    check_path,
    cover_strip,
    distance_along,
    lap_possible,
    length_nm,
    place_along,
    run_marks,
    seam_faults,
    seams_across,
    short_runs,
    suggested_stations,
    walk_findings,
)
from service.domain.nouns.installed import SIDE_LAP, Px, Seam, SeamRun, SeamWalk, Signed, Station, Work
from service.domain.nouns.rules import ready_made
from service.domain.patches.overlap import Piece, judge
from service.domain.patches.repair import COVERED, Numbers
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit
from service.domain.words.measures import NM_PER_FOOT, NM_PER_INCH, SIXTEENTH_NM, turn

INCH, FOOT = NM_PER_INCH, NM_PER_FOOT
# One pixel is an inch; positions are thousandths of a pixel.
PER_PX = float(INCH)
FT = 12_000
NUMBERS = Numbers.of(ready_made("us"))
# 40 ft straight, and the same length with a square corner in its middle.
STRAIGHT: tuple[Px, ...] = ((0, 0), (40 * FT, 0))
CORNERED: tuple[Px, ...] = ((0, 0), (20 * FT, 0), (20 * FT, 20 * FT))
SIGNED = Signed("crew", "crew lead", datetime(2025, 3, 1, 12, tzinfo=UTC), 1)
WORK = Work(True, True, 4 * INCH, 60_000, "", "")

PLACES = st.tuples(st.integers(0, 200_000), st.integers(0, 200_000))
PATHS = st.lists(PLACES, min_size=2, max_size=6, unique=True).map(tuple)
SCALES = st.floats(1e5, 1e8)
LAPS = st.integers(0, 20 * INCH)


def stations(*readings: tuple[float, float], path: tuple[Px, ...] = STRAIGHT) -> tuple[Station, ...]:
    """From (feet from the start, lap in inches)."""
    return tuple(Station(place_along(path, feet * FOOT, PER_PX), round(lap * INCH)) for feet, lap in readings)


GOOD = stations((5, 6), (15, 7), (25, 6), (35, 8))


def walked(
    found: tuple[Station, ...] = GOOD,
    *,
    work: Work = WORK,
    runs: tuple[SeamRun, ...] = (),
    taped: bool = True,
    bonded: bool = True,
    path: tuple[Px, ...] = STRAIGHT,
) -> Seam:
    walk = SeamWalk("w1", found, runs, taped, bonded, work, SIGNED)
    return Seam("s1", "k1", "z1", "B-S01", SIDE_LAP, path, "", SIGNED, walk, None)


def faults(seam: Seam, numbers: Numbers = NUMBERS) -> tuple[str, ...]:
    return seam_faults(seam, numbers, PER_PX, ())


# Paths


@pytest.mark.parametrize(
    "path",
    [
        STRAIGHT,
        CORNERED,
        ((0, 0), (0, 0), (9, 0)),
        ((0, 0), (10, 0), (10, 10), (1, 10), (1, 1)),
        tuple((i, i % 2) for i in range(60)),
    ],
)
def test_a_line_with_corners_can_be_a_seam(path: tuple[Px, ...]) -> None:
    check_path(path)


@pytest.mark.parametrize(
    ("path", "word"),
    [
        ((), "two different"),
        (((4, 4),), "two different"),
        (((4, 4), (4, 4), (4, 4)), "two different"),
        (tuple((i, i % 2) for i in range(61)), "at most 60"),
        (((0, 0), (10, 0), (5, 0)), "doubles back"),
        (((0, 0), (10, 0), (5, 0), (5, 9)), "doubles back"),
        (((0, 0), (10, 10), (10, 0), (0, 10)), "crosses itself"),
        (((0, 0), (10, 0), (10, 10), (5, 0)), "crosses itself"),
        (((0, 0), (10, 0), (10, 10), (0, 0)), "ends where it starts"),
    ],
)
def test_a_line_that_is_no_seam_is_refused_in_plain_words(path: tuple[Px, ...], word: str) -> None:
    with pytest.raises(ValueError, match=word):
        check_path(path)


# Places along a seam


def test_a_seam_is_as_long_as_its_straight_pieces() -> None:
    assert length_nm(STRAIGHT, PER_PX) == 40 * FOOT
    assert length_nm(CORNERED, PER_PX) == 40 * FOOT
    assert length_nm(((0, 0), (3_000, 4_000)), PER_PX) == 5 * INCH  # the 3-4-5 triangle


def test_thirty_feet_along_a_cornered_seam_lies_ten_feet_past_the_corner() -> None:
    assert place_along(CORNERED, 30 * FOOT, PER_PX) == (20 * FT, 10 * FT)
    assert distance_along(CORNERED, (20 * FT, 10 * FT), PER_PX) == 30 * FOOT


@given(PATHS, st.floats(0, 1), SCALES)
def test_a_place_along_a_seam_is_where_another_library_puts_it(
    path: tuple[Px, ...], part: float, scale: float
) -> None:
    """Against shapely's line_interpolate_point (GEOS linear referencing), which the product does not use."""
    along = part * length_nm(path, scale)
    there = shapely.line_interpolate_point(shapely.LineString(path), part, normalized=True)
    x, y = place_along(path, along, scale)
    # Each of the two numbers is rounded to a whole thousandth, so neither is off by more than half.
    assert abs(x - there.x) <= 0.501 and abs(y - there.y) <= 0.501


@given(PATHS, PLACES, SCALES)
@example(((0, 0), (10, 0), (10, 10)), (10, 5), PER_PX)
def test_the_nearest_place_of_a_seam_is_as_near_as_another_library_finds(
    path: tuple[Px, ...], at: Px, scale: float
) -> None:
    """Against shapely's distance from a point to a line. At a tie the place may differ, its nearness not."""
    line = shapely.LineString(path)
    along = distance_along(path, at, scale) / scale * 1000
    assert -1e-6 <= along <= line.length + 1e-6
    found = shapely.line_interpolate_point(line, along)
    assert found.distance(shapely.Point(at)) == pytest.approx(line.distance(shapely.Point(at)), abs=1e-3)


def test_a_sixteenth_past_the_end_is_the_end_and_more_is_refused() -> None:
    end = 40 * FOOT
    assert place_along(STRAIGHT, end + SIXTEENTH_NM, PER_PX) == STRAIGHT[-1]
    assert place_along(STRAIGHT, -SIXTEENTH_NM, PER_PX) == STRAIGHT[0]
    with pytest.raises(ValueError, match="past the end of the seam"):
        place_along(STRAIGHT, end + SIXTEENTH_NM + 1, PER_PX)
    with pytest.raises(ValueError, match="from its start"):
        place_along(STRAIGHT, -SIXTEENTH_NM - 1, PER_PX)


@pytest.mark.parametrize("nothing", [math.nan, math.inf, -math.inf])
def test_a_distance_that_is_no_number_is_refused(nothing: float) -> None:
    with pytest.raises(ValueError):
        place_along(STRAIGHT, nothing, PER_PX)


# Stations


def test_forty_feet_at_ten_feet_asks_for_four_readings_five_feet_in_from_the_ends() -> None:
    assert suggested_stations(STRAIGHT, PER_PX, 10 * FOOT) == tuple(f * FOOT for f in (5, 15, 25, 35))


def test_no_spacing_asked_still_suggests_the_middle() -> None:
    assert suggested_stations(STRAIGHT, PER_PX, 0) == (20 * FOOT,)


def test_a_seam_shorter_than_the_spacing_is_measured_in_its_middle() -> None:
    assert suggested_stations(((0, 0), (3 * FT, 0)), PER_PX, 10 * FOOT) == (3 * FOOT // 2,)


def test_a_spacing_too_close_to_walk_ends_in_a_list_and_not_in_a_hang() -> None:
    assert len(suggested_stations(STRAIGHT, PER_PX, 1)) == 500


@given(PATHS, SCALES, st.floats(0.01, 2))
def test_a_walk_at_the_suggested_stations_is_never_too_far_apart(
    path: tuple[Px, ...], scale: float, part: float
) -> None:
    every = max(1, round(part * length_nm(path, scale)))
    at = suggested_stations(path, scale, every)
    assert max(b - a for a, b in pairwise((0.0, *at, length_nm(path, scale)))) <= every + 2_541
    # A path that comes near itself may have a station nearer to another part of it.
    assume(shapely.LineString(path).is_simple)
    found = tuple(Station(place_along(path, d, scale), 6 * INCH) for d in at)
    back = [distance_along(path, station.at, scale) for station in found]
    assume(all(abs(a - b) <= scale / 1000 for a, b in zip(at, back, strict=True)))
    numbers = replace(NUMBERS, station_every_nm=every)
    assert seam_faults(walked(found, path=path), numbers, scale, ()) == ()


@pytest.mark.parametrize(
    "found",
    [
        stations((5, 6), (15, 6), (26, 6), (35, 6)),  # 11 ft between two
        stations((10.01, 6), (20, 6), (30, 6)),  # the first too far from the start
        stations((10, 6), (20, 6), (29.99, 6)),  # the last too far from the end
        stations((20, 6)),
    ],
)
def test_readings_farther_apart_than_asked_are_told(found: tuple[Station, ...]) -> None:
    assert faults(walked(found)) == ("stations-far-apart",)
    assert faults(walked(found), replace(NUMBERS, station_every_nm=0)) == ()


def test_readings_exactly_ten_feet_apart_are_near_enough_in_any_order() -> None:
    assert faults(walked(stations((30, 6), (10, 6), (20, 6)))) == ()


def test_a_walk_with_no_reading_is_no_walk_whatever_the_spacing() -> None:
    assert faults(walked(())) == ("no-stations",)
    assert faults(walked(()), replace(NUMBERS, station_every_nm=0)) == ("no-stations",)


# What a walk shows


def test_a_seam_that_nobody_walked_is_not_whole() -> None:
    assert faults(replace(walked(), walk=None)) == ("not-walked",)


def test_a_seam_walked_taped_and_lapped_six_inches_is_whole() -> None:
    """6 in exactly is enough: "not less than 6 in" (ASTM E1643 section 6, from memory, not verified)."""
    assert faults(walked()) == ()


def test_a_lap_one_sixteenth_short_is_told() -> None:
    assert faults(walked(stations((5, 6), (15, 5.9375), (25, 6), (35, 6)))) == ("lap-short",)


@pytest.mark.parametrize(
    ("seam", "fault"),
    [
        (walked(taped=False), "not-taped"),
        (walked(bonded=False), "not-bonded"),
        (walked(work=replace(WORK, tape_width_nm=4 * INCH - SIXTEENTH_NM)), "tape-narrow"),
        (walked(work=replace(WORK, cleaned=False)), "not-cleaned"),
        (walked(work=replace(WORK, dry=False)), "not-dry"),
        (walked(work=replace(WORK, film_mf=39_999)), "too-cold"),
        (walked(runs=(SeamRun("short lap", (0, 0), (9, 0), "m1"),)), "run-not-marked"),
    ],
)
def test_each_fault_of_the_work_is_told_by_itself(seam: Seam, fault: str) -> None:
    assert faults(seam) == (fault,)


@pytest.mark.parametrize(
    ("raised", "fault"),
    [
        (replace(NUMBERS, lap_nm=12 * INCH), "lap-short"),
        (replace(NUMBERS, tape_width_nm=6 * INCH), "tape-narrow"),
        (replace(NUMBERS, tape_mf=61_000), "too-cold"),
        (replace(NUMBERS, station_every_nm=5 * FOOT), "stations-far-apart"),
    ],
    ids=["lap", "tape width", "temperature", "spacing"],
)
def test_a_number_raised_later_shows(raised: Numbers, fault: str) -> None:
    eight = walked(stations((5, 8), (15, 8), (25, 8), (35, 8)))
    assert faults(eight) == ()
    assert faults(eight, raised) == (fault,)


def test_a_run_at_fault_holds_as_its_mark_and_not_here_while_that_mark_stands() -> None:
    seam = walked(runs=(SeamRun("untaped", (0, 0), (9, 0), "m1"), SeamRun("fishmouth", (0, 0), (9, 0), "m2")))
    assert seam_faults(seam, NUMBERS, PER_PX, (), {"m1", "m2"}) == ()
    assert seam_faults(seam, NUMBERS, PER_PX, (), {"m1"}) == ("run-not-marked",)


def test_a_short_reading_under_a_sealed_mark_is_mended_and_beside_it_is_not() -> None:
    seam = walked(stations((5, 6), (15, 4), (25, 6), (35, 6)))
    (start, end), *_ = short_runs(STRAIGHT, seam.walk.stations if seam.walk else (), NUMBERS, PER_PX)
    sealed = run_marks(STRAIGHT, start, end, 0, PER_PX)
    assert seam_faults(seam, NUMBERS, PER_PX, sealed) == ()
    elsewhere = run_marks(STRAIGHT, 24 * FOOT, 26 * FOOT, 0, PER_PX)
    assert seam_faults(seam, NUMBERS, PER_PX, elsewhere) == ("lap-short",)
    two = walked(stations((5, 6), (15, 4), (25, 6), (35, 4)))
    assert seam_faults(two, NUMBERS, PER_PX, sealed) == ("lap-short",)


@pytest.mark.parametrize(
    "outline",
    [
        Circle(10 * INCH),
        Rectangle(10 * INCH, 4 * INCH),
        Slit(10 * INCH),
        Polygon(((-5 * INCH, 0), (5 * INCH, -INCH), (5 * INCH, INCH))),
    ],
    ids=lambda outline: type(outline).__name__,
)
def test_under_a_mark_is_within_a_sixteenth_of_a_pixel_of_it(outline: Outline) -> None:
    """Each reaches 5 in to the left of its centre: one pixel is an inch."""
    for past, told in ((62, ()), (64, ("lap-short",))):
        seam = walked((*GOOD, Station((15 * FT - 5_000 - past, 0), INCH)))
        assert seam_faults(seam, NUMBERS, PER_PX, [(outline, (15 * FT, 0))]) == told


def test_every_fault_has_its_words_and_no_words_lack_a_fault() -> None:
    bad = Work(False, False, 0, 0, "", "")
    run = (SeamRun("untaped", (0, 0), (9, 0), "m1"),)
    told = {
        *faults(replace(walked(), walk=None)),
        *faults(walked((), work=bad, runs=run, taped=False, bonded=False)),
        *faults(walked(stations((20, 2)))),
    }
    assert told == set(seams.FAULT_WORDS)


def test_every_run_at_fault_becomes_a_mark_that_a_cover_strip_mends() -> None:
    assert set(seams.MARK_KIND) == set(seams.FAULTS)
    assert set(seams.MARK_KIND.values()) <= set(COVERED)


@given(st.lists(st.tuples(st.floats(0, 40), LAPS, st.integers(0, 5 * INCH)), max_size=8), LAPS)
def test_longer_laps_never_add_a_fault(readings: list[tuple[float, int, int]], least: int) -> None:
    numbers = replace(NUMBERS, lap_nm=least)
    sealed = run_marks(STRAIGHT, 10 * FOOT, 22 * FOOT, 0, PER_PX)
    here = [(place_along(STRAIGHT, feet * FOOT, PER_PX), lap, more) for feet, lap, more in readings]
    before = seam_faults(walked(tuple(Station(at, lap) for at, lap, _ in here)), numbers, PER_PX, sealed)
    after = seam_faults(
        walked(tuple(Station(at, lap + more) for at, lap, more in here)), numbers, PER_PX, sealed
    )
    assert set(after) <= set(before)


@given(st.lists(st.tuples(st.floats(0, 40), LAPS), max_size=8), LAPS, LAPS)
def test_raising_the_lap_never_takes_a_fault_away(
    readings: list[tuple[float, int]], least: int, more: int
) -> None:
    seam = walked(tuple(Station(place_along(STRAIGHT, feet * FOOT, PER_PX), lap) for feet, lap in readings))
    sealed = run_marks(STRAIGHT, 10 * FOOT, 22 * FOOT, 0, PER_PX)
    asked = [seam_faults(seam, replace(NUMBERS, lap_nm=lap), PER_PX, sealed) for lap in (least, least + more)]
    assert set(asked[0]) <= set(asked[1])


# Runs that are short


def test_a_short_reading_makes_a_run_to_the_good_readings_on_either_side() -> None:
    found = stations((5, 6), (15, 4), (25, 6), (35, 6))
    assert walk_findings(found, NUMBERS) == (1,)
    assert short_runs(STRAIGHT, found, NUMBERS, PER_PX) == ((5 * FOOT, 25 * FOOT),)


def test_short_readings_side_by_side_make_one_run() -> None:
    found = stations((5, 6), (25, 3), (15, 4), (35, 6))
    assert short_runs(STRAIGHT, found, NUMBERS, PER_PX) == ((5 * FOOT, 35 * FOOT),)


def test_a_good_reading_between_parts_two_runs() -> None:
    found = stations((5, 4), (20, 6), (35, 4))
    assert short_runs(STRAIGHT, found, NUMBERS, PER_PX) == ((0, 20 * FOOT), (20 * FOOT, 40 * FOOT))


def test_a_short_reading_alone_makes_the_whole_seam_a_run() -> None:
    assert short_runs(STRAIGHT, stations((20, 5)), NUMBERS, PER_PX) == ((0, 40 * FOOT),)


def test_good_readings_make_no_run() -> None:
    assert short_runs(STRAIGHT, GOOD, NUMBERS, PER_PX) == ()


def test_of_two_readings_at_one_place_the_short_one_counts() -> None:
    found = stations((5, 6), (20, 6), (20, 5), (35, 6))
    assert short_runs(STRAIGHT, found, NUMBERS, PER_PX) == ((5 * FOOT, 35 * FOOT),)


@given(st.lists(st.tuples(st.floats(0, 40), LAPS), max_size=8))
def test_every_short_reading_lies_in_a_run_and_no_run_reaches_over_another(
    readings: list[tuple[float, int]],
) -> None:
    found = tuple(Station(place_along(CORNERED, feet * FOOT, PER_PX), lap) for feet, lap in readings)
    runs = short_runs(CORNERED, found, NUMBERS, PER_PX)
    for station in found:
        along = distance_along(CORNERED, station.at, PER_PX)
        inside = any(start - 1 <= along <= end + 1 for start, end in runs)
        assert inside or station.lap_nm >= 6 * INCH
    assert all(first[1] <= second[0] for first, second in pairwise(runs))


# Runs as marks, and the strip over them


def test_a_run_round_a_corner_becomes_a_slit_on_each_side_of_it() -> None:
    assert run_marks(CORNERED, 19 * FOOT, 22 * FOOT, INCH // 4, PER_PX) == (
        (Slit(FOOT, INCH // 4, 0), (19 * FT + 6_000, 0)),
        (Slit(2 * FOOT, INCH // 4, 90_000_000), (20 * FT, FT)),
    )


@pytest.mark.parametrize(
    ("to", "angle"),
    [
        ((9_000, 0), 0),
        ((-9_000, 0), 0),
        ((0, 9_000), 90_000_000),
        ((0, -9_000), 90_000_000),
        ((9_000, 9_000), 45_000_000),  # right and down on the sketch is a clockwise turn
        ((9_000, -9_000), -45_000_000),
        ((-9_000, -9_000), 45_000_000),
    ],
)
def test_a_run_is_marked_along_its_seam(to: Px, angle: int) -> None:
    path = ((0, 0), to)
    ((outline, _),) = run_marks(path, 0, 9 * INCH, 0, PER_PX)
    assert outline == Slit(9 * INCH, 0, angle)


@given(PATHS, st.floats(0, 1), st.floats(0, 1), SCALES)
def test_the_marks_of_a_run_are_together_as_long_as_it_and_lie_along_it(
    path: tuple[Px, ...], one: float, other: float, scale: float
) -> None:
    length = length_nm(path, scale)
    start, end = sorted((math.floor(one * length), math.floor(other * length)))
    assume(start < end)
    marks = run_marks(path, start, end, 0, scale)
    slits = [outline for outline, _ in marks if isinstance(outline, Slit)]
    assert len(slits) == len(marks) < len(path)
    assert sum(slit.length_nm for slit in slits) == end - start
    # End to end: each slit's two ends, placed on the sketch, lie on the seam as drawn.
    line = shapely.LineString(path)
    for slit, (_, (x, y)) in zip(slits, marks, strict=True):
        c, s = turn(slit.angle_udeg)
        half = slit.length_nm / 2 / scale * 1000
        for sign in (-1, 1):
            assert line.distance(shapely.Point(x + sign * half * c, y + sign * half * s)) < 1.0


@pytest.mark.parametrize(
    ("start", "end", "opening"), [(5, 5, 0), (6, 5, 0), (-1, 5, 0), (5, 41, 0), (1, 2, -1), (math.nan, 2, 0)]
)
def test_a_run_that_is_none_is_refused(start: float, end: float, opening: int) -> None:
    with pytest.raises(ValueError):
        run_marks(STRAIGHT, start * FOOT, end * FOOT, opening, PER_PX)


def test_a_thirty_inch_slit_a_quarter_open_takes_a_strip_of_42_by_12_and_a_quarter() -> None:
    """The trade's own sum for patch sizes at 6 in and at 12 in: (a + 2o) by (b + 2o), worked by hand."""
    assert cover_strip(30 * INCH, INCH // 4, 6 * INCH) == CoverStrip(42 * INCH, 12 * INCH + INCH // 4)
    assert cover_strip(30 * INCH, INCH // 4, 12 * INCH) == CoverStrip(54 * INCH, 24 * INCH + INCH // 4)
    assert cover_strip(30 * INCH, 0, 6 * INCH, INCH) == CoverStrip(44 * INCH, 14 * INCH)


@pytest.mark.parametrize("to", [(30_000, 0), (0, 30_000), (18_000, 24_000), (-24_000, 18_000)])
@pytest.mark.parametrize("opening", [0, INCH // 4])
def test_exactly_the_strip_meets_and_one_sixty_fourth_less_either_way_does_not(to: Px, opening: int) -> None:
    ((slit, _),) = run_marks(((0, 0), to), 0, 30 * INCH, opening, PER_PX)
    assert isinstance(slit, Slit)
    strip = cover_strip(slit.length_nm, slit.opening_nm, 6 * INCH)

    def meets(length: int, width: int) -> bool:
        return judge(slit, [Piece(Rectangle(length, width, slit.angle_udeg))], 6 * INCH).meets

    less = INCH // 64
    assert meets(strip.length_nm, strip.width_nm)
    assert not meets(strip.length_nm - less, strip.width_nm)
    assert not meets(strip.length_nm, strip.width_nm - less)


def test_strips_over_a_run_round_a_corner_cover_it_together() -> None:
    marks = run_marks(CORNERED, 18 * FOOT, 23 * FOOT, INCH // 4, PER_PX)
    pieces = []
    for outline, at in marks:
        assert isinstance(outline, Slit)
        strip = cover_strip(outline.length_nm, outline.opening_nm, 6 * INCH)
        pieces.append((Rectangle(strip.length_nm, strip.width_nm, outline.angle_udeg), at))
    for outline, (x, y) in marks:
        seen = [
            Piece(shape, ((px - x) * INCH // 1000, (py - y) * INCH // 1000)) for shape, (px, py) in pieces
        ]
        assert judge(outline, seen, 6 * INCH).meets


# Laps and rolls, damage and seams


def test_a_lap_wider_than_the_roll_is_a_slip_of_the_pen() -> None:
    assert lap_possible(6 * INCH, 15 * FOOT)
    assert lap_possible(15 * FOOT, 15 * FOOT)
    assert not lap_possible(15 * FOOT + 1, 15 * FOOT)
    assert not lap_possible(-1, 15 * FOOT)


@pytest.mark.parametrize(
    ("outline", "at", "across"),
    [
        (Circle(4 * INCH), (60_000, 1_900), True),
        (Circle(4 * INCH), (60_000, 2_000), True),  # just touching
        (Circle(4 * INCH), (60_000, 2_001), False),
        (Slit(10 * INCH, 0, 90_000_000), (60_000, 4_900), True),
        (Slit(10 * INCH, 0, 0), (60_000, 4_900), False),
        # Touching by the 3-4-5 triangle, with its angle (atan 3/4 = 36.8698976 degrees) rounded away from it.
        (Slit(10 * INCH, 0, 36_869_897), (60_000, 3_000), True),
        (Rectangle(2 * INCH, 2 * INCH, 45_000_000), (60_000, 1_400), True),  # its corner reaches 1.414 in
        (Rectangle(2 * INCH, 2 * INCH, 0), (60_000, 1_400), False),
        (Polygon(((-INCH, -INCH), (INCH, -INCH), (0, 3 * INCH))), (60_000, -2_900), True),
        (Polygon(((-INCH, -INCH), (INCH, -INCH), (0, 3 * INCH))), (60_000, 2_900), False),
        (Circle(4 * INCH), (40 * FT + 1_900, 0), True),
        (Circle(4 * INCH), (40 * FT + 2_100, 0), False),  # past the end of the seam
    ],
)
def test_damage_lies_across_a_seam_where_it_meets_the_line(outline: Outline, at: Px, across: bool) -> None:
    assert (seams_across(outline, at, [walked()], PER_PX) == ("B-S01",)) is across


def test_damage_where_seams_meet_lies_across_all_that_stand() -> None:
    seam = walked()
    crossing = replace(seam, tag="B-S02", path=((60_000, -9_000), (60_000, 0), (70_000, 9_000)))
    far = replace(seam, tag="B-S03", path=((0, 50_000), (90_000, 50_000)))
    gone = replace(crossing, tag="B-S04", withdrawn="drawn twice")
    drawn = [seam, far, crossing, gone]
    assert seams_across(Circle(INCH), (60_000, 100), drawn, PER_PX) == ("B-S01", "B-S02")
    assert seams_across(Circle(INCH), (60_000, 100), [], PER_PX) == ()
    assert seams_across(Circle(INCH), (60_000, 100), [gone], PER_PX) == ()
