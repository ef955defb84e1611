"""Roll cutting against a published example, against every set of pieces, and against cut up full rolls.

Outside source of the example: the paper-roll example of the encyclopedia article "Cutting stock problem"
(Wikipedia), a 5,600 mm master roll and 13 widths, whose text gives the total of 407,160 mm and 73 rolls as
the optimum. The exhaustive search is `tests/outside/cutting_oracle.py`; nothing of service/ is in it.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from service.domain.cutting import search as cutting_stock_search
from service.domain.cutting import stock
from service.domain.cutting.bounds import least_rolls
from service.domain.cutting.program import fewer_rolls
from service.domain.cutting.search import Search
from service.domain.cutting.stock import BadCut, Cutting, best_fit, cut, fullest_first
from service.domain.cutting.ways import Wanted, all_ways
from tests.outside.cutting_oracle import fewest_rolls

FT = 304_800_000
ROLL = 200 * FT
PAPER = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12, 2100: 14,
    2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip


def held(cutting: Cutting, lengths: Sequence[int], roll: int) -> int:
    """How many rolls, when every piece comes off one of them once and none gives more than it has."""
    assert sorted(i for each in cutting.rolls for i in each.pieces) == list(range(len(lengths)))
    for each in cutting.rolls:
        assert each.pieces
        assert each.offcut_nm == roll - sum(lengths[i] for i in each.pieces) >= 0
    assert cutting.bound <= len(cutting.rolls)
    assert cutting.proved is (cutting.bound == len(cutting.rolls))
    return len(cutting.rolls)


def small_case(rng: random.Random) -> tuple[list[int], int]:
    """Up to ten pieces, often of few lengths and often such as fill a roll exactly."""
    roll = rng.choice((12, 30, 97, 1000, ROLL))
    longest = max(1, roll // rng.choice((1, 1, 2, 3)))
    kinds = [rng.randint(max(1, roll // 8), longest) for _ in range(rng.choice((2, 4, 10)))]
    kinds += [roll - kinds[0]] if kinds[0] < roll else []
    return [rng.choice(kinds) for _ in range(rng.randint(1, 10))], roll


def test_the_published_paper_rolls_take_73_and_no_fewer() -> None:
    widths = [width for width, count in PAPER.items() for _ in range(count)]
    assert sum(widths) == 407_160, "as the article gives it"
    found = cut(widths, 5600)
    assert held(found, widths, 5600) == 73
    assert found.proved


def test_the_same_paper_in_nanometres_takes_as_many() -> None:
    widths = [width * 1_000_000 for width, count in PAPER.items() for _ in range(count)]
    assert held(cut(widths, 5_600_000_000), widths, 5_600_000_000) == 73


def test_two_hundred_small_cases_take_as_few_rolls_as_looking_at_every_set_of_pieces() -> None:
    rng = random.Random(2)
    for _ in range(200):
        lengths, roll = small_case(rng)
        found = cut(lengths, roll)
        assert found.proved, (lengths, roll)
        assert held(found, lengths, roll) == fewest_rolls(lengths, roll), (lengths, roll)


def test_no_rule_and_no_bound_alone_passes_what_every_set_of_pieces_gives() -> None:
    rng = random.Random(3)
    for _ in range(12):
        lengths, roll = small_case(rng)
        fewest = fewest_rolls(lengths, roll)
        falling = sorted(lengths, reverse=True)
        assert len(best_fit(falling, roll)) >= fewest
        assert len(fullest_first(falling, roll)) >= fewest
        kinds = sorted(set(lengths), reverse=True)
        wanted = Wanted(tuple(kinds), tuple(lengths.count(each) for each in kinds), roll)
        assert least_rolls(wanted.lengths, wanted.counts, roll) <= fewest
        ways = all_ways(wanted)
        assert ways is not None
        search = Search(wanted, ways)
        search.run()
        assert search.bound <= fewest <= len(search.rolls_one_by_one())
        better, ended = fewer_rolls(wanted.counts, ways, 1, fewest)
        assert better is None and ended


def one_each(falling: Sequence[int], roll: int) -> list[tuple[int, ...]]:
    return [(length,) for length in falling]


def test_without_rules_of_thumb_the_ways_of_cutting_a_roll_find_the_same_and_prove_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(stock, "best_fit", one_each)
    monkeypatch.setattr(stock, "fullest_first", one_each)
    monkeypatch.setattr(stock, "least_rolls", lambda *_: 1)
    rng = random.Random(8)
    for _ in range(40):
        lengths, roll = small_case(rng)
        found = cut(lengths, roll)
        assert found.proved
        assert held(found, lengths, roll) == fewest_rolls(lengths, roll), (lengths, roll)


def test_where_the_ways_are_too_many_to_list_prices_find_those_that_matter(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(stock, "best_fit", one_each)
    monkeypatch.setattr(stock, "fullest_first", one_each)
    monkeypatch.setattr(stock, "all_ways", lambda _: None)
    rng = random.Random(9)
    for _ in range(60):
        lengths, roll = small_case(rng)
        found, fewest = cut(lengths, roll), fewest_rolls(lengths, roll)
        assert found.bound <= fewest <= held(found, lengths, roll) <= fewest + 1, (lengths, roll)


def test_however_roughly_prices_are_looked_for_what_they_say_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stock, "best_fit", one_each)
    monkeypatch.setattr(stock, "fullest_first", one_each)
    monkeypatch.setattr(stock, "all_ways", lambda _: None)
    monkeypatch.setattr(stock, "least_rolls", lambda *_: 1)
    monkeypatch.setattr(cutting_stock_search, "IN_ALL", 1)
    monkeypatch.setattr(cutting_stock_search, "OF_BOUND", 1)
    monkeypatch.setattr(cutting_stock_search, "LEAST_PARTS", 11)
    rng, gaps = random.Random(10), 0
    for _ in range(40):
        lengths, roll = small_case(rng)
        found, fewest = cut(lengths, roll), fewest_rolls(lengths, roll)
        assert found.bound <= fewest <= held(found, lengths, roll), (lengths, roll)
        gaps += not found.proved
    assert gaps, "as rough as that, some are not proved"


def test_a_bound_rounds_the_pieces_so_that_what_fits_a_roll_still_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cutting_stock_search, "OF_BOUND", 1)
    monkeypatch.setattr(cutting_stock_search, "LEAST_PARTS", 11)
    monkeypatch.setattr(Search, "_worth", lambda _: [cutting_stock_search.PRICE // 2] * 2)
    search = Search(Wanted((51, 49), (5, 5), 100), [(1, 1)])
    search.run()
    assert search.bound == 5, "51 and 49 fill a roll, also in elevenths of it"


def test_exactly_the_roll_fits_and_a_nanometre_more_does_not() -> None:
    a, b, c = 70 * FT + 1, 65 * FT, ROLL - 135 * FT - 1
    assert len(cut([a, b, c] * 20, ROLL).rolls) == 20
    over = cut([a, b, c + 1] * 20, ROLL)
    assert held(over, [a, b, c + 1] * 20, ROLL) > 20
    assert over.bound > 20


def test_pieces_cut_from_full_rolls_are_found_to_come_off_as_many() -> None:
    """Sixty rolls are cut up with nothing left, so that no fewer can do: three pieces each, all different."""
    rng = random.Random(4)
    lengths = []
    for _ in range(60):
        a, b = rng.randint(51 * FT, 79 * FT), rng.randint(51 * FT, 65 * FT)
        lengths += [a, b, ROLL - a - b]
    found = cut(lengths, ROLL)
    assert found.bound == 60
    assert held(found, lengths, ROLL) <= 61


@pytest.mark.parametrize(("low", "high", "over"), [(50, 100, 0.02), (20, 200, 0.0)])
def test_many_different_lengths_are_cut_close_to_a_bound_that_is_told(
    low: int, high: int, over: float
) -> None:
    rng = random.Random(5)
    lengths = [rng.randint(low * FT, high * FT) for _ in range(320)]
    found = cut(lengths, ROLL)
    assert held(found, lengths, ROLL) <= (1 + over) * found.bound
    assert found.bound >= sum(lengths) / ROLL


def test_where_no_proof_was_found_the_gap_is_told_and_never_called_a_proof(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(stock, "MOST_LENGTHS", 0)
    monkeypatch.setattr(stock, "KINDS", 3)
    rng = random.Random(6)
    lengths = [rng.randint(50 * FT, 100 * FT) for _ in range(60)]
    rough = cut(lengths, ROLL)
    monkeypatch.undo()
    fine = cut(lengths, ROLL)
    assert rough.bound <= fine.bound <= held(fine, lengths, ROLL) <= held(rough, lengths, ROLL)
    assert not rough.proved and fine.proved


def test_the_same_pieces_are_cut_the_same_way_and_in_any_order_from_as_many_rolls() -> None:
    rng = random.Random(7)
    lengths = [rng.choice((31, 44, 57, 62, 88, 93)) * FT for _ in range(90)]
    first = cut(lengths, ROLL)
    assert cut(lengths, ROLL) == first
    rng.shuffle(lengths)
    assert len(cut(lengths, ROLL).rolls) == len(first.rolls)


def test_of_pieces_of_one_length_the_first_come_off_the_first_rolls() -> None:
    found = cut([100 * FT] * 6, ROLL)
    assert [each.pieces for each in found.rolls] == [(0, 1), (2, 3), (4, 5)]
    found = cut([120 * FT, 120 * FT, 80 * FT, 80 * FT, 80 * FT], ROLL)
    assert [each.pieces for each in found.rolls] == [(0, 2), (1, 3), (4,)]


def test_nothing_to_cut_takes_no_roll() -> None:
    assert cut([], ROLL) == Cutting((), 0, True)


@pytest.mark.parametrize(
    ("lengths", "code"), [([FT, ROLL + 1], "longer-than-roll"), ([0], "no-length"), ([-FT], "no-length")]
)
def test_a_piece_that_no_roll_gives_is_refused_with_its_reason(lengths: list[int], code: str) -> None:
    with pytest.raises(BadCut) as refused:
        cut(lengths, ROLL)
    assert refused.value.code == code


def test_the_solver_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    cut([width for width, count in PAPER.items() for _ in range(count)], 5600)
    assert capfd.readouterr().out == ""
