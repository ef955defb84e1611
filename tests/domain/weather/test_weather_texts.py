"""Humidity, wind and rates as typed and as shown: exact, a unit where two would do, never flattered."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.weather.evaporation import Rate
from service.domain.weather.texts import (
    BadWeather,
    parse_humidity,
    parse_wind,
    rate_figures,
    say_humidity,
    say_rate,
    say_rate_range,
    say_wind,
)


@pytest.mark.parametrize(
    ("text", "mpct"),
    [
        ("55", 55_000),
        ("55 %", 55_000),
        ("42,5%", 42_500),
        (" 0 % ", 0),
        ("100%", 100_000),
        ("33.3 % RH", 33_300),
    ],
)
def test_a_humidity_is_read_with_or_without_its_sign(text: str, mpct: int) -> None:
    if "RH" in text:
        text = text.replace(" RH", "rh")
    assert parse_humidity(text) == mpct


@pytest.mark.parametrize("text", ["130", "130 %", "-1 %", "100.001"])
def test_a_humidity_past_what_air_can_hold_is_refused(text: str) -> None:
    with pytest.raises(BadWeather, match="between 0 and 100"):
        parse_humidity(text)


@pytest.mark.parametrize(
    ("text", "mmph"),
    [("12 mph", 12_000), ("12mph", 12_000), ("10 kn", 11_508), ("10 knots", 11_508), ("10 nudos", 11_508),
     ("10 km/h", 6_214), ("5 m/s", 11_185), ("0 mph", 0), ("7,5 kt", 8_631)],
)  # fmt: skip
def test_a_wind_is_read_in_the_unit_that_is_written(text: str, mmph: int) -> None:
    """1 kn is 1.150779 mph, 1 km/h 0.621371, 1 m/s 2.236936 (by their definitions)."""
    assert parse_wind(text) == mmph


@pytest.mark.parametrize("text", ["12", "12 miles", "12 k", "12 bft"])
def test_a_wind_without_a_unit_is_asked_for_it(text: str) -> None:
    with pytest.raises(BadWeather, match="mph, km/h, m/s or knots") as bad:
        parse_wind(text)
    assert bad.value.code == "no-unit"


@pytest.mark.parametrize(
    "text", ["", "calm", "mph", "1e3 mph", "=1+1 mph", "9" * 50 + " mph", "٣ mph", "nan mph"]
)
def test_what_is_no_wind_is_refused_in_words(text: str) -> None:
    with pytest.raises(BadWeather, match=r"knots\.$"):
        parse_wind(text)


@pytest.mark.parametrize("text", ["-1 mph", "151 mph", "999 km/h"])
def test_a_wind_no_crew_stands_in_is_refused(text: str) -> None:
    with pytest.raises(BadWeather, match="150 mph"):
        parse_wind(text)


@given(st.integers(0, 150_000))
def test_no_wind_is_shown_weaker_than_it_was(mmph: int) -> None:
    miles, kilometres = (int(say_wind(mmph, units).split()[0]) for units in ("us", "metric"))
    assert 0 <= miles * 1000 - mmph < 1000
    assert 0 <= kilometres / 1.609344 * 1000 - mmph < 622


def test_humidity_is_shown_to_the_percent() -> None:
    assert [say_humidity(mpct) for mpct in (0, 54_499, 54_500, 100_000)] == ["0 %", "54 %", "55 %", "100 %"]


@given(st.floats(0, 9.9))
def test_a_rate_is_shown_with_two_figures_and_never_lower_than_it_is(value: float) -> None:
    shown = rate_figures(value)
    assert len(shown.replace(".", "").lstrip("0")) <= 3 if value >= 0.99 else len(shown) == 4
    assert float(shown) >= value - 1e-7
    assert float(rate_figures(value, up=False)) <= value + 1e-7


def test_a_rate_names_its_unit_and_its_range() -> None:
    rate = Rate(0.0969, 0.1025, 0.05814, 0.1435, "us")
    assert say_rate(rate.worse, "us") == "0.11 lb per sq ft and hour"
    assert say_rate_range(rate) == "0.05 to 0.15 lb per sq ft and hour"
    assert rate_figures(0.1 + 1e-12) == "0.10", "a float's last digit raises nothing"
    assert say_rate(1.1493, "metric") == "1.2 kg per m² and hour"
