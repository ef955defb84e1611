"""As it stood: every zone of a project, or one zone with its marks and the gate's answer, at a moment."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.evidence.audit import as_it_stood, head_seen, project_as_it_stood, zone_seen
from service.actions.frame.reading import ProjectView, ZoneView
from service.domain.nouns import roles
from service.domain.words.names import zone_state
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr, trc, trn
from service.history.replay.standing import LAYING, READY, Standing
from service.web.drawings.drawing import ReasonRow, ScheduleRow, ZoneDrawing
from service.web.drawings.shown import Shown, where_words
from service.web.forms.moments import Picked, asked, pick, stood_href
from service.web.office.release_facts import confirmed_facts, mark_rows, not_asked_words, withdrawn_rows
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import css, placing, starting, summary, title_rows, zone_drawing
from service.web.shared.key_plan import KeyPlan, draw_key_plan
from service.web.shared.placing_words import against_rows
from service.web.shared.reasons import reason_rows
from service.web.shared.zone_views import name_in, tally

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class StoodZone:
    """One zone of the list, as it stood; `kind` is its state as the style sheet names it."""

    letter: str
    name: str
    state: str
    kind: str
    why: str
    placing: str
    walked: str
    href: str
    mark_href: str


@dataclass(frozen=True, slots=True)
class ProjectStoodPage:
    """`templates/inspector/project_stood.html`. `when`: the moment, for a sheet of paper."""

    root: str
    when: str
    picked: Picked
    zone_time: str
    told: str
    zones: tuple[StoodZone, ...]
    plans: tuple[KeyPlan, ...]
    history_href: str


@dataclass(frozen=True, slots=True)
class Stood:
    """Everything of a zone at a moment, decided."""

    title: tuple[tuple[str, str], ...]
    state: str
    why: str
    kind: str
    drawing: ZoneDrawing | None
    lead: str
    reasons: tuple[ReasonRow, ...]
    signed: tuple[tuple[str, str], ...]
    facts: tuple[tuple[str, ...], ...]
    marks: tuple[ScheduleRow, ...]
    withdrawn: tuple[ScheduleRow, ...]
    not_asked: str
    history_href: str
    entries: str


@dataclass(frozen=True, slots=True)
class ZoneStoodPage:
    """`templates/inspector/zone_stood.html`. `stood` is None where nothing shows; `trouble`: why. `when`: the
    moment, for a sheet of paper."""

    letter: str
    when: str
    root: str
    picked: Picked
    zone_time: str
    stood: Stood | None
    trouble: str
    compare_hidden: tuple[tuple[str, str], ...]
    all_zones_href: str
    may_mark: bool


@router.get("/projects/{project_id}/as-it-stood")
def project_stood(request: Request, desk: TheDesk, person: Signed, project_id: str) -> Response:
    seen, form = head_seen(desk, person.id, project_id), asked(request.query_params)
    picked, view = pick(desk, person, seen.project, form), None
    if not form.errors:
        try:
            view = project_as_it_stood(desk, person.id, project_id, picked.at)
        except BadInput as early:
            form.wrong("at", early.message)
    may_mark = picked.is_now and roles.may(seen.role, "mark a defect")
    page = ProjectStoodPage(
        root=f"/projects/{project_id}",
        when=starting(picked.words),
        picked=picked,
        zone_time=seen.project.time_zone,
        told=_told(view, picked) if view else "",
        zones=tuple(_line(view, standing, picked, may_mark) for standing in view.standings) if view else (),
        plans=_plans(view, picked) if view else (),
        history_href=f"/projects/{project_id}/history" + (f"?before={view.seen.head + 1}" if view else ""),
    )
    shell = shell_of(seen.project, seen.role, person, errors=form.errors)
    html = render("inspector/project_stood.html", page, **shell)
    return HTMLResponse(html, 422 if form.errors else 200)


def _told(view: ProjectView, picked: Picked) -> str:
    if not view.standings:
        if view.site.zones:
            return tr("{when}: no zone was on a sketch any more.", when=starting(picked.words))
        return tr("{when}: no zone was outlined yet.", when=starting(picked.words))
    return trn(
        "{when}: {n} zone, {tally}.",
        "{when}: {n} zones, {tally}.",
        len(view.standings),
        when=starting(picked.words),
        tally=tally(standing.state for standing in view.standings),
    )


def _line(view: ProjectView, standing: Standing, picked: Picked, may_mark: bool) -> StoodZone:
    zone, zone_time = standing.zone, view.seen.project.time_zone
    return StoodZone(
        letter=zone.letter,
        name=zone.name or tr("Zone {letter}", letter=zone.letter),
        state=zone_state(standing.state),
        kind=css(standing.state),
        why=summary(standing),
        placing=placing(zone, zone_time),
        walked=moment(zone.walked_at, zone_time) if zone.walked_at else trc("walk", "none that counted"),
        href=stood_href(zone.id, picked),
        mark_href=f"/zones/{zone.id}/mark" if may_mark else "",
    )


def _plans(view: ProjectView, picked: Picked) -> tuple[KeyPlan, ...]:
    """A key plan a sketch, each zone leading to itself at the same moment."""
    plans = []
    for number, sketch in enumerate(view.site.sketches.values()):
        own = [standing for standing in view.standings if standing.zone.sketch_id == sketch.id]
        if not own:
            continue
        plan = draw_key_plan(sketch, own, f"plan{number}")
        hrefs = [stood_href(standing.zone.id, picked) for standing in own]
        zones = tuple(replace(zone, href=href) for zone, href in zip(plan.zones, hrefs, strict=True))
        plans.append(replace(plan, zones=zones))
    return tuple(plans)


@router.get("/zones/{zone_id}/as-it-stood")
def zone_stood(request: Request, desk: TheDesk, person: Signed, zone_id: str) -> Response:
    seen, form = zone_seen(desk, person.id, zone_id), asked(request.query_params)
    picked = pick(desk, person, seen.project, form)
    stood, trouble = None, ""
    if not form.errors:
        try:
            stood = stood_words(as_it_stood(desk, person.id, zone_id, picked.at), picked)
        except Conflict as not_yet:
            trouble = not_yet.message
    hidden = ("entry", str(picked.at)) if isinstance(picked.at, int) else ("at", picked.typed)
    page = ZoneStoodPage(
        letter=seen.zone.letter,
        root=f"/zones/{zone_id}",
        when=starting(picked.words),
        picked=picked,
        zone_time=seen.project.time_zone,
        stood=stood,
        trouble=trouble,
        compare_hidden=() if picked.is_now else (hidden,),
        all_zones_href=f"/projects/{seen.project.id}/as-it-stood"
        + (f"?{picked.query}" if picked.query else ""),
        may_mark=picked.is_now and seen.zone.withdrawn is None and roles.may(seen.role, "mark a defect"),
    )
    shell = shell_of(seen.project, seen.role, person, errors=form.errors)
    html = render("inspector/zone_stood.html", page, **shell)
    return HTMLResponse(html, 422 if form.errors else 200)


def stood_words(view: ZoneView, picked: Picked) -> Stood:
    """A zone at a moment as its page tells it."""
    standing, zone, project = view.standing, view.zone, view.seen.project
    shown, stands = Shown(view.seen.sketch), view.zone.withdrawn is None
    blockers = standing.blockers if stands and zone.placement is None else ()
    return Stood(
        title=tuple(title_rows(view, shown)),
        state=starting(zone_state(standing.state)) if stands else trc("zone", "Taken off"),
        why=summary(standing)
        if stands
        else tr("not on the sketch any more: {reason}", reason=zone.withdrawn),
        kind=css(standing.state) if stands else "clear",
        drawing=zone_drawing(view, shown),
        lead=gate_words(view, picked),
        reasons=reason_rows(blockers, zone, project.id, project.units, view.site.defects),
        signed=_signed(view),
        facts=confirmed_facts(view),
        marks=_marks(view),
        withdrawn=withdrawn_rows(view),
        not_asked=not_asked_words(view),
        history_href=f"/projects/{project.id}/history?zone={zone.id}&before={view.seen.head + 1}",
        entries=trn("{n} entry", "{n} entries", view.seen.head),
    )


def gate_words(view: ZoneView, picked: Picked) -> str:
    """What the gate said, in one sentence: is or was, and how many reasons."""
    if picked.is_now:
        return _gate_says(view, starting(picked.words))
    zone, standing, when = view.zone, view.standing, starting(picked.words)
    said = {"when": when, "letter": zone.letter}
    if zone.withdrawn is not None:
        return tr("{when}: zone {letter} was off the sketch, so the gate had nothing to judge.", **said)
    if zone.placement is not None:
        state = zone_state(standing.state)
        return tr("{when}: concrete was in, zone {letter} was {state}.", **said, state=state)
    if standing.placing is not None:
        return tr(
            "{when}: zone {letter} was being placed under its release. Found since that began and not "
            "mended: {count}.",
            **said,
            count=len(standing.found),
        )
    if standing.state == READY:
        return tr("{when}: zone {letter} was released and ready to place. The gate found nothing.", **said)
    if standing.blockers:
        count = trn("{n} reason", "{n} reasons", len(standing.blockers))
        if standing.state == LAYING:
            return tr(
                "{when}: zone {letter} was still being laid. The gate gave {count}:", **said, count=count
            )
        return tr("{when}: zone {letter} was held. The gate gave {count}:", **said, count=count)
    return tr(
        "{when}: zone {letter} was clear. The gate found nothing. {release}", **said, release=_fell(view)
    )


def _gate_says(view: ZoneView, when: str) -> str:
    """The same of now."""
    zone, standing = view.zone, view.standing
    said = {"when": when, "letter": zone.letter}
    if zone.withdrawn is not None:
        return tr("{when}: zone {letter} is off the sketch, so the gate had nothing to judge.", **said)
    if zone.placement is not None:
        state = zone_state(standing.state)
        return tr("{when}: concrete is in, zone {letter} is {state}.", **said, state=state)
    if standing.placing is not None:
        return tr(
            "{when}: zone {letter} is being placed under its release. Found since that began and not "
            "mended: {count}.",
            **said,
            count=len(standing.found),
        )
    if standing.state == READY:
        return tr("{when}: zone {letter} is released and ready to place. The gate found nothing.", **said)
    if standing.blockers:
        count = trn("{n} reason", "{n} reasons", len(standing.blockers))
        if standing.state == LAYING:
            return tr(
                "{when}: zone {letter} is still being laid. The gate gave {count}:", **said, count=count
            )
        return tr("{when}: zone {letter} is held. The gate gave {count}:", **said, count=count)
    return tr(
        "{when}: zone {letter} is clear. The gate found nothing. {release}", **said, release=_fell(view)
    )


def _fell(view: ZoneView) -> str:
    fallen = view.standing.fallen
    return tr("Its release had fallen away.") if fallen else tr("It had not been released.")


def _marks(view: ZoneView) -> tuple[ScheduleRow, ...]:
    """The marks with their patches, and where each lies."""
    units, sketch = view.seen.project.units, view.seen.sketch
    places = {mark.tag: where_words(sketch, mark.at, units) for mark in view.site.defects.values()}
    return tuple(
        replace(row, sub=" · ".join(filter(None, (places.get(row.tag, ""), row.sub))))
        for row in mark_rows(view)
    )


def _signed(view: ZoneView) -> tuple[tuple[str, str], ...]:
    """The release that stood or had fallen, and the placing with what stood against it."""
    zone_time, release, placement = view.seen.project.time_zone, view.standing.release, view.zone.placement
    rows: list[tuple[str, str]] = []
    if release is not None:
        by = {"when": moment(release.at, zone_time), "who": name_in(view, release.by)}
        fell = view.standing.fallen and placement is None
        told = tr("{when} by {who} (fallen away)", **by) if fell else tr("{when} by {who}", **by)
        rows += [(trc("zone", "Released"), told), (tr("Stating"), release.statement)]
    if placement is not None:
        by = {"when": moment(placement.at, zone_time), "who": name_in(view, placement.by)}
        rows.append((trc("zone", "Placed"), tr("{when}, marked by {who}", **by)))
        rows += [(tr("Volume"), placement.volume)] if placement.volume else []
        rows += against_rows(placement)
    return tuple(rows)
