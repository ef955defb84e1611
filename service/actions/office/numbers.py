"""What holds in one zone, and asking more of it there than the project's rule sheet asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, zone_to_change
from service.actions.office.sheet_reading import text_and_source
from service.domain.gate.told import changed_in_zone
from service.domain.nouns.installed import Raised
from service.domain.nouns.rules import RAISABLE, RuleSheet
from service.domain.nouns.site import Site, Zone
from service.domain.rule_sheet.effective import asked_by, materials_laid, sheet_in, stricter
from service.domain.rule_sheet.rule_texts import TITLES, BadNumber, Rule, read_number, say_number, say_rule
from service.domain.words.measures import Units
from service.domain.words.refusals import BadInput, FactsMoved
from service.domain.words.speech import later, tr
from service.history.facts.entries import Entry
from service.history.facts.installed import NumbersRaised
from service.history.replay.replay import apply
from service.history.replay.standing import standing_of
from service.storage.history import slices
from service.storage.history.seen import SeenProject, project_seen_by, zone_seen_by

NO_SOURCE = "set for this zone, no source given"
NOT_STRICTER = later("A zone may only ask more: {title}, {asked}, is asked here already.")


@dataclass(frozen=True, slots=True)
class ZoneSheet:
    """A zone, the sheet that holds in it, and how far it asks more than the project's."""

    zone: Zone
    sheet: RuleSheet


@dataclass(frozen=True, slots=True)
class RaiseEffect:
    """What raising a zone's numbers would do to it: what it would ask more, the sheet that would hold in it,
    and its state before and after."""

    raised: tuple[Raised, ...]
    sheet: RuleSheet
    before: str
    after: str


def zone_sheets(desk: Desk, by: str, project_id: str) -> tuple[SeenProject, list[ZoneSheet]]:
    """Every zone that is on a sketch, by letter, with the sheet that holds in it."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        site = slices.film_site(session, project_id)
    standing = [zone for zone in site.zones.values() if zone.withdrawn is None]
    standing.sort(key=lambda zone: (len(zone.letter), zone.letter))
    return seen, [ZoneSheet(zone, sheet_in(site, zone)) for zone in standing]


def raise_numbers(
    desk: Desk, by: str, zone_id: str, given: Mapping[str, Any], seen_revision: int | None = None
) -> Zone:
    """Ask more in this zone. `given`: name of a number to its text, to `value` and `source`, or to None to
    take back what the zone asks more; what is left out stays.

    `seen_revision`: `raised_revision` of the zone that was looked at; FactsMoved when it is another now.
    """
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "raise a zone's numbers")
        if seen_revision is not None and seen_revision != seen.zone.raised_revision:
            raise FactsMoved
        raised = read_raised(site, seen.zone, given, seen.project.units)
        if raised != seen.zone.raised:
            fact = _raised(seen.zone, raised)
            record(desk, session, site, by, seen.role, fact)
    return site.zones[zone_id]


def effect_of_raising(desk: Desk, by: str, zone_id: str, given: Mapping[str, Any]) -> RaiseEffect:
    """What would come of `raise_numbers`. Nothing is recorded."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
        site = slices.zone_site(session, seen.project.id, seen.zone, seen.sketch, seen.project)
    raised = read_raised(site, seen.zone, given, seen.project.units)
    before = standing_of(site, zone_id).state
    if raised != seen.zone.raised:
        fact = _raised(seen.zone, raised)
        apply(site, Entry(seen.project.id, seen.head + 1, desk.clock(), by, seen.role, fact))
    return RaiseEffect(raised, sheet_in(site, site.zones[zone_id]), before, standing_of(site, zone_id).state)


def _raised(zone: Zone, raised: tuple[Raised, ...]) -> NumbersRaised:
    return NumbersRaised(zone.id, zone.letter, raised, changed_in_zone(zone.raised, raised))


def read_raised(site: Site, zone: Zone, given: Mapping[str, Any], units: Units) -> tuple[Raised, ...]:
    """All that the zone would ask more, in the sheet's order. BadInput names every field at fault."""
    assert site.project is not None, "a zone without its project"
    sheet = site.project.sheet
    faults = {name: tr("A zone cannot ask more of this.") for name in sorted(set(given) - set(RAISABLE))}
    asked = {raised.name: raised for raised in zone.raised}
    for name in (key for key in given if key in RAISABLE):
        if given[name] is None:
            asked.pop(name, None)
            continue
        try:
            asked[name] = _read(sheet, name, given[name], asked.get(name), units)
        except (BadInput, BadNumber) as bad:
            faults[name] = str(bad)
    if faults:
        raise BadInput(
            tr("The zone's numbers were not changed: {faults}", faults=" ".join(faults.values())),
            fields=faults,
        )
    return tuple(asked[name] for name in RAISABLE if name in asked)


def _read(sheet: RuleSheet, name: str, given: Any, old: Raised | None, units: Units) -> Raised:
    """One number that asks more than the sheet does."""
    text, source = text_and_source(given)
    value = read_number(name, text)
    if old is not None and old.value == value:
        return Raised(name, value, source or old.source)
    rule: Rule = getattr(sheet, name)
    raised = Raised(name, value, source or NO_SOURCE)
    if stricter(name, rule, raised) is rule:  # type: ignore[arg-type]  # what is raisable is no class
        asked = say_rule(sheet, name, units)
        raise BadInput(tr(NOT_STRICTER, title=tr(TITLES[name]).lower(), asked=asked))
    return raised


# --- where each number comes from ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Origin:
    """Something that asks for a number in a zone: the rule sheet, the zone itself or a material."""

    who: str
    words: str
    source: str


def origins(site: Site, zone: Zone, name: str, units: Units) -> tuple[Origin, ...]:
    """Everything that asks for one number of the sheet in this zone, the rule sheet first."""
    assert site.project is not None, "a zone without its project"
    sheet = site.project.sheet
    told = [Origin(tr("Rule sheet"), say_rule(sheet, name, units), getattr(sheet, name).source)]
    asked = [(tr("This zone"), raised) for raised in zone.raised]
    asked += [(m.name, raised) for m in materials_laid(site, zone) for raised in asked_by(m)]
    told += [
        Origin(who, say_number(name, raised.value, units), raised.source)
        for who, raised in asked
        if raised.name == name
    ]
    return tuple(told)
