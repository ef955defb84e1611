"""A zone's placing day on one page: may it be placed, the weather now and all day, concrete, thickness."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from importlib import import_module
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.responses import Response

from service.actions.frame.doing import standing_zone
from service.actions.placing.placing_day import PlacingDay, placing_day
from service.domain.nouns import roles
from service.domain.nouns.placing import WeatherReading
from service.domain.weather.advice import CAUTIONS
from service.domain.weather.chart import calmest, day_chart
from service.domain.weather.evaporation import WIND_HEIGHT
from service.domain.weather.texts import NUMBER, rate_unit
from service.domain.words.measures import Units
from service.domain.words.speech import later, tr
from service.domain.words.temperatures import BadTemperature, parse_temperature, say_temperature
from service.web.placing.chart import RateChart, draw_chart, range_figures
from service.web.placing.entries import ReadingsLine, thickness_lines, weather_lines
from service.web.placing.file_words import WeatherRow, row_at_clock
from service.web.placing.shell import CAUTION_SCREENING, DEGREE, rendered, root_of
from service.web.placing.slab import ConcreteTold, concrete_told, thickness_told
from service.web.placing.words import STATES, Now, Verdict, may_be_placed, now_told
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import clock
from service.web.serving.render import day as day_words
from service.web.shared.crew_words import CAUTION_WALK, CAUTION_WEATHER
from service.web.shared.zone_views import ZoneBlock, zone_block

PARTS = ("placing.plan", "placing.readings", "placing.file", "placing.thickness")
router = APIRouter(include_in_schema=False)
for _name in PARTS:
    router.include_router(import_module(f"service.web.{_name}").router)

MOST_DAYS, MOST_ROWS = 14, 300
CALM_HOURS = 4
# The engineer and ACI 305 first; of the general cautions those that the first does not say already.
SHOWN_BESIDE = (CAUTION_SCREENING, *CAUTIONS[1:], CAUTION_WEATHER, CAUTION_WALK)
SAID = {
    "planned": later("The plan is kept."),
    "reading": later("The reading is kept."),
    "file": later("The readings are kept."),
    "thickness": later("The thickness is kept."),
    "withdrawn": later("The readings are withdrawn. They stay in the history with the reason."),
}


@dataclass(frozen=True, slots=True)
class DayLink:
    words: str
    href: str
    here: bool


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One reading under the chart: the rate with how it stands, and the weather it was worked out from."""

    rate: str
    stands: str
    weather: WeatherRow


@dataclass(frozen=True, slots=True)
class DayTold:
    """The day shown. `assumed`: what was typed as the concrete's temperature where none was measured."""

    title: str
    days: tuple[DayLink, ...]
    drawing: RateChart | None
    unit: str
    rows: tuple[ChartRow, ...]
    thinned: str
    calm: str
    asks_concrete: bool
    assumed: str
    assumed_wrong: str
    degree: str
    iso: str


@dataclass(frozen=True, slots=True)
class PlacingPage:
    """`templates/crew/placing_day.html`."""

    letter: str
    block: ZoneBlock
    may: Verdict
    reasons_href: str
    heading: str
    now: Now | None
    none_yet: str
    day: DayTold | None
    concrete: ConcreteTold
    plan_href: str
    mix: str
    thickness: Verdict | None
    depths: tuple[ReadingsLine, ...]
    readings: tuple[ReadingsLine, ...]
    wind_height: str
    root: str
    back: str


@router.get("/zones/{zone_id}/placing-day")
def page(
    desk: TheDesk, person: Signed, zone_id: str, day: str = "", concrete: str = "", said: str = ""
) -> Response:
    of, now = placing_day(desk, person.id, zone_id), desk.clock()
    standing_zone(of.view.seen)
    shown = _page(of, person.id, now, day, concrete[:40])
    told = tr(SAID.get(said, ""))
    return rendered("crew/placing_day.html", shown, of, person, said=told, cautions=SHOWN_BESIDE)


def _page(of: PlacingDay, person_id: str, now: datetime, day: str, typed: str) -> PlacingPage:
    view, weather = of.view, of.weather()
    assumed_mf, wrong = _assumed(typed, weather, DEGREE[view.seen.project.units])
    placed = view.zone.placement is not None
    told = None if placed else now_told(of, weather, assumed_mf, now)
    return PlacingPage(
        letter=view.zone.letter,
        block=zone_block(view, now),
        may=may_be_placed(of),
        reasons_href=f"/zones/{view.zone.id}/release" if view.standing.blockers and not placed else "",
        heading=_heading(told, placed),
        now=told,
        none_yet=_none_yet(placed),
        day=_day_told(of, weather, day, typed, assumed_mf, wrong) if weather else None,
        concrete=concrete_told(of),
        plan_href=f"/zones/{view.zone.id}/placing-plan"
        if roles.may(view.seen.role, "plan a placing")
        else "",
        mix=of.plan.mix if of.plan else "",
        thickness=thickness_told(of),
        depths=thickness_lines(of, person_id),
        readings=weather_lines(of, person_id),
        wind_height=tr(WIND_HEIGHT),
        root=f"/zones/{view.zone.id}",
        back=f"/zones/{view.zone.id}",
    )


