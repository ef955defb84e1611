"""A zone's placing day planned, read and measured, what is refused, and that the gate reads none of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.placing.placing_day import (
    concrete_of,
    measure_thickness,
    placing_day,
    plan_placing,
    take_reading,
    withdraw_readings,
    withdraw_thickness,
)
from service.actions.placing.readings_entry import wind_with_unit
from service.domain.nouns.site import Zone
from service.domain.placing.concrete import say_volume
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from service.history.facts.entries import FromPhone
from service.history.replay.standing import READY
from tests.builders import (
    PLACING,
    WEATHER,
    a_placing_plan,
    a_reading,
    a_release,
    a_thickness,
    a_walk,
    a_zone,
)
from tests.cast import NOON, Cast

INCH = 25_400_000


def fields_of(refused: pytest.ExceptionInfo[BadInput]) -> set[str]:
    return set(refused.value.fields)


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


# --- the plan ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("feet", "thickness", "ordered", "loads"),
    [
        # 16 by 20 ft, 4 in thick: a ready-mix producer's page orders 4.25 cu yd with 5 %.
        ((16, 20), "4 in", "4.25 cu yd", 1),
        # 5,000 sq ft, 6 in thick: 92.59 cu yd, with 5 % 97.22 (area times thickness by 324), in 10 loads.
        ((100, 50), "6 in", "97.25 cu yd", 10),
    ],
)
def test_a_plan_orders_what_a_producers_page_orders(
    desk: Desk, cast: Cast, feet: tuple[int, int], thickness: str, ordered: str, loads: int
) -> None:
    right, down = 100 + 10 * feet[0], 100 + 10 * feet[1]
    zone = a_zone(desk, cast, outline=((100, 100), (right, 100), (right, down), (100, down)))
    a_placing_plan(desk, cast, zone, thickness=thickness)
    found = concrete_of(placing_day(desk, cast.lead.id, zone.id))
    assert found is not None
    assert say_volume(found.ordered, "us") == ordered
    assert found.loads == loads and found.minutes_between == 15


def test_everything_wrong_with_a_plan_is_told_at_once_and_nothing_is_kept(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    given = {"thickness": "0", "allowance": "130", "truck": "10", "rate": "0 cu yd", "limit": "none"}
    with pytest.raises(BadInput, match="with none there is no concrete") as refused:
        plan_placing(desk, cast.manager.id, zone.id, given)
    assert fields_of(refused) == set(given)
    assert placing_day(desk, cast.lead.id, zone.id).plan is None


def test_a_plan_without_a_truck_tells_the_volume_alone(desk: Desk, cast: Cast, zone: Zone) -> None:
    plan_placing(desk, cast.manager.id, zone.id, {"thickness": "4 in", "limit": "usual"})
    found = concrete_of(placing_day(desk, cast.lead.id, zone.id))
    assert found is not None and (found.loads, found.hours) == (None, None)


# --- readings ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "field", "told"),
    [
        ({"humidity": "130"}, "humidity", "between 0 and 100 percent"),
        ({"wind": "12"}, "wind", "12 of what?"),
        ({"wind": "200 mph"}, "wind", "between 0 and 150 mph"),
        ({"air": ""}, "air", "How warm is the air?"),
        ({"air": "85"}, "air", "Write F or C"),
        ({"concrete": "900 F"}, "concrete", "between -60 and 200"),
        ({"at": NOON + timedelta(seconds=1)}, "at", "has not come yet"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_with_its_reason(
    desk: Desk, cast: Cast, zone: Zone, given: dict[str, Any], field: str, told: str
) -> None:
    with pytest.raises(BadInput) as refused:
        take_reading(desk, cast.lead.id, zone.id, WEATHER | given)
    assert set(refused.value.fields) == {field} and told in refused.value.fields[field]
    assert placing_day(desk, cast.lead.id, zone.id).readings == ()


def test_an_earlier_reading_logged_later_stands_in_its_place(desk: Desk, cast: Cast, zone: Zone) -> None:
    a_reading(desk, cast, zone)
    a_reading(desk, cast, zone, air="70 F", at=NOON - timedelta(hours=2))
    weather = placing_day(desk, cast.lead.id, zone.id).weather()
    assert [(one.at, one.air_mf) for one in weather] == [
        (NOON - timedelta(hours=2), 70_000),
        (NOON, 85_000),
    ]


@pytest.mark.parametrize(
    ("typed", "chosen", "sent"),
    [
        ("12", "mph", "12 mph"),
        ("10", "knots", "10 knots"),
        ("12 mph", "", "12 mph"),
        ("12 kts", "knots", "12 kts"),
        ("", "mph", ""),
        ("12", "", "12"),
    ],
)
def test_the_winds_unit_is_the_one_written_or_chosen(typed: str, chosen: str, sent: str) -> None:
    assert wind_with_unit(typed, chosen) == sent


@pytest.mark.parametrize(("typed", "chosen"), [("12 kt", "mph"), ("20 km/h", "m/s"), ("5 m/s", "knots")])
def test_a_unit_written_that_is_not_the_one_chosen_is_asked_about(typed: str, chosen: str) -> None:
    with pytest.raises(BadInput, match=f"You wrote {typed} and chose {chosen}. Which is it?") as refused:
        wind_with_unit(typed, chosen)
    assert refused.value.code == "wind-two-units"


def test_a_reading_that_waited_on_a_phone_is_of_when_it_was_kept_there(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    hour = timedelta(hours=1)
    for told, at in ((NOON - hour, NOON - hour), (NOON + hour, NOON), (None, NOON)):
        phone = replace(desk, phone=FromPhone(1, told))
        (reading,) = a_reading(phone, cast, zone).readings
        assert reading.at == at, "a phone's clock that runs ahead is not believed"


def test_readings_are_withdrawn_by_whoever_took_them_or_the_manager_once_and_with_a_reason(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    eyes = a_reading(desk, cast, zone, by=cast.inspector.id)
    mine, theirs = a_reading(desk, cast, zone), a_reading(desk, cast, zone)
    with pytest.raises(NotAllowed):
        withdraw_readings(desk, cast.manager.id, eyes.id, "an inspector's own")
    with pytest.raises(BadInput, match="Say why"):
        withdraw_readings(desk, cast.lead.id, mine.id, " ")
    withdraw_readings(desk, cast.lead.id, mine.id, "read in the sun")
    withdraw_readings(desk, cast.manager.id, theirs.id, "another zone")
    with pytest.raises(Conflict, match="read in the sun"):
        withdraw_readings(desk, cast.lead.id, mine.id, "again")
    day = placing_day(desk, cast.lead.id, zone.id)
    assert len(day.readings) == 3 and day.weather() == eyes.readings


# --- thickness --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("depths", "faults"),
    [
        # ACI 117-10 section 4.5.4, as a magazine tells it: 4 in asked for.
        (("3.7 in", "3.8 in", "3.6 in"), ()),
        (("4.2 in", "4.1 in", "3.2 in"), ("sample-thin",)),
        (("5.5 in", "5.6 in", "5.4 in"), ()),
        (("3.6 in", "3.6 in", "3.6 in"), ("average-thin",)),
    ],
)
def test_a_slabs_readings_are_judged_together_however_they_were_logged(
    desk: Desk, cast: Cast, zone: Zone, depths: tuple[str, ...], faults: tuple[str, ...]
) -> None:
    a_placing_plan(desk, cast, zone)
    for depth in depths:
        a_thickness(desk, cast, zone, depth)
    verdict = placing_day(desk, cast.lead.id, zone.id).verdict()
    assert verdict is not None and verdict.faults == faults


def test_nothing_measured_and_nothing_planned_are_no_pass(desk: Desk, cast: Cast, zone: Zone) -> None:
    assert placing_day(desk, cast.lead.id, zone.id).verdict() is None
    thin = a_thickness(desk, cast, zone, "3 in")
    assert placing_day(desk, cast.lead.id, zone.id).verdict() is None
    a_placing_plan(desk, cast, zone)
    verdict = placing_day(desk, cast.lead.id, zone.id).verdict()
    assert verdict is not None and not verdict.meets
    withdraw_thickness(desk, cast.lead.id, thin.id, "measured on the form")
    assert placing_day(desk, cast.lead.id, zone.id).verdict() is None


def test_a_thickness_of_nothing_is_named_by_its_row_and_none_is_kept(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    rows = [{"depth": "4 in"}, {"depth": "0"}, {"depth": ""}, {"depth": "40 ft"}]
    with pytest.raises(BadInput) as refused:
        measure_thickness(desk, cast.lead.id, zone.id, {"readings": rows})
    assert fields_of(refused) == {"readings.1.depth", "readings.2.depth", "readings.3.depth"}
    assert "A thickness of 0 is no slab" in refused.value.fields["readings.1.depth"]
    with pytest.raises(BadInput, match="one place at least"):
        measure_thickness(desk, cast.lead.id, zone.id, {"readings": []})
    assert placing_day(desk, cast.lead.id, zone.id).thicknesses == ()


# --- guidance ---------------------------------------------------------------------------------------------


def test_the_gate_reads_none_of_it(desk: Desk, cast: Cast, zone: Zone) -> None:
    """A zone that is ready stays so whatever the weather and the slab say, and its digest does not move."""
    a_walk(desk, cast, zone)
    digest = a_release(desk, cast, zone)
    a_placing_plan(desk, cast, zone)
    a_reading(desk, cast, zone, wind="60 mph", humidity="5", rain=True)
    withdraw_thickness(desk, cast.lead.id, a_thickness(desk, cast, zone, "1 in").id, "by mistake")
    a_thickness(desk, cast, zone, "1 in")
    standing = zone_view(desk, cast.lead.id, zone.id).standing
    assert (standing.state, standing.digest, standing.blockers) == (READY, digest, ())


def test_a_plan_that_is_made_anew_takes_the_place_of_the_old_one(desk: Desk, cast: Cast, zone: Zone) -> None:
    plan_placing(desk, cast.manager.id, zone.id, PLACING)
    plan_placing(desk, cast.manager.id, zone.id, PLACING | {"thickness": "6 in", "mix": "with fume"})
    plan = placing_day(desk, cast.lead.id, zone.id).plan
    assert plan is not None and (plan.thickness_nm, plan.mix) == (6 * INCH, "with fume")
