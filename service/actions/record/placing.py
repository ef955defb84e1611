"""Placing days as tables for the record: every weather reading and every thickness reading, withdrawn too."""

from __future__ import annotations

from collections.abc import Sequence

from service.actions.frame.cells import Cell, table, time
from service.domain.nouns.placing import PlacingPlan, WeatherReading
from service.domain.nouns.site import Site
from service.domain.weather.texts import say_humidity, say_wind
from service.domain.words.measures import Units, say_length
from service.domain.words.temperatures import say_temperature

SIGNED = ("by", "role", "logged_at", "withdrawn")


def placing_tables(site: Site, units: Units) -> dict[str, str]:
    """File name to CSV text."""
    return {
        "placing_plans.csv": _plans(site, units),
        "weather.csv": _weather(site, units),
        "thickness.csv": _thickness(site, units),
    }


def _plans(site: Site, units: Units) -> str:
    head = (
        "zone", "thickness", "thickness_nm", "allowance_percent", "truck", "rate_an_hour", "limit", "mix",
        "by", "role", "at",
    )  # fmt: skip

    def row(of: PlacingPlan) -> Sequence[Cell]:
        thick = say_length(of.thickness_nm, units)
        return (
            of.zone_id, thick, of.thickness_nm, f"{of.allowance_mpct / 1000:g}", of.truck, of.rate, of.limit,
            of.mix, of.signed.by, of.signed.role, time(of.signed.at),
        )  # fmt: skip

    return table(head, map(row, site.placing_plans.values()))


def _weather(site: Site, units: Units) -> str:
    head = (
        "readings", "zone", "source", "at", "air", "concrete", "film", "humidity", "wind_at_20_in", "rain",
        "note", *SIGNED,
    )  # fmt: skip

    def row(of: WeatherReading) -> Sequence[Cell]:
        warm = (
            say_temperature(of.air_mf, units),
            _degrees(of.concrete_mf, units),
            _degrees(of.film_mf, units),
        )
        return (time(of.at), *warm, say_humidity(of.humidity_mpct), say_wind(of.wind_mmph, units), of.rain)

    return table(
        head,
        (
            (
                of.id, of.zone_id, of.source, *row(reading), of.note, of.signed.by, of.signed.role,
                time(of.signed.at), of.withdrawn,
            )
            for of in site.readings.values()
            for reading in of.readings
        ),
    )  # fmt: skip


def _degrees(mf: int | None, units: Units) -> str | None:
    return None if mf is None else say_temperature(mf, units)


def _thickness(site: Site, units: Units) -> str:
    return table(
        ("readings", "zone", "thickness", "thickness_nm", "where", "note", *SIGNED),
        (
            (
                of.id, of.zone_id, say_length(reading.depth_nm, units, "down"), reading.depth_nm,
                reading.where, of.note, of.signed.by, of.signed.role, time(of.signed.at), of.withdrawn,
            )
            for of in site.thicknesses.values()
            for reading in of.readings
        ),
    )  # fmt: skip
