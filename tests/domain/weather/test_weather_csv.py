"""A weather station's table as people paste it: what is asked, what is told, and that nothing is lost."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.weather import table
from service.domain.weather.table import MOST_BYTES, MOST_ROWS, Station, read_station, text_of

CHICAGO = ZoneInfo("America/Chicago")
HEADINGS = "Time,Air temp (°F),RH (%),Wind (mph)"


def read(*rows: str, headings: str = HEADINGS, **answers: str) -> Station:
    """These rows under these headings; answers by key, with `_` for its dash."""
    said = {key.replace("_", "-"): value for key, value in answers.items()}
    return read_station("\n".join((headings, *rows)), CHICAGO, said)


def asked(station: Station) -> list[str]:
    return [question.key for question in station.questions]


def faults(station: Station) -> list[tuple[int, str]]:
    return [(told.line, told.code) for told in station.faults]


def notes(station: Station) -> list[tuple[int, str]]:
    """What is told of single lines; what is told of every file is left aside."""
    return [(told.line, told.code) for told in station.notes if told.line]


def test_a_plain_table_is_read_to_the_thousandth_and_in_the_projects_time() -> None:
    """July in Chicago is five hours behind UTC (tz database)."""
    (reading,) = read("2026-07-03 14:00,88.4,35.5,12").readings
    assert reading.at == datetime(2026, 7, 3, 19, tzinfo=UTC)
    assert (reading.air_mf, reading.humidity_mpct, reading.wind_mmph) == (88_400, 35_500, 12_000)
    assert (reading.concrete_mf, reading.film_mf, reading.rain) == (None, None, False)


def test_a_spanish_table_with_semicolons_and_decimal_commas_is_read_the_same() -> None:
    """31.5 °C is 88.7 °F; 18.2 km/h is 11.309 mph (by definition)."""
    station = read(
        "03/07/2026;14:00;31,5;40,2;42,5;18,2;NO;0,2",
        "13/07/2026;14:30;31,5;;42,5;18,2;NO;0",
        headings="Fecha;Hora;Temperatura del aire (°C);Temp. del concreto (°C);Humedad relativa (%);"
        "Velocidad del viento (km/h);Dirección del viento;Lluvia (mm)",
    )
    first, second = station.readings
    assert not station.questions
    assert first.at == datetime(2026, 7, 3, 19, tzinfo=UTC)
    assert (first.air_mf, first.concrete_mf, first.humidity_mpct, first.wind_mmph) == (
        88_700,
        104_360,
        42_500,
        11_309,
    )
    assert (first.rain, second.rain, second.concrete_mf) == (True, False, None)
    assert notes(station) == [(3, "empty")]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_every_usual_separator_is_seen(separator: str) -> None:
    station = read(
        separator.join(("2026-07-03T14:00:00Z", "70", "50", "5")),
        headings=separator.join(("timestamp", "temp_f", "rh", "wspd mph")),
    )
    assert [reading.at for reading in station.readings] == [datetime(2026, 7, 3, 14, tzinfo=UTC)]


def test_a_wind_of_no_unit_is_asked_and_nothing_read_until_it_is_told() -> None:
    headings = "Time,Temp F,RH %,Wind"
    station = read("2026-07-03 14:00,70,50,10", headings=headings)
    assert asked(station) == ["wind-unit"]
    assert station.questions[0].text == "Is the wind in mph, km/h, m/s or knots? The file does not say."
    assert station.readings == ()
    told = read("2026-07-03 14:00,70,50,10", headings=headings, wind_unit="knots")
    assert [reading.wind_mmph for reading in told.readings] == [11_508]


@pytest.mark.parametrize(
    ("headings", "cell"), [("Time,Temp F,RH %,Wind (kt)", "10"), ("Time,Temp F,RH %,Wind", "10 kt")]
)
def test_knots_that_somebody_takes_for_mph_are_asked_once_more(headings: str, cell: str) -> None:
    row = f"2026-07-03 14:00,70,50,{cell}"
    doubted = read(row, headings=headings, wind_unit="mph")
    assert asked(doubted) == ["wind-sure"]
    assert "you said mph, and the file says knots" in doubted.questions[0].text
    settled = read(row, headings=headings, wind_unit="mph", wind_sure="knots")
    assert [reading.wind_mmph for reading in settled.readings] == [11_508]


def test_a_person_who_is_sure_has_the_last_word_on_the_heading() -> None:
    (reading,) = read(
        "2026-07-03 14:00,70,50,10", headings="Time,Temp F,RH %,Wind (kt)", wind_unit="mph", wind_sure="mph"
    ).readings
    assert reading.wind_mmph == 10_000


def test_temperatures_of_no_unit_are_asked_each_and_a_made_up_answer_is_none() -> None:
    headings = "Time,Temp,RH,Wind mph,Concrete temp"
    row = "2026-07-03 14:00,31,50,10,33"
    assert asked(read(row, headings=headings, air_unit="K")) == ["air-unit", "concrete-unit"]
    (reading,) = read(row, headings=headings, air_unit="C", concrete_unit="C").readings
    assert (reading.air_mf, reading.concrete_mf) == (87_800, 91_400)


def test_while_the_concretes_unit_is_asked_no_row_is_kept_without_it() -> None:
    headings = f"{HEADINGS},Concrete temp"
    doubtful = read("2026-07-03 14:00,70,50,5,33", headings=headings)
    assert asked(doubtful) == ["concrete-unit"]
    assert doubtful.readings == ()
    (reading,) = read("2026-07-03 14:00,70,50,5,33", headings=headings, concrete_unit="C").readings
    assert reading.concrete_mf == 91_400


def test_a_humidity_that_may_be_a_share_is_asked() -> None:
    headings = "Time,Temp F,RH,Wind mph"
    assert asked(read("2026-07-03 14:00,70,0.55,5", headings=headings)) == ["humidity-unit"]
    (reading,) = read("2026-07-03 14:00,70,0.55,5", headings=headings, humidity_unit="share").readings
    assert reading.humidity_mpct == 55_000
    assert asked(read("2026-07-03 14:00,70,55,5", headings=headings)) == []


def test_a_column_that_is_missing_or_there_twice_is_asked() -> None:
    assert asked(read("2026-07-03 14:00,70,5", headings="Time,Temp F,Wind mph")) == ["humidity-column"]
    twice = read("2026-07-03 14:00,70,72,50,5", headings="Time,Temp 1 F,Temp 2 F,RH,Wind mph")
    assert asked(twice) == ["air-column"]
    assert [words for _, words in twice.questions[0].choices] == ["Temp 1 F", "Temp 2 F"]
    chosen = read(
        "2026-07-03 14:00,70,72,50,5", headings="Time,Temp 1 F,Temp 2 F,RH,Wind mph", air_column="2"
    )
    assert [reading.air_mf for reading in chosen.readings] == [72_000]


def test_a_table_without_headings_asks_for_each_column_and_reads_its_first_line_too() -> None:
    rows = ("2026-07-03 14:00,70,50,5", "2026-07-03 15:00,71,50,5")
    station = read_station("\n".join(rows), CHICAGO)
    assert asked(station) == ["time-column", "air-column", "humidity-column", "wind-column"]
    answers = {"time-column": "0", "air-column": "1", "humidity-column": "2", "wind-column": "3"}
    units = {"air-unit": "F", "wind-unit": "mph"}
    assert len(read_station("\n".join(rows), CHICAGO, answers | units).readings) == 2


@pytest.mark.parametrize(
    "other",
    ["Wind gust (mph)", "Wind dir (deg)", "Dew point (F)", "Soil temp (F)", "Indoor humidity",
     "Heat index (F)", "Max temp (F)", "Racha de viento (mph)", "Wind chill (F)", "Time zone"],
)  # fmt: skip
def test_a_column_of_something_else_is_not_taken(other: str) -> None:
    (reading,) = read("2026-07-03 14:00,70,50,5,99", headings=f"{HEADINGS},{other}").readings
    assert (reading.air_mf, reading.humidity_mpct, reading.wind_mmph) == (70_000, 50_000, 5_000)


def test_which_of_day_and_month_comes_first_is_asked_unless_a_number_past_twelve_tells() -> None:
    ambiguous = read("7/3/26 2:00 PM,70,50,5")
    assert asked(ambiguous) == ["date-order"]
    for order, month, day in (("month first", 7, 3), ("day first", 3, 7)):
        (reading,) = read("7/3/26 2:00 PM,70,50,5", date_order=order).readings
        assert reading.at.astimezone(CHICAGO) == datetime(2026, month, day, 14, tzinfo=CHICAGO)
    assert [
        reading.at.month for reading in read("7/3/26 14:00,70,50,5", "7/13/26 14:00,70,50,5").readings
    ] == [7, 7]
    told = read("7/3/26 14:00,70,50,5", headings="Date (MM/DD/YY) and time,Temp F,RH,Wind mph")
    assert [reading.at.month for reading in told.readings] == [7]


@pytest.mark.parametrize(
    ("written", "hour"),
    [("12:00 AM", 0), ("12:30 p.m.", 12), ("1:05 am", 1), ("11:59 PM", 23), ("24:00", 24), ("00:00:30", 0)],
)
def test_hours_are_read_as_clocks_write_them(written: str, hour: int) -> None:
    (reading,) = read(f"2026-07-03 {written},70,50,5").readings
    local = reading.at.astimezone(CHICAGO)
    assert (local.day - 3) * 24 + local.hour == hour


@pytest.mark.parametrize(
    "written",
    ["14:00", "2026-07-03", "2026-13-03 14:00", "2026-02-29 14:00", "2026-07-03 25:00", "2026-07-03 13:00 PM",
     "2026-07-03 24:30", "noon", "", "0000-01-01 10:00", "9999-12-31 23:00", "2026-07-03 14:00+99:99"],
)  # fmt: skip
def test_what_is_no_time_leaves_the_row_out_and_says_so(written: str) -> None:
    assert faults(read(f"{written},70,50,5")) == [(2, "time")]


def test_a_time_the_clocks_skip_or_show_twice_is_read_by_the_old_offset_and_told() -> None:
    """In Chicago the clocks go on at 2:00 on March 8, 2026 and back at 2:00 on November 1 (tz database)."""
    station = read("2026-03-08 02:30,70,50,5", "2026-11-01 01:30,70,50,5", "2026-11-01 01:30,71,50,5")
    assert [reading.at for reading in station.readings] == [
        datetime(2026, 3, 8, 8, 30, tzinfo=UTC),
        *[datetime(2026, 11, 1, 6, 30, tzinfo=UTC)] * 2,
    ]
    assert notes(station) == [(2, "skipped"), (3, "twice"), (4, "twice"), (4, "repeated")]


def test_times_that_name_a_zone_keep_it() -> None:
    utc = read("2026-07-03 14:00,70,50,5", headings="Time (UTC),Temp F,RH,Wind mph").readings
    offset = read("2026-07-03T16:00+02:00,70,50,5").readings
    assert (
        [reading.at for reading in utc]
        == [reading.at for reading in offset]
        == [datetime(2026, 7, 3, 14, tzinfo=UTC)]
    )


def test_rows_out_of_order_are_kept_put_in_order_and_told() -> None:
    station = read("2026-07-03 14:00,70,50,5", "2026-07-03 12:00,68,50,5", "2026-07-03 13:00,69,50,5")
    assert [reading.air_mf for reading in station.readings] == [68_000, 69_000, 70_000]
    assert notes(station) == [(3, "out-of-order")]
    backward = read("2026-07-03 14:00,70,50,5", "2026-07-03 13:00,69,50,5", "2026-07-03 12:00,68,50,5")
    assert [reading.air_mf for reading in backward.readings] == [68_000, 69_000, 70_000]
    assert "newest-first" in [told.code for told in backward.notes]
    assert notes(backward) == []


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("2026-07-03 14:00,70,130,5", "out-of-range"),
        ("2026-07-03 14:00,170,50,5", "out-of-range"),
        ("2026-07-03 14:00,-9999,50,5", "out-of-range"),
        ("2026-07-03 14:00,70,50,-5", "out-of-range"),
        ("2026-07-03 14:00,70,50,151", "out-of-range"),
        ("2026-07-03 14:00,,50,5", "empty"),
        ("2026-07-03 14:00,70,N/A,5", "empty"),
        ("2026-07-03 14:00,70,50", "empty"),
        ("2026-07-03 14:00,70,50,=1+1", "no-number"),
        ("2026-07-03 14:00,70,50,calm", "no-number"),
        ("2026-07-03 14:00,70,5e1,5", "no-number"),
        ("2026-07-03 14:00,70,50,5,5", "cells"),
        ('2026-07-03 14:00,70,50,"5', "no-number"),
    ],
)
def test_a_row_at_fault_is_left_out_by_line_and_the_rows_round_it_are_read(row: str, code: str) -> None:
    if row.endswith('"5'):
        row += " and a quote left open"
    station = read("2026-07-03 13:00,70,50,5", row, "2026-07-03 15:00,70,50,5")
    assert faults(station) == [(3, code)]
    assert len(station.readings) == 2
    assert station.rows == 3


def test_everything_amiss_is_told_at_once_also_while_something_is_asked() -> None:
    station = read("noon,170 F,130,12", "2026-07-03 14:00,70 F,50,x", headings="Time,Temp,RH %,Wind")
    assert faults(station) == [(2, "time"), (2, "out-of-range"), (2, "out-of-range"), (3, "no-number")]
    assert asked(station) == ["wind-unit"]
    assert "“130”" in station.faults[2].text


def test_decimal_commas_between_commas_are_not_taken_for_cells() -> None:
    station = read("2026-07-03 14:00,70,5,50,5")
    assert faults(station) == [(2, "cells")]
    assert [reading.air_mf for reading in read('2026-07-03 14:00,"70,5",50,5').readings] == [70_500]


@pytest.mark.parametrize(
    ("cell", "rains"),
    [("0", False), ("0.00", False), ("0,4", True), ("yes", True), ("No", False), ("sí", True), ("T", True)],
)
def test_rain_is_an_amount_or_a_yes(cell: str, rains: bool) -> None:
    (reading,) = read(f'2026-07-03 14:00,70,50,5,"{cell}"', headings=f"{HEADINGS},Rain (in)").readings
    assert reading.rain is rains


def test_rain_nobody_measured_is_told_and_never_taken_for_dry_in_silence() -> None:
    station = read("2026-07-03 14:00,70,50,5,", "2026-07-03 15:00,70,50,5,-9900", headings=f"{HEADINGS},Rain")
    assert notes(station) == [(2, "rain-unknown"), (3, "rain-unknown")]
    assert "no-rain" in [told.code for told in read("2026-07-03 14:00,70,50,5").notes]
    doubtful = read("2026-07-03 14:00,70,50,5,maybe", headings=f"{HEADINGS},Rain")
    assert faults(doubtful) == [(2, "rain")]
    assert doubtful.readings == ()


@pytest.mark.parametrize(("cell", "code"), [("999", "out-of-range"), ("warm", "no-number")])
def test_a_concrete_temperature_at_fault_leaves_the_row_out_and_is_not_taken_for_none(
    cell: str, code: str
) -> None:
    station = read(f"2026-07-03 14:00,70,50,5,{cell}", headings=f"{HEADINGS},Concrete temp (F)")
    assert faults(station) == [(2, code)]
    assert station.readings == ()


def test_the_height_of_the_wind_is_told_with_every_file() -> None:
    (told,) = [told for told in read("2026-07-03 14:00,70,50,5").notes if told.code == "wind-height"]
    assert "20 in (0.5 m)" in told.text


def test_lines_before_the_headings_are_passed_over_and_lines_are_counted_from_the_first() -> None:
    text = f"Station 12;north roof\n\n{HEADINGS}\n2026-07-03 14:00,70,50,5\n\n2026-07-03 15:00,70,150,5\n"
    station = read_station(text, CHICAGO)
    assert len(station.readings) == 1
    assert faults(station) == [(6, "out-of-range")]


@pytest.mark.parametrize("text", ["", "   \n\n", "hello", HEADINGS, "Time\n14:00"])
def test_what_is_no_table_says_so(text: str) -> None:
    station = read_station(text, CHICAGO)
    assert faults(station) == [(0, "no-table")]
    assert station.readings == ()


def test_a_file_past_its_limits_is_refused_whole_and_one_at_them_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert (MOST_ROWS, MOST_BYTES) == (50_000, 2_000_000)
    assert faults(read("x" * (MOST_BYTES + 1))) == [(0, "too-big")]
    assert faults(read("é" * (MOST_BYTES // 2))) == [(0, "too-big")], "bytes are counted, not signs"
    monkeypatch.setattr(table, "MOST_ROWS", 9)
    row = "2026-07-03 14:00,70,50,5"
    assert len(read(*[row] * 9).readings) == 9
    assert faults(read(*[row] * 10)) == [(0, "too-many-rows")]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_an_uploaded_file_is_read_in_the_usual_encodings(encoding: str) -> None:
    text = "Fecha y hora;Temp (°C)\nñ"
    assert text_of(text.encode(encoding)) == text


@given(st.text(max_size=300))
def test_no_text_at_all_breaks_the_reading(text: str) -> None:
    station = read_station(f"{HEADINGS}\n{text}", CHICAGO)
    lines = {told.line for told in station.faults if told.line}
    assert station.rows == len(station.readings) + len(lines) or not station.rows


@given(
    st.text(
        alphabet=st.sampled_from([*'time temp wind rh F,;|\t\n\r"0123456789:/-.%°\x00\x85']), max_size=120
    )
)
def test_no_headings_at_all_break_the_reading(text: str) -> None:
    station = read_station(text, CHICAGO, {"time-column": "0", "air-column": "-1", "wind-unit": "furlongs"})
    assert station.readings == () or not station.questions


@given(
    st.lists(st.tuples(st.integers(0, 59), st.sampled_from(["70", "", "x", "999"])), min_size=1, max_size=30)
)
def test_every_row_is_either_a_reading_or_a_fault_by_line(rows: list[tuple[int, str]]) -> None:
    station = read(*[f"2026-07-03 14:{minute:02d},{air},50,5" for minute, air in rows])
    good = [line for line, (_, air) in enumerate(rows, 2) if air == "70"]
    assert len(station.readings) == len(good)
    assert sorted({*good, *(told.line for told in station.faults)}) == list(range(2, len(rows) + 2))
    assert list(station.readings) == sorted(station.readings, key=lambda reading: reading.at)
