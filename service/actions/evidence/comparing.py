"""Compare a zone with itself at another moment: how it stood then and then, and every entry in between."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from service.actions.evidence.audit import Line, Moment, line_of, zone_then
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.reading import ZoneView
from service.domain.nouns.site import Zone
from service.domain.rule_sheet.effective import materials_laid
from service.domain.words.refusals import Conflict
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts.entries import Entry
from service.history.replay.differences import Difference, difference
from service.history.replay.replay import apply, copied, replay
from service.storage.history import books
from service.storage.history.seen import names_in, zone_seen_by


@dataclass(frozen=True, slots=True)
class Comparison:
    """`before` is None where the zone was not outlined yet; `lines`: what was recorded in between, in order.

    `swapped`: the moments were given the other way round.
    """

    before: ZoneView | None
    after: ZoneView
    change: Difference
    lines: list[Line]
    swapped: bool


def compare_zone(desk: Desk, by: str, zone_id: str, one: Moment, other: Moment) -> Comparison:
    """A zone at two moments, the earlier first. Conflict `not-yet` where it was outlined after both."""
    with desk.reading() as session:
        seen = zone_seen_by(session, by, zone_id)
        allow(seen, "read the history")
        names = names_in(session, seen.project.id)
        places = [books.place_of(session, seen.project.id, moment) for moment in (one, other)]
        early, late = sorted(places)
        entries = books.hashed_entries(session, seen.project.id, up_to=late)
    swapped = places[0] > places[1]
    site = replay(entry for entry, _ in entries if entry.seq <= early)
    before = zone_then(site, zone_id, seen.role, early, names) if zone_id in site.zones else None
    between = [(entry, leaf) for entry, leaf in entries if entry.seq > early]
    if between:
        site = copied(site)  # the one before belongs to `before` and must stay as it is
    for entry, _ in between:
        apply(site, entry)
    if zone_id not in site.zones:
        raise Conflict(f"Zone {seen.zone.letter} was not outlined yet at that time.", code="not-yet")
    after = zone_then(site, zone_id, seen.role, late, names)
    change = difference((before.site, before.standing) if before else None, (site, after.standing))
    views = [view for view in (before, after) if view]
    marks = {mark.id for view in views for mark in view.standing.facts.defects}
    film = {material.id for view in views for material in materials_laid(view.site, view.zone)}
    lines = [
        line_of(entry, leaf, names, seen)
        for entry, leaf in between
        if _touches(entry, after.zone, marks, film)
    ]
    return Comparison(before, after, change, lines, swapped)


def _touches(entry: Entry, zone: Zone, marks: Collection[str], film: Collection[str]) -> bool:
    """Is it the zone's own, its sketch's, the rule sheet's, its film's, or about a mark that reaches in?"""
    if entry.zone is not None:
        return entry.zone == zone.id or getattr(entry.fact, "defect", None) in marks
    if isinstance(entry.fact, f.RuleSheetChanged):
        return True
    if isinstance(entry.fact, h.LotWithdrawn | h.MaterialWithdrawn):
        return entry.fact.material in film
    return getattr(entry.fact, "sketch", None) == zone.sketch_id
