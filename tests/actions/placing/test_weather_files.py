"""A weather station's file for a placing day: asked about, told by line, taken once, and nothing lost."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from service.actions.frame.desk import Desk
from service.actions.placing.placing_day import placing_day, withdraw_readings
from service.actions.placing.weather_files import MOST_TAKEN, keep_file, read_days, take_file, understand
from service.domain.nouns.site import Zone
from service.domain.words.refusals import BadInput, NotFound, TooLarge
from tests.builders import a_zone
from tests.cast import Cast

HEAD = "Time,Air F,RH %,Wind mph,Rain\n"
# Times are the site's, Chicago: 06:00 there is noon in UTC, which is now.
CLEAN = HEAD + "2026-11-25 04:00,60,50,8,0\n2026-11-25 05:00,62,48,9,0\n"
OPEN = "Time,Temp,Humidity,Wind\n2026-11-25 04:00,60,50,8\n"


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def kept(desk: Desk, cast: Cast, zone: Zone, text: str) -> str:
    return keep_file(desk, cast.lead.id, zone.id, text.encode())


def test_a_file_that_leaves_units_open_is_asked_and_nothing_is_recorded_until_it_is_answered(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    by, sha256 = cast.lead.id, kept(desk, cast, zone, OPEN)
    with pytest.raises(BadInput) as refused:
        take_file(desk, by, zone.id, sha256, "mast.csv")
    assert refused.value.code == "questions" and set(refused.value.fields) == {"air-unit", "wind-unit"}
    assert placing_day(desk, by, zone.id).readings == ()
    answers = {"air-unit": "F", "wind-unit": "knots"}
    (reading,) = take_file(desk, by, zone.id, sha256, "mast.csv", answers).readings
    # A knot is 1852 m an hour, a mile 1609.344 m, both by definition: 8 knots are 9.206 mph.
    assert (reading.wind_mmph, reading.air_mf) == (9206, 60_000)


def test_rows_out_of_order_are_sorted_and_told_and_a_humidity_of_130_is_told_by_its_line(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    text = HEAD + (
        "2026-11-25 05:00,62,48,9,0\n2026-11-25 05:30,62,130,9,0\n"
        "2026-11-25 04:00,60,50,8,0\n2026-11-25 05:45,63,45,9,0\n"
    )
    _, found = understand(desk, cast.lead.id, zone.id, kept(desk, cast, zone, text))
    assert [fault.line for fault in found.station.faults] == [3]
    assert {(note.line, note.code) for note in found.station.notes} >= {(4, "out-of-order")}
    times = [reading.at for reading in found.fresh]
    assert times == sorted(times) and len(times) == 3


def test_what_was_taken_before_is_told_and_not_taken_again(desk: Desk, cast: Cast, zone: Zone) -> None:
    by = cast.lead.id
    first = take_file(desk, by, zone.id, kept(desk, cast, zone, CLEAN), "mast.csv")
    more = CLEAN.replace("62,48", "64,40") + "2026-11-25 05:30,63,47,9,0\n"
    sha256 = kept(desk, cast, zone, more)
    _, found = understand(desk, by, zone.id, sha256)
    assert (found.known, found.differ, len(found.fresh)) == (1, 1, 1)
    taken = take_file(desk, by, zone.id, sha256, "mast.csv")
    assert [one.at for one in taken.readings] == [datetime(2026, 11, 25, 11, 30, tzinfo=UTC)]
    with pytest.raises(BadInput, match="not taken before"):
        take_file(desk, by, zone.id, sha256, "mast.csv")
    withdraw_readings(desk, by, first.id, "the mast of another site")
    _, found = understand(desk, by, zone.id, sha256)
    assert (found.known, found.differ, len(found.fresh)) == (1, 0, 2), "what is withdrawn is in nobody's way"


def test_a_forecast_is_no_reading(desk: Desk, cast: Cast, zone: Zone) -> None:
    text = CLEAN + "2026-11-25 06:00,63,47,9,0\n2026-11-25 06:01,64,46,9,0\n"
    _, found = understand(desk, cast.lead.id, zone.id, kept(desk, cast, zone, text))
    assert (found.early, len(found.fresh)) == (1, 3), "exactly now is no forecast"


def test_more_than_can_be_taken_at_once_asks_for_the_days_wanted(desk: Desk, cast: Cast, zone: Zone) -> None:
    start, by = datetime(2026, 10, 1, tzinfo=UTC), cast.lead.id
    rows = [(start + timedelta(minutes=30 * n)).strftime("%Y-%m-%d %H:%M") for n in range(MOST_TAKEN + 1)]
    sha256 = kept(desk, cast, zone, HEAD + "".join(f"{at},60,50,8,0\n" for at in rows))
    with pytest.raises(BadInput, match="Choose the days") as refused:
        take_file(desk, by, zone.id, sha256, "mast.csv")
    assert refused.value.code == "too-many"
    days = read_days("2026-10-02", "2026-10-03")
    assert days == (date(2026, 10, 2), date(2026, 10, 3))
    taken = take_file(desk, by, zone.id, sha256, "mast.csv", days=days)
    assert len(taken.readings) == 96, "48 half hours a day"


@pytest.mark.parametrize(
    ("first", "last", "fields"),
    [
        ("2026-13-01", "", {"from", "to"}),
        ("2026-11-25", "tomorrow", {"to"}),
        ("2026-11-25", "2026-11-24", {"to"}),
    ],
)
def test_days_that_are_none_are_named(first: str, last: str, fields: set[str]) -> None:
    with pytest.raises(BadInput) as refused:
        read_days(first, last)
    assert set(refused.value.fields) == fields


def test_one_day_alone_and_no_day_are_both_days(desk: Desk) -> None:
    assert read_days("2026-11-25", "") == (date(2026, 11, 25), date(2026, 11, 25))
    assert read_days(" ", "") is None


def test_a_file_too_large_or_empty_or_not_there_is_refused(desk: Desk, cast: Cast, zone: Zone) -> None:
    with pytest.raises(TooLarge, match="2 MB"):
        keep_file(desk, cast.lead.id, zone.id, b"x" * 2_000_001)
    with pytest.raises(BadInput, match="Choose the station's file"):
        keep_file(desk, cast.lead.id, zone.id, b" \n")
    for name in ("0" * 64, "../../etc/passwd"):
        with pytest.raises(NotFound):
            understand(desk, cast.lead.id, zone.id, name)
    with pytest.raises(NotFound):
        keep_file(desk, cast.outsider.id, zone.id, CLEAN.encode())
