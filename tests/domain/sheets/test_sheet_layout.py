"""Laying out sheets: what is refused, what splits a row, how end laps are staggered, what passes edges."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from service.domain.nouns import installed
from service.domain.sheets.ends import STAGGER_NM
from service.domain.sheets.layout import (
    BadLayout,
    EdgeRun,
    LayoutAsked,
    Ring,
    SheetLayout,
    costs,
    default_past_nm,
    lay_out,
)
from tests.outside.random_slabs import FT, IN, rectangle, slab, turned

M2 = 1e18


def asked(*outlines: Ring, **more: object) -> LayoutAsked:
    """15 ft by 200 ft rolls that lap 6 in, along the sketch's x, begun on the left."""
    plain = LayoutAsked(outlines, (), (), 15 * FT, 200 * FT, 6 * IN, 6 * IN, 0, "left", None)
    return replace(plain, **more)  # type: ignore[arg-type]


FLOOR = rectangle(0, 0, 90 * FT, 43 * FT)


def lengths(layout: SheetLayout) -> list[list[float]]:
    """Cut lengths in feet, by row."""
    rows: dict[int, list[float]] = {}
    for sheet in layout.sheets:
        rows.setdefault(sheet.row, []).append(sheet.cut_length_nm / FT)
    return [sorted(rows[row]) for row in sorted(rows)]


# --- bad input ---

CROSSED: Ring = ((0.0, 0.0), (20.0 * FT, 20.0 * FT), (20.0 * FT, 0.0), (0.0, 30.0 * FT))


