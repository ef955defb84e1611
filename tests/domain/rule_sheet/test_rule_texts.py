"""Every number of the sheet is read back as it was said, and said the way that asks no less."""

from __future__ import annotations

from dataclasses import fields, replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.nouns.installed import Material, Signed
from service.domain.nouns.rules import Choice, Factor, Number, Permeance, Temperature, ready_made
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.film_class import parse_permeance, parse_tensile, parse_thickness
from service.domain.rule_sheet.material_texts import (
    missing_from,
    say_permeance,
    say_puncture,
    say_tensile,
    say_thickness,
)
from service.domain.rule_sheet.rule_texts import (
    TITLES,
    BadNumber,
    exact_number,
    read_class,
    read_number,
    say_number,
    say_rule,
    with_value,
)
from tests.cast import NOON

SHEETS = [ready_made("us"), ready_made("metric")]
NUMBERS = [name for name in TITLES if name != "film_class"]


def test_every_number_and_class_of_the_sheet_has_a_title() -> None:
    kinds = (Number, Factor, Permeance, Temperature, Choice)
    held = {f.name for f in fields(SHEETS[0]) if isinstance(getattr(SHEETS[0], f.name), kinds)}
    assert set(TITLES) == held


@pytest.mark.parametrize("name", NUMBERS)
@given(data=st.data())
def test_a_number_written_exactly_is_read_back_exactly(name: str, data: st.DataObject) -> None:
    rule = getattr(SHEETS[0], name)
    low, high = {"collar_length_factor": (1000, 10_000), "tape_temperature": (-60_000, 200_000)}.get(
        name, (1, 6_000_000)
    )
    value = data.draw(st.integers(low, high))
    assert read_number(name, exact_number(with_value(rule, value, ""), name)) == value


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_ready_made_sheet_is_said_in_its_own_units(units: str) -> None:
    """Figures of `rules.ready_made`: E1643's 6 in or 150 mm, CIP 29's 10 mil or 0.25 mm, E1745's 0.1 perm."""
    sheet = SHEETS[units == "metric"]
    told = [
        say_rule(sheet, name, units)  # type: ignore[arg-type]
        for name in ("lap", "film_thickness", "most_permeance", "tape_temperature", "station_every")
    ]
    us = ["6 in", "10 mil", "0.1 perm", "40 °F", "10 ft"]
    assert told == (us if units == "us" else ["150 mm", "0.25 mm", "5.721 ng/(Pa s m2)", "5 °C", "3 m"])


@pytest.mark.parametrize("name", ["station_every", "film_thickness", "most_permeance"])
def test_nothing_asked_is_a_word_both_ways(name: str) -> None:
    assert say_number(name, 0, "us") == "not asked for"
    for text in ("not asked for", "None", " ", "0"):
        assert read_number(name, text) == 0


@pytest.mark.parametrize(
    ("name", "text"),
    [("lap", "none"), ("lap", ""), ("lap", "0 in"), ("tape_temperature", "none"),
     ("collar_length_factor", "11"), ("collar_length_factor", "1.5 in"), ("film_thickness", "10"),
     ("most_permeance", "0.1")],
)  # fmt: skip
def test_what_has_to_be_asked_is_never_nothing(name: str, text: str) -> None:
    with pytest.raises(BadNumber):
        read_number(name, text)


def test_a_class_is_read_by_its_letter_and_a_wall_class_is_none_of_them() -> None:
    assert [read_class(text) for text in ("a", "Class B", " C ", "none", "")] == ["A", "B", "C", "", ""]
    for text in ("I", "D", "A+", "AB"):
        with pytest.raises(BadNumber):
            read_class(text)


@given(st.integers(1, 2_000_000))
def test_a_limit_of_permeance_is_said_no_laxer_and_a_film_no_tighter(up: int) -> None:
    ng = Fraction(up, 1_000_000) * Fraction("57.2135")  # 1 US perm, encyclopedia entry "perm (unit)"
    limit = Fraction(say_permeance(up, "metric", up_to=True).split()[0].replace(",", ""))
    film = Fraction(say_permeance(up, "metric").split()[0].replace(",", ""))
    assert limit <= ng and film >= ng - Fraction("57.2135") / 1_000_000


@given(st.integers(1, 100_000))
def test_a_strength_is_said_no_stronger_than_a_thousandth_more(mlbf_in: int) -> None:
    kn_m = Fraction(mlbf_in, 1000) * Fraction("4.4482216152605") / Fraction("0.0254") / 1000
    thousandth = Fraction("4.4482216152605") / Fraction("0.0254") / 1_000_000
    assert Fraction(say_tensile(mlbf_in, "metric").split()[0]) < kn_m + thousandth


@pytest.mark.parametrize("typed", ["7.9 kN/m", "5.3 kN/m", "2.4 kN/m"])
def test_printed_si_strengths_are_said_as_they_were_typed(typed: str) -> None:
    """The SI column of ASTM E1745's table of classes (printed values, from memory)."""
    assert say_tensile(parse_tensile(typed), "metric") == typed


@pytest.mark.parametrize("typed", ["5.7", "0.57", "0.1", "11.442"])
def test_a_permeance_in_ng_is_said_as_it_was_typed(typed: str) -> None:
    assert say_permeance(parse_permeance(f"{typed} ng/(Pa s m2)"), "metric") == f"{typed} ng/(Pa s m2)"


def test_a_thickness_is_rounded_down_as_read_and_up_as_asked() -> None:
    nm = parse_thickness("0.25 mm")  # 9.8425 mil
    assert say_thickness(nm, "us") == "9.84 mil" and say_thickness(nm, "us", down=False) == "9.85 mil"
    assert say_thickness(254_000, "us") == "10 mil" and say_thickness(254_000, "metric") == "0.254 mm"
    assert say_puncture(2200) == "2,200 g"


def test_only_what_somebody_needs_is_missed() -> None:
    nobody = Signed("x", "crew lead", NOON, 1)
    film = Material("m", "film", "F", "", *(None,) * 9, "", nobody, None)
    asked = Numbers.of(SHEETS[0])
    assert missing_from(film, asked) == ("permeance", "tensile", "puncture", "thickness", "least_lap")
    none = replace(asked, film_class="", film_thickness_nm=0, most_permeance_up=0)
    assert missing_from(film, none) == ("least_lap",), "ASTM E1745 section 6 has its maker state the lap"
    assert missing_from(replace(film, claimed_class="B"), none) == (
        "permeance", "tensile", "puncture", "least_lap",
    )  # fmt: skip
    assert missing_from(replace(film, kind="tape"), asked) == ("least_temperature",)
    assert missing_from(replace(film, kind="mastic"), asked) == ()
