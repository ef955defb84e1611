"""Start a project, and change the numbers it is held to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from service.actions.entrance.accounts import not_by_code
from service.actions.frame.desk import Desk
from service.actions.frame.doing import LONGEST_NAME, project_to_change, record, words
from service.actions.frame.naming import joined
from service.actions.office.sheet_reading import read_sheet
from service.domain.gate.told import changed_in_sheet
from service.domain.nouns import roles
from service.domain.nouns.rules import RuleSheet, ready_made
from service.domain.nouns.site import Project, Site
from service.domain.words.measures import Units
from service.domain.words.refusals import BadInput, FactsMoved
from service.domain.words.speech import tr
from service.history.facts.entries import Entry
from service.history.facts.facts import ProjectStarted, RuleSheetChanged
from service.history.replay.replay import apply
from service.history.replay.standing import standings_of
from service.storage.history import books, slices
from service.storage.history.seen import SeenProject, project_seen_by, projects_of


def start_project(desk: Desk, by: str, name: str, units: str, time_zone: str) -> Project:
    """A new project with its ready-made rule sheet; whoever starts it is its project manager."""
    not_by_code(desk)
    name = words(name, "name", most=LONGEST_NAME, needed=tr("Give the project a name."))
    if units not in ("us", "metric"):
        raise BadInput(tr("Units are us or metric."), fields={"units": tr("Choose us or metric.")})
    _check_time_zone(time_zone)
    project_id = desk.new_id()
    with desk.writing() as session:
        books.start(session, project_id, desk.clock())
        site = Site()
        started = ProjectStarted(name, cast(Units, units), time_zone, ready_made(units))
        books.append(session, site, project_id, desk.clock(), by, roles.PROJECT_MANAGER, started)
        starter = joined(session, project_id, by, roles.PROJECT_MANAGER)
        record(desk, session, site, by, roles.PROJECT_MANAGER, starter)
    assert site.project is not None
    return site.project


def _check_time_zone(time_zone: str) -> None:
    try:
        ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        told = tr("That is no time zone. Write it as region and city, such as America/Chicago.")
        raise BadInput(told, fields={"time_zone": told}) from None


def my_projects(desk: Desk, by: str) -> list[SeenProject]:
    with desk.reading() as session:
        return projects_of(session, by)


def one_project(desk: Desk, by: str, project_id: str) -> SeenProject:
    with desk.reading() as session:
        return project_seen_by(session, by, project_id)


def change_rule_sheet(
    desk: Desk, by: str, project_id: str, given: Mapping[str, Any], seen_head: int | None = None
) -> RuleSheet:
    """Change any of the sheet's numbers. `given` has the JSON contract's keys and forms.

    `seen_head`: the head of the history the form was drawn from; FactsMoved when the sheet changed since.
    """
    with desk.writing() as session:
        seen, site = project_to_change(session, by, project_id, "change the rule sheet")
        old = seen.project.sheet
        if seen_head is not None and any(
            isinstance(entry.fact, RuleSheetChanged)
            for entry in books.entries(session, project_id, after=seen_head)
        ):
            raise FactsMoved
        sheet = read_sheet(old, given, seen.project.units)
        changed = changed_in_sheet(old, sheet)
        if changed:
            record(desk, session, site, by, seen.role, RuleSheetChanged(sheet, changed))
    return sheet


@dataclass(frozen=True, slots=True)
class SheetEffect:
    """What a new sheet would do to one zone: its letter, and its state before and after."""

    zone: str
    letter: str
    before: str
    after: str


def effect_of_sheet(
    desk: Desk, by: str, project_id: str, given: Mapping[str, Any]
) -> tuple[RuleSheet, list[SheetEffect]]:
    """The sheet that would be, and the zones whose state it would change. Nothing is recorded."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        site = slices.judged_site(session, project_id, seen.project)
    old = seen.project.sheet
    sheet = read_sheet(old, given, seen.project.units)
    zones = [zone for zone in site.zones.values() if zone.withdrawn is None]
    here = [zone.id for zone in zones]
    before = standings_of(site, here)
    # As the change itself would be told, so that what is shown is exactly what would come.
    changed = changed_in_sheet(old, sheet)
    told = Entry(project_id, seen.head + 1, desk.clock(), by, seen.role, RuleSheetChanged(sheet, changed))
    apply(site, told)
    after = standings_of(site, here)
    effects = (
        SheetEffect(zone.id, zone.letter, before[zone.id].state, after[zone.id].state) for zone in zones
    )
    return sheet, sorted((e for e in effects if e.before != e.after), key=lambda effect: effect.letter)
