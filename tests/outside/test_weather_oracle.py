"""The placing day's weather against a psychrometrics library and two typical years measured by real stations.

The library (PsychroLib, MIT) follows the ASHRAE handbook. The years ship with pvlib (BSD): two typical
meteorological years of the US, 8,760 hours each, of a city in North Carolina and an island in Alaska. Nothing
of pvlib is run.
"""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import replace
from datetime import timedelta, timezone
from functools import cache
from importlib.metadata import files
from itertools import pairwise
from pathlib import Path

import psychrolib
import pytest

from service.domain.nouns.placing import WeatherReading
from service.domain.weather.advice import advise, crew_heat, taping
from service.domain.weather.air import after_fog_mf, celsius, dew_point_c, dew_point_mf, saturation_pa
from service.domain.weather.chart import calmest, day_chart
from service.domain.weather.evaporation import LIMITS, Rate, evaporation
from service.domain.weather.table import Station, read_station, text_of

CITY, ISLAND = "723170TYA.CSV", "703165TY.csv"
HOURS_WEST = {CITY: 5, ISLAND: 9}  # as the first line of each file says
LIMIT = LIMITS["directly on film"]
CONCRETE_MF = 75_000


@pytest.fixture(autouse=True)
def in_si() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


@cache
def text(name: str) -> str:
    """The file as it is shipped, its 8,760 rows of hourly local standard time and nearly 70 columns."""
    (found,) = [file for file in files("pvlib") or () if file.name == name]
    return text_of(Path(found.locate()).read_bytes())


@cache
def station(name: str) -> Station:
    return read_station(text(name), timezone(timedelta(hours=-HOURS_WEST[name])))


@cache
def columns(name: str, heading: str) -> list[float]:
    """One column as the file writes it, in the file's order, by a plain reader of commas."""
    _, headings, *rows = csv.reader(text(name).splitlines())
    return [float(row[headings.index(heading)]) for row in rows]


def rate(reading: WeatherReading) -> Rate:
    return evaporation(CONCRETE_MF, reading.air_mf, reading.humidity_mpct, reading.wind_mmph)


def test_saturation_pressure_is_the_librarys_from_deep_frost_to_a_hot_day() -> None:
    for tenths in range(-600, 600, 3):
        assert saturation_pa(tenths / 10) == pytest.approx(psychrolib.GetSatVapPres(tenths / 10), rel=3e-4)


def test_the_dew_point_is_the_librarys_over_the_whole_grid() -> None:
    compared = 0
    for air in range(-40, 56, 3):
        for percent in (1, 2, 5, 10, 20, 35, 50, 65, 80, 90, 97, 100):
            theirs = psychrolib.GetTDewPointFromRelHum(air, percent / 100)
            assert dew_point_c(air, percent / 100) == pytest.approx(theirs, abs=0.001), (air, percent)
            compared += 1
    assert compared == 384


def test_fog_brought_to_saturation_leaves_the_air_at_its_wet_bulb() -> None:
    """Above freezing; the library solves the handbook's humidity ratios, not the psychrometer's line."""
    for air in range(8, 46, 2):
        for percent in (20, 35, 50, 65, 80, 95):
            theirs = psychrolib.GetTWetBulbFromRelHum(air, percent / 100, 101_325)
            ours = celsius(after_fog_mf(round(air * 1800 + 32_000), percent * 1000, 100_000))
            assert ours == pytest.approx(theirs, abs=0.35), (air, percent)


def test_menzels_formula_is_the_one_with_the_librarys_pressures_in_psi() -> None:
    """Menzel 1954, E = 0.44 (e0 - r ea)(0.253 + 0.096 V), with e in psi as the library gives it for °F."""
    psychrolib.SetUnitSystem(psychrolib.IP)
    for concrete in range(40, 101, 10):
        for air in range(35, 101, 13):
            for percent in (0, 30, 60, 90):
                for mph in (0, 7, 25):
                    air_psi = psychrolib.GetSatVapPres(air) * percent / 100
                    pull = psychrolib.GetSatVapPres(concrete) - air_psi
                    theirs = max(0.0, 0.44 * pull * (0.253 + 0.096 * mph))
                    ours = evaporation(concrete * 1000, air * 1000, percent * 1000, mph * 1000).menzel
                    assert ours == pytest.approx(theirs, rel=2e-3, abs=1e-5)