def _heading(told: Now | None, placed: bool) -> str:
    if placed:
        return tr("Weather readings")
    return tr("Evaporation at the last reading") if told and told.old else tr("Evaporation now")


def _none_yet(placed: bool) -> str:
    if placed:
        return tr("Concrete is in: what was read then stands below.")
    return tr("No reading yet. Take one before the first truck, and again while the concrete comes.")


def _assumed(typed: str, weather: tuple[WeatherReading, ...], unit: str) -> tuple[int | None, str]:
    """The concrete's temperature where none was measured: as typed, else the newest that was measured; and
    what is wrong with what was typed."""
    if typed.strip():
        plain = typed.strip().removesuffix("°").strip()
        try:
            return parse_temperature(f"{plain} {unit}" if NUMBER.fullmatch(plain) else plain), ""
        except BadTemperature as bad:
            return None, str(bad)
    measured = (one.concrete_mf for one in reversed(weather) if one.concrete_mf is not None)
    return next(measured, None), ""


# --- the day ----------------------------------------------------------------------------------------------


def _day_told(
    of: PlacingDay,
    weather: tuple[WeatherReading, ...],
    asked: str,
    typed: str,
    assumed_mf: int | None,
    wrong: str,
) -> DayTold:
    project = of.view.seen.project
    zone = ZoneInfo(project.time_zone)
    days = sorted({one.at.astimezone(zone).date() for one in weather})
    shown = _chosen(asked, days)
    here = [one for one in weather if one.at.astimezone(zone).date() == shown]
    chart = day_chart(here, of.limit(), project.units, assumed_concrete_mf=assumed_mf)
    title = tr("Evaporation on {day}", day=_date_words(shown))
    every = -(-len(here) // MOST_ROWS)
    rows = tuple(
        ChartRow(
            range_figures(point, project.units),
            tr(STATES[point.standing]),
            row_at_clock(reading, project.time_zone, project.units),
        )
        for point, reading in list(zip(chart.points, here, strict=True))[::every]
    )
    long = here[-1].at - here[0].at >= timedelta(hours=2 * CALM_HOURS)
    calm = calmest(chart, CALM_HOURS) if long else None
    return DayTold(
        title=title,
        days=_links(of, days, shown, typed),
        drawing=draw_chart(chart, project.time_zone, title),
        unit=rate_unit(project.units),
        rows=rows,
        thinned=_thinned(every),
        calm=_calm_words(calm, project.time_zone),
        asks_concrete=any(one.concrete_mf is None for one in here),
        assumed=typed or _bare(assumed_mf, project.units),
        assumed_wrong=wrong,
        degree=f"°{DEGREE[project.units]}",
        iso=shown.isoformat(),
    )


def _thinned(every: int) -> str:
    if every == 1:
        return ""
    return tr("One reading in {n} stands here. The record's table weather.csv has every one.", n=every)


def _bare(mf: int | None, units: Units) -> str:
    """A temperature without its unit, which stands beside the field."""
    return "" if mf is None else say_temperature(mf, units).split(" ")[0]


def _chosen(asked: str, days: list[date]) -> date:
    """The day asked for where it has readings, else the newest that has."""
    try:
        wanted = date.fromisoformat(asked)
    except ValueError:
        return days[-1]
    return wanted if wanted in days else days[-1]


def _date_words(of: date) -> str:
    return day_words(datetime(of.year, of.month, of.day, 12, tzinfo=UTC), "UTC")


def _links(of: PlacingDay, days: list[date], shown: date, typed: str) -> tuple[DayLink, ...]:
    """The newest days with readings, and the one shown with its neighbours."""
    at = days.index(shown)
    wanted = sorted({*days[-MOST_DAYS:], *days[max(0, at - 1) : at + 2]})
    root = root_of(of)
    return tuple(
        DayLink(_date_words(one), f"{root}?day={one.isoformat()}#day", one == shown) for one in wanted
    )


def _calm_words(calm: tuple[datetime, datetime] | None, time_zone: str) -> str:
    if calm is None:
        return ""
    return tr(
        "Of what was read, the {n} hours with the lowest rates were {first} to {last}.",
        n=CALM_HOURS,
        first=clock(calm[0], time_zone),
        last=clock(calm[1], time_zone),
    )
