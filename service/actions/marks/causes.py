"""What damage likely came from: said of a mark, and counted by cause, zone and week so that it is stopped."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, zone_to_change
from service.actions.marks.defects import read_cause
from service.domain.nouns.site import Defect, Site
from service.domain.words.refusals import Conflict
from service.domain.words.speech import tr
from service.history.facts.installed import CauseTold
from service.storage.history import slices
from service.storage.history.seen import SeenProject, defect_seen_by, project_seen_by


@dataclass(frozen=True, slots=True)
class CauseCount:
    """Marks of one cause in one zone that were made in one week; `cause` empty where nobody said.

    `week`: its Monday in the project's time zone. `marks` counts those that stand, mended or not.
    """

    cause: str
    zone: str
    week: date
    marks: int


@dataclass(frozen=True, slots=True)
class Causes:
    """A project's marks by what they came from: `totals` and `rows` most first, nothing said last."""

    seen: SeenProject
    totals: tuple[tuple[str, int], ...]
    rows: tuple[CauseCount, ...]


def tell_cause(desk: Desk, by: str, defect_id: str, cause: str) -> Defect:
    """Say what a mark likely came from; the last word said counts, and every one stays in the history."""
    cause = read_cause(cause)
    with desk.writing() as session:
        _, defect = defect_seen_by(session, by, defect_id)
        seen, site = zone_to_change(session, by, defect.zone_id, "say what damage came from")
        defect = site.defects[defect_id]
        if defect.withdrawn is not None:
            gone = tr(
                "{tag} was withdrawn: {reason}. Nothing was recorded.",
                tag=defect.tag,
                reason=defect.withdrawn,
            )
            raise Conflict(gone, code="defect-withdrawn")
        if defect.cause != cause:
            record(
                desk, session, site, by, seen.role, CauseTold(defect_id, defect.zone_id, defect.tag, cause)
            )
    return site.defects[defect_id]


def causes_of(desk: Desk, by: str, project_id: str) -> Causes:
    """The project's standing marks counted by cause, zone and week."""
    with desk.reading() as session:
        seen = project_seen_by(session, by, project_id)
        site = slices.judged_site(session, project_id, seen.project)
    return counted(seen, site)


def counted(seen: SeenProject, site: Site) -> Causes:
    """The count, worst first; of equals the later week, then the zone's letter."""
    standing = [mark for mark in site.defects.values() if mark.withdrawn is None]
    totals = Counter(mark.cause for mark in standing)
    found = Counter(
        (mark.cause, site.zones[mark.zone_id].letter, _week(mark.marked_at, seen.project.time_zone))
        for mark in standing
    )
    rows = (CauseCount(*key, marks) for key, marks in found.items())
    return Causes(
        seen,
        tuple(sorted(totals.items(), key=lambda pair: (not pair[0], -pair[1], pair[0]))),
        tuple(sorted(rows, key=lambda r: (not r.cause, -r.marks, -r.week.toordinal(), r.zone, r.cause))),
    )


def _week(at: datetime, time_zone: str) -> date:
    """The Monday of the week on site."""
    day = at.astimezone(ZoneInfo(time_zone)).date()
    return day - timedelta(days=day.weekday())
