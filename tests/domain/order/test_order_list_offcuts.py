"""Small pieces off what is left of rolls: that they truly lie there; and rolls by delivery, by arithmetic."""

from __future__ import annotations

import math
import random
from collections import Counter

import pytest

from service.domain.order.counts import rising, to_order, together
from service.domain.order.offcuts import COLLAR, REPAIR, Offcut, Served, SmallPiece, serve

INCH = 25_400_000
FOOT = 12 * INCH
WIDTH, LENGTH = 15 * FOOT, 100 * FOOT


def lie_there(served: Served, pieces: list[SmallPiece]) -> None:
    """Every row fits its film, every piece its row; each piece is there once, or no roll could give it."""
    films = [*served.offcuts, *served.whole]
    for film in films:
        assert sum(row.length_nm for row in film.rows) + film.left_nm == film.length_nm
        assert film.left_nm >= 0
        for row in film.rows:
            assert row.pieces
            assert sum(piece.across_nm for piece in row.pieces) <= film.width_nm
            for cut in row.pieces:
                assert cut.along_nm <= row.length_nm
                assert {cut.across_nm, cut.along_nm} == {cut.length_nm, cut.width_nm}
                (asked,) = [each for each in pieces if each.tags == cut.tags]
                assert film.delivery <= asked.delivery
    laid = [piece.tags for film in films for row in film.rows for piece in row.pieces]
    lost = [piece.tags for piece in served.unserved]
    assert Counter(laid) + Counter(lost) == Counter(piece.tags for piece in pieces)
    for piece in served.unserved:
        short, long = sorted((piece.length_nm, piece.width_nm))
        assert short > WIDTH or long > LENGTH


@pytest.mark.parametrize("seed", range(12))
def test_random_pieces_lie_on_the_film_they_are_cut_from(seed: int) -> None:
    rng = random.Random(seed)
    offcuts = [
        Offcut(i, rng.randint(1, 40 * FOOT), rng.choice((WIDTH, 6 * FOOT, 20 * INCH)), rng.randint(0, 2))
        for i in range(1, 9)
    ]
    largest = rng.choice((3, 12, 17)) * FOOT
    pieces = []
    for i in range(60):
        length, width = rng.randint(INCH, largest), rng.randint(INCH, largest)
        pieces.append(SmallPiece(rng.choice((COLLAR, REPAIR)), (str(i),), length, width, rng.randint(0, 2)))
    lie_there(serve(offcuts, pieces, WIDTH, LENGTH, 9), pieces)


def test_what_is_needed_is_cut_before_what_is_only_expected() -> None:
    """The offcut gives one piece: the collar gets it, though the patch is larger, and a roll is opened."""
    offcut = Offcut(1, 18 * INCH, 20 * INCH, 0)
    collar = SmallPiece(COLLAR, ("A-P01",), 17 * INCH, 12 * INCH, 0)
    patch = SmallPiece(REPAIR, (), 18 * INCH, 18 * INCH, 0)
    served = serve([offcut], [patch, collar], WIDTH, LENGTH, 2)
    assert [piece.tags for row in served.offcuts[0].rows for piece in row.pieces] == [("A-P01",)]
    assert [roll.use for roll in served.whole] == [REPAIR]


def test_a_piece_as_long_as_the_roll_is_wide_lies_across_it_and_a_nanometre_more_along_it() -> None:
    for more, across in ((0, WIDTH), (1, 12 * INCH)):
        served = serve([], [SmallPiece(COLLAR, ("a",), WIDTH + more, 12 * INCH, 0)], WIDTH, LENGTH, 1)
        assert served.whole[0].rows[0].pieces[0].across_nm == across


def test_rolls_opened_are_numbered_on_from_those_there_are() -> None:
    pieces = [SmallPiece(COLLAR, (str(i),), WIDTH, 60 * FOOT, 0) for i in range(3)]
    assert [roll.roll for roll in serve([], pieces, WIDTH, LENGTH, 7).whole] == [7, 8, 9]


def test_a_later_delivery_never_takes_an_allowance_back() -> None:
    """A roll is 180: 180 and 10 per cent is 198, two rolls; 10 more make 190, two too, and 209 still two."""
    parts = to_order([180, 10], 180, 10_000, 0)
    assert [(part.needed, part.allowance, part.to_order) for part in parts] == [(1, 0, 1), (1, 0, 1)]


@pytest.mark.parametrize("seed", range(8))
def test_rolls_by_delivery_add_up_to_the_whole_rounded_up_once(seed: int) -> None:
    rng = random.Random(seed)
    roll, mpct, stock = rng.randint(1, 200), rng.choice((0, 5_000, 12_500)), rng.randint(0, 12)
    amounts = [rng.randint(0, 500) for _ in range(rng.randint(1, 6))]
    parts = to_order(amounts, roll, mpct, stock)
    whole = together(parts, stock)
    assert whole.needed == math.ceil(sum(amounts) / roll)
    assert whole.needed + whole.allowance == -(-sum(amounts) * (100_000 + mpct) // (100_000 * roll))
    assert whole.to_order == max(0, whole.needed + whole.allowance - stock)
    assert whole.left_over == max(0, stock - whole.needed - whole.allowance)
    so_far = brought = 0
    for amount, part in zip(amounts, parts, strict=True):
        assert min(part.needed, part.allowance, part.stock, part.to_order, part.left_over) >= 0
        so_far, brought = so_far + amount, brought + part.stock + part.to_order
        assert brought * roll >= so_far, "what is there is enough for all so far"


def test_whole_units_of_parts_add_up_to_the_whole_rounded_up_once() -> None:
    assert rising([1, 1, 1], 3) == [1, 0, 0]
    assert rising([4, 0, 3], 3) == [2, 0, 1]
    assert rising([], 3) == []
