"""The placing day's pages: what they warn of and when, and that whatever is typed amiss is given back."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from service.actions.frame.desk import Desk
from service.actions.office.release import mark_placed
from service.actions.placing.placing_day import placing_day
from service.actions.placing.weather_files import keep_file, take_file
from service.domain.nouns.site import Zone
from tests.builders import a_placing_plan, a_reading, a_release, a_thickness, a_walk, a_zone
from tests.cast import NOON, Cast, Clock
from tests.conftest import ClientOf
from tests.web.office.forms import form_of

STATION = (
    "Time,Temp,Humidity,Wind\n2026-11-25 05:00,62,48,9\n2026-11-25 04:00,60,50,8\n2026-11-25 04:30,61,130,8\n"
)


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def words(html: str) -> str:
    """What the page says, without its markup."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html[html.index("<main") :]))


def part(html: str, name: str) -> str:
    """The words of one part of the page."""
    return words("<main" + html.split(f'id="{name}"')[1].split("</section>")[0])


# --- the page ---------------------------------------------------------------------------------------------


def test_hold_points_stop_a_placing_and_the_weather_only_warns(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.lead), f"/zones/{zone.id}/placing-day"
    assert "It may not be placed: 1 reason holds it." in words(client.get(path).text)
    a_walk(desk, cast, zone)
    assert "It may not be placed: nobody released it as it is now." in words(client.get(path).text)
    a_release(desk, cast, zone)
    a_reading(desk, cast, zone, wind="40 mph", humidity="10")
    told = words(client.get(path).text)
    assert "It may be placed: it is released, and nothing changed since." in told
    assert "Only the release gate and its hold points stop a placing." in told
    assert "At or above the limit" in told and "Act now, or put the placing off." in told
    assert "A screening guide, not a measurement" in told and "ACI 305" in told


def test_a_reading_past_its_time_to_look_again_is_said_to_be_old(
    desk: Desk, cast: Cast, clock: Clock, page_of: ClientOf, zone: Zone
) -> None:
    a_reading(desk, cast, zone)  # over the limit: looked at again in a quarter of an hour
    client, path = page_of(cast.lead), f"/zones/{zone.id}/placing-day"
    clock.go_on(minutes=15)
    fresh = part(client.get(path).text, "now")
    assert "Look again by 6:15 am" in fresh and "This reading is old" not in fresh
    clock.go_on(seconds=1)
    old = part(client.get(path).text, "now")
    assert "This reading is old: it was to be looked at again by 6:15 am." in old
    assert "Evaporation at the last reading" in old and "Look again by" not in old


