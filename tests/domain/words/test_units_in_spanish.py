"""Lengths said with another language's units are read back as they were said."""

from __future__ import annotations

from gettext import NullTranslations

import pytest

from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED, WITHDRAWN
from service.domain.rule_sheet.film_class import parse_tensile, parse_thickness
from service.domain.rule_sheet.material_texts import say_tensile, say_thickness
from service.domain.sketch.typed_sides import read_sides
from service.domain.words.measures import (
    NM_PER_FOOT,
    NM_PER_INCH,
    BadLength,
    parse_length,
    say_length,
    say_run,
    say_sides,
)
from service.domain.words.names import mark_state, zone_state
from service.domain.words.speech import Speech, speaking
from tests.made_up import MADE_UP

UNITS = {"in": "pulg", "sq ft": "pies²", "mil": "milésimas", "lbf/in": "lbf/pulg"}


class Spanish(NullTranslations):
    """The units alone, as the catalogue of Spanish says them."""

    def pgettext(self, context: str, message: str) -> str:
        return UNITS.get(message, message) if context == "unit" else message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return (
            ("{n} pie" if n == 1 else "{n} pies")
            if msgid1 == "{n} ft"
            else super().ngettext(msgid1, msgid2, n)
        )


SPANISH = Speech("es", "Español", Spanish())


@pytest.mark.parametrize(
    "nm", [NM_PER_INCH // 4, 6 * NM_PER_INCH, 165_100_000, NM_PER_FOOT, 40 * NM_PER_INCH]
)
def test_a_length_said_in_pulgadas_and_pies_is_read_back_exactly(nm: int) -> None:
    with speaking(SPANISH):
        told = say_length(nm, "us"), say_run(nm, "us")
    assert [parse_length(text) for text in told] == [nm, nm], told


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("6 1/2 pulg", "6 1/2 in"), ("6½ pulgadas", "6 1/2 in"), ("1 pulgada", "1 in"), ("3 pies", "3 ft"),
        ("1 pie 3 1/2 pulg.", "1 ft 3 1/2 in"), ("2 PIES", "2 ft"),
    ],
)  # fmt: skip
def test_spanish_units_are_read_whatever_the_page_speaks(text: str, same: str) -> None:
    assert parse_length(text) == parse_length(same)


@pytest.mark.parametrize("text", ["6 pul", "6 piess", "1 pie 12 pulg"])
def test_what_is_near_a_spanish_unit_is_no_unit(text: str) -> None:
    with pytest.raises(BadLength):
        parse_length(text)


def test_two_sides_are_said_with_one_unit_in_any_language() -> None:
    with speaking(SPANISH):
        assert say_sides(18 * NM_PER_INCH, 16 * NM_PER_INCH, "us") == "18 by 16 pulg"


def test_a_films_numbers_said_in_spanish_are_read_back() -> None:
    with speaking(SPANISH):
        thick, strong = say_thickness(381_000, "us"), say_tensile(45_000, "us")
    assert (parse_thickness(thick), parse_tensile(strong)) == (381_000, 45_000), (thick, strong)


def test_sides_are_typed_in_spanish_as_in_english() -> None:
    there = read_sides("derecha 20 pies\nabajo 12 pies 6 pulg\n30° 8 pies")
    assert there == read_sides("right 20 ft\ndown 12 ft 6 in\n30° 8 ft")


def test_a_state_is_said_by_what_it_is_said_of_and_its_key_stays() -> None:
    assert [mark_state(state) for state in (OPEN, NOT_SEALED, SEALED, WITHDRAWN)] == [
        "open", "not sealed", "sealed", "withdrawn",
    ]  # fmt: skip
    with speaking(MADE_UP):
        assert (mark_state(OPEN), zone_state("held"), zone_state("a word of no set")) == (
            "⟦open⟧", "⟦held⟧", "a word of no set",
        )  # fmt: skip
