"""A day's readings as a chart's numbers: in order of time, the unknown kept apart, the calmest hours."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.domain.nouns.placing import WeatherReading
from service.domain.weather.chart import calmest, day_chart
from service.domain.weather.evaporation import LIMITS, evaporation

START = datetime(2026, 7, 3, 6, tzinfo=UTC)
LIMIT = LIMITS["usual"]


def reading(hour: float, *, wind: int = 5, concrete: int | None = 80) -> WeatherReading:
    """70 °F air at 50 %, so many hours into the day, wind in mph, concrete in °F."""
    concrete_mf = None if concrete is None else concrete * 1000
    return WeatherReading(
        START + timedelta(hours=hour), 70_000, concrete_mf, None, 50_000, wind * 1000, False
    )


def test_points_stand_in_order_of_time_with_the_rate_of_each() -> None:
    chart = day_chart([reading(2, wind=20), reading(0), reading(1, wind=10)], LIMIT)
    assert [point.at - START for point in chart.points] == [timedelta(hours=hour) for hour in (0, 1, 2)]
    assert [point.rate for point in chart.points] == [
        evaporation(80_000, 70_000, 50_000, wind * 1000) for wind in (5, 10, 20)
    ]
    assert [point.standing for point in chart.points] == ["under", "near", "over"]
    assert chart.worst == chart.points[2]
    assert chart.first_over == START + timedelta(hours=2)
    assert chart.limit == 0.2


def test_without_the_concretes_temperature_a_point_is_unknown_and_no_rate_of_nothing() -> None:
    (point,) = day_chart([reading(0, concrete=None)], LIMIT).points
    assert (point.rate, point.standing) == (None, "unknown")
    chart = day_chart([reading(0, concrete=None)], LIMIT)
    assert (chart.worst, chart.first_over) == (None, None)


def test_an_assumed_temperature_stands_in_only_where_none_was_measured() -> None:
    chart = day_chart([reading(0, concrete=None), reading(1)], LIMIT, assumed_concrete_mf=95_000)
    assert [point.assumed for point in chart.points] == [True, False]
    assert chart.points[0].rate == evaporation(95_000, 70_000, 50_000, 5_000)
    assert chart.points[1].rate == evaporation(80_000, 70_000, 50_000, 5_000)


@given(st.lists(st.integers(0, 60), max_size=8))
def test_the_axis_holds_every_high_end_and_the_limit_with_room(winds: list[int]) -> None:
    chart = day_chart([reading(hour, wind=wind) for hour, wind in enumerate(winds)], LIMIT)
    assert chart.top >= 1.5 * chart.limit
    assert all(point.rate and point.rate.high <= chart.top for point in chart.points)


def test_a_metric_chart_has_the_metric_limit_and_rates() -> None:
    chart = day_chart([reading(0)], LIMIT, "metric")
    assert (chart.limit, chart.units) == (1.0, "metric")
    assert chart.points[0].rate == evaporation(80_000, 70_000, 50_000, 5_000, "metric")


def test_the_calmest_hours_are_those_whose_worst_is_least() -> None:
    winds = (12, 3, 2, 9, 1, 1, 1, 20)
    chart = day_chart([reading(hour, wind=wind) for hour, wind in enumerate(winds)], LIMIT)
    assert calmest(chart, 2) == (START + timedelta(hours=4), START + timedelta(hours=6))
    assert calmest(chart, 1) == (START + timedelta(hours=4), START + timedelta(hours=5)), (
        "the earliest of equals"
    )


def test_hours_with_a_reading_missing_or_past_the_last_are_never_called_calm() -> None:
    chart = day_chart([reading(0, wind=9), reading(1, wind=9), reading(2, concrete=None), reading(3)], LIMIT)
    assert calmest(chart, 1) == (START, START + timedelta(hours=1))
    assert calmest(chart, 2) is None
    assert calmest(day_chart([], LIMIT), 1) is None


@given(st.lists(st.integers(0, 40), min_size=3, max_size=12), st.integers(1, 4))
def test_no_other_stretch_has_a_lower_worst(winds: list[int], hours: int) -> None:
    """Against every stretch tried out."""
    chart = day_chart([reading(hour, wind=wind) for hour, wind in enumerate(winds)], LIMIT)
    worst = {
        start: max(winds[start : start + hours + 1])
        for start in range(len(winds))
        if start + hours < len(winds)
    }
    found = calmest(chart, hours)
    if not worst:
        assert found is None
    else:
        assert found is not None
        start = (found[0] - START) // timedelta(hours=1)
        assert worst[start] == min(worst.values())
