"""A placing plan and a weather reading as somebody gives them, read field by field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from service.actions.frame.asked import Asked
from service.actions.frame.doing import LONGEST_NOTE, length
from service.domain.nouns.placing import WeatherReading
from service.domain.placing import concrete
from service.domain.weather import evaporation
from service.domain.weather.texts import NUMBER, BadWeather, number_of, parse_humidity, parse_wind
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr
from service.domain.words.volume import BadVolume, check_volume

LONGEST_MIX = 200
LONGEST_VALUE = 40


@dataclass(frozen=True, slots=True)
class PlanEntry:
    """How a zone is to be placed, as in `domain.placing.PlacingPlan`."""

    thickness_nm: int
    allowance_mpct: int
    truck: str
    rate: str
    limit: str
    mix: str


def read_plan(given: Mapping[str, Any]) -> PlanEntry:
    """BadInput names every field at fault at once. `truck` and `rate` may be left empty."""
    asked = Asked(given)
    found = PlanEntry(
        asked.take(lambda: _thickness(given.get("thickness")), 0),
        asked.take(lambda: percent_mpct(given.get("allowance"), "allowance"), 0),
        asked.take(lambda: _volume(asked, "truck"), ""),
        asked.take(lambda: _volume(asked, "rate"), ""),
        asked.take(lambda: _limit(given.get("limit")), ""),
        asked.text("mix", LONGEST_MIX),
    )
    asked.done()
    return found


def _thickness(text: object) -> int:
    if not isinstance(text, str) or not text.strip():
        raise _wrong("thickness", tr("How thick is the slab? Write it like 4 in or 100 mm."))
    nm = 0 if text.strip() == "0" else length(text, "thickness", zero_ok=True)
    return checked_thickness(nm, "thickness")


def checked_thickness(nm: int, field: str) -> int:
    """A slab's thickness in nanometres; BadInput where there is no such slab."""
    try:
        concrete.needed(1.0, nm, 0)
    except concrete.BadConcrete as bad:
        raise _wrong(field, str(bad), f"{bad.code}-out-of-range") from None
    return nm


def percent_mpct(text: object, field: str) -> int:
    """Thousandths of a percent from `5`, `7.5 %` or nothing; BadInput outside 0 to 100."""
    plain = text.strip().removesuffix("%").strip() if isinstance(text, str) else ""
    if not plain:
        return 0
    told = tr("Write the allowance in percent, from 0 to 100, like 5.")
    if not NUMBER.fullmatch(plain):
        raise _wrong(field, told)
    mpct = number_of(plain) * 1000
    if not 0 <= mpct <= concrete.MOST_ALLOWANCE_MPCT or mpct.denominator != 1:
        raise _wrong(field, told)
    return int(mpct)


def _volume(asked: Asked, name: str) -> str:
    typed = asked.text(name, LONGEST_VALUE)
    try:
        return check_volume(typed) if typed else ""
    except BadVolume as bad:
        raise _wrong(name, str(bad)) from None


def _limit(name: object) -> str:
    try:
        return evaporation.limit_of(name if isinstance(name, str) else "").name
    except evaporation.BadLimit as bad:
        raise _wrong("limit", str(bad)) from None


# --- readings ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ReadingEntry:
    reading: WeatherReading
    note: str


def read_reading(given: Mapping[str, Any], now: datetime) -> ReadingEntry:
    """One reading; `at` is a time, or nothing for `now`. BadInput names every field at fault at once."""
    asked = Asked(given)
    at = given.get("at") or now
    if at > now:
        asked.wrong(
            "at", tr("That time has not come yet. A reading is of now or of earlier."), "later-than-now"
        )
    air = asked.temperature("air")
    if air is None:
        asked.wrong("air", tr("How warm is the air? Write it like 85 F or 29 C."))
    reading = WeatherReading(
        at=at,
        air_mf=air or 0,
        concrete_mf=asked.temperature("concrete"),
        film_mf=asked.temperature("film"),
        humidity_mpct=asked.take(lambda: _humidity(asked.text("humidity", LONGEST_VALUE)), 0),
        wind_mmph=asked.take(lambda: _wind(asked.text("wind", LONGEST_VALUE)), 0),
        rain=given.get("rain") is True,
    )
    note = asked.text("note", LONGEST_NOTE)
    asked.done()
    return ReadingEntry(reading, note)


def _humidity(text: str) -> int:
    try:
        return parse_humidity(text)
    except BadWeather as bad:
        raise _wrong("humidity", str(bad), f"humidity-{bad.code}") from None


def _wind(text: str) -> int:
    try:
        return parse_wind(text)
    except BadWeather as bad:
        raise _wrong("wind", str(bad), f"wind-{bad.code}") from None


def wind_with_unit(typed: str, chosen: str) -> str:
    """What was typed with the unit chosen beside it. BadInput where a unit was typed and another chosen: one
    of the two is wrong, and nobody can tell which."""
    plain = typed.strip()
    if not chosen or not plain:
        return plain
    if NUMBER.fullmatch(plain):
        return f"{plain} {chosen}"
    try:
        same = parse_wind(plain) == parse_wind(_number(plain) + f" {chosen}")
    except BadWeather:
        return plain  # told with the other fields
    if same:
        return plain
    told = tr("You wrote {typed} and chose {chosen}. Which is it?", typed=plain, chosen=chosen)
    raise _wrong("wind", told, "wind-two-units")


def _number(plain: str) -> str:
    found = NUMBER.match(plain.lower().replace("−", "-"))
    return found[0] if found else ""


def _wrong(field: str, told: str, code: str | None = None) -> BadInput:
    return BadInput(told, fields={field: told}, code=code)


def mpct_words(mpct: int) -> str:
    """`5` or `7.5`: thousandths of a percent as a person types them."""
    exact = Fraction(mpct, 1000)
    return str(exact.numerator) if exact.denominator == 1 else f"{float(exact):g}"