@pytest.mark.parametrize("name", [CITY, ISLAND])
def test_a_whole_year_as_shipped_is_read_without_a_question_or_a_row_lost(name: str) -> None:
    found = station(name)
    assert (len(found.readings), found.rows) == (8760, 8760)
    assert not found.questions
    assert not found.faults


@pytest.mark.parametrize("name", [CITY, ISLAND])
def test_a_years_readings_are_the_files_numbers(name: str) -> None:
    """In order of time, for the months of a typical year come from different years."""
    sums = {
        "Dry-bulb (C)": sum(celsius(one.air_mf) for one in station(name).readings),
        "RHum (%)": sum(one.humidity_mpct for one in station(name).readings) / 1000,
        "Wspd (m/s)": sum(one.wind_mmph for one in station(name).readings) / 1000 * 0.44704,
    }
    for heading, found in sums.items():
        assert found == pytest.approx(sum(columns(name, heading)), rel=1e-4), heading


def test_the_years_own_dew_points_agree_as_far_as_its_rounding_goes() -> None:
    """The file gives humidity to the percent, dew point to a tenth, and some hours its makers estimated."""
    worked_out = [
        dew_point_c(air, percent / 100)
        for air, percent in zip(columns(CITY, "Dry-bulb (C)"), columns(CITY, "RHum (%)"), strict=True)
    ]
    apart = [
        abs(ours - theirs) for ours, theirs in zip(worked_out, columns(CITY, "Dew-point (C)"), strict=True)
    ]
    assert sorted(apart)[len(apart) // 2] < 0.15
    assert sum(one < 1 for one in apart) / len(apart) > 0.95


@pytest.mark.parametrize("name", [CITY, ISLAND])
def test_the_chart_of_a_whole_year_answers_every_hour(name: str) -> None:
    chart = day_chart(station(name).readings, LIMIT, assumed_concrete_mf=CONCRETE_MF)
    assert len(chart.points) == 8760
    assert all(
        point.rate is not None and 0 <= point.rate.low <= point.rate.worse <= point.rate.high <= chart.top
        for point in chart.points
    )
    assert set(Counter(point.standing for point in chart.points)) == {"under", "near", "over"}
    assert calmest(chart, 6) is not None


def test_every_hour_of_a_year_rises_with_wind_and_warm_concrete_and_falls_with_damp() -> None:
    for one in station(CITY).readings:
        still = rate(one)
        windy = rate(replace(one, wind_mmph=one.wind_mmph + 5_000))
        damp = rate(replace(one, humidity_mpct=min(100_000, one.humidity_mpct + 5_000)))
        for ours, windier, damper in zip(
            (still.menzel, still.uno), (windy.menzel, windy.uno), (damp.menzel, damp.uno), strict=True
        ):
            assert windier > ours or ours == 0
            assert damper < ours or ours == 0 or one.humidity_mpct == 100_000


def test_every_hour_of_a_year_has_its_advice_its_heat_and_its_taping() -> None:
    readings = station(CITY).readings
    for before, one in list(pairwise(readings))[::7]:
        told = advise([before, one], LIMIT, assumed_concrete_mf=CONCRETE_MF)
        assert told.do
        assert told.look_minutes in (10, 15, 30, 60, 120)
        assert crew_heat(one).band in ("lower", "moderate", "high", "very high")
        dew_mf = dew_point_mf(one.air_mf, one.humidity_mpct)
        assert dew_mf is not None
        on_dew = [said.code for said in taping(replace(one, film_mf=dew_mf), None)]
        assert "film-at-dew-point" in on_dew


def test_the_hot_hours_are_the_citys_summer() -> None:
    """By the seasons of the north: heat past `lower` from May to September, and none on the island."""
    hot = Counter(
        (one.at - timedelta(hours=5)).month
        for one in station(CITY).readings
        if crew_heat(one).band != "lower"
    )
    assert set(hot) <= {5, 6, 7, 8, 9}
    assert hot[7] + hot[8] > 0
    assert all(crew_heat(one).band == "lower" for one in station(ISLAND).readings)
