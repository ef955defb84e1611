"""Reads a weather station's table as a person pastes it: what it leaves out is asked, what is amiss is told.

Everything amiss is told at once, with its line; nothing is guessed and nothing dropped in silence. While
there is a question there are no readings.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from itertools import pairwise

from service.domain.nouns.placing import WeatherReading
from service.domain.weather.columns import CONCRETE, RAIN, Columns, Question, columns_of, known, words_of
from service.domain.weather.evaporation import WIND_HEIGHT
from service.domain.weather.rows import Told, Way, cell_at, reading_of, when
from service.domain.weather.texts import NUMBER
from service.domain.weather.times import order_of
from service.domain.weather.units import unit_of
from service.domain.words.speech import tr, trn

MOST_ROWS, MOST_BYTES = 50_000, 2_000_000
_SEPARATORS = ("\t", ";", "|", ",")
_HEADING_WITHIN = 40  # lines: some stations print where they stand before the headings

Row = tuple[int, tuple[str, ...]]  # the line's number, and its cells


@dataclass(frozen=True, slots=True)
class Station:
    """What a file gives. `faults`: rows left out; `notes`: kept, and needs a word; `rows`: of data."""

    readings: tuple[WeatherReading, ...]
    questions: tuple[Question, ...]
    faults: tuple[Told, ...]
    notes: tuple[Told, ...]
    rows: int


def text_of(data: bytes) -> str:
    """The text of an uploaded file: UTF-8, UTF-16 with its mark, else Windows-1252."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def read_station(text: str, zone: tzinfo, answers: Mapping[str, str] | None = None) -> Station:
    """The readings of a station's table, with every question, fault and note there is.

    `zone`: of times that name none. `answers`: what a person said to questions asked before, by their keys.
    """
    answers = answers or {}
    if len(text) > MOST_BYTES or len(text.encode(errors="replace")) > MOST_BYTES:
        told = tr("A file of readings has at most 2 MB: take a shorter time. Nothing was read.")
        return _refused("too-big", told)
    headings, rows = _table(text)
    if len(rows) > MOST_ROWS:
        told = trn(
            "A file of readings has at most {n} row: take a shorter time. Nothing was read.",
            "A file of readings has at most {n} rows: take a shorter time. Nothing was read.",
            MOST_ROWS,
        )
        return _refused("too-many-rows", told)
    if len(headings) < 2 or not rows:
        return _refused("no-table", tr("No table was found: a line of headings, and rows under it."))
    asked: list[Question] = []
    columns = columns_of(headings, answers, asked)
    if columns is None:
        return Station((), tuple(asked), (), (), len(rows))
    return _read(rows, _way(headings, rows, columns, zone, answers, asked), tuple(asked))


def _refused(code: str, told: str) -> Station:
    return Station((), (), (Told(0, code, told),), (), 0)


def _cells(line: str, separator: str) -> tuple[str, ...]:
    """The cells of one line: read by itself, so that a quote left open costs its own line alone."""
    try:
        return tuple(cell.strip() for cell in next(csv.reader([line], delimiter=separator), []))
    except csv.Error:
        return (line,)


def _table(text: str) -> tuple[tuple[str, ...], tuple[Row, ...]]:
    """Headings and rows, by the separator and the line that tell most of what is needed."""
    lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    best, separator, place = (-1, 0), ",", -1
    for tried in _SEPARATORS:
        for at, (_, line) in enumerate(lines[:_HEADING_WITHIN]):
            cells = _cells(line, tried)
            if (known(cells), len(cells)) > best:
                best, separator, place = (known(cells), len(cells)), tried, at
    headings = _cells(lines[place][1], separator) if lines else ()
    if any(NUMBER.fullmatch(cell) for cell in headings):  # data from its first line on: the columns are asked
        headings, place = ("",) * len(headings), -1
    return headings, tuple((n, _cells(line, separator)) for n, line in lines[place + 1 :])


def _way(
    headings: Sequence[str],
    rows: Sequence[Row],
    columns: Columns,
    zone: tzinfo,
    answers: Mapping[str, str],
    asked: list[Question],
) -> Way:
    heading = " ".join(headings[at] for at in columns.time)
    order = order_of((when(cells, columns) for _, cells in rows), heading, answers, asked)
    units = {
        field: unit_of(field, headings[at], [cell_at(cells, at) for _, cells in rows], answers, asked)
        for field, at in columns.at.items()
        if field != RAIN
    }
    named = UTC if words_of(heading) & {"utc", "gmt"} else zone
    return Way(len(headings), columns, units, order, named)


def _read(rows: Sequence[Row], way: Way, questions: tuple[Question, ...]) -> Station:
    faults: list[Told] = []
    of_rows: list[Told] = []
    read = ((line, reading_of(line, cells, way, faults, of_rows)) for line, cells in rows)
    found = [(line, reading) for line, reading in read if reading is not None]
    notes = (*_of_all(way), *sorted((*of_rows, *_of_order(found)), key=lambda told: told.line))
    readings = sorted((reading for _, reading in found), key=lambda reading: reading.at)
    return Station(() if questions else tuple(readings), questions, tuple(faults), notes, len(rows))


def _of_all(way: Way) -> list[Told]:
    notes = [Told(0, "wind-height", tr(WIND_HEIGHT))]
    if CONCRETE not in way.columns.at:
        told = tr("No column tells the concrete's temperature: the rate needs one, measured or assumed.")
        notes.append(Told(0, "no-concrete", told))
    if RAIN not in way.columns.at:
        notes.append(Told(0, "no-rain", tr("No column tells of rain: look for yourself.")))
    return notes


def _of_order(found: Sequence[tuple[int, WeatherReading]]) -> list[Told]:
    """What is told of rows out of time order, and of times that come again; all of them are kept."""
    steps = list(pairwise(found))
    if len(steps) > 1 and all(later.at < before.at for (_, before), (_, later) in steps):
        return [
            Told(0, "newest-first", tr("The newest row comes first: the rows were put in order of time."))
        ]
    told = tr("Earlier than the row before it: kept, and put in order of time.")
    notes = [Told(line, "out-of-order", told) for (_, a), (line, b) in steps if b.at < a.at]
    first: dict[datetime, int] = {}
    for line, reading in found:
        if (seen := first.setdefault(reading.at, line)) != line:
            notes.append(Told(line, "repeated", tr("The same time as line {n}: both are kept.", n=seen)))
    return notes
