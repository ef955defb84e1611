"""Who did what: a row a person with counts by kind of action; and one person's actions by day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Annotated
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from starlette.responses import HTMLResponse, Response

from service.actions.evidence.who_did_what import DayOf, Doer, DoerByDay, Stint, did_by_day, who_did_what
from service.domain.nouns.site import Project
from service.domain.words.speech import tr, trn
from service.web.inspector.history import LogRow, log_row
from service.web.inspector.words import kind_words
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import clock, day, moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import starting

router = APIRouter(include_in_schema=False)

LINES = 100


@dataclass(frozen=True, slots=True)
class KindCount:
    """How often somebody did one kind of thing, and the history of just that."""

    words: str
    count: str
    href: str


@dataclass(frozen=True, slots=True)
class DoerRow:
    """One person; `called`: within a sentence. `first` and `last` are empty where nothing is by them."""

    name: str
    called: str
    href: str
    roles: tuple[str, ...]
    count: str
    first: str
    last: str
    kinds: tuple[KindCount, ...]


@dataclass(frozen=True, slots=True)
class DoersPage:
    """`templates/inspector/doers.html`."""

    told: str
    rows: tuple[DoerRow, ...]
    history_href: str
    zone_time: str


@dataclass(frozen=True, slots=True)
class DayGroup:
    """A day's entries, newest first; `told` counts the whole day, also where only part of it is shown."""

    title: str
    told: str
    rows: tuple[LogRow, ...]


@dataclass(frozen=True, slots=True)
class DayRow:
    """A day in the list of days: with its count, and the history of this person on it."""

    words: str
    count: str
    href: str


@dataclass(frozen=True, slots=True)
class DoerPage:
    """`templates/inspector/doer.html`."""

    who: DoerRow
    groups: tuple[DayGroup, ...]
    days: tuple[DayRow, ...]
    shown: str
    older_href: str
    newest_href: str
    all_href: str


@router.get("/projects/{project_id}/who-did-what")
def doers(desk: TheDesk, person: Signed, project_id: str) -> Response:
    found = who_did_what(desk, person.id, project_id)
    project = found.seen.project
    page = DoersPage(
        told=tr(
            "{people}, {entries}.",
            people=trn("{n} person", "{n} people", len(found.doers)),
            entries=trn("{n} entry", "{n} entries", found.seen.head),
        ),
        rows=tuple(_doer(doer, project) for doer in found.doers),
        history_href=f"/projects/{project_id}/history",
        zone_time=project.time_zone,
    )
    return HTMLResponse(render("inspector/doers.html", page, **shell_of(project, found.seen.role, person)))


@router.get("/projects/{project_id}/who-did-what/{person_id}")
def doer_by_day(
    desk: TheDesk,
    person: Signed,
    project_id: str,
    person_id: str,
    before: Annotated[int | None, Query(ge=1, le=10**12)] = None,
) -> Response:
    found = did_by_day(desk, person.id, project_id, person_id, before, LINES)
    project = found.seen.project
    root = f"/projects/{project_id}/who-did-what"
    here = f"{root}/{person_id}"
    page = DoerPage(
        who=_doer(found.doer, project),
        groups=_groups(found),
        days=tuple(_day_row(each, found.doer, project) for each in found.days),
        shown=_shown(found),
        older_href=f"{here}?before={found.lines[-1].entry.seq}" if found.more else "",
        newest_href=here if before else "",
        all_href=root,
    )
    return HTMLResponse(render("inspector/doer.html", page, **shell_of(project, found.seen.role, person)))


def _doer(doer: Doer, project: Project) -> DoerRow:
    zone_time, first, last = project.time_zone, doer.first, doer.last
    counted = sorted(doer.deeds, key=lambda deed: (-deed.count, kind_words(deed.type)))
    return DoerRow(
        name=doer.name,
        called=doer.name if doer.named else doer.name[:1].lower() + doer.name[1:],
        href=f"/projects/{project.id}/who-did-what/{doer.id}",
        roles=tuple(_roles(doer.stints, zone_time)),
        count=trn("{n} action", "{n} actions", doer.count),
        first=f"{kind_words(first.type)}, {moment(first.first_at, zone_time)}" if first else "",
        last=f"{kind_words(last.type)}, {moment(last.last_at, zone_time)}" if last else "",
        kinds=tuple(
            KindCount(
                kind_words(deed.type), f"{deed.count:,}", _history(project, person=doer.id, kind=deed.type)
            )
            for deed in counted
        ),
    )


def _history(project: Project, **filters: str) -> str:
    return f"/projects/{project.id}/history?{urlencode(filters)}"


def _roles(stints: tuple[Stint, ...], zone_time: str) -> list[str]:
    """`Crew lead since Mon 16 Nov 2026`, each role once it was given; the operator was never let in."""
    return [
        tr("{role} since {day}", role=starting(tr(stint.role)), day=day(stint.at, zone_time))
        if stint.role
        else tr("Off the project since {day}", day=day(stint.at, zone_time))
        for stint in stints
    ] or [tr("Not one of the project's people")]


def _groups(found: DoerByDay) -> tuple[DayGroup, ...]:
    zone_time = found.seen.project.time_zone
    whole = {each.day: each for each in found.days}

    def on(line: LogRow) -> date:
        return days[line.seq]

    days = {line.entry.seq: line.entry.at.astimezone(ZoneInfo(zone_time)).date() for line in found.lines}
    rows = [log_row(line, zone_time) for line in found.lines]
    return tuple(
        DayGroup(day(whole[date].first_at, zone_time), _day_words(whole[date], zone_time), tuple(own))
        for date, own in groupby(rows, key=on)
    )


def _day_words(each: DayOf, zone_time: str) -> str:
    """`14 actions, 6:20 am to 4:07 pm`."""
    first, last = clock(each.first_at, zone_time), clock(each.last_at, zone_time)
    when = first if first == last else tr("{first} to {last}", first=first, last=last)
    return trn("{n} action, {when}", "{n} actions, {when}", each.count, when=when)


def _day_row(each: DayOf, doer: Doer, project: Project) -> DayRow:
    return DayRow(
        day(each.first_at, project.time_zone),
        f"{each.count:,}",
        _history(project, person=doer.id, day=f"{each.day:%Y-%m-%d}"),
    )


def _shown(found: DoerByDay) -> str:
    if not found.lines:
        return tr("Nothing in the history is by this person.")
    count = found.doer.count
    if len(found.lines) == count:
        return trn("{n} action, all shown, newest first.", "{n} actions, all shown, newest first.", count)
    return trn(
        "{shown} of {n} action, newest first.",
        "{shown} of {n} actions, newest first.",
        count,
        shown=f"{len(found.lines):,}",
    )
