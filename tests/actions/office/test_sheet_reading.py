"""The rule sheet as it is written: sets first, asking less only with a source, hold points that stay."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.office.numbers import raise_numbers
from service.actions.office.projects import change_rule_sheet, effect_of_sheet
from service.actions.office.sheet_reading import read_sheet
from service.domain.nouns.rules import STEPS, ready_made, source_of
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone, state_of
from tests.cast import Cast

INCH_NM = 25_400_000
US = ready_made("us")


def fault_of(given: dict[str, Any], old: Any = US) -> dict[str, str]:
    with pytest.raises(BadInput) as bad:
        read_sheet(old, given, "us")
    return bad.value.fields


def test_chosen_sets_govern_by_their_largest_number() -> None:
    """RRNC-2020 402.1.3 asks 6 in, CC-1000-2018 6.4 asks 12 in, IRC 2021 R506.2.3 asks class A."""
    sheet = read_sheet(US, {"sets": ["irc-2021", "soil-gas-6", "soil-gas-12"]}, "us")
    assert (sheet.lap.nm, sheet.patch_overlap.nm) == (12 * INCH_NM, 12 * INCH_NM)
    assert "CC-1000" in sheet.lap.source and sheet.film_class.word == "A"
    assert sheet.repair_methods == ("sheet patch", "tape only")
    assert "CC-1000" in source_of(sheet, "repair_methods")


@pytest.mark.parametrize(
    ("name", "less", "as_much"),
    [
        ("lap", "11 15/16 in", "12 in"),
        ("patch_overlap", "6 in", "12 1/16 in"),
        ("film_class", "none", "C"),
        ("repair_methods", ["sheet patch", "replace the sheet"], ["sheet patch"]),
    ],
)
def test_asking_less_than_the_chosen_sets_needs_a_source(name: str, less: Any, as_much: Any) -> None:
    sets = {"sets": ["soil-gas-12"]}
    assert set(fault_of({**sets, name: less})) == {name}
    chosen = read_sheet(US, sets, "us")
    assert set(fault_of({name: less}, chosen)) == {name}, "and later, when the sets stand"
    read_sheet(US, {**sets, name: as_much}, "us")
    told = read_sheet(chosen, {name: {"value": less, "source": "Engineer's letter of 3 May"}}, "us")
    kept = source_of(told, name) if name == "repair_methods" else getattr(told, name).source
    assert kept == "Engineer's letter of 3 May"
    assert read_sheet(told, {"tape_width": "5 in"}, "us").lap == told.lap, "and other numbers may move"


def test_a_thinner_film_than_the_sets_ask_needs_a_source() -> None:
    sets = {"sets": ["irc-2021"]}  # 10 mil
    assert set(fault_of({**sets, "film_thickness": "6 mil"})) == {"film_thickness"}
    assert set(fault_of({**sets, "film_thickness": "none"})) == {"film_thickness"}


def test_with_no_set_chosen_only_the_least_of_all_published_numbers_holds() -> None:
    assert set(fault_of({"lap": "5 in"})) == {"lap"}
    assert read_sheet(US, {"film_class": "none"}, "us").film_class.word == ""


@pytest.mark.parametrize("name", ["station_every", "film_thickness", "most_permeance"])
def test_what_may_be_left_unasked_is_nothing_by_a_word(name: str) -> None:
    for text in ("none", "not asked for", "0"):
        asked = getattr(read_sheet(US, {name: text}, "us"), name)
        assert asked in (type(asked)(0, asked.source),)


def test_an_old_source_never_stands_beside_a_new_choice() -> None:
    first = read_sheet(US, {"second_look": {"value": True, "source": "Quality plan 4.2"}}, "us")
    assert source_of(first, "second_look") == "Quality plan 4.2"
    same = read_sheet(first, {"second_look": True}, "us")
    assert same == first
    other = read_sheet(first, {"second_look": False}, "us")
    assert source_of(other, "second_look") == "set by the project, no source given"


def test_a_project_adds_hold_points_between_the_nine_and_takes_none_away() -> None:
    steps = [*STEPS[:2], "radon pipe  laid", *STEPS[2:]]
    assert read_sheet(US, {"hold_points": steps}, "us").hold_points[2] == "radon pipe laid"
    for wrong in (
        STEPS[1:],
        [*STEPS[:-1]],
        [STEPS[1], STEPS[0], *STEPS[2:]],
        [*STEPS, STEPS[0]],
        [*STEPS, "Pipes", "pipes"],
        [*STEPS, *(f"own {n}" for n in range(21))],
        [*STEPS, "x" * 121],
        "laps",
    ):
        assert set(fault_of({"hold_points": wrong})) == {"hold_points"}


def test_nine_hold_points_are_the_trades() -> None:
    """TRADE: subgrade, film, laps, penetrations, terminations, supports, clean, punch walk, second look."""
    assert len(STEPS) == 9 == len(set(STEPS))


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"sets": ["no such"]}, "sets"),
        ({"sets": "general"}, "sets"),
        ({"film_class": "I"}, "film_class"),  # the wall classes are another list
        ({"tape_temperature": "40"}, "tape_temperature"),
        ({"most_permeance": "0.1"}, "most_permeance"),
        ({"film_thickness": "10"}, "film_thickness"),
        ({"second_look": "yes"}, "second_look"),
        ({"gate_demands": {"value": ["all"]}}, "gate_demands"),
        ({"gate_demands": {"worth": ["film"]}}, "gate_demands"),
        ({"lap": {"value": "7 in", "source": 3}}, "lap"),
        ({"lap": {"value": ["7 in"]}}, "lap"),
        ({"sources": [["lap", "me"]]}, "sources"),
        ({"collar_length_factor": "0.9"}, "collar_length_factor"),
    ],
)
def test_what_cannot_be_kept_is_told_at_its_field(given: dict[str, Any], field: str) -> None:
    assert set(fault_of(given)) == {field}


@pytest.fixture
def ready(desk: Desk, cast: Cast) -> Zone:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


@pytest.mark.parametrize(
    ("given", "after"),
    [
        ({"sets": ["soil-gas-12"]}, "held"),
        ({"gate_demands": ["film"]}, "held"),
        ({"second_look": True}, "held"),
        ({"film_class": "B"}, "clear"),
        ({"lap": "7 in"}, "clear"),
        ({"patch_overlap": {"value": "6 in", "source": "S-101"}}, "ready to place"),
        ({"second_look": {"value": False, "source": "Quality plan"}}, "ready to place"),
        ({"cut_allowance": "2 in"}, "ready to place"),
    ],
)
def test_what_is_shown_beforehand_is_what_comes(
    desk: Desk, cast: Cast, ready: Zone, given: dict[str, Any], after: str
) -> None:
    _, effects = effect_of_sheet(desk, cast.manager.id, cast.project_id, given)
    assert [effect.after for effect in effects] == ([after] if after != "ready to place" else [])
    assert state_of(desk, cast, ready) == "ready to place"
    change_rule_sheet(desk, cast.manager.id, cast.project_id, given)
    assert state_of(desk, cast, ready) == after


def test_a_release_that_falls_though_no_number_here_moves_is_foretold(desk: Desk, cast: Cast) -> None:
    """The zone asks more than the new sheet already; a release is of exact facts all the same."""
    zone = a_zone(desk, cast)
    raise_numbers(desk, cast.manager.id, zone.id, {"lap": "12 in"})
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    _, effects = effect_of_sheet(desk, cast.manager.id, cast.project_id, {"lap": "8 in"})
    change_rule_sheet(desk, cast.manager.id, cast.project_id, {"lap": "8 in"})
    assert [effect.after for effect in effects] == [state_of(desk, cast, zone)] == ["clear"]


def test_a_sheet_of_the_first_projects_reads_as_before() -> None:
    bare = replace(US, sets=(), sources=())
    assert read_sheet(bare, {}, "us") == bare
