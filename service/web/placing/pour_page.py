"""The page of the plan of pours: weeks as on a calendar sheet, and each zone with what it needs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from service.actions.entrance.accounts import Person
from service.actions.placing.calendars import OwnLink
from service.actions.placing.pour_plan import PlannedZone, PourPlan
from service.domain.nouns import roles
from service.domain.words.names import zone_state
from service.domain.words.speech import tr, trn
from service.history.replay.standing import Standing
from service.web.drawings.drawing import ScheduleRow
from service.web.forms.sending import new_key
from service.web.placing.pour_words import (
    conflict_words,
    counts_words,
    day_words,
    late_word,
    left_words,
    more_words,
    need_words,
    verdict_words,
)
from service.web.serving.render import clock, moment
from service.web.shared.placing_words import since_words
from service.web.shared.reasons import kind_of
from service.web.shared.zone_views import size_of

ONE_WEEK = timedelta(weeks=1)


@dataclass(frozen=True, slots=True)
class PourCell:
    """One placing on its day. `late`: it is not expected to be clear in time, in a word."""

    letter: str
    words: str
    state: str
    kind: str
    late: str
    href: str


@dataclass(frozen=True, slots=True)
class DayCell:
    words: str
    today: str
    pours: tuple[PourCell, ...]


@dataclass(frozen=True, slots=True)
class WeekRow:
    """A week with its seven days, or, without any, words for weeks in which nothing is placed."""

    words: str
    days: tuple[DayCell, ...]


@dataclass(frozen=True, slots=True)
class ZoneSheet:
    """One zone: its title block, the sentence about its day, what it needs, the pace of each kind of work.

    `move`: where its day is moved, empty for who may not.
    """

    id: str
    letter: str
    rows: tuple[tuple[str, str], ...]
    state: str
    small: str
    kind: str
    verdict: tuple[str, str]
    conflicts: tuple[str, ...]
    needs: str
    paces: tuple[tuple[str, str, str], ...]
    more: str
    href: str
    move: str


@dataclass(frozen=True, slots=True)
class LinkRow:
    words: str
    made: str
    action: str


@dataclass(frozen=True, slots=True)
class PoursPage:
    """`templates/office/plan_of_pours.html`. `shown`: the address of a link made just now. `link_action` is
    empty for a sign-in by code, which makes no links."""

    told: str
    weeks: tuple[WeekRow, ...]
    dated: tuple[ZoneSheet, ...]
    undated: tuple[ZoneSheet, ...]
    placed: tuple[ScheduleRow, ...]
    worked: str
    shown: str
    links: tuple[LinkRow, ...]
    link_action: str
    key: str


def pours_page(plan: PourPlan, person: Person, links: list[OwnLink], shown: str = "") -> PoursPage:
    project = plan.view.seen.project
    letters = {one.zone.id: one.zone.letter for one in plan.view.standings}
    return PoursPage(
        told=counts_words(plan.dated) if plan.dated else "",
        weeks=_weeks(plan),
        dated=tuple(_sheet(plan, zone, letters) for zone in plan.dated),
        undated=tuple(_sheet(plan, zone, letters) for zone in plan.undated),
        placed=tuple(_placed_row(plan, one) for one in plan.placed),
        worked=_worked_words(plan),
        shown=shown,
        links=tuple(_link_row(link, project.id, project.time_zone) for link in links),
        link_action="" if person.only else f"/projects/{project.id}/calendar-links",
        key=new_key(),
    )


# --- the calendar ----------------------------------------------------------------------------------------


def _weeks(plan: PourPlan) -> tuple[WeekRow, ...]:
    """From this week, or that of a day gone by, to the last placing; empty weeks between as one row."""
    cells = _cells(plan)
    if not cells:
        return ()
    first, last = _monday(min(*cells, plan.paces.today)), _monday(max(*cells, plan.paces.today))
    rows: list[WeekRow] = []
    empty = 0
    week = first
    while week <= last:
        days = [week + timedelta(days=n) for n in range(7)]
        if any(day in cells for day in days) or plan.paces.today in days:
            rows += _empty_weeks(empty)
            rows.append(_week(days, cells, plan.paces.today))
            empty = 0
        else:
            empty += 1
        week += ONE_WEEK
    return tuple(rows)


def _empty_weeks(count: int) -> Iterator[WeekRow]:
    if count:
        yield WeekRow(trn("{n} week with no placing", "{n} weeks with no placing", count), ())


def _week(days: list[date], cells: Mapping[date, list[PourCell]], today: date) -> WeekRow:
    return WeekRow(
        tr("Week of {day}", day=day_words(days[0])),
        tuple(
            DayCell(day_words(day), tr("today") if day == today else "", tuple(cells.get(day, ())))
            for day in days
        ),
    )


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _cells(plan: PourPlan) -> dict[date, list[PourCell]]:
    """Placings by day: planned ones, and those of this week and later that are placed."""
    at_site, found = ZoneInfo(plan.zone_of), dict[date, list[PourCell]]()
    for one in plan.placed:
        day = one.zone.placement.at.astimezone(at_site).date() if one.zone.placement else None
        if day is not None and day >= _monday(plan.paces.today):
            found.setdefault(day, []).append(_cell(plan, one, ""))
    for zone in plan.dated:
        if zone.day is not None:
            found.setdefault(zone.day, []).append(_cell(plan, zone.standing, late_word(zone)))
    return found


def _cell(plan: PourPlan, of: Standing, late: str) -> PourCell:
    zone = of.zone
    at = zone.placement.at if zone.placement else zone.place_at
    assert at is not None, "only what has a day stands on it"
    words = ", ".join(part for part in (zone.name, clock(at, plan.zone_of)) if part)
    return PourCell(zone.letter, words, zone_state(of.state), kind_of(of.state), late, f"#zone-{zone.letter}")


# --- one zone --------------------------------------------------------------------------------------------


def _sheet(plan: PourPlan, of: PlannedZone, letters: Mapping[str, str]) -> ZoneSheet:
    zone, project = of.standing.zone, plan.view.seen.project
    size = size_of(zone, plan.view.site.sketches[zone.sketch_id], project)
    may = roles.may(plan.view.seen.role, "outline a zone")
    needed = need_words(of)
    return ZoneSheet(
        id=f"zone-{zone.letter}",
        letter=zone.letter,
        rows=(
            (tr("Zone"), f"{zone.name}, {size}" if zone.name else size),
            (tr("Placing"), moment(zone.place_at, project.time_zone) if zone.place_at else tr("no time set")),
        ),
        state=_starting(zone_state(of.standing.state)),
        small=since_words(zone, project.time_zone)
        or (tr("its release fell away") if of.standing.fallen else ""),
        kind=kind_of(of.standing.state),
        verdict=verdict_words(of),
        conflicts=conflict_words(of, letters),
        needs=tr("Still needs: {needs}.", needs=", ".join(needed)) if needed else "",
        paces=tuple(left_words(left) for left in of.planned.left),
        more=more_words(of),
        href=f"/zones/{zone.id}",
        move=f"/zones/{zone.id}/move-day" if may else "",
    )


def _starting(words: str) -> str:
    return words[:1].upper() + words[1:]


def _placed_row(plan: PourPlan, of: Standing) -> ScheduleRow:
    placement = of.zone.placement
    assert placement is not None, "only placed zones are listed as placed"
    when = tr("placed {placing}", placing=moment(placement.at, plan.zone_of))
    return ScheduleRow(
        tag=of.zone.letter,
        main=of.zone.name or tr("Zone {letter}", letter=of.zone.letter),
        sub=when,
        way=zone_state(of.state),
        href=f"/zones/{of.zone.id}",
    )


def _worked_words(plan: PourPlan) -> str:
    """Which days of the week are counted as worked."""
    weekend = plan.paces.week - frozenset(range(5))
    if not weekend:
        return tr("Monday to Friday are counted as working days.")
    if len(weekend) == 2:
        return tr("All seven days are counted as working days: things were closed on a weekend lately.")
    if 5 in weekend:
        return tr("Monday to Saturday are counted as working days: things were closed on a Saturday lately.")
    return tr(
        "Monday to Friday and Sunday are counted as working days: things were closed on a Sunday lately."
    )


def _link_row(own: OwnLink, project_id: str, time_zone: str) -> LinkRow:
    return LinkRow(
        words=own.project_name or tr("All my projects"),
        made=tr("made {moment}", moment=moment(own.link.made_at, time_zone)),
        action=f"/projects/{project_id}/calendar-links/{own.link.id}/end",
    )
