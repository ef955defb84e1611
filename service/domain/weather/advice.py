"""What to do about the weather on a placing day, and when to look again: it warns and holds nothing up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.domain.nouns.placing import WeatherReading
from service.domain.weather.air import after_fog_mf, dew_point_mf
from service.domain.weather.chart import UNKNOWN, ChartPoint, chart_point
from service.domain.weather.evaporation import Limit, Rate, evaporation
from service.domain.weather.heat import BAND_WORDS, band, heat_index_f
from service.domain.weather.texts import say_rate
from service.domain.words.measures import Units
from service.domain.words.speech import later, tr
from service.domain.words.temperatures import FREEZING_MF

# Minutes until the next look, from calm to over the limit, and the last where an over rate keeps rising
# (common practice, no source).
_LOOKS = (120, 60, 30, 15, 10)
_CALM, _UNDER, _NEAR, _OVER = range(4)
# A rate counts as rising where it grew by a twentieth of the limit since a reading of the last three hours:
# a reading's own scatter does not count (common practice, no source).
_RISE, _RECENT = 1 / 20, timedelta(hours=3)

NEAR_DEW_MF = 5_000  # film this little above the dew point is watched (common practice, no source)
COLD_MF = 40_000  # ACI 306R, from memory
HOT_CONCRETE_MF = 95_000  # ACI 305.1, from memory
# What the measures are told to bring about, to compare them by (common practice, no source). In the cold fog
# turns to ice and nights are no help, and concrete is not cooled under 60 °F.
_FOGGED_MPCT, _COOLER_MF, _COOLED_ENOUGH_MF = 90_000, 10_000, 60_000

CAUTIONS = (
    later(
        "A guide for people on the slab. Local rules, the engineer of record, the maker of the material and "
        "licensed practice come first."
    ),
    later(
        "A slab on film can bleed only upward, and longer. Do not finish while bleed water stands, and do "
        "not work water into the surface."
    ),
    later("Wet concrete burns skin and eyes: gloves, boots, glasses, and water to rinse with at hand."),
)


@dataclass(frozen=True, slots=True)
class Said:
    """A code for programs, and its sentence."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Advice:
    """`state`: under, near, over or unknown; `do`: what helps most first; `look_at`: the next look's time.

    `rate` is None, and the state unknown, where the concrete's temperature is not known.
    """

    state: str
    rate: Rate | None
    rising: bool
    do: tuple[Said, ...]
    look_minutes: int
    look_at: datetime | None
    cautions: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class Heat:
    """The heat index in thousandths of a degree, its band, and what the band asks for."""

    index_mf: int
    band: str
    text: str


def advise(
    readings: Sequence[WeatherReading],
    limit: Limit,
    units: Units = "us",
    *,
    assumed_concrete_mf: int | None = None,
    now: datetime | None = None,
) -> Advice:
    """What the newest reading asks for; of a forecast, the newest one that is not past `now`."""
    past = sorted((one for one in readings if now is None or one.at <= now), key=lambda one: one.at)
    if not past:
        first = Said(
            "no-readings", tr("Take a reading: air, concrete, humidity, and wind at 20 in above the slab.")
        )
        return Advice(UNKNOWN, None, False, (first,), 0, None, ())
    points = [chart_point(one, limit, units, assumed_concrete_mf) for one in past[-2:]]
    last, newest = points[-1], past[-1]
    concrete_mf = assumed_concrete_mf if newest.concrete_mf is None else newest.concrete_mf
    rising = len(points) == 2 and _rising(points[0], last, limit, units)
    minutes = _LOOKS[_step(last, limit, units) + rising]
    return Advice(
        state=last.standing,
        rate=last.rate,
        rising=rising,
        do=_do(last, newest, concrete_mf, units),
        look_minutes=minutes,
        look_at=last.at + timedelta(minutes=minutes),
        cautions=(*_cautions(newest), *_of_concrete(concrete_mf, assumed=last.assumed)),
    )


def _rising(before: ChartPoint, last: ChartPoint, limit: Limit, units: Units) -> bool:
    if before.rate is None or last.rate is None or last.at - before.at > _RECENT:
        return False
    return last.rate.worse - before.rate.worse >= _RISE * float(limit.of(units))


def _step(point: ChartPoint, limit: Limit, units: Units) -> int:
    """Where in _LOOKS this reading stands. A rate nobody knows is looked at as soon as one over the limit."""
    if point.rate is None or point.standing == "over":
        return _OVER
    if point.standing == "near":
        return _NEAR
    return _UNDER if point.rate.high >= limit.of(units) / 2 else _CALM


def _do(
    point: ChartPoint, reading: WeatherReading, concrete_mf: int | None, units: Units
) -> tuple[Said, ...]:
    if concrete_mf is None:
        return (
            Said(
                "measure-concrete", tr("Measure the concrete's temperature: without it no rate can be told.")
            ),
        )
    if point.standing == "under":
        return (
            Said(
                "keep-looking",
                tr("Under the limit. Keep fog, windbreaks and an evaporation reducer at hand."),
            ),
        )
    first = {
        "near": Said(
            "get-ready",
            tr("The real rate may reach the limit. Get ready what stands below, and start early."),
        ),
        "over": Said("act", tr("At or over the limit. Act now, or put the placing off.")),
    }[point.standing]
    return (first, *_measures(reading, concrete_mf, units), *_habits(reading))