@pytest.mark.parametrize(
    ("code", "bad"),
    [
        ("direction-needed", asked(FLOOR, direction_udeg=None)),
        ("start-needed", asked(FLOOR, starts="")),
        ("roll-too-narrow", asked(FLOOR, side_lap_nm=15 * FT // 2)),
        ("roll-too-narrow", asked(FLOOR, roll_width_nm=0, side_lap_nm=0)),
        ("roll-too-short", asked(FLOOR, end_lap_nm=100 * FT)),
        ("bad-lap", asked(FLOOR, end_lap_nm=-1)),
        ("bad-offset", asked(FLOOR, offset_nm=15 * FT - 6 * IN)),
        ("bad-offset", asked(FLOOR, offset_nm=-1)),
        ("no-area", asked(FLOOR, openings=(rectangle(-FT, -FT, 91 * FT, 44 * FT),))),
        ("no-area", asked(((0.0, 0.0), (9.0 * FT, 0.0)))),
        ("no-area", asked()),
        ("outline-crosses", asked(CROSSED)),
        ("opening-crosses", asked(FLOOR, openings=(CROSSED,))),
        ("too-many-sheets", asked(FLOOR, roll_width_nm=2 * IN, side_lap_nm=0, roll_length_nm=2 * FT)),
        ("too-many-sheets", asked(rectangle(0, 0, FT, 10_000 * FT), roll_width_nm=IN, side_lap_nm=0)),
    ],
)
def test_what_cannot_be_laid_out_is_refused_by_its_reason(code: str, bad: LayoutAsked) -> None:
    for ask in (lay_out, lambda one: costs(one, [0])):
        with pytest.raises(BadLayout) as told:
            ask(bad)
        assert told.value.code == code
        assert str(told.value).endswith(".")


def test_a_roll_a_hair_wider_than_twice_the_lap_can_be_laid() -> None:
    layout = lay_out(asked(rectangle(0, 0, 20 * FT, 4 * FT), roll_width_nm=IN + 10, side_lap_nm=IN // 2))
    assert layout.film_m2 > 1.9 * layout.area_m2


def test_a_sliver_of_a_zone_is_laid_and_says_what_it_costs() -> None:
    sliver = rectangle(0, 0, 40 * FT, IN / 2)
    along, across = (lay_out(asked(sliver, direction_udeg=turn)) for turn in (0, 90_000_000))
    assert lengths(along) == [[40.0]]
    assert lengths(across) == [[pytest.approx(1 / 24)]] * 3
    assert along.film_m2 / along.area_m2 == pytest.approx(15 * 24)
    assert across.film_m2 / across.area_m2 == pytest.approx(3 * 15 / 40)


# --- rows, openings, edges ---


def test_sheets_are_numbered_from_the_side_that_is_laid_first() -> None:
    layout = lay_out(asked(FLOOR))
    assert [(sheet.number, sheet.row) for sheet in layout.sheets] == [(1, 2), (2, 1), (3, 0)]
    # Placing begins on the left, looking along x with y down: at the least y. That row lies on top.
    assert layout.sheets[2].corners[0] == pytest.approx((0.0, 0.0), abs=1)
    assert {(seam.over, seam.under, seam.kind) for seam in layout.seams} == {
        (3, 2, installed.SIDE_LAP),
        (2, 1, installed.SIDE_LAP),
    }


def test_placing_from_the_other_side_lays_the_mirror_image() -> None:
    for seed in range(20):
        outline, openings = slab(seed)

        def mirrored(ring: Ring) -> Ring:
            return tuple((x, -y) for x, y in ring)

        left = lay_out(asked(outline, openings=openings))
        right = lay_out(asked(mirrored(outline), openings=tuple(map(mirrored, openings)), starts="right"))
        assert right.film_m2 == pytest.approx(left.film_m2, rel=1e-12)
        assert [sheet.cut_length_nm for sheet in right.sheets] == [s.cut_length_nm for s in left.sheets]
        assert right.sheets[0].corners[2] == pytest.approx(mirrored(left.sheets[0].corners)[2], abs=10)


def test_an_opening_across_a_row_splits_it_and_a_narrower_one_is_cut_out() -> None:
    splits = rectangle(30 * FT, -FT, 50 * FT, 15 * FT)
    inside = rectangle(30 * FT, 2 * FT, 50 * FT, 12 * FT)
    assert lengths(lay_out(asked(FLOOR, openings=(splits,), offset_nm=0)))[0] == [30.0, 40.0]
    assert lengths(lay_out(asked(FLOOR, openings=(inside,), offset_nm=0)))[0] == [90.0]


def test_the_zones_of_a_slab_are_laid_out_as_one() -> None:
    parts = (rectangle(0, 0, 50 * FT, 43 * FT), rectangle(50 * FT, 0, 90 * FT, 43 * FT))
    # The joint between them has its own stretch; laid together, nothing has to run past it.
    joint = EdgeRun((50.0 * FT, 0.0), (50.0 * FT, 43.0 * FT), 6 * IN)
    assert lengths(lay_out(asked(*parts, edges=(joint,)))) == lengths(lay_out(asked(FLOOR))) == [[90.0]] * 3


@pytest.mark.parametrize(("slit_in", "sheets"), [(0.001, 3), (0.25, 3), (5.9, 3), (6, 6), (7, 6)])
def test_a_slit_between_zones_drawn_by_hand_is_laid_over(slit_in: float, sheets: int) -> None:
    parts = (rectangle(0, 0, 50 * FT, 43 * FT), rectangle(50 * FT + slit_in * IN, 0, 90 * FT, 43 * FT))
    layout = lay_out(asked(*parts))
    assert len(layout.sheets) == sheets
    saved = slit_in * IN / FT if sheets == 6 else 0
    assert layout.film_m2 == pytest.approx(3 * 15 * (90 - saved) * 0.3048**2)
    # Across the rows a slit changes nothing.
    assert lengths(lay_out(asked(*parts, direction_udeg=90_000_000))) == [[43.0]] * 7


def around(ring: Ring, past: int) -> tuple[EdgeRun, ...]:
    return tuple(EdgeRun(a, b, past) for a, b in zip(ring, ring[1:] + ring[:1], strict=True))


@pytest.mark.parametrize("way", [1, -1])
def test_film_past_all_edges_makes_the_floor_as_much_larger(way: int) -> None:
    ring = FLOOR[::way]
    past = lay_out(asked(ring, edges=around(ring, 8 * IN)))
    larger = rectangle(-8 * IN, -8 * IN, 90 * FT + 8 * IN, 43 * FT + 8 * IN)
    wanted = lay_out(asked(larger))
    assert lengths(past) == lengths(wanted) == [[pytest.approx(91 + 1 / 3)]] * 4
    assert past.area_m2 == pytest.approx(90 * 43 * FT**2 / M2)
    assert past.to_cover_m2 == pytest.approx(wanted.area_m2)


def test_film_past_part_of_an_edge_and_past_an_openings_edge_points_out_of_the_floor() -> None:
    part = EdgeRun((90.0 * FT, 10.0 * FT), (90.0 * FT, 20.0 * FT), FT)
    hole = rectangle(30 * FT, 10 * FT, 50 * FT, 30 * FT)
    inner = EdgeRun(hole[0], hole[1], 2 * FT)
    layout = lay_out(asked(FLOOR, openings=(hole,), edges=(part, inner)))
    assert layout.area_m2 == pytest.approx((90 * 43 - 400) * FT**2 / M2)
    assert layout.to_cover_m2 - layout.area_m2 == pytest.approx((10 + 40) * FT**2 / M2)


def test_what_is_offered_past_an_edge_follows_how_it_ends() -> None:
    offered = {
        kind: default_past_nm(kind, slab_nm=5 * IN, lap_nm=6 * IN) for kind in installed.TERMINATION_KINDS
    }
    assert {kind for kind, past in offered.items() if past == 5 * IN} == {
        installed.OVER_FOOTING,
        installed.TO_WALL,
        installed.SLAB_TOP,
    }
    assert offered[installed.JOINT] == 6 * IN
    assert sum(past == 0 for past in offered.values()) == 3


# --- end laps ---


def end_laps(layout: SheetLayout) -> dict[int, list[float]]:
    """Where along x end laps' free edges lie, by row."""
    row = {sheet.number: sheet.row for sheet in layout.sheets}
    found: dict[int, list[float]] = {}
    for seam in layout.seams:
        if seam.kind == installed.END_LAP:
            found.setdefault(row[seam.over], []).append(seam.path[0][0])
    return found


@pytest.mark.parametrize("long", [201, 205, 320, 398, 399.5, 450, 599, 700])
def test_end_laps_of_neighbouring_rows_are_staggered_and_no_piece_passes_the_roll(
    long: float,
) -> None:
    layout = lay_out(asked(rectangle(0, 0, long * FT, 70 * FT)))
    laps = end_laps(layout)
    assert sorted(laps) == [0, 1, 2, 3, 4]
    for row in range(4):
        assert min(abs(one - two) for one in laps[row] for two in laps[row + 1]) >= STAGGER_NM - 10
    assert max(sheet.cut_length_nm for sheet in layout.sheets) <= 200 * FT


def test_an_exact_fit_takes_one_piece_more_in_every_other_row_to_be_staggered() -> None:
    rows = lengths(lay_out(asked(rectangle(0, 0, 399.5 * FT, 70 * FT))))
    assert [len(row) for row in rows] == [2, 3, 2, 3, 2]


def test_rolls_too_short_to_stagger_are_laid_all_the_same() -> None:
    layout = lay_out(asked(rectangle(0, 0, 30 * FT, 28 * FT), roll_length_nm=4 * FT))
    assert max(sheet.cut_length_nm for sheet in layout.sheets) <= 4 * FT
    assert layout.film_m2 >= layout.bound_m2


# --- what it costs ---


def test_the_cost_of_an_offset_is_that_of_its_layout() -> None:
    for seed in range(12):
        outline, openings = slab(seed)
        plain = asked(outline, openings=openings, roll_length_nm=60 * FT)
        offsets = [Random(seed).randrange(plain.pitch_nm) for _ in range(3)]
        for cost in costs(plain, offsets):
            layout = lay_out(replace(plain, offset_nm=cost.offset_nm))
            told = (layout.film_m2, layout.seam_nm, len(layout.sheets), layout.offset_nm)
            assert told == (cost.film_m2, cost.seam_nm, cost.sheets, cost.offset_nm)
            cut = sum(sheet.cut_length_nm for sheet in layout.sheets)
            assert cost.film_m2 == pytest.approx(cut * 15 * FT / M2, rel=1e-12)


def test_a_ring_told_from_another_corner_or_the_other_way_round_is_laid_out_alike() -> None:
    for seed in range(15):
        outline, openings = slab(seed)
        outline = turned(outline, 17.0)
        rings = (outline, outline[2:] + outline[:2], outline[::-1])
        holes = (openings, openings[::-1], tuple(ring[::-1] for ring in openings))
        told = [lay_out(asked(ring, openings=hole)) for ring, hole in zip(rings, holes, strict=True)]
        assert len({round(layout.film_m2 * 1e4) for layout in told}) == 1
        assert len({len(layout.sheets) for layout in told}) == 1
