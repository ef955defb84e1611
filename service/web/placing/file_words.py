"""What a weather station's file says, in words: what would be taken of it, and what is left out and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.actions.placing.weather_files import MOST_TAKEN, Understood
from service.domain.nouns.placing import WeatherReading
from service.domain.weather.rows import Told
from service.domain.weather.texts import say_humidity, say_wind
from service.domain.words.measures import Units
from service.domain.words.speech import tr, trn
from service.domain.words.temperatures import say_temperature
from service.web.serving.render import clock, moment

MOST_LINES = 500
SAMPLE = 3


@dataclass(frozen=True, slots=True)
class Line:
    """Lines of the file that the same is told of; `where` is empty for the whole file."""

    where: str
    text: str


@dataclass(frozen=True, slots=True)
class WeatherRow:
    """One reading as a row of a table. What was not measured is told so."""

    time: str
    air: str
    concrete: str
    film: str
    humidity: str
    wind: str
    rain: str


def understood_rows(found: Understood, time_zone: str) -> tuple[tuple[str, ...], ...]:
    """Pairs or triples for the facts: what the file holds and what would be taken of it."""
    rows: list[tuple[str, ...]] = [(tr("Rows in the file"), f"{found.station.rows:,}")]
    if found.fresh:
        first, last = (moment(found.fresh[at].at, time_zone) for at in (0, -1))
        span = first if len(found.fresh) == 1 else tr("{first} to {last}", first=first, last=last)
        rows.append((tr("To be taken"), f"{len(found.fresh):,}", span))
    if found.too_many:
        told = trn(
            "At most {n} reading is taken at once. Choose the days that are wanted.",
            "At most {n} readings are taken at once. Choose the days that are wanted.",
            MOST_TAKEN,
        )
        rows.append((tr("Too many"), told))
    counted = (
        (tr("Left out: taken before"), found.known, tr("The same time, with the same values.")),
        (tr("Left out: another reading has their time"), found.differ, _differ_words()),
        (tr("Left out: still to come"), found.early, tr("A forecast is no reading.")),
        (tr("Left out: cannot be read"), len({told.line for told in found.station.faults if told.line}), ""),
    )
    rows += [(name, f"{count:,}", *([small] if small else [])) for name, count, small in counted if count]
    return tuple(rows)


def _differ_words() -> str:
    return tr(
        "Their values differ from those taken before. Withdraw those first if these are the right ones."
    )


def lines_told(told: Sequence[Told]) -> tuple[Line, ...]:
    """Everything told, with lines that follow one another and say the same drawn together; past 500, how many
    more there are."""
    groups: list[tuple[int, int, str]] = []
    for each in told:
        if groups and groups[-1][2] == each.text and 0 <= each.line - groups[-1][1] <= 1:
            groups[-1] = (groups[-1][0], each.line, each.text)
        else:
            groups.append((each.line, each.line, each.text))
    lines = [Line(_where(first, last), text) for first, last, text in groups[:MOST_LINES]]
    rest = len(groups) - MOST_LINES
    if rest > 0:
        lines.append(Line("", trn("And {n} more like these.", "And {n} more like these.", rest)))
    return tuple(lines)


def _where(first: int, last: int) -> str:
    if not first:
        return ""
    if first == last:
        return tr("Line {n}", n=f"{first:,}")
    return tr("Lines {first} to {last}", first=f"{first:,}", last=f"{last:,}")


def sample_rows(readings: Sequence[WeatherReading], time_zone: str, units: Units) -> tuple[WeatherRow, ...]:
    """The first and the last readings, to be looked at before all are taken."""
    shown = readings if len(readings) <= 2 * SAMPLE else (*readings[:SAMPLE], *readings[-SAMPLE:])
    return tuple(weather_row(one, moment(one.at, time_zone), units) for one in shown)


def weather_row(reading: WeatherReading, when: str, units: Units) -> WeatherRow:
    return WeatherRow(
        when,
        say_temperature(reading.air_mf, units),
        degrees(reading.concrete_mf, units),
        degrees(reading.film_mf, units),
        say_humidity(reading.humidity_mpct),
        say_wind(reading.wind_mmph, units),
        tr("rain") if reading.rain else tr("dry"),
    )


def row_at_clock(reading: WeatherReading, time_zone: str, units: Units) -> WeatherRow:
    """The row with the time of day alone, for a table of one day."""
    return weather_row(reading, clock(reading.at, time_zone), units)


def degrees(mf: int | None, units: Units) -> str:
    """A temperature, or that it was not measured."""
    return tr("not measured") if mf is None else say_temperature(mf, units)
