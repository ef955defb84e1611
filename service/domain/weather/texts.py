"""Humidity, wind and rates of evaporation as people write and read them: exact, the unit always written."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from service.domain.weather.evaporation import Rate
from service.domain.words.measures import LONGEST_TEXT, Units
from service.domain.words.speech import tr, trc

STRONGEST_MMPH = 150_000
# Metres an hour of one of each, exact by definition (mile: 1959 agreement; knot: 1852 m an hour).
METRES_AN_HOUR = {
    "mph": Fraction("1609.344"),
    "km/h": Fraction(1000),
    "m/s": Fraction(3600),
    "knots": Fraction(1852),
}
WIND_NAMES = {
    "mph": "mph", "mi/h": "mph", "mi/hr": "mph", "millas/h": "mph",
    "km/h": "km/h", "kmh": "km/h", "kph": "km/h", "km/hr": "km/h", "kmph": "km/h",
    "m/s": "m/s", "mps": "m/s", "ms": "m/s", "m/seg": "m/s",
    "kn": "knots", "kt": "knots", "kts": "knots", "knot": "knots", "knots": "knots",
    "nudo": "knots", "nudos": "knots",
}  # fmt: skip
NUMBER = re.compile(r"[+-]?[0-9]{1,6}(?:[.,][0-9]{1,6})?|[+-]?[.,][0-9]{1,6}")
_WITH_UNIT = re.compile(rf"(?P<number>{NUMBER.pattern})\s*(?P<unit>[a-z/%.]*)")


class BadWeather(ValueError):
    """A reading that cannot be read: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


def number_of(text: str) -> Fraction:
    """A plain number with a point or a comma for its decimals, exactly."""
    return Fraction(text.replace(",", "."))


def parse_humidity(text: str) -> int:
    """Thousandths of a percent from `55` or `55 %`; raises BadWeather only."""
    number, unit = _parts(text)
    if number is None or unit not in ("", "%", "rh", "%rh", "hr", "%hr"):
        raise BadWeather("unreadable", tr("Write the humidity in percent, like 55 %."))
    return humidity_mpct(number)


def humidity_mpct(percent: Fraction) -> int:
    """Thousandths of a percent, to the nearest; BadWeather outside 0 to 100."""
    if not 0 <= percent <= 100:
        raise BadWeather("out-of-range", tr("A relative humidity lies between 0 and 100 percent: check it."))
    return round(percent * 1000)


def parse_wind(text: str) -> int:
    """Thousandths of mph from `12 mph`, `20 km/h`, `5 m/s` or `10 knots`; raises BadWeather only."""
    number, unit = _parts(text)
    if number is None:
        raise BadWeather(
            "unreadable", tr("Write the wind with its unit, like 12 mph, 20 km/h, 5 m/s or 10 knots.")
        )
    if unit not in WIND_NAMES:
        told = tr("{number} of what? Write mph, km/h, m/s or knots behind the wind.", number=text.strip())
        raise BadWeather("no-unit", told)
    return wind_mmph(number, WIND_NAMES[unit])


def wind_mmph(number: Fraction, unit: str) -> int:
    """Thousandths of mph, to the nearest, of a wind in a unit of METRES_AN_HOUR; BadWeather past 150 mph."""
    mmph = round(number * METRES_AN_HOUR[unit] / METRES_AN_HOUR["mph"] * 1000)
    if number < 0 or mmph > STRONGEST_MMPH:
        raise BadWeather(
            "out-of-range", tr("A wind lies between 0 and 150 mph (240 km/h): check it and its unit.")
        )
    return mmph


def _parts(text: str) -> tuple[Fraction | None, str]:
    plain = text.strip().lower().replace("−", "-")
    found = _WITH_UNIT.fullmatch(plain) if len(plain) <= LONGEST_TEXT else None
    return (number_of(found["number"]), found["unit"].rstrip(".")) if found else (None, "")


def say_humidity(mpct: int) -> str:
    """`55 %`, to the nearest percent."""
    return f"{(2 * mpct + 1000) // 2000} %"


def say_wind(mmph: int, units: Units) -> str:
    """`12 mph` or `19 km/h`, rounded up: no wind is shown weaker than it was."""
    if units == "us":
        return f"{-(-mmph // 1000)} {trc('unit', 'mph')}"
    return f"{math.ceil(mmph * METRES_AN_HOUR['mph'] / METRES_AN_HOUR['km/h'] / 1000)} km/h"


def rate_unit(units: Units) -> str:
    """The unit of a rate of evaporation, as a chart's axis names it."""
    return trc("unit", "lb per sq ft and hour") if units == "us" else trc("unit", "kg per m² and hour")


def say_rate(value: float, units: Units) -> str:
    """`0.06 lb per sq ft and hour`: two figures at most, rounded up, for the estimate knows no third."""
    return f"{rate_figures(value)} {rate_unit(units)}"


def say_rate_range(rate: Rate) -> str:
    """`0.03 to 0.09 lb per sq ft and hour`: its low end rounded down, its high end up."""
    low, high = rate_figures(rate.low, up=False), rate_figures(rate.high)
    return tr("{low} to {high} {unit}", low=low, high=high, unit=rate_unit(rate.units))


def rate_figures(value: float, *, up: bool = True) -> str:
    """Hundredths below 1 and tenths from there; a part in a million of a step counts as none."""
    steps = 100 if value < 1 else 10
    scaled = value * steps
    whole = math.ceil(scaled - 1e-6) if up else math.floor(scaled + 1e-6)
    return f"{whole / steps:.2f}" if steps == 100 else f"{whole / steps:.1f}"
