"""One row of a weather station's table into a reading, or into everything that is amiss in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from fractions import Fraction
from functools import lru_cache

from service.domain.nouns.placing import WeatherReading
from service.domain.weather.columns import (
    AIR,
    CONCRETE,
    FIELD_NAMES,
    FILM,
    HUMIDITY,
    NEEDED,
    RAIN,
    TIME,
    WIND,
    Columns,
)
from service.domain.weather.texts import BadWeather, humidity_mpct, number_of, wind_mmph
from service.domain.weather.times import BadTime, naive_time, parts_of, to_utc
from service.domain.weather.units import CELL, SHARE, parts
from service.domain.words.speech import tr
from service.domain.words.temperatures import COLDEST_MF, FREEZING_MF, HOTTEST_MF

HOTTEST_AIR_MF = 140_000  # nobody has measured hotter air (from memory: 134 °F)
_NOTHING = {"", "-", "--", "---", "///", "m", "na", "n/a", "nan", "null", "none", "s/d"}
_RAINS, _DRY = {"yes", "y", "true", "si", "sí", "rain", "lluvia", "t", "trace"}, {"no", "n", "false", "dry"}
_SHOWN = 20  # signs of a cell that a sentence repeats


@dataclass(frozen=True, slots=True)
class Told:
    """Something about a line of the file (0: about all of it): a code, and its words."""

    line: int
    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Way:
    """How the rows are to be read. `units` by field and `order` are empty where somebody has to be asked."""

    width: int
    columns: Columns
    units: Mapping[str, str]
    order: str
    zone: tzinfo


def cell_at(cells: Sequence[str], at: int) -> str:
    """The cell in this column; empty where the row is too short."""
    return cells[at] if at < len(cells) else ""


def when(cells: Sequence[str], columns: Columns) -> str:
    """The time as the row writes it, in one column or two."""
    return " ".join(cell_at(cells, at) for at in columns.time)


def reading_of(
    line: int, cells: Sequence[str], way: Way, faults: list[Told], notes: list[Told]
) -> WeatherReading | None:
    """The row's reading, or None with all that is amiss in `faults`; `notes` tell of what is kept."""
    if any(cells[way.width :]):
        told = tr(
            "More cells than headings, as where a comma parts both cells and decimals. This row is left out."
        )
        faults.append(Told(line, "cells", told))
        return None
    amiss: list[Told] = []
    at = _time(line, when(cells, way.columns), way, amiss, notes)
    values = {
        field: _value(line, field, cell_at(cells, way.columns.at[field]), unit, amiss, notes)
        for field, unit in way.units.items()
    }
    rain = RAIN in way.columns.at and _rain(line, cell_at(cells, way.columns.at[RAIN]), amiss, notes)
    faults += amiss
    air, humidity, wind = (values[field] for field in NEEDED)
    if amiss or at is None or air is None or humidity is None or wind is None:
        return None
    return WeatherReading(at, air, values.get(CONCRETE), values.get(FILM), humidity, wind, rain)


def _time(line: int, text: str, way: Way, amiss: list[Told], notes: list[Told]) -> datetime | None:
    try:
        if not way.order:
            parts_of(text)
            return None
        at, clocks = to_utc(naive_time(text, way.order), way.zone)
    except BadTime as bad:
        told = tr("{field}: {why}. This row is left out.", field=tr(FIELD_NAMES[TIME]), why=bad)
        amiss.append(Told(line, "time", told))
        return None
    if clocks == "skipped":
        told = tr("The clocks skipped this time: read as if they had not moved yet.")
        notes.append(Told(line, clocks, told))
    elif clocks == "twice":
        notes.append(Told(line, clocks, tr("The clocks show this time twice: read as the first.")))
    return at


def _value(line: int, field: str, cell: str, unit: str, amiss: list[Told], notes: list[Told]) -> int | None:
    try:
        return _reading_in(field, cell, unit)
    except BadWeather as bad:
        code, why = bad.code, str(bad)
    name = tr(FIELD_NAMES[field])
    if cell.lower() in _NOTHING and field in NEEDED:
        amiss.append(Told(line, "empty", tr("{field}: empty. This row is left out.", field=name)))
    elif cell.lower() in _NOTHING:
        notes.append(Told(line, "empty", tr("{field}: empty. The row is kept without it.", field=name)))
    else:
        told = tr("{field}: “{cell}”. {why} This row is left out.", field=name, cell=cell[:_SHOWN], why=why)
        amiss.append(Told(line, code, told))
    return None


@lru_cache(maxsize=1 << 16)
def _reading_in(field: str, cell: str, unit: str) -> int | None:
    """A cell's reading; None while nobody knows the unit. BadWeather where there is none."""
    number, own = parts(field, cell)
    if number is None:
        raise BadWeather("no-number", tr("That is no number."))
    return _READ[field](number, own or unit) if own or unit else None


def _degrees(number: Fraction, unit: str, hottest_mf: int) -> int:
    mf = round(number * 1000 if unit == "F" else number * 1800 + FREEZING_MF)
    if not COLDEST_MF <= mf <= hottest_mf:
        raise BadWeather("out-of-range", tr("No site is so hot or so cold: check it and its unit."))
    return mf


_READ: Mapping[str, Callable[[Fraction, str], int]] = {
    AIR: lambda number, unit: _degrees(number, unit, HOTTEST_AIR_MF),
    CONCRETE: lambda number, unit: _degrees(number, unit, HOTTEST_MF),
    FILM: lambda number, unit: _degrees(number, unit, HOTTEST_MF),
    HUMIDITY: lambda number, unit: humidity_mpct(number * 100 if unit == SHARE else number),
    WIND: wind_mmph,
}


def _rain(line: int, cell: str, amiss: list[Told], notes: list[Told]) -> bool:
    said, name = cell.lower(), tr(FIELD_NAMES[RAIN])
    if said in _RAINS or said in _DRY:
        return said in _RAINS
    found = CELL.fullmatch(said)
    number = number_of(found["number"]) if found else None
    if said in _NOTHING or (number is not None and number < 0):
        told = tr("{field}: not measured. Look for yourself.", field=name)
        notes.append(Told(line, "rain-unknown", told))
    elif number is None:
        told = tr(
            "{field}: “{cell}” is neither a number nor yes or no. This row is left out.",
            field=name,
            cell=cell[:_SHOWN],
        )
        amiss.append(Told(line, "rain", told))
    return number is not None and number > 0
