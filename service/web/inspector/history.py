"""The history: every entry as a sentence, newest first, filtered by zone, tag, person, kind and day."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Annotated
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.evidence.audit import Filters, HistoryView, Line, head_seen, history
from service.domain.nouns.site import Project, Zone
from service.domain.words.speech import later, spoken, tr, trn
from service.history.sentences.sentences import who_did
from service.web.forms.forms import Form
from service.web.forms.moments import asked
from service.web.inspector.words import KINDS, short_hash, stood_of, tag_of, thing_of
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)

ROWS = 60
# A restart may bring other templates or words: what an earlier run answered is never called unchanged.
EDITION = secrets.token_hex(4)
NAMES = ("zone", "tag", "person", "kind", "day")
NOBODY = later("whoever it was, no longer named")


@dataclass(frozen=True, slots=True)
class LogRow:
    """One entry: number, sentence, when and as what; leaf hash; the thing; how it left things; proof."""

    seq: int
    words: str
    when: str
    role: str
    short: str
    full: str
    href: str
    link: str
    stood_href: str
    proof_href: str


@dataclass(frozen=True, slots=True)
class ZoneLink:
    letter: str
    href: str


@dataclass(frozen=True, slots=True)
class HistoryPage:
    """`templates/inspector/history.html`. `options`: per select, pairs (value, words); `typed`: as sent."""

    root: str
    zones: tuple[ZoneLink, ...]
    options: dict[str, tuple[tuple[str, str], ...]]
    typed: dict[str, str]
    filtered: bool
    only: str
    told: str
    rows: tuple[LogRow, ...]
    empty: str
    older_href: str
    newest_href: str
    clear_href: str
    stood_href: str
    life_href: str
    zone_time: str


@router.get("/projects/{project_id}/history")
def history_page(
    request: Request,
    desk: TheDesk,
    person: Signed,
    project_id: str,
    before: Annotated[int | None, Query(ge=1, le=10**12)] = None,
) -> Response:
    seen = head_seen(desk, person.id, project_id)
    etag = _etag(seen.project, seen.head, seen.role, person, request.url.query)
    if etag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers={"ETag": etag})
    form = asked(request.query_params)
    filters = read_filters(form, seen.project.time_zone, before)
    view = history(desk, person.id, project_id, filters, ROWS)
    shell = shell_of(
        view.seen.project, view.seen.role, person, f"/projects/{project_id}/history", errors=form.errors
    )
    html = render("inspector/history.html", _page(view, form, before), **shell)
    if form.errors:
        return HTMLResponse(html, 422)
    read = _etag(view.seen.project, view.seen.head, view.seen.role, person, request.url.query)
    return HTMLResponse(html, headers={"ETag": read})


def _etag(project: Project, head: int, role: str, person: Person, query: str) -> str:
    """Changes with every entry, and differs by who looks, in which role, at which filters."""
    parts = (EDITION, spoken().code, project.id, str(head), person.id, person.name, role, query)
    digest = hashlib.sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()
    return f'W/"{head}-{digest[:16]}"'


def read_filters(form: Form, time_zone: str, before: int | None) -> Filters:
    """What the address asks for. A day that cannot be read is noted, and shows nothing as fitting."""
    start, end = _day(form, time_zone)
    tag = tag_of(form.text("tag", most=40))
    return Filters(
        zone_id=form.value("zone") or None,
        tag=tag or None,
        by=form.value("person") or None,
        type=form.value("kind") or None,
        from_at=start,
        to_at=end,
        before=before,
    )


def _day(form: Form, time_zone: str) -> tuple[datetime | None, datetime | None]:
    """The first moment of a day of the site and of the day after it."""
    typed = form.value("day").strip()
    if not typed:
        return None, None
    try:
        day = date.fromisoformat(typed)
    except ValueError:
        day = date.min
    if not 1 < day.year < 9999:
        form.wrong("day", tr("Write the day as 2026-11-26."))
        return None, None
    zone = ZoneInfo(time_zone)
    after = day + timedelta(days=1)
    return datetime(day.year, day.month, day.day, tzinfo=zone), datetime(
        after.year, after.month, after.day, tzinfo=zone
    )


def _page(view: HistoryView, form: Form, before: int | None) -> HistoryPage:
    project, root = view.seen.project, f"/projects/{view.seen.project.id}"
    typed = {name: form.value(name) for name in NAMES}
    sent = {name: value for name, value in typed.items() if value}
    rows = () if form.errors else tuple(log_row(line, project.time_zone) for line in view.lines)
    here = f"{root}/history"
    older = {**sent, "before": str(view.lines[-1].entry.seq)} if view.more and rows else {}
    return HistoryPage(
        root=root,
        zones=tuple(
            ZoneLink(zone.letter, f"/zones/{zone.id}") for zone in _zones(view) if zone.withdrawn is None
        ),
        options=_options(view, typed["person"]),
        typed=typed,
        filtered=bool(sent),
        only=_only(view, typed, project.time_zone),
        told=_told(view, rows, bool(sent), before),
        rows=rows,
        empty=tr("Nothing in the history fits all of this. Take one filter away.") if sent else "",
        older_href=f"{here}?{urlencode(older)}" if older else "",
        newest_href=f"{here}?{urlencode(sent)}".rstrip("?") if before else "",
        clear_href=here if sent else "",
        stood_href=f"/zones/{typed['zone']}/as-it-stood" if typed["zone"] in view.site.zones else "",
        life_href=f"/zones/{typed['zone']}/timeline" if typed["zone"] in view.site.zones else "",
        zone_time=project.time_zone,
    )


def _zones(view: HistoryView) -> list[Zone]:
    return sorted(view.site.zones.values(), key=lambda zone: (len(zone.letter), zone.letter))


def _options(view: HistoryView, asked_for: str) -> dict[str, tuple[tuple[str, str], ...]]:
    """The choices of each select, the first of them everything."""
    people = sorted(view.names.items(), key=lambda row: row[1].casefold())
    if view.lines and asked_for and asked_for not in view.names:  # whose name is gone, or never was one
        people.append((asked_for, who_did(asked_for, view.names)))
    zones = [(z.id, f"{z.letter}, {z.name}" if z.name else z.letter) for z in _zones(view)]
    return {
        "zone": (("", tr("Every zone")), *zones),
        "person": (("", tr("Everybody")), *people),
        "kind": (
            ("", tr("Every kind")),
            *sorted(((k, tr(v)) for k, v in KINDS.items()), key=lambda row: row[1]),
        ),
    }


def _only(view: HistoryView, typed: dict[str, str], time_zone: str) -> str:
    """What the list is cut down to, in words: a sheet of paper shows no form."""
    zone = view.site.zones.get(typed["zone"])
    told = (
        tr("zone {letter}", letter=zone.letter) if zone else "",
        tag_of(typed["tag"]),
        tr("by {person}", person=view.names.get(typed["person"], tr(NOBODY))) if typed["person"] else "",
        tr(KINDS.get(typed["kind"], "")),
        tr("on {day} ({time_zone})", day=typed["day"], time_zone=time_zone) if typed["day"] else "",
    )
    return ", ".join(filter(None, told))


def _told(view: HistoryView, rows: tuple[LogRow, ...], filtered: bool, before: int | None) -> str:
    """How much is shown of how much."""
    if not rows:
        return ""
    head = view.seen.head
    if not filtered and not before and not view.more:
        return trn("{n} entry, all shown, newest first.", "{n} entries, all shown, newest first.", head)
    whole = trn("{n} entry", "{n} entries", head)
    if filtered:
        return trn(
            "{n} entry that fit, newest first, of {whole} in the history.",
            "{n} entries that fit, newest first, of {whole} in the history.",
            len(rows),
            whole=whole,
        )
    return trn(
        "{n} entry, newest first, of {whole} in the history.",
        "{n} entries, newest first, of {whole} in the history.",
        len(rows),
        whole=whole,
    )


def log_row(line: Line, time_zone: str) -> LogRow:
    entry = line.entry
    href, link = thing_of(entry)
    return LogRow(
        seq=entry.seq,
        words=line.sentence,
        when=moment(entry.at, time_zone),
        role=tr(entry.role),
        short=short_hash(line),
        full=line.hash,
        href=href,
        link=link,
        stood_href=stood_of(entry),
        proof_href=f"/projects/{entry.project}/history/{entry.seq}",
    )
