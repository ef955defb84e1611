"""A day's evaporation rate drawn: the estimate as a line in its hatched band, the limit ruled, hours below.

Numbers come from `domain.weather_chart`; here they only get their places, in units of a phone's width.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from service.domain.weather.chart import ChartPoint, DayChart
from service.domain.weather.texts import rate_figures, rate_unit, say_rate
from service.domain.words.measures import Units
from service.domain.words.speech import tr
from service.web.serving.render import clock

WIDTH, HEIGHT = 360, 250
LEFT, RIGHT, TOP, BOTTOM = 40, 352, 14, 214
# Readings farther apart than this are not joined: nobody knows what the weather did between them.
JOINED = timedelta(hours=3)
MOST_DOTS = 48
WORDS_WIDE = 80  # what the words at the limit's line take, in drawing units
_TICKS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading. `hollow`: its concrete temperature was assumed."""

    x: float
    y: float
    hollow: bool


@dataclass(frozen=True, slots=True)
class Words:
    """Words of an axis: where they stand."""

    x: float
    y: float
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class RateChart:
    """What `placing.chart` draws. Paths are SVG; `limit_y` is the limit's line; `over` is where the estimate
    is at or over it, drawn heavier."""

    view: str
    width: int
    height: int
    label: str
    unit: str
    rules: str
    ticks: tuple[Words, ...]
    hours: tuple[Words, ...]
    band: str
    line: str
    over: str
    dots: tuple[Dot, ...]
    limit_y: float
    limit: Words


def draw_chart(chart: DayChart, time_zone: str, title: str) -> RateChart | None:
    """The chart of one day's readings; None where no rate is known."""
    known = [point for point in chart.points if point.rate is not None]
    if not known:
        return None
    frame = _Frame(chart, ZoneInfo(time_zone))
    runs = tuple(_runs(chart.points))
    limit_y = frame.y(chart.limit)
    limit = tr("limit {figure}", figure=_figure(chart.limit))
    return RateChart(
        view=f"0 0 {WIDTH} {HEIGHT}",
        width=WIDTH,
        height=HEIGHT,
        label=_label(chart, time_zone, title),
        unit=rate_unit(chart.units),
        rules=frame.rules(),
        ticks=frame.tick_words(),
        hours=frame.hour_words(),
        band="".join(frame.band(run) for run in runs),
        line="".join(frame.line(run) for run in runs),
        over="".join(frame.line(run) for run in _over(runs)),
        dots=tuple(frame.dot(point) for point in known) if len(known) <= MOST_DOTS else (),
        limit_y=limit_y,
        limit=_limit_words(frame, known, limit_y, limit),
    )


def _limit_words(frame: _Frame, known: Sequence[ChartPoint], limit_y: float, text: str) -> Words:
    """Over the limit's line, at the end where the estimate leaves more room."""
    y = limit_y - 5

    def room(near: float) -> float:
        dots = (frame.dot(point) for point in known)
        return min((abs(dot.y - y) for dot in dots if abs(dot.x - near) < WORDS_WIDE), default=HEIGHT)

    if room(LEFT) > room(RIGHT):
        return Words(LEFT + 4, y, text, "start")
    return Words(RIGHT - 4, y, text, "end")


def _runs(points: Sequence[ChartPoint]) -> Iterator[list[ChartPoint]]:
    """The readings with a rate, parted where one has none and where nobody read for long."""
    run: list[ChartPoint] = []
    for point in points:
        if run and (point.rate is None or point.at - run[-1].at > JOINED):
            yield run
            run = []
        if point.rate is not None:
            run.append(point)
    if run:
        yield run


def _over(runs: Sequence[list[ChartPoint]]) -> Iterator[list[ChartPoint]]:
    """The stretches of two readings and more that are at or over the limit from end to end."""
    for run in runs:
        found: list[ChartPoint] = []
        for point in (*run, None):
            if point is not None and point.standing == "over":
                found.append(point)
                continue
            if len(found) > 1:
                yield found
            found = []


