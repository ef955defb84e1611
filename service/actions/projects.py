"""Start a project, and change the numbers it is held to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from typing import Any, cast
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from service.actions.desk import Desk
from service.actions.doing import LONGEST_NAME, project_to_change, record, words
from service.domain import roles
from service.domain.measures import BadLength, Units, parse_factor, parse_length
from service.domain.refusals import BadInput, FactsMoved
from service.domain.rules import (
    GATE_DEMANDS,
    LENGTHS,
    REPAIR_METHODS,
    Factor,
    Number,
    RuleSheet,
    needs_a_source,
    ready_made,
)
from service.domain.site import Project, Site
from service.history.facts import PersonJoined, ProjectStarted, RuleSheetChanged
from service.history.standing import standing_of
from service.storage import books, slices
from service.storage.seen import SeenProject, project_seen_by, projects_of

LONGEST_SOURCE = 300


def start_project(desk: Desk, by: str, name: str, units: str, time_zone: str) -> Project:
    """A new project with its ready-made rule sheet; whoever starts it is its project manager."""
    name = words(name, "name", most=LONGEST_NAME, needed="Give the project a name.")
    if units not in ("us", "metric"):
        raise BadInput("Units are us or metric.", fields={"units": "Choose us or metric."})
    _check_time_zone(time_zone)
    project_id = desk.new_id()
    with desk.writing() as session:
        books.start(session, project_id, desk.clock())
        site = Site()
        started = ProjectStarted(name, cast(Units, units), time_zone, ready_made(units))
        books.append(session, site, project_id, desk.clock(), by, roles.PROJECT_MANAGER, started)
        record(desk, session, site, by, roles.PROJECT_MANAGER, PersonJoined(by, roles.PROJECT_MANAGER))
    assert site.project is not None
    return site.project


def _check_time_zone(time_zone: str) -> None:
    try:
        ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        told = "That is no time zone. Write it as region and city, such as America/Chicago."
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
        sheet = read_sheet(old, given)
        changed = tuple(f.name for f in fields(sheet) if getattr(sheet, f.name) != getattr(old, f.name))
        if changed:
            record(desk, session, site, by, seen.role, RuleSheetChanged(sheet, changed))
    return sheet


def read_sheet(old: RuleSheet, given: Mapping[str, Any]) -> RuleSheet:
    """The old sheet with what was given, checked. BadInput names every field at fault at once."""
    unknown = sorted(set(given) - {f.name for f in fields(RuleSheet)})
    faults = {name: "The rule sheet has no such number." for name in unknown}
    new: dict[str, Any] = {}
    for name in (key for key in given if key not in faults):
        try:
            new[name] = _read(name, getattr(old, name), given[name])
        except (BadInput, BadLength) as bad:
            faults[name] = str(bad)
    if faults:
        raise BadInput("The rule sheet was not changed: " + " ".join(faults.values()), fields=faults)
    return replace(old, **new)


def _read(name: str, old: Any, given: Any) -> Any:
    if name in LENGTHS:
        return _number(name, old, given)
    if name == "collar_length_factor":
        text, source = _value_and_source(given, old.source)
        return Factor(_thousandths(text), source)
    if name == "second_look":
        if not isinstance(given, bool):
            raise BadInput("Say true or false.")
        return given
    choices = REPAIR_METHODS if name == "repair_methods" else GATE_DEMANDS
    return _choices(given, choices)


def _number(name: str, old: Number, given: Any) -> Number:
    text, source = _value_and_source(given, "")
    nm = parse_length(text, zero_ok=name in ("cut_allowance", "mastic_up_to"))
    if not source and nm == old.nm:
        source = old.source
    if needs_a_source(name, nm) and not source:
        raise BadInput("This is below every published rule set: write where the number comes from.")
    return Number(nm, source or "set by the project, no source given")


def _value_and_source(given: Any, kept: str) -> tuple[str, str]:
    if isinstance(given, str):
        return given, kept
    if (
        isinstance(given, Mapping)
        and isinstance(given.get("value"), str)
        and set(given) <= {"value", "source"}
    ):
        source = given.get("source") or ""
        if not isinstance(source, str):
            raise BadInput("The source is a line of text.")
        return given["value"], words(source, "source", most=LONGEST_SOURCE)
    raise BadInput("Write the number as text with its unit, or as value and source.")


def _thousandths(text: str) -> int:
    try:
        factor: Fraction = parse_factor(text)
    except ValueError as bad:
        raise BadInput(str(bad)) from None
    if not 1 <= factor <= 10:
        raise BadInput("A collar is cut 1 to 10 times the circumference long.")
    return round(factor * 1000)


def _choices(given: Any, allowed: tuple[str, ...]) -> tuple[str, ...]:
    if not isinstance(given, list | tuple) or not all(isinstance(item, str) for item in given):
        raise BadInput("Write a list of words.")
    strange = [item for item in given if item not in allowed]
    if strange:
        raise BadInput(f"{strange[0]!r} is not one of: {', '.join(allowed)}.")
    return tuple(item for item in allowed if item in given)


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
        site = slices.whole_site(session, project_id)
    sheet = read_sheet(seen.project.sheet, given)
    zones = [zone for zone in site.zones.values() if zone.withdrawn is None]
    before = {zone.id: standing_of(site, zone.id).state for zone in zones}
    site.project = replace(seen.project, sheet=sheet)
    after = {zone.id: standing_of(site, zone.id).state for zone in zones}
    moved = sorted(
        (zone for zone in zones if before[zone.id] != after[zone.id]), key=lambda zone: zone.letter
    )
    return sheet, [SheetEffect(zone.id, zone.letter, before[zone.id], after[zone.id]) for zone in moved]
