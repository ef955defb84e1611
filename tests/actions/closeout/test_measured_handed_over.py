"""What a placing day measured, as it is handed over: in the record's tables and in the closeout."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

from service.actions.closeout.closeout import closeout_of
from service.actions.record.placing import placing_tables
from service.domain.nouns.placing import DepthReading, WeatherReading
from service.history.closeout.told import ZoneTold
from service.history.closeout.zone_words import zone_part
from service.history.facts.placing import (
    PlacingPlanned,
    ReadingsTaken,
    ReadingsWithdrawn,
    ThicknessMeasured,
    ThicknessWithdrawn,
)
from tests.history.story import INCH, MANAGER, NOON, Story, whole

NAMES = {"lou": "Lou Lead", "max": "Max Manager", "ina": "Ina Inspector"}
# 90 °F, 10 %, 10 mph: 0.336 lb/ft²/h in PCA's table (from memory), of which the larger formula tells 0.346.
HOT = WeatherReading(NOON, 90_000, 90_000, None, 10_000, 10_000, False)
COOL = WeatherReading(NOON + timedelta(hours=1), 60_000, 60_000, 55_500, 80_000, 5_000, True)
UNKNOWN = WeatherReading(NOON + timedelta(hours=2), 110_000, None, None, 5_000, 30_000, False)
PLAN = PlacingPlanned("zb", "B", 4 * INCH, 5_000, "10 cu yd", "40 cu yd", "usual", "4000 psi")


def measured(*depths: float) -> Story:
    """Zone B planned, its weather read three times, its slab measured in these places."""
    read = tuple(DepthReading(round(depth * INCH), f"place {n}") for n, depth in enumerate(depths))
    story = whole().tell(PLAN, who=MANAGER)
    return story.tell(
        ReadingsTaken("w1", "zb", "B", "mast.csv", (HOT, COOL, UNKNOWN), "=cmd()"),
        ThicknessMeasured("t1", "zb", "B", read, ""),
    )


def zone(story: Story) -> ZoneTold:
    [found] = [zone for zone in closeout_of(story.site, story.entries, NAMES).zones if zone.letter == "B"]
    return found


def rows(story: Story, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(placing_tables(story.site, "us")[name])))


def said(story: Story, term: str) -> str:
    part = zone_part(zone(story), lambda at: f"{at:%H:%M}")
    return dict(part.facts).get(term, "")


def test_every_reading_is_a_row_and_what_was_not_measured_is_left_empty() -> None:
    told = rows(measured(4), "weather.csv")
    assert [row["air"] for row in told] == ["90 °F", "60 °F", "110 °F"]
    assert [row["concrete"] for row in told] == ["90 °F", "60 °F", ""]
    assert [row["rain"] for row in told] == ["no", "yes", "no"]
    assert {row["source"] for row in told} == {"mast.csv"} and told[0]["by"] == "lou"
    assert told[0]["note"] == "'=cmd()", "no spreadsheet runs what somebody typed"
    (plan,) = rows(measured(4), "placing_plans.csv")
    assert (plan["thickness"], plan["allowance_percent"], plan["limit"], plan["by"]) == (
        "4 in",
        "5",
        "usual",
        "max",
    )


def test_what_was_withdrawn_stands_in_the_tables_with_its_reason_and_counts_for_nothing() -> None:
    story = measured(4, 2).tell(
        ReadingsWithdrawn("w1", "zb", "B", "another mast"), ThicknessWithdrawn("t1", "zb", "B", "on the form")
    )
    assert {row["withdrawn"] for row in rows(story, "weather.csv")} == {"another mast"}
    assert {row["withdrawn"] for row in rows(story, "thickness.csv")} == {"on the form"}
    assert zone(story).weather is None and zone(story).thickness is None
    assert said(story, "Slab thickness") == said(story, "Weather readings") == ""


def test_a_thickness_is_never_shown_thicker_than_it_was_read() -> None:
    told = rows(measured(3.999), "thickness.csv")
    assert (told[0]["thickness"], told[0]["thickness_nm"]) == ("3 15/16 in", str(round(3.999 * INCH)))


def test_the_closeout_judges_the_slab_and_says_by_whose_plan() -> None:
    """ACI 117-10 section 4.5.4: no sample more than 3/4 in thin, the average no more than 3/8 in."""
    good = said(measured(3.7, 3.8, 3.6), "Slab thickness")
    assert good.startswith("Within the tolerance. 3 readings against 4 in, as planned by Max Manager")
    bad = zone(measured(4.2, 4.1, 3.2))
    assert bad.thickness is not None and bad.thickness.meets is False
    assert "Out of tolerance: a reading is more than 3/4 in under" in said(
        measured(4.2, 4.1, 3.2), "Slab thickness"
    )
    table = next(t for t in zone_part(bad, str).tables if t.caption.startswith("Slab thickness"))
    assert [row.cells[0][0] for row in table.rows] == ["4 3/16 in", "4 1/16 in", "3 3/16 in"]


def test_the_highest_rate_is_of_readings_that_tell_the_concretes_temperature() -> None:
    weather = zone(measured(4)).weather
    assert weather is not None and (weather.count, weather.highest_at) == (3, NOON)
    assert "0.35 lb per sq ft and hour" in weather.highest
    assert "a screening guide: the real rate can lie 40 % either way" in said(measured(4), "Weather readings")
    bare = whole().tell(ReadingsTaken("w1", "zb", "B", "", (UNKNOWN,), ""))
    assert said(bare, "Weather readings").endswith("the concrete's temperature was not read")


def test_readings_without_a_plan_are_told_and_judged_by_nothing() -> None:
    story = whole().tell(ThicknessMeasured("t1", "zb", "B", (DepthReading(2 * INCH, ""),), ""))
    told = zone(story).thickness
    assert told is not None and told.meets is None and told.asked is None
    assert said(story, "Slab thickness") == "1 reading, and no thickness planned to judge by"
