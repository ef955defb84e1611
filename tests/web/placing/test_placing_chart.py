"""The chart of a day's evaporation: each part where its number says, and told in words for who sees none."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from service.domain.nouns.placing import WeatherReading
from service.domain.weather.chart import day_chart
from service.domain.weather.evaporation import LIMITS
from service.web.placing.chart import BOTTOM, LEFT, RIGHT, TOP, RateChart, draw_chart

SIX = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)  # 6 am in Chicago
ZONE = "America/Chicago"
USUAL = LIMITS["usual"]


def reading(hours: float, wind_mph: int = 10, concrete_mf: int | None = 90_000) -> WeatherReading:
    """90 °F air and concrete at 10 % humidity."""
    at = SIX + timedelta(hours=hours)
    return WeatherReading(at, 90_000, concrete_mf, None, 10_000, wind_mph * 1000, False)


def drawn(*readings: WeatherReading, assumed: int | None = None) -> RateChart:
    chart = day_chart(readings, USUAL, "us", assumed_concrete_mf=assumed)
    found = draw_chart(chart, ZONE, "Evaporation")
    assert found is not None
    return found


def points(path: str) -> list[list[tuple[float, float]]]:
    """The points of each piece of a path."""
    pieces = [piece for piece in path.split("M") if piece]
    return [[(float(x), float(y)) for x, y in re.findall(r"([-\d.]+) ([-\d.]+)", piece)] for piece in pieces]


def rate_at(chart: RateChart, y: float) -> float:
    """The rate that a height stands for, read off the figures of the axis as a person reads it."""
    low, high = chart.ticks[0], chart.ticks[-1]
    share = (low.y - (y + 4.5)) / (low.y - high.y)
    return float(low.text) + share * (float(high.text) - float(low.text))


def test_heights_are_the_published_rates() -> None:
    """PCA, Design and Control of Concrete Mixtures: 90 °F, 10 %, 10 mph is 0.336 lb/ft²/h, and 25 mph 0.740
    (from memory); the larger of two formulas lies within a tenth of it."""
    chart = drawn(reading(0), reading(1, 25))
    ((first, second),) = points(chart.line)
    assert abs(rate_at(chart, first[1]) - 0.336) < 0.034 and abs(rate_at(chart, second[1]) - 0.740) < 0.074
    assert abs(rate_at(chart, chart.limit_y) - 0.2) < 0.002
    ((*ends,),) = points(chart.band)
    top, low = ends[0][1], ends[-1][1]
    middle = rate_at(chart, first[1])
    assert abs(rate_at(chart, top) - 1.4 * middle) < 0.01, "40 % above"
    assert rate_at(chart, low) < 0.62 * middle, "40 % below the lesser of the two"
    assert all(TOP <= y <= BOTTOM and LEFT <= x <= RIGHT for x, y in ends)


def test_hours_of_the_site_stand_below_and_readings_lie_true_to_time() -> None:
    chart = drawn(reading(0.5), reading(2), reading(4))
    assert chart.hours[0].text == "6 am"
    ((a, b, c),) = points(chart.line)
    assert abs((b[0] - a[0]) / (c[0] - a[0]) - 1.5 / 3.5) < 0.01
    assert chart.hours[0].x == LEFT and chart.hours[-1].text == "10 am" and chart.hours[-1].x == RIGHT


def test_the_line_breaks_where_nobody_read_for_long_and_where_no_rate_is_known() -> None:
    chart = drawn(reading(0), reading(1), reading(4.5), reading(5), reading(6, concrete_mf=None), reading(7))
    assert [len(piece) for piece in points(chart.line)] == [2, 2, 1]
    assert len(points(chart.band)) == 3 and len(chart.dots) == 5


def test_what_was_assumed_is_hollow_and_what_is_over_the_limit_is_drawn_heavier() -> None:
    chart = drawn(reading(0, 3), reading(1, 3), reading(2), reading(3, concrete_mf=None), assumed=90_000)
    assert [dot.hollow for dot in chart.dots] == [False, False, False, True]
    ((*heavy,),) = points(chart.over)
    ((*line,),) = points(chart.line)
    assert heavy == line[2:], "0.15 in a light wind is near 0.2 and not over it; 0.34 is over"


def test_it_is_told_in_a_sentence_with_its_highest_rate_and_when_the_limit_was_reached() -> None:
    told = drawn(reading(0, 0), reading(1.5)).label
    assert "the highest estimate is 0.35 lb per sq ft and hour, at 7:30 am" in told
    assert "the limit is 0.20" in told and told.endswith("It first reaches it at 7:30 am.")
    assert drawn(reading(0, 0)).label.endswith("It stays under the limit.")


def test_a_day_without_any_rate_has_no_chart_and_one_reading_has_one() -> None:
    assert draw_chart(day_chart([reading(0, concrete_mf=None)], USUAL), ZONE, "Evaporation") is None
    alone = drawn(reading(0))
    ((*band,),) = points(alone.band)
    assert len(band) == 4 and band[0][0] < band[1][0], "a stroke that can be seen"


def test_the_day_the_clocks_go_back_is_an_hour_longer() -> None:
    """Sunday 1 November 2026, 2 am in Chicago: the hour from 1 to 2 comes twice."""
    start = datetime(2026, 11, 1, 5, 0, tzinfo=UTC)  # midnight
    at = [
        WeatherReading(start + timedelta(hours=n), 60_000, 70_000, None, 50_000, 5000, False)
        for n in range(4)
    ]
    chart = drawn(*at)
    assert [words.text for words in chart.hours] == ["12 am", "1 am", "1 am", "2 am"]
