"""Laid sheets against an oracle that knows geometry alone: on real plans, on 200 seeded slabs, and on faults.

Every point of the floor lies under film, every lap is at least the minimum, no free edge faces the concrete
(ASTM E1643 as its rules are paraphrased: longest side along the placing, laps facing away from it).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from random import Random
from typing import Any

import pytest
import shapely

from service.domain.sheets.layout import EdgeRun, LayoutAsked, SheetLayout, lay_out
from tests.outside.layout_oracle import Rule, complaints, seam_length
from tests.outside.random_slabs import FT, IN, Ring, rectangle, slab, turned
from tests.outside.test_plans import SIZES, plans

GRAIN = 2_540
Sheets = list[tuple[int, tuple[tuple[float, float], ...]]]


@dataclass(frozen=True)
class Case:
    """What is asked, and the floor as shapely sees it by itself."""

    asked: LayoutAsked
    floor: Any

    def rule(self) -> Rule:
        a = self.asked
        assert a.direction_udeg is not None
        return Rule(
            a.direction_udeg / 1e6,
            a.starts,
            a.roll_width_nm,
            a.roll_length_nm,
            a.side_lap_nm,
            a.end_lap_nm,
            3 * a.grain_nm,
        )


def floor_of(outline: Ring, openings: tuple[Ring, ...], past: float = 0.0) -> Any:
    """Outline with a mitred rim past it, less openings."""
    area = shapely.Polygon(outline)
    rim = shapely.buffer(area, past, join_style="mitre", mitre_limit=2.0) if past else area
    return shapely.difference(rim, shapely.union_all([shapely.Polygon(ring) for ring in openings]))


def edges_past(outline: Ring, past: int) -> tuple[EdgeRun, ...]:
    """Film past every side by as much."""
    return tuple(EdgeRun(a, b, past) for a, b in zip(outline, outline[1:] + outline[:1], strict=True))


def case(seed: int) -> Case:
    """A seeded slab, roll, direction and side; half of the square-cornered ones run past all edges."""
    random = Random(f"layout {seed}")
    outline, openings = slab(seed)
    square = all(a[0] == b[0] or a[1] == b[1] for a, b in pairwise(outline))
    past = random.choice((4, 6, 30)) * IN if square and random.random() < 0.5 else 0
    turn = random.choice((0.0, 0.0, random.uniform(0, 360)))
    outline, openings = turned(outline, turn), tuple(turned(ring, turn) for ring in openings)
    degrees = random.choice((turn, turn + 90, turn + 180, turn + 270, random.uniform(0, 360)))
    lap = random.choice((6, 12)) * IN
    asked = LayoutAsked(
        (outline,),
        openings,
        edges_past(outline, past),
        random.choice((8, 10, 12, 15, 20)) * FT,
        random.choice((40, 100, 200)) * FT,
        lap,
        random.choice((lap, 12 * IN)),
        round(degrees * 1e6) % 360_000_000,
        random.choice(("left", "right")),
        random.choice((None, None, 0, round(random.uniform(0, 6) * FT))),
        GRAIN,
    )
    return Case(asked, floor_of(outline, openings, past))


def sheets_of(layout: SheetLayout) -> Sheets:
    return [(sheet.number, sheet.corners) for sheet in layout.sheets]


@pytest.mark.parametrize("block", range(20))
def test_sheets_cover_a_slab_lap_enough_and_never_face_the_concrete(block: int) -> None:
    for seed in range(block * 10, block * 10 + 10):
        one = case(seed)
        layout = lay_out(one.asked)
        assert complaints(one.floor, sheets_of(layout), one.rule()) == [], f"slab {seed}"
        assert layout.to_cover_m2 == pytest.approx(one.floor.area / 1e18, rel=1e-9)
        assert layout.bound_m2 <= layout.film_m2 * (1 + 1e-9), f"slab {seed}"


@pytest.mark.parametrize("block", range(5))
def test_the_seams_are_the_free_edges_that_lie_on_film_over_floor(block: int) -> None:
    for seed in range(200 + block * 8, 208 + block * 8):
        one = case(seed)
        layout = lay_out(one.asked)
        found = seam_length(one.floor, sheets_of(layout), one.rule())
        assert layout.seam_nm == pytest.approx(found, rel=1e-5, abs=IN), f"slab {seed}"
        assert layout.seam_nm == pytest.approx(sum(math.dist(*seam.path) for seam in layout.seams), abs=10)
        assert all(seam.over > seam.under for seam in layout.seams), "what lies under is laid first"


@pytest.mark.parametrize("name", SIZES)
@pytest.mark.parametrize("degrees", [0, 90])
def test_a_real_plan_is_covered_at_every_usual_roll(name: str, degrees: int) -> None:
    plan = next((plan for plan in plans() if plan["file"] == name), None)
    if plan is None:
        pytest.skip("the real plans are not beside the project")
    nm_per_px = 1e9 / plan["px_per_m"]
    outline = tuple((x * nm_per_px, y * nm_per_px) for x, y in plan["slab_outline_px"])
    # Widths of rolls and 200 ft: common practice, no source.
    for width in (10, 12, 15, 20):
        asked = LayoutAsked(
            (outline,),
            (),
            edges_past(outline, 4 * IN),
            width * FT,
            200 * FT,
            6 * IN,
            6 * IN,
            degrees * 1_000_000,
            "left",
            None,
            math.ceil(nm_per_px / 1000),
        )
        one = Case(asked, floor_of(outline, (), 4 * IN))
        layout = lay_out(asked)
        assert complaints(one.floor, sheets_of(layout), one.rule()) == []
        assert layout.area_m2 == pytest.approx(plan["slab_area_m2"], rel=0.001)


# --- faults planted: the oracle must tell each ---

PLAIN = Case(
    LayoutAsked(
        (rectangle(0, 0, 300 * FT, 58 * FT),), (), (), 15 * FT, 100 * FT, 6 * IN, 6 * IN, 0, "left", None
    ),
    shapely.box(0, 0, 300 * FT, 58 * FT),
)


def told(sheets: Sheets) -> str:
    return " / ".join(complaints(PLAIN.floor, sheets, PLAIN.rule()))


def plain_sheets() -> Sheets:
    return sheets_of(lay_out(PLAIN.asked))


def moved(sheets: Sheets, chosen: set[int], du: float, dv: float) -> Sheets:
    return [
        (number, tuple((x + du, y + dv) for x, y in corners) if number in chosen else corners)
        for number, corners in sheets
    ]


def row_of(sheets: Sheets, v: float) -> list[int]:
    """The numbers of the sheets that hold v at their middle, in the order they lie along."""
    held = [(c[0][0], number) for number, c in sheets if c[0][1] < v < c[2][1]]
    return [number for _, number in sorted(held)]


def test_the_oracle_finds_nothing_wrong_with_the_plain_layout() -> None:
    assert len(plain_sheets()) == 16 and told(plain_sheets()) == ""


def test_a_side_lap_short_by_a_sixteenth_is_caught() -> None:
    last = set(row_of(plain_sheets(), 57 * FT))
    assert "+v: lap short" in told(moved(plain_sheets(), last, 0, IN / 16))


def test_an_end_lap_short_by_a_sixteenth_is_caught() -> None:
    first = row_of(plain_sheets(), 3 * FT)
    assert "+u: lap short" in told(moved(plain_sheets(), set(first[1:]), IN / 16, 0))


def test_a_missing_end_sheet_is_caught() -> None:
    sheets = plain_sheets()
    left = [pair for pair in sheets if pair[0] != row_of(sheets, 3 * FT)[-1]]
    assert "bare floor" in told(left)


def test_an_end_lap_that_faces_the_concrete_is_caught() -> None:
    sheets = plain_sheets()
    one, two = row_of(sheets, 3 * FT)[:2]
    swap = {one: two, two: one}
    assert "-u: its free edge faces" in told([(swap.get(n, n), corners) for n, corners in sheets])


def test_side_laps_laid_from_the_wrong_side_are_caught() -> None:
    sheets = plain_sheets()
    rows = {number: round(corners[0][1]) for number, corners in sheets}
    order = sorted(rows, key=lambda number: (rows[number], number))
    again = {number: place for place, number in enumerate(order, 1)}
    assert "-v: its free edge faces" in told([(again[n], corners) for n, corners in sheets])


def test_a_sheet_longer_than_the_roll_or_askew_is_caught() -> None:
    sheets = plain_sheets()
    (number, (a, b, c, d)), *others = sheets
    longer = [(number, (a, (b[0] + 101 * FT, b[1]), (c[0] + 101 * FT, c[1]), d)), *others]
    assert "longer than the roll" in told(longer)
    assert "does not lie along" in told([(number, (a, (b[0], b[1] + IN), c, d)), *others])
