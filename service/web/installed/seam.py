"""One seam: how it stands, its readings, and what its last walk marked with what mends each."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import HTMLResponse, Response

from service.actions.evidence.audit import history_of
from service.actions.frame.reading import ZoneView
from service.actions.installed.seams import SeamStand, seam_view, seams_standing
from service.domain.gate.zone_facts import nm_per_px
from service.domain.installed.seams import distance_along, suggested_stations, walk_findings
from service.domain.nouns import roles
from service.domain.nouns.installed import SeamRun, SeamWalk, Signed
from service.domain.patches.repair import OPEN, WITHDRAWN, Numbers
from service.domain.words.measures import say_length
from service.domain.words.names import mark_state
from service.domain.words.speech import later, tr, trc, trn
from service.domain.words.temperatures import say_temperature
from service.web.drawings.drawing import ScheduleRow, ZoneDrawing
from service.web.installed import seam_words as words
from service.web.serving.guards import Signed as SignedIn
from service.web.serving.guards import TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_PATCH, CAUTION_WALK, css, need, starting

router = APIRouter(include_in_schema=False)

SAID = {
    "drawn": later("It is drawn. Chalk its tag, and walk it with a tape measure."),
    "walked": later("The walk is recorded."),
}


@dataclass(frozen=True, slots=True)
class SeamPage:
    """`templates/crew/seam.html`. `marks`: what its last walk found at fault, each with what mends it."""

    tag: str
    what: str
    stands: tuple[str, str, str]
    not_asked: str
    need: str
    drawing: ZoneDrawing | None
    walk_href: str
    walk_words: str
    next_href: str
    next_words: str
    marks: tuple[ScheduleRow, ...]
    readings: tuple[tuple[str, str, str], ...]
    walk: tuple[tuple[str, str], ...]
    facts: tuple[tuple[str, str], ...]
    lines: tuple[tuple[str, str], ...]
    withdraw_href: str
    letter: str
    back: str


@router.get("/seams/{seam_id}")
def seam(desk: TheDesk, person: SignedIn, seam_id: str, said: str = "") -> Response:
    view, of = seam_view(desk, person.id, seam_id)
    project = view.seen.project
    lines = history_of(desk, view, of.tag)
    told = tuple((moment(line.entry.at, project.time_zone), line.sentence) for line in reversed(lines))
    page = seam_page(view, seam_id, person.id, told)
    shell = shell_of(
        project,
        view.seen.role,
        person,
        said=tr(SAID.get(said, "")),
        cautions=(tr(CAUTION_PATCH), tr(CAUTION_WALK)) if page.marks else (tr(CAUTION_WALK),),
    )
    return HTMLResponse(render("crew/seam.html", page, **shell))


def seam_page(view: ZoneView, seam_id: str, person_id: str, lines: tuple[tuple[str, str], ...]) -> SeamPage:
    """Everything the page of a seam shows, decided."""
    standing = seams_standing(view)
    of = next(one for one in standing if one.seam.id == seam_id)
    seam, role, project = of.seam, view.seen.role, view.seen.project
    stands = of.state != WITHDRAWN
    may_go = roles.may(role, "withdraw a seam") and roles.may_withdraw(
        role, person_id, seam.signed.by, seam.signed.role
    )
    following = _next(standing, of) if stands and of.state != OPEN else None
    return SeamPage(
        tag=seam.tag,
        what=words.what(of, project.units),
        stands=words.verdict_words(view, of),
        not_asked=words.not_asked(view),
        need=_need(view, of) if stands else "",
        drawing=words.drawing(view, tr("{tag} on its zone", tag=seam.tag), only=seam.tag),
        walk_href=f"/seams/{seam.id}/walk" if stands and roles.may(role, "walk a seam") else "",
        walk_words=tr("Walk it") if seam.walk is None else tr("Walk it again"),
        next_href=f"/seams/{following.seam.id}" if following else "",
        next_words=tr("Next: {tag}", tag=following.seam.tag) if following else "",
        marks=_marks(view, of, seam.walk) if seam.walk else (),
        readings=_readings(view, of, seam.walk) if seam.walk else (),
        walk=_walk(view, seam.walk) if seam.walk else (),
        facts=_facts(view, of),
        lines=lines,
        withdraw_href=f"/seams/{seam.id}/withdraw" if stands and may_go else "",
        letter=view.zone.letter,
        back=f"/zones/{view.zone.id}/seams",
    )


def _next(standing: list[SeamStand], mine: SeamStand) -> SeamStand | None:
    """The seam to walk next: the first not walked after this one by tag, else the first that is left."""
    left = [of for of in standing if of.state == OPEN and of is not mine]
    after = [of for of in left if of.seam.signed.seq > mine.seam.signed.seq]
    return next(iter((*after, *left)), None)


def _need(view: ZoneView, of: SeamStand) -> str:
    """What the sheet asks of it, with how many readings that comes to."""
    sheet, units = view.seen.project.sheet, view.seen.project.units
    lap, tape = say_length(sheet.lap.nm, units, "up"), say_length(sheet.tape_width.nm, units, "up")
    every = suggested_stations(of.seam.path, _per_px(view), sheet.station_every.nm)
    if not sheet.station_every.nm:
        return trn(
            "Lap at least {lap}, taped with {tape} or wider; {n} reading.",
            "Lap at least {lap}, taped with {tape} or wider; {n} readings.",
            len(every),
            lap=lap,
            tape=tape,
        )
    return trn(
        "Lap at least {lap}, taped with {tape} or wider; {n} reading, {apart} apart at most.",
        "Lap at least {lap}, taped with {tape} or wider; {n} readings, {apart} apart at most.",
        len(every),
        lap=lap,
        tape=tape,
        apart=words.say_way(sheet.station_every.nm, units),
    )


def _per_px(view: ZoneView) -> float:
    assert view.seen.sketch.scale is not None, "a seam stands on a sketch with a scale"
    return nm_per_px(view.seen.sketch.scale)


# --- its walk --------------------------------------------------------------------------------------------


def _marks(view: ZoneView, of: SeamStand, walk: SeamWalk) -> tuple[ScheduleRow, ...]:
    """Each run at fault as the mark that stands for it: where it lies, and what mends it."""
    return tuple(_run_row(view, of, run) for run in walk.runs)


def _run_row(view: ZoneView, of: SeamStand, run: SeamRun) -> ScheduleRow:
    units, per_px = view.seen.project.units, _per_px(view)
    start, end = (words.say_way(distance_along(of.seam.path, at, per_px), units) for at in (run.a, run.b))
    main = tr("{fault}, {start} to {end}", fault=starting(tr(run.fault)), start=start, end=end)
    mark = view.site.defects.get(run.mark)
    if mark is None:
        return ScheduleRow("", main)
    state = view.verdict(mark).state
    sub = (
        need(mark, view.seen.project.sheet, units) if mark.withdrawn is None else tr("Its mark was withdrawn")
    )
    return ScheduleRow(
        mark.tag, main, sub, way=mark_state(state), href=f"/defects/{mark.id}", kind=css(state)
    )


def _readings(view: ZoneView, of: SeamStand, walk: SeamWalk) -> tuple[tuple[str, str, str], ...]:
    """(how far along, the lap, how much it lacks), in order from the start."""
    units, numbers, per_px = view.seen.project.units, Numbers.of(view.seen.project.sheet), _per_px(view)
    short = walk_findings(walk.stations, numbers)
    found = []
    for number, station in enumerate(walk.stations):
        along = distance_along(of.seam.path, station.at, per_px)
        lacks = numbers.lap_nm - station.lap_nm
        told = tr("short by {short}", short=say_length(lacks, units, "up")) if number in short else ""
        row = (words.say_way(along, units), say_length(station.lap_nm, units, "down"), told)
        found.append((along, row))
    return tuple(row for _, row in sorted(found, key=lambda each: each[0]))


def _walk(view: ZoneView, walk: SeamWalk) -> tuple[tuple[str, str], ...]:
    units, work = view.seen.project.units, walk.work
    taped = f"{_yes(walk.taped)}, {_yes(walk.bonded)}"
    rows = [
        (tr("Taped, bonded"), tr("{answers} but for the runs above", answers=taped) if walk.runs else taped),
        (tr("Cleaned, dry"), f"{_yes(work.cleaned)}, {_yes(work.dry)}"),
    ]
    if work.tape_width_nm:
        wide = say_length(work.tape_width_nm, units, "down")
        rows.append((tr("Tape"), tr("{width} wide", width=wide)))
    if work.film_mf is not None:
        rows.append((tr("Film temperature"), say_temperature(work.film_mf, units)))
    if work.lot:
        rows.append((tr("Lot"), work.lot))
    rows.append((trc("seam", "Walked"), _who(view, walk.signed)))
    return (*rows, (tr("Note"), work.note)) if work.note else tuple(rows)


def _facts(view: ZoneView, of: SeamStand) -> tuple[tuple[str, str], ...]:
    rows = [
        (tr("Kind"), starting(tr(of.seam.kind))),
        (tr("Length"), words.say_way(of.long_nm, view.seen.project.units)),
    ]
    rows.append((trc("seam", "Drawn"), _who(view, of.seam.signed)))
    return (*rows, (tr("Note"), of.seam.note)) if of.seam.note else tuple(rows)


def _who(view: ZoneView, signed: Signed) -> str:
    name = view.names.get(signed.by, tr("a person no longer named"))
    return f"{name}, {tr(signed.role)}, {moment(signed.at, view.seen.project.time_zone)}"


def _yes(true: bool) -> str:
    return tr("yes") if true else tr("no")