class _Frame:
    """Where a time and a rate stand. The axis of time runs from a full hour to a full hour of the site."""

    def __init__(self, chart: DayChart, zone: ZoneInfo) -> None:
        self._zone = zone
        first, last = chart.points[0].at, chart.points[-1].at
        self._start = _hour_at(first, zone)
        end = _hour_at(last, zone)
        end = end if end == last and end > self._start else end + timedelta(hours=1)
        self._hours = max(2, round((end - self._start) / timedelta(hours=1)))
        self._step = next((t for t in _TICKS if chart.top / t <= 5), _TICKS[-1])
        self._top = math.ceil(chart.top / self._step - 1e-9) * self._step

    def x(self, at: datetime) -> float:
        share = (at - self._start) / timedelta(hours=self._hours)
        return round(LEFT + share * (RIGHT - LEFT), 1)

    def y(self, rate: float) -> float:
        return round(BOTTOM - rate / self._top * (BOTTOM - TOP), 1)

    def rules(self) -> str:
        """A thin line at every full figure."""
        return "".join(f"M{LEFT} {self.y(tick):g}H{RIGHT}" for tick in self._ticks())

    def _ticks(self) -> list[float]:
        return [n * self._step for n in range(round(self._top / self._step) + 1)]

    def tick_words(self) -> tuple[Words, ...]:
        return tuple(Words(LEFT - 5, self.y(t) + 4.5, _figure(t), "end") for t in self._ticks())

    def hour_words(self) -> tuple[Words, ...]:
        every = max(1, math.ceil(self._hours / 4))
        found = []
        for n in range(0, self._hours + 1, every):
            at = self._start + timedelta(hours=n)
            anchor = "start" if n == 0 else "end" if n == self._hours else "middle"
            found.append(Words(self.x(at), BOTTOM + 20, _hour(at, self._zone), anchor))
        return tuple(found)

    def line(self, run: Sequence[ChartPoint]) -> str:
        return "M" + "L".join(f"{self.x(p.at):g} {self.y(p.rate.worse):g}" for p in run if p.rate)

    def band(self, run: Sequence[ChartPoint]) -> str:
        """From low to high and back; of one reading alone an upright stroke's width."""
        ends = [(self.x(p.at), self.y(p.rate.low), self.y(p.rate.high)) for p in run if p.rate]
        if len(ends) == 1:
            x, low, high = ends[0]
            ends = [(x - 3, low, high), (x + 3, low, high)]
        there = "L".join(f"{x:g} {high:g}" for x, _, high in ends)
        back = "L".join(f"{x:g} {low:g}" for x, low, _ in reversed(ends))
        return f"M{there}L{back}Z"

    def dot(self, point: ChartPoint) -> Dot:
        assert point.rate is not None, "a reading with no rate has no dot"
        return Dot(self.x(point.at), self.y(point.rate.worse), point.assumed)


def _hour_at(at: datetime, zone: ZoneInfo) -> datetime:
    """The full hour before, as the site's clocks show it."""
    local = at.astimezone(zone)
    return at - timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)


def _hour(at: datetime, zone: ZoneInfo) -> str:
    return clock(at, str(zone)).replace(":00", "")


def _figure(rate: float) -> str:
    """A figure of the axis: no more decimals than it has."""
    return f"{rate:.3f}".rstrip("0").rstrip(".") if rate else "0"


def _label(chart: DayChart, time_zone: str, title: str) -> str:
    """The chart in one sentence, for whoever does not see it."""
    worst, limit = chart.worst, say_rate(chart.limit, chart.units)
    assert worst is not None and worst.rate is not None, "a chart has a rate"
    told = tr(
        "{title}: the highest estimate is {rate}, at {time}; the limit is {limit}.",
        title=title,
        rate=say_rate(worst.rate.worse, chart.units),
        time=clock(worst.at, time_zone),
        limit=limit,
    )
    if chart.first_over is None:
        return " ".join((told, tr("It stays under the limit.")))
    return " ".join((told, tr("It first reaches it at {time}.", time=clock(chart.first_over, time_zone))))


def range_figures(point: ChartPoint, units: Units) -> str:
    """`0.03 to 0.09` for a table whose head names the unit."""
    if point.rate is None:
        return tr("not known")
    low, high = rate_figures(point.rate.low, up=False), rate_figures(point.rate.high)
    return tr("{low} to {high}", low=low, high=high)
