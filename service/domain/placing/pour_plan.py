"""Zones by their placing day: what each still needs, and whether that is closed in time at the pace so far.

A plan warns and decides nothing: what holds a zone is the gate's to say.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import shapely
from shapely.geometry import Polygon

from service.domain.gate.gate import Blocker
from service.domain.nouns.placing import Layout
from service.domain.nouns.site import Site, Zone
from service.domain.placing.pace import (
    EDGES,
    KINDS,
    MARKS,
    PENETRATIONS,
    SEAMS,
    SHEETS,
    Pace,
    Paces,
    Span,
    latest_of,
    span,
)

# What the gate holds a zone for, by the kind of work that closes it. The rest is signed, stated or lifted at
# once, or stands for as long as its cause does: no pace is told of it.
WORK = {
    "defect-open": MARKS,
    "defect-not-sealed": MARKS,
    "needs-other-repair": MARKS,
    "seam-at-fault": SEAMS,
    "penetration-not-sealed": PENETRATIONS,
    "edge-not-sealed": EDGES,
    "edge-not-described": EDGES,
}
# Verdicts. LIKELY: at the usual pace in time, at the slow one not.
NOTHING_LEFT, NO_PACE, NO_DAY = "nothing left", "no pace", "no day"
IN_TIME, LIKELY, ON_THE_DAY, LATE = "in time", "likely", "on the day", "late"
# What does not fit together. NO_WALK: it is planned before its punch walk can be finished.
OVERDUE, NO_WALK, SAME_DAY = "overdue", "no walk", "same day"

Work = Mapping[str, frozenset[str]]  # kind to the things left of it


@dataclass(frozen=True, slots=True)
class ToPlan:
    """A zone that is not placed. `day`: of its placing at the site; `work`: what is left, by kind."""

    zone: str
    day: date | None
    walked: bool
    work: Work


@dataclass(frozen=True, slots=True)
class Left:
    """Things of one kind left in a zone, how many more are left in the zones before it, and by when all of
    them are closed; None where there is no pace."""

    kind: str
    here: int
    before: int
    pace: Pace | None
    span: Span | None


@dataclass(frozen=True, slots=True)
class Planned:
    """What is to be expected of one zone. `days_late`: whole days from its placing day to the day expected.
    `span` is None where a kind has no pace, or nothing is left. `same_day`: other zones of that day."""

    zone: str
    left: tuple[Left, ...]
    span: Span | None
    verdict: str
    days_late: int
    conflicts: tuple[str, ...]
    same_day: tuple[str, ...]


def work_left(site: Site, zone: Zone, blockers: Iterable[Blocker]) -> Work:
    """What is left to close in a zone, by kind: each thing by its id, so that what holds two zones is closed
    once. Planned sheets not laid yet are counted off the newest layout."""
    found: dict[str, set[str]] = defaultdict(set)
    for number, blocker in enumerate(blockers):
        if blocker.code in WORK:
            _, thing = blocker.subject
            bare = blocker.code == "edge-not-described"  # its subject is the zone
            found[WORK[blocker.code]].add(f"{thing} {number}" if bare else thing)
    found[SHEETS] = sheets_left(site, zone)
    return {kind: frozenset(found[kind]) for kind in KINDS if found[kind]}


def sheets_left(site: Site, zone: Zone) -> set[str]:
    """Sheets of the zone's newest layout that lie in it and that nobody logged as laid."""
    layout = newest_layout(site, zone.id)
    if layout is None:
        return set()
    laid = {number for laying in layout.laid if laying.withdrawn is None for number in laying.sheets}
    to_lay = [sheet for sheet in layout.sheets if sheet.number not in laid]
    if len(layout.zone_ids) > 1 and to_lay:
        corners = shapely.polygons([sheet.corners for sheet in to_lay])
        shared = shapely.area(shapely.intersection(corners, Polygon(zone.outline)))
        to_lay = [sheet for sheet, area in zip(to_lay, shared, strict=True) if area > 0]
    return {f"{layout.id} {sheet.number}" for sheet in to_lay}


def newest_layout(site: Site, zone_id: str) -> Layout | None:
    """The layout of this zone that was kept last and not withdrawn."""
    kept = [one for one in site.layouts.values() if zone_id in one.zone_ids and one.withdrawn is None]
    return max(kept, key=lambda one: one.signed.seq, default=None)


def needs(blockers: Iterable[Blocker]) -> dict[str, int]:
    """How many blockers there are of each code, in the gate's order."""
    return dict(Counter(blocker.code for blocker in blockers))


def plan(zones: Sequence[ToPlan], at: Paces) -> tuple[Planned, ...]:
    """One for each zone, in the order given: those before are worked first, kinds of work side by side."""
    before: dict[str, set[str]] = {kind: set() for kind in KINDS}
    found = []
    for zone in zones:
        left = tuple(_left(kind, zone.work[kind], before[kind], at) for kind in KINDS if kind in zone.work)
        beside = [z.zone for z in zones if z is not zone and z.day is not None and z.day == zone.day]
        found.append(_planned(zone, left, tuple(beside), at.today))
        for kind, things in zone.work.items():
            before[kind] |= things
    return tuple(found)


def _left(kind: str, here: frozenset[str], before: set[str], at: Paces) -> Left:
    pace, more = at.of.get(kind), len(before - here)
    return Left(kind, len(here), more, pace, span(len(here) + more, pace, at) if pace else None)


def _planned(zone: ToPlan, left: tuple[Left, ...], beside: tuple[str, ...], today: date) -> Planned:
    spans = [one.span for one in left if one.span is not None]
    whole = latest_of(spans) if spans and len(spans) == len(left) else None
    verdict = _verdict(zone, left, whole)
    late = (whole.about - zone.day).days if whole and zone.day and verdict == LATE else 0
    conflicts = _conflicts(zone, whole, beside, today)
    return Planned(zone.zone, left, whole, verdict, late, conflicts, beside)


def _verdict(zone: ToPlan, left: tuple[Left, ...], whole: Span | None) -> str:
    """In time is before the day: concrete comes in the morning."""
    if not left:
        return NOTHING_LEFT
    if whole is None:
        return NO_PACE
    if zone.day is None:
        return NO_DAY
    if whole.about > zone.day:
        return LATE
    if whole.about == zone.day:
        return ON_THE_DAY
    return IN_TIME if whole.latest is not None and whole.latest < zone.day else LIKELY


def _conflicts(zone: ToPlan, whole: Span | None, beside: tuple[str, ...], today: date) -> tuple[str, ...]:
    if zone.day is None:
        return ()
    found = [OVERDUE] if zone.day < today else []
    # The walk is the last of the work: planned for today or tomorrow, or before the work is expected to end.
    soon = (zone.day - today).days <= 1
    if not zone.walked and (soon or (whole is not None and whole.about >= zone.day)):
        found.append(NO_WALK)
    return (*found, SAME_DAY) if beside else tuple(found)
