"""The least film: no offset of a dense scan takes less, and none takes less than the bound says any can."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest
import shapely

from service.domain.sheets.area import floor_of
from service.domain.sheets.layout import LayoutAsked, costs, lay_out
from service.domain.sheets.offsets import film_of, offsets_to_try
from tests.outside.random_slabs import FT, IN, rectangle, slab, turned


def some(seed: int) -> LayoutAsked:
    """A seeded slab at some angle, with long rolls and short ones."""
    random = Random(f"offsets {seed}")
    outline, openings = slab(1_000 + seed)
    turn = random.choice((0.0, random.uniform(0, 360)))
    return LayoutAsked(
        (turned(outline, turn),),
        tuple(turned(ring, turn) for ring in openings),
        (),
        random.choice((10, 15, 20)) * FT,
        random.choice((30, 200)) * FT,
        random.choice((6, 12)) * IN,
        random.choice((6, 24)) * IN,
        random.choice((0, 90_000_000, random.randrange(360_000_000))),
        random.choice(("left", "right")),
        None,
    )


@pytest.mark.parametrize("block", range(6))
def test_no_offset_of_a_dense_scan_takes_less_film_than_those_tried(block: int) -> None:
    for seed in range(block * 8, block * 8 + 8):
        asked = some(seed)
        floor = floor_of(asked)
        tried = film_of(floor, asked, offsets_to_try(floor, asked)).min()
        scanned = film_of(floor, asked, np.linspace(0, asked.pitch_nm - 1, 1_500).astype(np.int64)).min()
        # Film that ends at a slanted edge is told to the grain (0.0001 in), aslant: to a millionth.
        assert scanned >= tried * (1 - 1e-6), f"slab {seed}"


def test_the_layout_is_the_best_of_a_scan_by_film_then_by_seam() -> None:
    for seed in range(24):
        asked = some(seed)
        best = lay_out(asked)
        for cost in costs(asked, range(0, asked.pitch_nm, asked.pitch_nm // 40)):
            worse_film = cost.film_m2 >= best.film_m2 * (1 + 1e-6)
            if asked.roll_length_nm == 200 * FT and not worse_film:
                assert cost.film_m2 >= best.film_m2 * (1 - 1e-6), f"slab {seed}"
                assert cost.seam_nm >= best.seam_nm - IN, f"slab {seed}"


def test_no_offset_comes_below_the_bound() -> None:
    for seed in range(40):
        asked = some(seed)
        bound = lay_out(replace(asked, offset_nm=0)).bound_m2
        random = Random(seed)
        for cost in costs(asked, [random.randrange(asked.pitch_nm) for _ in range(8)]):
            assert cost.film_m2 >= bound * (1 - 1e-9), f"slab {seed} at {cost.offset_nm}"


def test_the_bound_is_the_area_and_its_unavoidable_laps() -> None:
    # 58 ft across takes four 15 ft rolls at the least, 450 ft along takes two end laps of 6 in in each place.
    floor = LayoutAsked(
        (rectangle(0, 0, 450 * FT, 58 * FT),), (), (), 15 * FT, 200 * FT, 6 * IN, 6 * IN, 0, "left", None
    )
    assert lay_out(floor).bound_m2 == pytest.approx((450 * 60 + 58 * 2 * 0.5) * 0.3048**2, rel=1e-9)


def test_two_stretches_on_one_line_that_one_roll_can_cover_count_one_roll() -> None:
    # A slot of 2 ft between two arms of 6 ft: one 15 ft roll lies over both; a slot of 4 ft takes two rolls.
    # An arm of 0.3 ft that begins in the roll's last 6 in, where another could begin, takes none of its own.
    for slot, arm, rolls in ((2, 6, 1), (4, 6, 2), (8.6, 0.3, 1), (8.8, 0.3, 2)):
        low, high = (6 + slot) * FT, (6 + slot + arm) * FT
        arms = shapely.union_all(
            [
                shapely.box(0, 0, 10 * FT, high),
                shapely.box(10 * FT, 0, 60 * FT, 6 * FT),
                shapely.box(10 * FT, low, 60 * FT, high),
            ]
        )
        ring = tuple(arms.exterior.coords[:-1])
        asked = LayoutAsked((ring,), (), (), 15 * FT, 200 * FT, 6 * IN, 6 * IN, 0, "left", None)
        wanted = (50 * rolls + 10 * (1 if high <= 15 * FT else 2)) * 15 * 0.3048**2
        assert lay_out(asked).bound_m2 == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("seed", [34, 163])
def test_the_least_film_can_lie_at_no_corner(seed: int) -> None:
    # Where a row's end is the farther of two crossings, film can be least where both lie equally far.
    asked = replace(some(seed), roll_length_nm=300 * FT)
    floor = floor_of(asked)
    corners = floor.edges[:, [1, 3]].ravel() - floor.v0
    at_corners = np.concatenate((-corners, asked.side_lap_nm - corners)).astype(np.int64) % asked.pitch_nm
    assert film_of(floor, asked, at_corners).min() > lay_out(asked).film_m2 * 1e6 * 1.0009
