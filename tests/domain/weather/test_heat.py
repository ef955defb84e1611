"""The heat index and its bands: the published chart, the equation's corners, and the bounds."""

from __future__ import annotations

import pytest

from service.domain.weather.heat import BAND_WORDS, band, heat_index_f


@pytest.mark.parametrize(
    ("fahrenheit", "percent", "index"),
    [(80, 40, 80), (86, 90, 105), (90, 50, 95), (90, 70, 106), (90, 100, 132),
     (100, 40, 109), (100, 55, 124), (100, 65, 136), (104, 50, 131), (110, 40, 136)],
)  # fmt: skip
def test_the_index_is_the_published_chart(fahrenheit: int, percent: int, index: int) -> None:
    """US National Weather Service, heat index chart (from memory); the chart is printed to the degree."""
    assert heat_index_f(fahrenheit * 1000, percent * 1000) == pytest.approx(index, abs=1.3)


def test_under_eighty_degrees_the_simple_formula_holds() -> None:
    """70 °F at 50 %, by the weather service's page: half of 70 and of 0.5 (70 + 61 + 2.4 + 4.7)."""
    assert heat_index_f(70_000, 50_000) == pytest.approx((70 + (70 + 61 + 2.4 + 4.7) / 2) / 2, abs=1e-9)


def test_dry_heat_is_taken_down_and_damp_warmth_up() -> None:
    """By hand from the same page: 90.16 less 1 at 95 °F and 9 %, and 92.97 and 1 at 82 °F and 95 %."""
    plain_dry = heat_index_f(95_000, 13_000) - heat_index_f(95_000, 12_999)
    assert 0 <= plain_dry < 0.01, "they begin at nothing"
    assert heat_index_f(95_000, 9_000) == pytest.approx(89.16, abs=0.01)
    assert heat_index_f(82_000, 95_000) == pytest.approx(93.97, abs=0.01)


@pytest.mark.parametrize(
    ("index", "named"),
    [
        (90.9, "lower"),
        (91, "moderate"),
        (102.9, "moderate"),
        (103, "high"),
        (115, "high"),
        (115.1, "very high"),
    ],
)
def test_a_bound_that_two_bands_name_takes_the_higher(index: float, named: str) -> None:
    """OSHA, Using the Heat Index: under 91, 91 to 103, 103 to 115, over 115 °F."""
    assert band(index) == named
    assert band(index - 1e-9) == named, "a float's last digit decides nothing"


def test_every_band_says_what_it_asks_for() -> None:
    assert set(BAND_WORDS) == {band(index) for index in (80, 95, 110, 120)}
