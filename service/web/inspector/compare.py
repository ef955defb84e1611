"""Two moments of a zone side by side: how it stood at each, what came and went, every entry in between."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.evidence.audit import zone_seen
from service.actions.evidence.comparing import Comparison, compare_zone
from service.actions.frame.reading import ZoneView
from service.domain.gate.gate import Blocker
from service.domain.gate.installed_states import FILM_LOT, HOLD_POINT, PENETRATION, SEAM, TERMINATION
from service.domain.gate.wording import say_blocker, say_faults
from service.domain.nouns.site import Defect, Patch
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED
from service.domain.words.measures import Units, say_length
from service.domain.words.names import mark_state, state_of, zone_state
from service.domain.words.refusals import Conflict
from service.domain.words.speech import tr, trc
from service.history.replay.differences import Moved, Repaired
from service.history.replay.standing import LAYING, Standing
from service.web.drawings.drawing import ScheduleRow
from service.web.forms.moments import Picked, asked, pick, stood_href
from service.web.inspector.history import LogRow, log_row
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import placing, starting, what
from service.web.shared.zone_views import name_in, size_of

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class SideRow:
    """One line of the comparison: what is compared, at the first moment and at the second."""

    term: str
    before: str
    after: str
    changed: bool


@dataclass(frozen=True, slots=True)
class Group:
    """Marks, patches or reasons that came or went, under a heading."""

    heading: str
    rows: tuple[ScheduleRow, ...]


@dataclass(frozen=True, slots=True)
class ComparePage:
    """`templates/inspector/compare.html`. `trouble`: why nothing can be compared."""

    letter: str
    root: str
    first: Picked
    second: Picked
    first_href: str
    second_href: str
    zone_time: str
    lead: str
    sides: tuple[SideRow, ...]
    groups: tuple[Group, ...]
    lines: tuple[LogRow, ...]
    trouble: str
    note: str


@router.get("/zones/{zone_id}/compare")
def compare(request: Request, desk: TheDesk, person: Signed, zone_id: str) -> Response:
    seen, form = zone_seen(desk, person.id, zone_id), asked(request.query_params)
    project = seen.project
    first = pick(desk, person, project, form)
    second = pick(desk, person, project, form, "to", "to_entry")
    found, trouble = None, ""
    if not form.errors:
        try:
            found = compare_zone(desk, person.id, zone_id, first.at, second.at)
        except Conflict as not_yet:
            trouble = not_yet.message
    if found and found.swapped:
        first, second = second, first
    page = ComparePage(
        letter=seen.zone.letter,
        root=f"/zones/{zone_id}",
        first=first,
        second=second,
        first_href=stood_href(zone_id, first),
        second_href=stood_href(zone_id, second),
        zone_time=project.time_zone,
        lead=_lead(found) if found else "",
        sides=_sides(found) if found else (),
        groups=_groups(found) if found else (),
        lines=tuple(log_row(line, project.time_zone) for line in found.lines) if found else (),
        trouble=trouble,
        note=tr("The second time lay before the first, so they were turned round.") if found and found.swapped
        else first.note or second.note,
    )  # fmt: skip
    shell = shell_of(project, seen.role, person, errors=form.errors)
    html = render("inspector/compare.html", page, **shell)
    return HTMLResponse(html, 422 if form.errors else 200)


def _lead(found: Comparison) -> str:
    """What came of it, in one sentence."""
    letter = found.after.zone.letter
    before = _state_words(found.before) if found.before else trc("zone", "not outlined yet")
    after = _state_words(found.after)
    if before != after:
        return tr(
            "Zone {letter} was {before} at the first time and {after} at the second.",
            letter=letter,
            before=before,
            after=after,
        )
    if found.change.nothing and not found.lines:
        return tr(
            "Nothing of zone {letter} changed between the two: it was {after} at both.",
            letter=letter,
            after=after,
        )
    return tr(
        "Zone {letter} was {after} at both times; what changed in between stands below.",
        letter=letter,
        after=after,
    )


def _state_words(view: ZoneView) -> str:
    if view.zone.withdrawn is not None:
        return trc("zone", "off the sketch")
    laying = view.standing.state == LAYING
    return trc("zone", "still being laid") if laying else zone_state(view.standing.state)


def _sides(found: Comparison) -> tuple[SideRow, ...]:
    after = _side(found.after)
    before = _side(found.before) if found.before else dict.fromkeys(after, trc("zone", "not outlined yet"))
    return tuple(SideRow(term, before[term], words, before[term] != words) for term, words in after.items())


def _side(view: ZoneView) -> dict[str, str]:
    """How a zone stood, line by line, in the order a sheet is read."""
    standing, zone, project = view.standing, view.zone, view.seen.project
    return {
        tr("State"): starting(zone_state(standing.state))
        if zone.withdrawn is None
        else trc("zone", "Taken off the sketch"),
        tr("Reasons of the gate"): str(len(standing.blockers)),
        tr("Marks"): _marks_words(standing),
        tr("Punch walk that counts"): moment(zone.walked_at, project.time_zone)
        if zone.walked_at
        else trc("walk", "none"),
        tr("Release"): _release_words(view),
        tr("Placing"): placing(zone, project.time_zone),
        tr("Patch overlap"): say_length(project.sheet.patch_overlap.nm, project.units),
        tr("Size"): size_of(zone, view.seen.sketch, project),
    }


def _marks_words(standing: Standing) -> str:
    states = [verdict.state for verdict in standing.verdicts.values()]
    told = [
        f"{states.count(state)} {mark_state(state)}"
        for state in (OPEN, NOT_SEALED, SEALED)
        if state in states
    ]
    return ", ".join(told) or trc("marks", "none")


def _release_words(view: ZoneView) -> str:
    release = view.standing.release
    if release is None:
        return trc("release", "none")
    when, who = moment(release.at, view.seen.project.time_zone), name_in(view, release.by)
    if view.standing.fallen and view.zone.placement is None:
        return tr("{when} by {who}, fallen away", when=when, who=who)
    return tr("{when} by {who}", when=when, who=who)


def _groups(found: Comparison) -> tuple[Group, ...]:
    """Only what is not empty, new things first."""
    change, units = found.change, found.after.seen.project.units
    turned = tuple(
        replace(
            _mark(t.mark, units),
            way=_from_to(mark_state(t.before), mark_state(t.after)),
            kind=t.after.replace(" ", "-"),
        )
        for t in change.turned
    )
    groups = (
        Group(tr("Marked in between"), tuple(_new_mark(found.after, mark) for mark in change.marked)),
        Group(tr("Marks that stand otherwise"), turned),
        Group(tr("Marks withdrawn"), tuple(_mark(mark, units) for mark in change.withdrawn)),
        Group(tr("Patches logged"), tuple(_patch(found.after, patch) for patch in change.patched)),
        Group(
            tr("Patches withdrawn"),
            tuple(replace(_patch(found.after, p), sub=p.withdrawn or "") for p in change.unpatched),
        ),
        Group(tr("Repairs logged"), tuple(_repair(found.after, r) for r in change.repaired)),
        Group(
            tr("Repairs withdrawn"),
            tuple(replace(_repair(found.after, r), sub=r.repair.withdrawn or "") for r in change.unrepaired),
        ),
        Group(
            tr("Pipes, seams, edges, film and hold points"),
            tuple(_moved(found.after, m) for m in change.moved),
        ),
        Group(tr("Reasons that came"), tuple(_reason(blocker, units) for blocker in change.come)),
        Group(tr("Reasons that went"), tuple(_reason(blocker, units) for blocker in change.gone)),
    )
    return tuple(group for group in groups if group.rows)


def _from_to(before: str, after: str) -> str:
    return tr("{before} to {after}", before=before, after=after)


def _mark(mark: Defect, units: Units) -> ScheduleRow:
    return ScheduleRow(
        tag=mark.tag,
        main=what(mark, units),
        sub=tr("Withdrawn: {reason}", reason=mark.withdrawn) if mark.withdrawn else mark.note,
        href=f"/defects/{mark.id}",
        kind="withdrawn" if mark.withdrawn else "",
    )


def _new_mark(view: ZoneView, mark: Defect) -> ScheduleRow:
    """A mark made in between, with how it stands at the second time."""
    state = mark_state("withdrawn" if mark.withdrawn else view.verdict(mark).state)
    return replace(_mark(mark, view.seen.project.units), way=state)


def _patch(view: ZoneView, patch: Patch) -> ScheduleRow:
    project = view.seen.project
    tag = view.site.defects[patch.defect_id].tag
    done = {"method": starting(tr(patch.method)), "who": name_in(view, patch.by)}
    return ScheduleRow(
        tag=tag,
        main=tr("{method} by {who}, lot {lot}", **done, lot=patch.lot)
        if patch.lot
        else tr("{method} by {who}", **done),
        sub=moment(patch.logged_at, project.time_zone),
        way=trc("patch", "withdrawn") if patch.withdrawn else "",
        href=f"/defects/{patch.defect_id}",
        kind="withdrawn" if patch.withdrawn else "",
    )


def _repair(view: ZoneView, done: Repaired) -> ScheduleRow:
    repair, signed = done.repair, done.repair.signed
    return ScheduleRow(
        tag=done.mark.tag,
        main=tr("{method} by {who}", method=starting(tr(repair.method)), who=name_in(view, signed.by)),
        sub=moment(signed.at, view.seen.project.time_zone),
        way=trc("repair", "withdrawn") if repair.withdrawn else "",
        href=f"/defects/{done.mark.id}",
        kind="withdrawn" if repair.withdrawn else "",
    )


# What stands in the place of a tag where a thing has none, and the page it is told on.
_PAGES = {PENETRATION: "/penetrations/{id}", SEAM: "/seams/{id}", TERMINATION: "/edges/{id}"}
_LISTS = {FILM_LOT: ("F", "film"), HOLD_POINT: ("H", "hold-points")}


def _moved(view: ZoneView, moved: Moved) -> ScheduleRow:
    thing, state = moved.thing, state_of(moved.thing.kind, moved.thing.state)
    if thing.kind in _PAGES:
        tag, main, href = thing.name, starting(thing.detail), _PAGES[thing.kind].format(id=thing.id)
    else:
        tag, page = _LISTS[thing.kind]
        main, href = f"{thing.name} {thing.detail}".strip(), f"/zones/{view.zone.id}/{page}"
    return ScheduleRow(
        tag=tag,
        main=starting(main),
        sub=starting(say_faults(thing.faults)),
        way=_from_to(state_of(thing.kind, moved.before), state) if moved.before else state,
        href=href,
        kind=thing.state.replace(" ", "-"),
    )


def _reason(blocker: Blocker, units: Units) -> ScheduleRow:
    words = say_blocker(blocker, units).removeprefix(f"{blocker.name} ")
    return ScheduleRow(tag=blocker.name, main=words)
