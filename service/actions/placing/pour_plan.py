"""The plan of pours: a project's zones by their placing day, with the pace so far; and moving that day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from service.actions.frame.desk import Desk
from service.actions.frame.reading import ProjectView, project_view
from service.actions.sketches.zones import change_zone
from service.domain.nouns.site import Zone
from service.domain.placing.pace import EDGES, MARKS, PENETRATIONS, SEAMS, SHEETS, Closed, Paces, paces
from service.domain.placing.pour_plan import Planned, ToPlan, needs, plan, work_left
from service.domain.words.refusals import Conflict
from service.domain.words.speech import tr
from service.history.facts.entries import Entry
from service.history.facts.facts import PatchLogged
from service.history.facts.installed import RepairLogged, SealLogged, SeamWalked, TerminationSealed
from service.history.facts.placing import SheetsLaid
from service.history.replay.standing import READY, Standing
from service.storage.history.closings import entries_since
from service.storage.history.seen import zone_seen_by

CLOSINGS = tuple(
    fact.type for fact in (PatchLogged, RepairLogged, SealLogged, SeamWalked, TerminationSealed, SheetsLaid)
)
# More than ten working days, so that it is seen whether a kind of work was under way before them.
LOOKED_AT = timedelta(days=60)


@dataclass(frozen=True, slots=True)
class PlannedZone:
    """A zone that is not placed. `day`: of its placing at the site; `needs`: blockers by their code, and
    `sheets_left` of its layout."""

    standing: Standing
    day: date | None
    needs: dict[str, int]
    sheets_left: int
    planned: Planned


@dataclass(frozen=True, slots=True)
class PourPlan:
    """`dated` by placing day, `undated` by letter, `placed` by the day of their concrete, oldest first."""

    view: ProjectView
    paces: Paces
    dated: tuple[PlannedZone, ...]
    undated: tuple[PlannedZone, ...]
    placed: tuple[Standing, ...]

    @property
    def zone_of(self) -> str:
        return self.view.seen.project.time_zone


def pour_plan(desk: Desk, by: str, project_id: str) -> PourPlan:
    """Everybody on the project reads it."""
    view, now = project_view(desk, by, project_id), desk.clock()
    at_site = ZoneInfo(view.seen.project.time_zone)
    with desk.reading() as session:
        closings = entries_since(session, project_id, CLOSINGS, now - LOOKED_AT)
    pace = paces(closed(closings, at_site), now.astimezone(at_site).date())
    placed = [one for one in view.standings if one.zone.placement is not None]
    open_ones = sorted((one for one in view.standings if one.zone.placement is None), key=_by_day)
    asked = [_to_plan(view, one, at_site) for one in open_ones]
    zones = [
        _planned_zone(standing, to_plan, told)
        for standing, to_plan, told in zip(open_ones, asked, plan(asked, pace), strict=True)
    ]
    return PourPlan(
        view,
        pace,
        tuple(zone for zone in zones if zone.day is not None),
        tuple(zone for zone in zones if zone.day is None),
        tuple(sorted(placed, key=lambda one: one.zone.placement.at if one.zone.placement else now)),
    )


def _by_day(of: Standing) -> tuple[bool, float, int, str]:
    """By placing day, then by letter; those without one last."""
    at = of.zone.place_at
    return at is None, at.timestamp() if at else 0, len(of.zone.letter), of.zone.letter


def _to_plan(view: ProjectView, of: Standing, at_site: ZoneInfo) -> ToPlan:
    day = of.zone.place_at.astimezone(at_site).date() if of.zone.place_at else None
    # Of a zone that is ready nothing is forecast: damage found while it is placed is mended then and there.
    work = {} if of.state == READY else work_left(view.site, of.zone, of.blockers)
    return ToPlan(of.zone.id, day, of.zone.walked_at is not None, work)


def _planned_zone(of: Standing, asked: ToPlan, told: Planned) -> PlannedZone:
    return PlannedZone(of, asked.day, needs(of.blockers), len(asked.work.get(SHEETS, ())), told)


def closed(entries: Iterable[Entry], at_site: ZoneInfo) -> list[Closed]:
    """What these entries closed, each thing on the last day it was: closed, opened and closed is one."""
    last: dict[tuple[str, str], date] = {}
    for entry in entries:
        for kind, thing in _closes(entry):
            last[kind, thing] = entry.at.astimezone(at_site).date()
    return [Closed(kind, day) for (kind, _), day in last.items()]


def _closes(entry: Entry) -> Iterator[tuple[str, str]]:
    """The kinds and ids of what an entry closed, as it was judged then."""
    match entry.fact:
        case PatchLogged(meets=True) as fact:
            yield from ((MARKS, mark) for mark in (fact.defect, *fact.also))
        case RepairLogged(meets=True) as fact:
            yield MARKS, fact.defect
        case SealLogged(faults=()) as fact:
            yield from ((PENETRATIONS, pipe) for pipe in (fact.penetration, *fact.also))
        case SeamWalked(taped=True, bonded=True) as fact:
            yield SEAMS, fact.seam
        case TerminationSealed(faults=()) as fact:
            yield EDGES, fact.termination
        case SheetsLaid() as fact:
            yield from ((SHEETS, f"{fact.layout} {number}") for number in fact.sheets)


def move_placing_day(desk: Desk, by: str, zone_id: str, place_at: datetime | None) -> Zone:
    """Plan the zone's placing for another time, or for none. Conflict where it is placed already."""
    with desk.writing() as session:
        zone = zone_seen_by(session, by, zone_id).zone
        if zone.placement is not None:
            told = tr("Zone {letter} is placed: its day cannot be moved.", letter=zone.letter)
            raise Conflict(told, code="zone-placed")
        return change_zone(desk, by, zone_id, place_at=place_at)
