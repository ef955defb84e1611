"""How many sheets lie side by side, against the trade's count with exact fits (lengths in feet as fractions).

Sheets across a width W of rolls w that lap l: 1 if W <= w, else 1 + ceil((W - w) / (w - l)). Worked: W 58,
w 15 take 4 at 6 in, 5 at 12 in; W 57 at 12 in exactly 4 (arithmetic; roll widths are common practice, no
source).
"""

from __future__ import annotations

import math
from fractions import Fraction
from random import Random

import pytest

from service.domain.sheets.layout import LayoutAsked, SheetLayout, lay_out
from tests.outside.random_slabs import FT, IN, rectangle, turned

SIXTEENTH = Fraction(1, 192)
LONG = 90


def counted(across: Fraction, roll: Fraction, lap: Fraction) -> int:
    """The trade's count, exactly."""
    return 1 if across <= roll else 1 + math.ceil((across - roll) / (roll - lap))


def laid(
    across: Fraction, roll: Fraction, lap: Fraction, degrees: float = 0.0, starts: str = "left"
) -> SheetLayout:
    """A floor so wide across the direction and 90 ft along it."""
    outline = turned(rectangle(0, 0, LONG * FT, float(across * FT)), degrees)
    return lay_out(
        LayoutAsked(
            (outline,),
            (),
            (),
            int(roll * FT),
            200 * FT,
            int(lap * FT),
            int(lap * FT),
            round(degrees * 1e6) % 360_000_000,
            starts,
            None,
        )
    )


@pytest.mark.parametrize("degrees", [0.0, 90.0, 180.0, 270.0, 31.25])
@pytest.mark.parametrize(("across", "lap_in", "sheets"), [(58, 6, 4), (58, 12, 5), (57, 6, 4), (57, 12, 4)])
def test_the_trades_own_rows_are_met(across: int, lap_in: int, sheets: int, degrees: float) -> None:
    layout = laid(Fraction(across), Fraction(15), Fraction(lap_in, 12), degrees)
    assert len(layout.sheets) == sheets == counted(Fraction(across), Fraction(15), Fraction(lap_in, 12))
    assert layout.film_m2 == pytest.approx(sheets * 15 * LONG * 0.3048**2, rel=1e-9)
    assert layout.bound_m2 == pytest.approx(layout.film_m2, rel=1e-9), "nothing less can do on a rectangle"


def test_exact_fits_take_no_sheet_more_and_a_sixteenth_over_takes_one() -> None:
    random = Random("exact fits")
    for _ in range(60):
        roll = Fraction(random.choice((8, 10, 12, 14, 15, 16, 20)))
        lap = Fraction(random.choice((4, 6, 8, 12)), 12)
        rolls = random.randrange(1, 9)
        across = roll + (rolls - 1) * (roll - lap)
        degrees, starts = random.choice((0.0, 90.0, random.uniform(0, 360))), random.choice(("left", "right"))
        exact, over = (laid(width, roll, lap, degrees, starts) for width in (across, across + SIXTEENTH))
        assert (len(exact.sheets), len(over.sheets)) == (rolls, rolls + 1), (across, roll, lap, degrees)


def test_any_width_takes_the_trades_count() -> None:
    random = Random("any width")
    for _ in range(60):
        roll, lap = Fraction(random.choice((10, 12, 15, 20))), Fraction(random.choice((6, 12)), 12)
        across = Fraction(random.randrange(1, 120 * 192), 192)
        layout = laid(across, roll, lap, random.choice((0.0, 90.0)))
        assert len(layout.sheets) == counted(across, roll, lap), (across, roll, lap)


def test_an_exact_fit_drawn_to_the_thousandth_of_a_pixel_stays_one() -> None:
    # 57 ft on a sketch of 5.3 mm a pixel: the corners are whole thousandths of it.
    nm_per_px = 1e9 / 188.445
    for shift in range(20):
        px = [
            (round(x / nm_per_px * 1000), round(y / nm_per_px * 1000))
            for x, y in rectangle(shift * 1e6, shift * 7e5, LONG * FT, 57 * FT + shift * 7e5)
        ]
        outline = tuple((x * nm_per_px / 1000, y * nm_per_px / 1000) for x, y in px)
        asked = LayoutAsked(
            (outline,),
            (),
            (),
            15 * FT,
            200 * FT,
            12 * IN,
            12 * IN,
            0,
            "left",
            None,
            2 * math.ceil(nm_per_px / 1000),
        )
        assert len(lay_out(asked).sheets) == 4


@pytest.mark.parametrize(("long", "pieces"), [(200, 1), (399, 2), (399.5, 2), (400, 3), (599, 3), (600, 4)])
def test_a_row_takes_the_trades_count_of_rolls_along_too(long: float, pieces: int) -> None:
    # One row of 200 ft rolls that lap 6 in at their ends: 200, 399.5, 599 ft fit exactly.
    asked = LayoutAsked(
        (rectangle(0, 0, long * FT, 10 * FT),), (), (), 15 * FT, 200 * FT, 6 * IN, 6 * IN, 0, "left", None
    )
    layout = lay_out(asked)
    assert len(layout.sheets) == pieces == counted(Fraction(long), Fraction(200), Fraction(1, 2))
    assert layout.film_m2 == pytest.approx((long + (pieces - 1) / 2) * 15 * 0.3048**2, rel=1e-9)
