"""Which class film shows by its numbers, what the rule sheet finds wrong with it, and what people type."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.nouns.installed import Material, Signed
from service.domain.nouns.rules import Choice, Number, Permeance, ready_made
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.film_class import (
    FAULT_WORDS,
    BadAmount,
    class_of,
    film_faults,
    parse_permeance,
    parse_puncture,
    parse_tensile,
    parse_thickness,
)

SHEET = ready_made("us")  # class A, 10 mil, 0.1 perm
ASKED = Numbers.of(SHEET)
NOTHING_ASKED = Numbers.of(
    replace(SHEET, film_class=Choice("", ""), film_thickness=Number(0, ""), most_permeance=Permeance(0, ""))
)
FILM = Material(
    id="m",
    kind="film",
    name="underslab film, 10 mil",
    claimed_class="A",
    permeance_up=50_000,
    thickness_nm=254_000,
    tensile_mlbf_in=45_000,
    puncture_g=2200,
    roll_width_nm=None,
    roll_length_nm=None,
    least_lap_nm=None,
    least_patch_overlap_nm=None,
    least_mf=None,
    note="",
    signed=Signed("p", "project manager", datetime(2026, 3, 2, 8, tzinfo=UTC), 1),
    withdrawn=None,
)


def faults(asked: Numbers = ASKED, **changes: object) -> tuple[str, ...]:
    return film_faults(replace(FILM, **changes), asked)  # type: ignore[arg-type]


def test_film_exactly_at_every_limit_has_no_fault() -> None:
    assert faults(permeance_up=100_000) == ()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"permeance_up": 100_001}, ("below-class", "claims-more-than-shown", "too-permeable")),
        ({"tensile_mlbf_in": 44_999}, ("below-class", "claims-more-than-shown")),
        ({"puncture_g": 2199, "claimed_class": "B"}, ("below-class",)),
        ({"thickness_nm": 253_999}, ("too-thin",)),
        ({"withdrawn": "wrong paper"}, ("material-withdrawn",)),
    ],
)
def test_one_unit_past_a_limit_is_a_fault(change: dict[str, object], told: tuple[str, ...]) -> None:
    assert faults(**change) == told  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("missing", "told"),
    [
        ("permeance_up", ("class-not-shown", "permeance-not-shown")),
        ("tensile_mlbf_in", ("class-not-shown",)),
        ("puncture_g", ("class-not-shown",)),
        ("thickness_nm", ("thickness-not-shown",)),
    ],
)
def test_a_number_that_is_asked_for_and_not_stated_is_never_a_pass(
    missing: str, told: tuple[str, ...]
) -> None:
    assert faults(**{missing: None}) == told  # type: ignore[arg-type]


def test_what_nobody_asks_for_may_be_left_out() -> None:
    bare = dict.fromkeys(("permeance_up", "thickness_nm", "tensile_mlbf_in", "puncture_g"))
    assert faults(NOTHING_ASKED, claimed_class="", **bare) == ()


@pytest.mark.parametrize("missing", ["permeance_up", "tensile_mlbf_in", "puncture_g"])
def test_a_claim_with_a_number_missing_is_a_claim_not_shown_even_where_no_class_is_asked(
    missing: str,
) -> None:
    assert faults(NOTHING_ASKED, **{missing: None}) == ("claims-more-than-shown",)


def test_a_claim_better_than_its_numbers_is_a_fault_even_where_the_lesser_class_is_enough() -> None:
    lesser = replace(ASKED, film_class="B")
    assert faults(lesser, tensile_mlbf_in=30_000) == ("claims-more-than-shown",)
    assert faults(lesser, tensile_mlbf_in=30_000, claimed_class="B") == ()
    assert faults(lesser, tensile_mlbf_in=30_000, claimed_class="C") == ()


@pytest.mark.parametrize("unknown", ["I", "II", "D", "a"])
def test_a_class_that_nobody_knows_is_reached_by_nothing(unknown: str) -> None:
    """Wall classes I to III sort by permeance and are no classes of film under slabs."""
    assert faults(replace(ASKED, film_class=unknown)) == ("below-class",)
    assert faults(NOTHING_ASKED, claimed_class=unknown) == ("claims-more-than-shown",)


@pytest.mark.parametrize("kind", ["tape", "mastic"])
def test_tape_and_mastic_never_pass_as_film(kind: str) -> None:
    assert faults(NOTHING_ASKED, kind=kind) == ("not-film",)


def test_every_fault_has_its_words() -> None:
    everything = [
        faults(kind="tape"),
        faults(withdrawn="x"),
        faults(permeance_up=None, thickness_nm=None),
        faults(permeance_up=200_000, thickness_nm=1),
    ]
    assert {code for told in everything for code in told} == set(FAULT_WORDS)


@given(st.integers(0, 200_000), st.integers(0, 60_000), st.integers(0, 3000))
def test_stronger_or_tighter_film_never_falls_to_a_lesser_class(up: int, tensile: int, puncture: int) -> None:
    order = {"": 0, "C": 1, "B": 2, "A": 3}
    here = order[class_of(up, tensile, puncture)]
    assert order[class_of(max(up - 1000, 0), tensile + 500, puncture + 50)] >= here


@pytest.mark.parametrize(
    ("text", "up"),
    [
        ("0.1 perm", 100_000),
        ("0.01 perms", 10_000),
        (".01 US perm", 10_000),
        ("5.72135 ng", 100_000),
        ("5.72135 ng/(Pa·s·m²)", 100_000),
        ("5.72135 ng/(Pa s m2)", 100_000),
        ("5.72135 ng/Pa s m^2", 100_000),
        ("0.57 ng/(s·m²·Pa)", 9_963),
        ("0.0659045 metric perm", 100_000),
        ("0.0659046 metric perm", 100_001),
    ],
)
def test_permeance_is_read_in_any_unit_of_the_trade_and_rounded_up(text: str, up: int) -> None:
    assert parse_permeance(text) == up


@pytest.mark.parametrize(
    ("parse", "text", "read"),
    [
        (parse_tensile, "45 lbf/in", 45_000),
        (parse_tensile, "13.6 lb/in.", 13_600),
        (parse_tensile, "7.88 kN/m", 44_995),
        (parse_tensile, "7.88 N/mm", 44_995),
        (parse_puncture, "2200 g", 2200),
        (parse_puncture, "2.2 kg", 2200),
        (parse_puncture, "2199.9 grams", 2199),
        (parse_thickness, "10 mil", 254_000),
        (parse_thickness, "10 mils", 254_000),
        (parse_thickness, "0.25 mm", 250_000),
        (parse_thickness, "0.010 in", 254_000),
        (parse_thickness, "250 µm", 250_000),
        (parse_thickness, "250 micron", 250_000),
    ],
)
def test_strength_and_thickness_are_read_with_their_unit_and_rounded_down(
    parse: Callable[[str], int], text: str, read: int
) -> None:
    assert parse(text) == read


@pytest.mark.parametrize(
    ("text", "name"), [("7.9 kN/m", "A"), ("5.3 kN/m", "B"), ("2.4 kN/m", "C"), ("2.3 kN/m", "")]
)
def test_the_si_figures_as_printed_class_as_their_inch_pound_counterparts(text: str, name: str) -> None:
    """ASTM E1745 prints 7.9, 5.3 and 2.4 kN/m beside 45.0, 30.0 and 13.6 lbf/in (from memory), and 0.1 perm
    is 5.7 ng/(Pa s m2)."""
    assert class_of(parse_permeance("5.7 ng/(Pa s m2)"), parse_tensile(text), 2200) == name


@pytest.mark.parametrize(("text", "name"), [("7.8 kN/m", "B"), ("5.2 kN/m", "C"), ("7.88 kN/m", "B")])
def test_an_si_figure_below_the_inch_pound_limit_gets_no_slack(text: str, name: str) -> None:
    assert class_of(100_000, parse_tensile(text), 2200) == name


PARSERS = [parse_permeance, parse_tensile, parse_puncture, parse_thickness]


@pytest.mark.parametrize("parse", PARSERS)
@pytest.mark.parametrize(
    "text",
    ["", " ", "10", "mil", "0 g", "-1 g", "1 2 g", "1/2 perm", "1e3 g", "1.5.2 g", "nan g", "٣ g", "9" * 200],
)
def test_what_is_no_amount_is_refused_in_words(parse: Callable[[str], int], text: str) -> None:
    with pytest.raises(BadAmount, match=r"\.$"):
        parse(text)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (parse_permeance, "0.1 perm in"),
        (parse_permeance, "0.1 perm-inch"),
        (parse_permeance, "0.3 g/m2/day"),
        (parse_permeance, "5 ng/(s m2)"),
        (parse_tensile, "45 lbf/in2"),
        (parse_tensile, "45 psi"),
        (parse_tensile, "7.9 kN·m"),
        (parse_puncture, "5 lb"),
    ],
)
def test_a_unit_of_something_else_is_refused(parse: Callable[[str], int], text: str) -> None:
    with pytest.raises(BadAmount, match="unit"):
        parse(text)


@pytest.mark.parametrize(
    ("parse", "text"),
    [(parse_permeance, "0,1 perm"), (parse_puncture, "2,200 g"), (parse_tensile, "7,9 kN/m")],
)
def test_a_comma_in_a_number_is_not_guessed_at(parse: Callable[[str], int], text: str) -> None:
    with pytest.raises(BadAmount, match="comma"):
        parse(text)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (parse_permeance, "101 perm"),
        (parse_tensile, "2000 lbf/in"),
        (parse_puncture, "1000 kg"),
        (parse_thickness, "6 in"),
        (parse_thickness, "251 mil"),
    ],
)
def test_a_number_no_film_has_is_refused(parse: Callable[[str], int], text: str) -> None:
    with pytest.raises(BadAmount, match="too much"):
        parse(text)
