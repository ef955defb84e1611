"""Ready-made rule sets and their combination: the largest governs and says so, nothing is converted."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.nouns.rules import (
    LEAST_PUBLISHED_NM,
    Choice,
    Number,
    needs_a_source,
    ready_made,
    source_of,
)
from service.domain.rule_sheet.rule_sets import SETS, apply, combine, set_of

INCH, MM = 25_400_000, 1_000_000
KEYS = [rule_set.key for rule_set in SETS]
SOME = st.lists(st.sampled_from(KEYS), min_size=1, max_size=4)
UNITS = st.sampled_from(["us", "metric"])


def test_general_practice_is_what_a_new_project_starts_from() -> None:
    for units in ("us", "metric"):
        asked, sheet = combine(["general"], units), ready_made(units)
        assert (asked.lap.nm, asked.patch_overlap.nm, asked.methods) == (
            sheet.lap.nm, sheet.patch_overlap.nm, sheet.repair_methods,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("keys", "lap_in", "patch_in"),
    [
        (["general"], 6, 6),
        (["irc-2021"], 6, 6),
        (["ibc", "soil-gas-6"], 6, 6),
        (["irc-appendix-af"], 12, 6),
        (["irc-2018", "irc-appendix-af"], 12, 6),
        (["irc-2018", "minnesota"], 12, 12),
        (["soil-gas-6", "soil-gas-12"], 12, 12),
        (["federal-older"], 12, 12),
    ],
)
def test_the_largest_number_governs_for_laps_and_for_patches_apart(
    keys: list[str], lap_in: int, patch_in: int
) -> None:
    """As published: Minnesota Rules 1303.2402, CC-1000-2018 and UFGS-03300A ask 12 in, RRNC-2020 and the IRC
    6; Appendix AF asks 12 of laps and states no number for patches."""
    asked = combine(keys, "us")
    assert (asked.lap.nm, asked.patch_overlap.nm) == (lap_in * INCH, patch_in * INCH)


def test_a_metric_project_gets_the_figure_printed_for_it_and_no_conversion() -> None:
    """E1643 prints 150 mm; the codes print 152 and 305 mm (from memory)."""
    assert combine(["general"], "metric").lap.nm == 150 * MM
    assert combine(["general", "irc-2018"], "metric").lap.nm == 152 * MM
    assert combine(["minnesota"], "metric").patch_overlap.nm == 305 * MM


def test_no_set_asks_less_than_the_least_number_published() -> None:
    for rule_set in SETS:
        for nm in (
            rule_set.lap_us_nm,
            rule_set.lap_metric_nm,
            rule_set.patch_us_nm,
            rule_set.patch_metric_nm,
        ):
            assert nm is None or nm >= LEAST_PUBLISHED_NM
            assert nm is None or not needs_a_source("lap", nm)


def test_the_source_line_names_the_set_that_governs() -> None:
    asked = combine(["general", "irc-2021", "minnesota"], "us")
    assert "Minnesota Rules 1303.2402" in asked.lap.source
    assert "Minnesota Rules 1303.2402" in asked.patch_overlap.source
    assert "IRC 2021" in asked.film_class.source


def test_where_no_set_states_a_patch_number_the_line_says_whose_stands() -> None:
    source = combine(["irc-2021", "ibc"], "us").patch_overlap.source
    assert "E1643" in source and "state no number for patches" in source


@pytest.mark.parametrize(
    ("keys", "methods"),
    [
        (["soil-gas-6"], ("sheet patch", "tape only")),
        (["soil-gas-12", "irc-2021"], ("sheet patch", "tape only")),
        (["soil-gas-12", "minnesota"], ("sheet patch",)),
        (["soil-gas-6", "general"], ("sheet patch",)),
        (["federal-older"], ("sheet patch", "replace the sheet")),
        (["federal-older", "soil-gas-12"], ("sheet patch",)),
        (["irc-2021"], ("sheet patch",)),
    ],
)
def test_a_repair_counts_only_where_every_set_that_names_repairs_has_it(
    keys: list[str], methods: tuple[str, ...]
) -> None:
    assert combine(keys, "us").methods == methods


def test_the_strictest_class_governs() -> None:
    assert combine(["soil-gas-6"], "us").film_class.word == "C"
    assert combine(["soil-gas-6", "irc-2021"], "us").film_class.word == "A"
    assert combine(["minnesota"], "us").film_class.word == ""


def test_order_and_repetition_of_the_sets_change_nothing() -> None:
    for pair in combinations(KEYS, 2):
        assert combine(pair, "us") == combine([*reversed(pair), pair[0]], "us")


@given(SOME, SOME, UNITS)
def test_one_more_set_never_asks_less(some: list[str], more: list[str], units: str) -> None:
    few, many = combine(some, units), combine([*some, *more], units)  # type: ignore[arg-type]
    assert many.lap.nm >= few.lap.nm
    assert many.film_thickness.nm >= few.film_thickness.nm
    order = ["", "C", "B", "A"]
    assert order.index(many.film_class.word) >= order.index(few.film_class.word)
    assert "sheet patch" in many.methods


@given(SOME, UNITS)
def test_no_set_that_states_a_number_is_undercut(keys: list[str], units: str) -> None:
    asked = combine(keys, units)  # type: ignore[arg-type]
    for key in keys:
        rule_set = set_of(key)
        assert asked.lap.nm >= rule_set.lap_nm(units)  # type: ignore[arg-type]
        assert asked.patch_overlap.nm >= (rule_set.patch_nm(units) or 0)  # type: ignore[arg-type]
        assert rule_set.methods is None or set(asked.methods) <= set(rule_set.methods)


def test_a_set_that_is_not_there_is_no_set() -> None:
    with pytest.raises(KeyError):
        combine(["general", "nobody's"], "us")
    with pytest.raises(ValueError, match="at least one"):
        combine([], "us")


def test_applying_sets_makes_their_numbers_the_sheets_and_leaves_the_rest() -> None:
    before = replace(ready_made("us"), tape_width=Number(6 * INCH, "maker"), second_look=True)
    after = apply(before, ["soil-gas-12"], "us")
    assert (after.lap.nm, after.patch_overlap.nm) == (12 * INCH, 12 * INCH)
    assert after.repair_methods == ("sheet patch", "tape only")
    assert after.film_class == before.film_class, "class A is asked already, and the set asks C"
    assert after.sets == ("soil-gas-12",)
    assert "CC-1000-2018" in source_of(after, "repair_methods")
    unchanged = (
        "tape_width",
        "second_look",
        "collar_width",
        "film_thickness",
        "most_permeance",
        "hold_points",
    )
    assert all(getattr(after, name) == getattr(before, name) for name in unchanged)


def test_a_class_of_film_is_raised_by_a_set_and_never_lowered() -> None:
    weaker = replace(ready_made("us"), film_class=Choice("C", "drawings"))
    assert apply(weaker, ["irc-2021"], "us").film_class.word == "A"
    none = replace(ready_made("us"), film_class=Choice("", "not asked for"))
    assert apply(none, ["soil-gas-6"], "us").film_class.word == "C"


def test_a_class_stays_where_no_set_asks_one() -> None:
    assert apply(ready_made("us"), ["minnesota"], "us").film_class == ready_made("us").film_class


def test_film_thinner_than_a_set_asks_is_raised_to_it_and_thicker_stays() -> None:
    thin = replace(ready_made("us"), film_thickness=Number(0, "not asked for"))
    assert apply(thin, ["irc-2021"], "us").film_thickness.nm == 254_000
    thick = replace(thin, film_thickness=Number(381_000, "engineer"))
    assert apply(thick, ["irc-2021"], "us").film_thickness == Number(381_000, "engineer")


def test_taking_every_set_off_keeps_the_numbers_and_names_none() -> None:
    sheet = apply(ready_made("us"), ["soil-gas-12"], "us")
    assert apply(sheet, [], "us") == replace(sheet, sets=())


def test_applying_twice_is_applying_once() -> None:
    once = apply(replace(ready_made("us"), film_class=Choice("", "")), ["ibc", "minnesota"], "us")
    assert apply(once, ["ibc", "minnesota"], "us") == once


def test_every_set_that_names_repairs_has_the_sheet_patch() -> None:
    assert all(rule_set.methods is None or "sheet patch" in rule_set.methods for rule_set in SETS)


def test_no_source_line_is_longer_than_one_that_can_be_typed() -> None:
    """300 signs is what the rule sheet's form takes: a longer line could be shown and never sent back."""
    for units in ("us", "metric"):
        asked = combine(KEYS, units)
        lines = (asked.lap.source, asked.patch_overlap.source, asked.film_class.source, asked.methods_source)
        assert all(len(line) <= 300 for line in lines)


def test_every_set_says_where_it_comes_from() -> None:
    for rule_set in SETS:
        assert "from memory" in rule_set.source or "seen" in rule_set.source
        assert rule_set.name in rule_set.line() and rule_set.source in rule_set.line()
