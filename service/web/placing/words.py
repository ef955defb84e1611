"""A placing day in words: may the zone be placed, and what the newest weather reading asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from service.actions.placing.placing_day import PlacingDay
from service.domain.nouns.placing import WeatherReading
from service.domain.weather.advice import Advice, advise, crew_heat, taping
from service.domain.weather.evaporation import UNCERTAINTY
from service.domain.weather.heat import SUN
from service.domain.weather.texts import say_humidity, say_rate, say_rate_range, say_wind
from service.domain.words.measures import Units
from service.domain.words.speech import later, tr, trn
from service.domain.words.temperatures import say_temperature
from service.history.replay.standing import PLACED, PLACED_WITHOUT_RELEASE, READY
from service.web.placing.file_words import degrees
from service.web.serving.render import clock, day, moment

GUIDANCE = later(
    "Only the release gate and its hold points stop a placing. All else on this page is guidance: it warns "
    "and stops nothing."
)
STATES = {
    "over": later("At or above the limit"),
    "near": later("Near the limit"),
    "under": later("Below the limit"),
    "unknown": later("The rate is not known"),
}
KINDS = {"over": "stop", "near": "short", "under": "holds", "unknown": ""}


@dataclass(frozen=True, slots=True)
class Verdict:
    """One big sentence, the quieter one under it, and its line (`blocks.verdict`)."""

    words: str
    small: str
    kind: str


@dataclass(frozen=True, slots=True)
class Now:
    """The newest reading and what it asks for. `old`: it ought to have been taken anew by now, or nothing."""

    verdict: Verdict
    old: str
    facts: tuple[tuple[str, str], ...]
    do: tuple[str, ...]
    look: str
    warnings: tuple[str, ...]
    taping: tuple[str, ...]
    heat: str
    sun: str
    uncertain: str


def may_be_placed(day_of: PlacingDay) -> Verdict:
    """Whether the zone may be placed, which the release gate alone decides."""
    view = day_of.view
    standing, time_zone = view.standing, view.seen.project.time_zone
    if standing.state in (PLACED, PLACED_WITHOUT_RELEASE):
        assert view.zone.placement is not None, "a placed zone has its placement"
        when = moment(view.zone.placement.at, time_zone)
        told = tr("Concrete is in, {when}.", when=when)
        if standing.state == PLACED_WITHOUT_RELEASE:
            return Verdict(
                told, tr("It went in without release. What stood against it stays on record."), "stop"
            )
        return Verdict(told, "", "holds")
    if standing.state == READY:
        if standing.placing is not None:
            since = moment(standing.placing.started_at, time_zone)
            return Verdict(tr("Being placed since {when}.", when=since), tr(GUIDANCE), "holds")
        return Verdict(
            tr("It may be placed: it is released, and nothing changed since."), tr(GUIDANCE), "holds"
        )
    if not standing.blockers:
        return Verdict(tr("It may not be placed: nobody released it as it is now."), tr(GUIDANCE), "stop")
    told = trn(
        "It may not be placed: {n} reason holds it.",
        "It may not be placed: {n} reasons hold it.",
        len(standing.blockers),
    )
    return Verdict(told, tr(GUIDANCE), "stop")


# --- now --------------------------------------------------------------------------------------------------


def now_told(
    day_of: PlacingDay, weather: Sequence[WeatherReading], assumed_mf: int | None, now: datetime
) -> Now | None:
    """The newest of these readings; None where there is none."""
    if not weather:
        return None
    project, limit, newest = day_of.view.seen.project, day_of.limit(), weather[-1]
    advice = advise(weather, limit, project.units, assumed_concrete_mf=assumed_mf)
    heat = crew_heat(newest)
    return Now(
        verdict=_rate_verdict(advice, day_of, newest, now),
        old=_old(advice, now, project.time_zone),
        facts=measured(newest, project.units),
        do=tuple(said.text for said in advice.do),
        look=_look(advice, now, project.time_zone),
        warnings=tuple(said.text for said in advice.cautions),
        taping=_taping(day_of, newest),
        heat=tr(
            "{band} Heat index {index}.",
            band=heat.text,
            index=say_temperature(heat.index_mf, project.units, down=False),
        ),
        sun=tr(SUN),
        uncertain=tr(UNCERTAINTY),
    )


def _rate_verdict(advice: Advice, day_of: PlacingDay, newest: WeatherReading, now: datetime) -> Verdict:
    project, limit = day_of.view.seen.project, day_of.limit()
    when = at_words(newest.at, now, project.time_zone)
    figure = say_rate(float(limit.of(project.units)), project.units)
    if advice.rate is None:
        small = tr(
            "Read {when}, with no temperature of the concrete. The limit is {limit} ({name}).",
            when=when,
            limit=figure,
            name=tr(limit.label),
        )
    else:
        small = tr(
            "Estimate {range}, read {when}. The limit is {limit} ({name}).",
            range=say_rate_range(advice.rate),
            when=when,
            limit=figure,
            name=tr(limit.label),
        )
    words = (
        tr("{state}, and rising", state=tr(STATES[advice.state]))
        if advice.rising
        else tr(STATES[advice.state])
    )
    return Verdict(words, small, KINDS[advice.state])


def at_words(at: datetime, now: datetime, time_zone: str) -> str:
    """`10:15 am` of today, `Wed 25 Nov 2026, 10:15 am` of another day."""
    return clock(at, time_zone) if day(at, time_zone) == day(now, time_zone) else moment(at, time_zone)


def _old(advice: Advice, now: datetime, time_zone: str) -> str:
    if advice.look_at is None or now <= advice.look_at:
        return ""
    when = at_words(advice.look_at, now, time_zone)
    return tr("This reading is old: it was to be looked at again by {when}. Take a new one.", when=when)


def _look(advice: Advice, now: datetime, time_zone: str) -> str:
    if advice.look_at is None or now > advice.look_at:
        return ""
    return tr(
        "Look again by {when}: {n} minutes after this reading.",
        when=at_words(advice.look_at, now, time_zone),
        n=advice.look_minutes,
    )


def measured(reading: WeatherReading, units: Units) -> tuple[tuple[str, str], ...]:
    return (
        (tr("Air"), say_temperature(reading.air_mf, units)),
        (tr("Concrete"), degrees(reading.concrete_mf, units)),
        (tr("Film"), degrees(reading.film_mf, units)),
        (tr("Humidity"), say_humidity(reading.humidity_mpct)),
        (tr("Wind"), say_wind(reading.wind_mmph, units)),
        (tr("Rain"), tr("rain") if reading.rain else tr("dry")),
    )


def _taping(day_of: PlacingDay, reading: WeatherReading) -> tuple[str, ...]:
    """What speaks against taping now, by what was measured."""
    against = taping(reading, day_of.view.seen.project.sheet.tape_temperature.mf)
    if against:
        return tuple(said.text for said in against)
    return (
        tr("Nothing that was measured speaks against taping. The film must be clean and dry all the same."),
    )