def _measures(reading: WeatherReading, concrete_mf: int, units: Units) -> list[Said]:
    """What changes a number the formulas know, the strongest first, each with the estimate it would bring."""
    air_mf, damp, wind = reading.air_mf, reading.humidity_mpct, reading.wind_mmph
    told = [
        (
            "windbreak",
            evaporation(concrete_mf, air_mf, damp, wind // 2, units),
            later("Windbreaks on the windward side: with half the wind the estimate would be {rate}."),
        )
    ]
    if air_mf > COLD_MF:
        fogged_mf = after_fog_mf(air_mf, damp, _FOGGED_MPCT)
        words = later(
            "Fog into the air upwind, never water on the surface: if the air over the slab came to 90 % "
            "humidity, the estimate would be {rate}."
        )
        fogged = evaporation(concrete_mf, fogged_mf, max(damp, _FOGGED_MPCT), wind, units)
        told.append(("fog", fogged, words))
    if concrete_mf - _COOLER_MF >= _COOLED_ENOUGH_MF:
        words = later(
            "Cooler concrete in the next loads, and shade: 10 °F (5.6 °C) cooler, it would be {rate}."
        )
        cooled = evaporation(concrete_mf - _COOLER_MF, air_mf, damp, wind, units)
        told.append(("cool-concrete", cooled, words))
    told.sort(key=lambda measure: measure[1].worse)
    return [Said(code, tr(words, rate=say_rate(rate.worse, units))) for code, rate, words in told]


def _habits(reading: WeatherReading) -> list[Said]:
    said = [
        Said(
            "reducer", tr("Evaporation reducer as its maker says, after each pass; never as finishing water.")
        ),
        Said("cover", tr("Cover the surface between passes, and begin curing at once behind the last.")),
    ]
    if reading.air_mf > COLD_MF:
        told = tr("Place at night or early, when it is cooler, calmer and damper.")
        said.append(Said("calm-hours", told))
    return said


def _cautions(reading: WeatherReading) -> list[Said]:
    said = []
    if reading.rain:
        said.append(
            Said(
                "rain", tr("Rain: place on no standing water, tape on no wet film, and cover what is fresh.")
            )
        )
    if reading.air_mf <= FREEZING_MF or (reading.film_mf is not None and reading.film_mf <= FREEZING_MF):
        told = tr("Frost: place on no frozen ground or ice, and keep fresh concrete from freezing.")
        said.append(Said("frost", told))
    elif reading.air_mf <= COLD_MF:
        told = tr("Cold: at 40 °F (4.4 °C) and under, cold-weather practice begins (ACI 306R, from memory).")
        said.append(Said("cold", told))
    return said


def _of_concrete(concrete_mf: int | None, *, assumed: bool) -> list[Said]:
    said = []
    if assumed and concrete_mf is not None:
        told = tr("The concrete's temperature is assumed: measure it when the first load comes.")
        said.append(Said("assumed-concrete", told))
    if concrete_mf is not None and concrete_mf > HOT_CONCRETE_MF:
        told = tr("Hot concrete: over 95 °F (35 °C) as placed (ACI 305.1, from memory). Ask the engineer.")
        said.append(Said("hot-concrete", told))
    return said


def taping(reading: WeatherReading, least_mf: int | None) -> tuple[Said, ...]:
    """What speaks against taping now; empty only where the film was measured and nothing does.

    `least_mf`: the coldest film the rule sheet tapes on, if it says.
    """
    said = []
    if reading.rain:
        said.append(Said("rain", tr("Rain: tape bonds to dry film only.")))
    if reading.film_mf is None:
        told = tr("Measure the film's temperature: without it nobody knows whether dew forms on it.")
        return (*said, Said("no-film-temperature", told))
    dew_mf = dew_point_mf(reading.air_mf, reading.humidity_mpct)
    if dew_mf is not None and reading.film_mf <= dew_mf:
        told = tr("The film is at or under the dew point: water condenses on it. Wait, or warm and dry it.")
        said.append(Said("film-at-dew-point", told))
    elif dew_mf is not None and reading.film_mf <= dew_mf + NEAR_DEW_MF:
        told = tr(
            "The film is within 5 °F (2.8 °C) of the dew point (common practice, no source): feel it and "
            "wipe it before each length, and keep the tape as warm as the air."
        )
        said.append(Said("film-near-dew-point", told))
    if least_mf is not None and reading.film_mf < least_mf:
        told = tr("The film is colder than the rule sheet asks for tape.")
        said.append(Said("film-too-cold", told))
    if reading.film_mf <= FREEZING_MF:
        said.append(Said("frost", tr("Frost on the film: no tape bonds to it.")))
    return tuple(said)


def crew_heat(reading: WeatherReading) -> Heat:
    """The heat index of this reading for the crew."""
    index = heat_index_f(reading.air_mf, reading.humidity_mpct)
    found = band(index)
    return Heat(round(index * 1000), found, tr(BAND_WORDS[found]))
