"""The evaporation rate over a day's readings as numbers for a chart, and its calmest hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.domain.nouns.placing import WeatherReading
from service.domain.weather.evaporation import Limit, Rate, evaporation, standing
from service.domain.words.measures import Units

UNKNOWN = "unknown"
# How far the axis reaches at least, as a share of the limit: the limit's line stands well inside the chart.
_HEADROOM = 1.5


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One reading. `rate`: None where the concrete's temperature is not known; `assumed`: it was assumed.

    `standing`: under, near, over, or unknown.
    """

    at: datetime
    rate: Rate | None
    assumed: bool
    standing: str


@dataclass(frozen=True, slots=True)
class DayChart:
    """Points in order of time; `limit` and `top`, the least end of the axis, in the rates' unit.

    `worst`: the highest estimate; `first_over`: the first time at or over the limit. None: there is none.
    """

    points: tuple[ChartPoint, ...]
    limit: float
    units: Units
    top: float
    worst: ChartPoint | None
    first_over: datetime | None


def chart_point(
    reading: WeatherReading, limit: Limit, units: Units, assumed_concrete_mf: int | None = None
) -> ChartPoint:
    """The rate of one reading; the assumed concrete temperature stands in only where none was measured."""
    assumed = reading.concrete_mf is None
    concrete_mf = assumed_concrete_mf if reading.concrete_mf is None else reading.concrete_mf
    if concrete_mf is None:
        return ChartPoint(reading.at, None, False, UNKNOWN)
    rate = evaporation(concrete_mf, reading.air_mf, reading.humidity_mpct, reading.wind_mmph, units)
    return ChartPoint(reading.at, rate, assumed, standing(rate, limit))


def day_chart(
    readings: Sequence[WeatherReading],
    limit: Limit,
    units: Units = "us",
    *,
    assumed_concrete_mf: int | None = None,
) -> DayChart:
    """The chart of these readings, in whatever order they come."""
    points = sorted(
        (chart_point(reading, limit, units, assumed_concrete_mf) for reading in readings),
        key=lambda point: point.at,
    )
    told = [(point, point.rate) for point in points if point.rate]
    line = float(limit.of(units))
    return DayChart(
        points=tuple(points),
        limit=line,
        units=units,
        top=max([_HEADROOM * line, *(rate.high for _, rate in told)]),
        worst=max(told, key=lambda found: found[1].worse)[0] if told else None,
        first_over=next((point.at for point in points if point.standing == "over"), None),
    )


def calmest(chart: DayChart, hours: int) -> tuple[datetime, datetime] | None:
    """The stretch of so many hours whose highest estimate is the lowest; the earliest of equals.

    None where no reading to reading stretch is so long with every rate known.
    """
    best: tuple[float, datetime] | None = None
    span = timedelta(hours=hours)
    for i, first in enumerate(chart.points):
        worst = _worst_within(chart.points[i:], first.at + span)
        if worst is not None and (best is None or worst < best[0]):
            best = (worst, first.at)
    return (best[1], best[1] + span) if best else None


def _worst_within(points: Sequence[ChartPoint], end: datetime) -> float | None:
    """The highest estimate up to the first point at or past the end; None where that cannot be told."""
    worst = 0.0
    for point in points:
        if point.rate is None:
            return None
        worst = max(worst, point.rate.worse)
        if point.at >= end:
            return worst
    return None
