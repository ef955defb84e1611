"""Temperatures as typed and as shown: exact, never without a unit, never flattered."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.words.temperatures import BadTemperature, parse_temperature, say_temperature, say_typed


@pytest.mark.parametrize(
    ("text", "mf"),
    [
        ("40 F", 40_000),
        ("40°F", 40_000),
        (" 40 °f ", 40_000),
        ("40 deg F", 40_000),
        ("40 degrees Fahrenheit", 40_000),
        ("4.5 C", 40_100),
        ("4.5 °C", 40_100),
        ("5 celsius", 41_000),
        ("-5 C", 23_000),
        ("−5 °C", 23_000),
        ("39.99 F", 39_990),
        ("4.44 C", 39_992),
        ("-60 F", -60_000),
        ("200 F", 200_000),
        ("93 C", 199_400),
    ],
)
def test_a_temperature_is_read_exactly(text: str, mf: int) -> None:
    assert parse_temperature(text) == mf


def test_known_pairs_of_the_two_scales_agree() -> None:
    """Water freezes at 0 °C and at 32 °F, and both scales read -40 alike (their definition)."""
    assert parse_temperature("0 C") == parse_temperature("32 F")
    assert parse_temperature("-40 C") == parse_temperature("-40 F")
    assert parse_temperature("37 C") == 98_600


@pytest.mark.parametrize("text", ["40", "40°", "-5", "40 degrees"])
def test_a_temperature_without_its_unit_is_asked_for_it(text: str) -> None:
    with pytest.raises(BadTemperature, match="Write F or C"):
        parse_temperature(text)


@pytest.mark.parametrize("text", ["4,5 C", "4,5 °C"])
def test_a_comma_is_not_guessed_at(text: str) -> None:
    with pytest.raises(BadTemperature, match="with a point"):
        parse_temperature(text)


@pytest.mark.parametrize("text", ["-60.01 F", "200.01 F", "94 C", "313 C", "-52 C"])
def test_a_temperature_no_site_has_is_refused(text: str) -> None:
    with pytest.raises(BadTemperature, match="between"):
        parse_temperature(text)


@pytest.mark.parametrize("text", ["4.4444 C", "39.9999 F"])
def test_what_would_have_to_be_rounded_at_the_limit_is_refused(text: str) -> None:
    """Both lie under 40 °F and would round up to it."""
    with pytest.raises(BadTemperature, match="hundredth"):
        parse_temperature(text)


@pytest.mark.parametrize(
    "text",
    ["", "   ", "F", "warm", "1e1 F", "40 K", "4 0 F", "٤٠ F", "40 F 5", "nan F", "inf C", "9" * 300 + " F"],
)
def test_what_is_no_temperature_is_refused_in_words(text: str) -> None:
    with pytest.raises(BadTemperature, match=r"\.$"):
        parse_temperature(text)


@pytest.mark.parametrize(
    ("mf", "units", "down", "said"),
    [
        (40_000, "us", True, "40 °F"),
        (39_990, "us", True, "39.9 °F"),
        (40_000, "metric", True, "4.4 °C"),
        (40_000, "metric", False, "4.5 °C"),
        (41_000, "metric", True, "5 °C"),
        (31_910, "metric", True, "-0.1 °C"),
        (31_990, "metric", False, "0 °C"),
        (-500, "us", True, "-0.5 °F"),
        (-500, "us", False, "-0.5 °F"),
    ],
)
def test_a_reading_is_shown_down_and_what_is_asked_is_shown_up(
    mf: int, units: str, down: bool, said: str
) -> None:
    assert say_temperature(mf, units, down=down) == said  # type: ignore[arg-type]


@given(st.integers(-60_000, 200_000), st.sampled_from(["us", "metric"]))
def test_no_reading_is_shown_warmer_and_nothing_asked_is_shown_colder(mf: int, units: str) -> None:
    def shown(down: bool) -> Fraction:
        said, unit = say_temperature(mf, units, down=down).split(" ")  # type: ignore[arg-type]
        return Fraction(said) * 1000 if unit == "°F" else Fraction(said) * 1800 + 32_000

    assert shown(True) <= mf <= shown(False)
    assert shown(False) - shown(True) <= 180


@pytest.mark.parametrize(
    ("typed", "us", "metric"),
    [("58 F", "58 °F", "14.4 °C"), ("58 °f", "58 °F", "14.4 °C"), ("10 C", "50 °F", "10 °C"), ("", "", "")],
)
def test_a_reading_kept_as_it_was_typed_is_said_as_every_other(typed: str, us: str, metric: str) -> None:
    assert (say_typed(typed, "us"), say_typed(typed, "metric")) == (us, metric)


def test_what_an_entry_of_before_holds_that_is_no_temperature_is_said_as_it_stands() -> None:
    assert say_typed("warm, about sixty", "us") == "warm, about sixty"
