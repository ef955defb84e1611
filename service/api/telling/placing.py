"""A placing day as the contract tells it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from fractions import Fraction
from zoneinfo import ZoneInfo

from service.actions.placing.placing_day import PlacingDay, concrete_of
from service.actions.placing.weather_files import Understood
from service.api.answers import placing as out
from service.api.answers.film import Amount
from service.api.answers.marks import Reason
from service.api.answers.sites import Length, Volume
from service.api.telling.telling import NOBODY
from service.domain.nouns.placing import PlacingPlan, Readings, Thickness, WeatherReading
from service.domain.placing import concrete
from service.domain.placing.concrete import say_volume
from service.domain.placing.thickness import FAULT_WORDS
from service.domain.weather.advice import CAUTIONS, Said, advise, crew_heat, taping
from service.domain.weather.chart import ChartPoint, chart_point
from service.domain.weather.evaporation import UNCERTAINTY, WIND_HEIGHT, Rate, limit_of
from service.domain.weather.rows import Told
from service.domain.weather.texts import rate_unit, say_wind
from service.domain.words.measures import Units, length_json
from service.domain.words.temperatures import say_temperature
from service.history.facts.encoding import time_text
from service.history.replay.standing import READY


def placing_day(of: PlacingDay, now: datetime, asked: str = "") -> out.PlacingDay:
    """`asked`: the day whose readings are told; the newest that has any where it has none."""
    view, weather = of.view, of.weather()
    zone = ZoneInfo(view.seen.project.time_zone)
    days = sorted({one.at.astimezone(zone).date().isoformat() for one in weather})
    day = asked if asked in days else (days[-1] if days else None)
    shown = [one for one in weather if one.at.astimezone(zone).date().isoformat() == day]
    standing = view.standing
    return out.PlacingDay(
        zone=view.zone.id,
        state=standing.state,
        may_be_placed=standing.state == READY,
        placing_since=time_text(standing.placing.started_at) if standing.placing else None,
        plan=plan(of, of.plan) if of.plan else None,
        limit=_limit(of.limit().name, view.seen.project.units),
        concrete=_concrete(of),
        now=_now(of, weather, now) if weather and view.zone.placement is None else None,
        days=days,
        day=day,
        weather=[_weather(of, one) for one in shown],
        taken=[taken(of, each) for each in of.readings],
        thickness=_thickness(of),
        guidance=[UNCERTAINTY, WIND_HEIGHT, *CAUTIONS],
    )


def plan(of: PlacingDay, told: PlacingPlan) -> out.PlacingPlan:
    units = of.view.seen.project.units
    return out.PlacingPlan(
        zone=told.zone_id,
        thickness=_length(told.thickness_nm, units),
        allowance_percent=told.allowance_mpct / 1000,
        truck=told.truck,
        rate=told.rate,
        limit=_limit(told.limit, units),
        mix=told.mix,
        by=_who(of, told.signed.by),
        at=time_text(told.signed.at),
    )


def _limit(name: str, units: Units) -> out.PlacingLimit:
    limit = limit_of(name)
    return out.PlacingLimit(name=name, value=float(limit.of(units)), source=limit.source)


def _who(of: PlacingDay, person: str) -> str:
    return of.view.names.get(person, NOBODY)


def _length(nm: int, units: Units) -> Length:
    return Length.model_validate(length_json(nm, units, "down"))


# --- concrete ---------------------------------------------------------------------------------------------


def _concrete(of: PlacingDay) -> out.Concrete | None:
    try:
        found = concrete_of(of)
    except concrete.BadConcrete:
        return None
    if found is None:
        return None
    units = of.view.seen.project.units
    return out.Concrete(
        net=_volume(found.net, units),
        with_allowance=_volume(found.allowed, units),
        to_order=_volume(found.ordered, units),
        loads=found.loads,
        last_load=None if found.last_load is None else _volume(found.last_load, units),
        minutes_between=None if found.minutes_between is None else float(found.minutes_between),
        hours=None if found.hours is None else float(found.hours),
        thin=found.thin,
    )


def _volume(m3: Fraction, units: Units) -> Volume:
    return Volume(text=say_volume(m3, units), m3=float(m3))


# --- weather ----------------------------------------------------------------------------------------------


def _now(of: PlacingDay, weather: Sequence[WeatherReading], now: datetime) -> out.WeatherNow:
    advice, newest = advise(weather, of.limit(), of.view.seen.project.units), weather[-1]
    heat = crew_heat(newest)
    return out.WeatherNow(
        reading=_weather(of, newest),
        rising=advice.rising,
        do=_reasons(advice.do),
        look_again=time_text(advice.look_at) if advice.look_at else None,
        old=advice.look_at is not None and advice.look_at < now,
        cautions=_reasons(advice.cautions),
        taping=_reasons(taping(newest, of.view.seen.project.sheet.tape_temperature.mf)),
        heat_index=_degrees(heat.index_mf, of.view.seen.project.units),
        heat_band=heat.band,
    )


def _reasons(said: Sequence[Said]) -> list[Reason]:
    return [Reason(code=each.code, text=each.text) for each in said]


def _weather(of: PlacingDay, reading: WeatherReading) -> out.Weather:
    units = of.view.seen.project.units
    point: ChartPoint = chart_point(reading, of.limit(), units)
    return out.Weather(
        at=time_text(reading.at),
        air=_degrees(reading.air_mf, units),
        concrete=None if reading.concrete_mf is None else _degrees(reading.concrete_mf, units),
        film=None if reading.film_mf is None else _degrees(reading.film_mf, units),
        humidity_percent=reading.humidity_mpct / 1000,
        wind=Amount(text=say_wind(reading.wind_mmph, units), value=reading.wind_mmph / 1000),
        rain=reading.rain,
        rate=None if point.rate is None else _rate(point.rate, units),
        stands=point.standing,
    )


def _degrees(mf: int, units: Units) -> Amount:
    return Amount(text=say_temperature(mf, units), value=mf / 1000)


def _rate(rate: Rate, units: Units) -> out.EvaporationRate:
    """Two figures: the estimate knows no third."""
    worse, low, high = (float(f"{value:.2g}") for value in (rate.worse, rate.low, rate.high))
    return out.EvaporationRate(estimate=worse, low=low, high=high, unit=rate_unit(units))


def taken(of: PlacingDay, told: Readings) -> out.WeatherTaken:
    times = [reading.at for reading in told.readings]
    return out.WeatherTaken(
        id=told.id,
        zone=told.zone_id,
        source=told.source,
        count=len(told.readings),
        first=time_text(min(times)),
        last=time_text(max(times)),
        note=told.note,
        by=_who(of, told.signed.by),
        at=time_text(told.signed.at),
        withdrawn=told.withdrawn,
    )


def file_taken(of: PlacingDay, told: Readings, found: Understood) -> out.FileTaken:
    return out.FileTaken(
        **dict(taken(of, told)),
        left_out=lines(found.station.faults),
        notes=lines(found.station.notes),
        known=found.known,
        differ=found.differ,
        early=found.early,
    )


def lines(told: Sequence[Told]) -> list[out.LineTold]:
    return [out.LineTold(line=each.line, code=each.code, text=each.text) for each in told]


# --- thickness --------------------------------------------------------------------------------------------


def _thickness(of: PlacingDay) -> out.SlabThickness:
    verdict, units = of.verdict(), of.view.seen.project.units
    return out.SlabThickness(
        meets=None if verdict is None else verdict.meets,
        reasons=[Reason(code=code, text=FAULT_WORDS[code]) for code in (verdict.faults if verdict else ())],
        average=None if verdict is None else _length(verdict.average_nm, units),
        thinnest=None if verdict is None else _length(verdict.thinnest_nm, units),
        taken=[thickness(of, each) for each in of.thicknesses],
    )


def thickness(of: PlacingDay, told: Thickness) -> out.ThicknessTaken:
    units = of.view.seen.project.units
    return out.ThicknessTaken(
        id=told.id,
        zone=told.zone_id,
        readings=[out.Depth(depth=_length(each.depth_nm, units), where=each.where) for each in told.readings],
        note=told.note,
        by=_who(of, told.signed.by),
        at=time_text(told.signed.at),
        withdrawn=told.withdrawn,
    )