def test_film_at_the_dew_point_is_not_to_be_taped(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    """Saturated air has its dew point at its own temperature."""
    client, path = page_of(cast.lead), f"/zones/{zone.id}/placing-day"
    a_reading(desk, cast, zone, air="60 F", film="60 F", humidity="100")
    assert "The film is at or under the dew point" in part(client.get(path).text, "now")
    a_reading(desk, cast, zone, air="60 F", film="80 F", humidity="50")
    assert "Nothing that was measured speaks against taping." in part(client.get(path).text, "now")


def test_a_day_is_chosen_by_its_link_and_told_as_a_table_too(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    a_reading(desk, cast, zone, at=NOON - timedelta(days=1), wind="5 mph")
    a_reading(desk, cast, zone)
    client, path = page_of(cast.inspector), f"/zones/{zone.id}/placing-day"
    newest = client.get(path).text
    assert "Evaporation on Wed 25 Nov 2026" in part(newest, "day")
    assert f'href="{path}?day=2026-11-24#day"' in newest
    before = part(client.get(f"{path}?day=2026-11-24").text, "day")
    assert "Evaporation on Tue 24 Nov 2026" in before and "5 mph" in before and "12 mph" not in before
    for nonsense in ("2026-02-31", "yesterday", "2025-01-01"):
        assert "Wed 25 Nov 2026" in part(client.get(f"{path}?day={nonsense}").text, "day")


def test_a_day_read_every_minute_is_told_in_a_table_that_a_phone_can_bear(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    at = [(NOON - timedelta(hours=13, minutes=n)).strftime("%Y-%m-%dT%H:%M:%SZ") for n in range(660)]
    rows = "".join(f"{when},60,50,8\n" for when in at)
    sha256 = keep_file(desk, cast.lead.id, zone.id, f"Time UTC,Air F,RH %,Wind mph\n{rows}".encode())
    take_file(desk, cast.lead.id, zone.id, sha256, "mast.csv")
    told = page_of(cast.lead).get(f"/zones/{zone.id}/placing-day?concrete=70").text
    assert told.count('<th scope="row">') == 220 and "One reading in 3 stands here." in told


def test_the_concrete_is_assumed_where_nobody_measured_it_and_said_to_be(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    a_reading(desk, cast, zone, concrete="")
    client, path = page_of(cast.lead), f"/zones/{zone.id}/placing-day"
    assert "No rate can be drawn" in part(client.get(path).text, "day")
    html = client.get(f"{path}?concrete=85").text
    assert "No rate can be drawn" not in part(html, "day") and 'class="point hollow"' in html
    assert "temperature is assumed" in part(html, "now")
    wrong = client.get(f"{path}?concrete=warm").text
    assert 'id="concrete-wrong"' in wrong and 'value="warm"' in wrong


def test_concrete_and_thickness_are_told_against_the_plan(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.manager), f"/zones/{zone.id}/placing-day"
    assert "No placing is planned for this zone yet." in words(client.get(path).text)
    a_placing_plan(desk, cast, zone, thickness="3 in")
    a_thickness(desk, cast, zone, "2 1/2 in", "3 in")
    html = client.get(path).text
    # 80 by 60 ft, 3 in: 44.44 cu yd (area times thickness by 324), with 5 % 46.67, in five trucks of 10.
    assert "46.75 cu yd" in html and "5 loads of 10 cu yd" in html and "one every 15 minutes" in html
    assert "the least slab of IBC 1910.1" in html
    assert "Within the tolerance" in part(html, "thickness")
    a_thickness(desk, cast, zone, "2 in")
    told = part(client.get(path).text, "thickness")
    assert "Out of tolerance" in told and "a reading is more than 3/4 in under" in told


def test_once_concrete_is_in_the_page_says_so_and_asks_for_nothing_more(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    a_reading(desk, cast, zone)
    mark_placed(desk, cast.manager.id, zone.id)
    told = words(page_of(cast.lead).get(f"/zones/{zone.id}/placing-day").text)
    assert "Concrete is in, Wed 25 Nov 2026, 6:00 am." in told and "What to do" not in told
    assert "Evaporation on Wed 25 Nov 2026" in told


# --- the forms --------------------------------------------------------------------------------------------


def test_a_bare_number_has_the_unit_beside_it_and_the_other_unit_may_be_written(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.lead), f"/zones/{zone.id}/readings"
    page = client.get(path).text
    assert 'data-outbox="yes"' in page and '<option value="" selected>' in page, "no unit is guessed"
    form = form_of(page, path) | {"air": "85", "concrete": "28 C", "humidity": "45 %", "wind": "10"}
    sent = client.post(path, data=form | {"wind_unit": "knots", "rain": "yes", "at": "2026-11-25 05:00"})
    assert sent.headers["location"] == f"/zones/{zone.id}/placing-day?said=reading"
    (reading,) = placing_day(desk, cast.lead.id, zone.id).weather()
    # 28 °C are 82.4 °F; 10 knots are 11.508 mph (a knot is 1852 m an hour, a mile 1609.344 m).
    assert (reading.air_mf, reading.concrete_mf, reading.wind_mmph) == (85_000, 82_400, 11_508)
    assert reading.rain and reading.film_mf is None and reading.at == NOON - timedelta(hours=1)


def test_knots_pasted_where_mph_was_chosen_are_asked_about_with_all_else_that_is_amiss(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.lead), f"/zones/{zone.id}/readings"
    form = form_of(client.get(path).text, path)
    typed = {"air": "85", "humidity": "130", "wind": "12 kt", "wind_unit": "mph", "note": "by the gate"}
    answer = client.post(path, data=form | typed)
    assert answer.status_code == 422
    assert "You wrote 12 kt and chose mph. Which is it?" in answer.text
    assert "between 0 and 100 percent" in answer.text
    assert typed.items() <= form_of(answer.text, path).items()
    later = client.post(
        path, data=form | {"air": "85", "humidity": "45", "wind": "5 mph", "at": "2026-11-25 06:01"}
    )
    assert later.status_code == 422 and "That time has not come yet" in later.text
    assert placing_day(desk, cast.lead.id, zone.id).readings == ()


def test_a_file_is_read_back_asked_about_and_taken(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.lead), f"/zones/{zone.id}/readings/file"
    sent = client.post(path, files={"file": (r"C:\mast\site 2.csv", STATION.encode())})
    page = client.get(sent.headers["location"]).text
    assert "Is the wind in mph, km/h, m/s or knots? The file does not say." in page
    assert "Line 4." in page and "between 0 and 100 percent" in page
    form = form_of(page, path)
    assert form["name"] == "site 2.csv" and form["q-wind-unit"] == ""
    too_soon = client.post(path, data=form | {"step": "take"})
    assert too_soon.status_code == 422 and 'id="q-wind-unit-wrong"' in too_soon.text
    answered = client.post(path, data=form | {"step": "read", "q-wind-unit": "km/h", "q-air-unit": "F"})
    assert "Take 2 of its readings" in answered.text
    form = form_of(answered.text, path)
    assert form["q-wind-unit"] == "km/h", "what was answered stays answered"
    taken = client.post(path, data=form | {"step": "take"})
    assert taken.headers["location"] == f"/zones/{zone.id}/placing-day?said=file"
    (entry,) = placing_day(desk, cast.lead.id, zone.id).readings
    assert [one.wind_mmph for one in entry.readings] == [4971, 5592]  # 8 and 9 km/h
    again = client.get(sent.headers["location"]).text
    assert "Is the wind" in again, "the same file asks again: nothing about it is guessed"


def test_pasted_lines_and_an_empty_form_are_both_answered(cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    client, path = page_of(cast.lead), f"/zones/{zone.id}/readings/file"
    empty = client.post(path, data={"text": " "}, files={"file": ("", b"")})
    assert empty.status_code == 422 and "Choose the station" in empty.text
    pasted = client.post(path, data={"text": STATION}, files={"file": ("", b"")})
    assert pasted.status_code == 303 and "name=pasted" in pasted.headers["location"]
    nonsense = client.post(path, data={"text": "hello"}, files={"file": ("", b"")})
    assert "No table was found" in client.get(nonsense.headers["location"]).text
    assert client.get(f"{path}?kept={'0' * 64}").status_code == 404


def test_thickness_is_measured_in_several_places_and_a_fault_stands_at_its_own(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    a_placing_plan(desk, cast, zone)
    client, path = page_of(cast.lead), f"/zones/{zone.id}/thickness"
    page = client.get(path).text
    assert page.count('data-add="depth_0"') == 4 and 'data-start="4"' in page
    form = form_of(page, path) | {
        "depth_0": "4",
        "where_0": "by column B2",
        "depth_2": "0",
        "where_3": "east",
    }
    more = client.post(path, data=form | {"rows": "more"})
    assert more.status_code == 200 and 'id="depth_4"' in more.text
    refused = client.post(path, data=form)
    assert refused.status_code == 422
    assert 'id="depth_2-wrong"' in refused.text and 'id="depth_3-wrong"' in refused.text
    assert 'id="depth_1-wrong"' not in refused.text, "a place left empty was not measured"
    assert form_of(refused.text, path)["where_0"] == "by column B2"
    client.post(path, data=form | {"depth_2": "3 7/8", "depth_3": "100 mm"})
    (taken,) = placing_day(desk, cast.lead.id, zone.id).thicknesses
    assert [each.depth_nm for each in taken.readings] == [101_600_000, 98_425_000, 100_000_000]


def test_readings_are_taken_back_with_a_reason_and_stay_to_be_seen(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    taken, depth = a_reading(desk, cast, zone), a_thickness(desk, cast, zone)
    client, day = page_of(cast.lead), f"/zones/{zone.id}/placing-day"
    for path in (f"/readings/{taken.id}/withdraw", f"/thickness/{depth.id}/withdraw"):
        assert f'href="{path}"' in client.get(day).text
        assert client.post(path, data=form_of(client.get(path).text, path)).status_code == 422
        form = form_of(client.get(path).text, path) | {"reason": "the next zone's"}
        assert client.post(path, data=form).headers["location"] == f"{day}?said=withdrawn"
        assert f'href="{path}"' not in client.get(day).text
    assert words(client.get(day).text).count("Withdrawn: the next zone") == 2
    eyes = a_reading(desk, cast, zone, by=cast.inspector.id)
    assert client.get(f"/readings/{eyes.id}/withdraw").status_code == 403


def test_a_plan_typed_amiss_is_given_back_and_only_the_manager_makes_one(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.manager), f"/zones/{zone.id}/placing-plan"
    form = form_of(client.get(path).text, path)
    assert form["limit"] == "directly on film", "the more careful limit is offered first"
    answer = client.post(path, data=form | {"thickness": "0", "mix": "4000 psi"})
    assert answer.status_code == 422 and "with none there is no concrete" in answer.text
    assert form_of(answer.text, path)["mix"] == "4000 psi"
    client.post(path, data=form | {"thickness": "5 1/4", "allowance": "7.5"})
    assert form_of(client.get(path).text, path)["thickness"] == "5 1/4"
    assert form_of(client.get(path).text, path)["allowance"] == "7.5"
    assert page_of(cast.lead).get(path).status_code == 403
