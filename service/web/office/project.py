"""A project in the office: all its zones with their states and why, in one glance."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.frame.desk import Desk
from service.actions.frame.reading import ProjectView, project_view
from service.actions.office.projects import one_project
from service.domain.gate.wording import say_blocker
from service.domain.nouns import roles
from service.domain.nouns.site import Sketch
from service.domain.words.speech import later, tr, trc, trn
from service.history.replay.replay import GONE
from service.history.replay.standing import (
    CLEAR,
    HELD,
    LAYING,
    PLACED,
    PLACED_WITHOUT_RELEASE,
    READY,
    Standing,
)
from service.web.drawings.drawing import ScheduleRow
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import home_of, shell_of
from service.web.shared.key_plan import KeyPlan, draw_key_plan
from service.web.shared.placing_words import since_words
from service.web.shared.reasons import kind_of
from service.web.shared.sheet_words import in_force
from service.web.shared.zone_views import placing_words, size_of, tally, walked_words

router = APIRouter(include_in_schema=False)

MOST_REASONS = 3  # of one zone, in the list of zones
ENGINEER_CAUTION = later(
    "Nothing here replaces the engineer of record, the local code or the film maker's instructions."
)


@dataclass(frozen=True, slots=True)
class ZoneRow:
    """One zone of the schedule: `why` are the first reasons, `more` counts the rest."""

    letter: str
    name: str
    sub: str
    why: tuple[str, ...]
    more: str
    state: str
    kind: str
    href: str
    placing_href: str


@dataclass(frozen=True, slots=True)
class Step:
    """One of the first steps of a project; done ones are told as done."""

    words: str
    small: str
    href: str
    link: str
    done: bool


@dataclass(frozen=True, slots=True)
class ProjectPage:
    """`templates/office/project.html`. `steps` is empty once the first zone is outlined and people are in."""

    name: str
    tally: str
    plans: tuple[KeyPlan, ...]
    key: tuple[tuple[str, str], ...]
    zones: tuple[ZoneRow, ...]
    steps: tuple[Step, ...]
    sketches: tuple[ScheduleRow, ...]
    new_sketch_href: str
    new_zone_href: str
    sheet: tuple[tuple[str, str], ...]
    sheet_href: str
    film: str
    film_href: str
    order_href: str
    sheets_href: str
    causes_href: str
    history_href: str
    doers_href: str
    closeout_href: str
    record_href: str
    people: tuple[tuple[str, str], ...]
    people_href: str
    ready: str
    ready_href: str
    pours_href: str


@router.get("/projects/{project_id}")
def project(desk: TheDesk, person: Signed, project_id: str) -> Response:
    seen = one_project(desk, person.id, project_id)
    return RedirectResponse(home_of(project_id, seen.role), 303)


@router.get("/projects/{project_id}/office")
def office(desk: TheDesk, person: Signed, project_id: str) -> Response:
    view = project_view(desk, person.id, project_id)
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        f"/projects/{project_id}/office",
        cautions=(tr(ENGINEER_CAUTION),),
    )
    return HTMLResponse(render("office/project.html", _page(desk, view), **shell))


def _page(desk: Desk, view: ProjectView) -> ProjectPage:
    project, may_add = view.seen.project, roles.may(view.seen.role, "add a sketch")
    states = [standing.state for standing in view.standings]
    root = f"/projects/{project.id}"
    return ProjectPage(
        name=project.name,
        tally=tally(states),
        plans=_plans(view),
        key=tuple((kind_of(state), trc("zone", state)) for state in _in_order(states)),
        zones=tuple(_zone_row(desk, view, standing) for standing in view.standings),
        steps=_steps(view) if may_add else (),
        sketches=tuple(
            _sketch_row(view, sketch, number)
            for number, sketch in enumerate(view.site.sketches.values(), start=1)
        ),
        new_sketch_href=f"{root}/sketches/new" if may_add else "",
        new_zone_href=_new_zone_href(view) if may_add else "",
        sheet=in_force(project.sheet, project.units),
        film=_film_words(view),
        film_href=f"{root}/film",
        order_href=f"{root}/order",
        sheets_href=_sheets_href(view),
        causes_href=f"{root}/causes",
        history_href=f"{root}/history",
        doers_href=f"{root}/who-did-what",
        closeout_href=f"{root}/closeout",
        record_href=f"{root}/record",
        sheet_href=f"{root}/rule-sheet",
        people=_people(view),
        people_href=f"{root}/people",
        ready=_ready_words(view),
        ready_href=f"{root}/ready-lists",
        pours_href=f"{root}/plan-of-pours",
    )


def _in_order(states: list[str]) -> list[str]:
    order = (HELD, LAYING, CLEAR, READY, PLACED, PLACED_WITHOUT_RELEASE)
    return [state for state in order if state in states]


def _plans(view: ProjectView) -> tuple[KeyPlan, ...]:
    found = []
    for number, sketch in enumerate(view.site.sketches.values()):
        on_it = [standing for standing in view.standings if standing.zone.sketch_id == sketch.id]
        if on_it:
            found.append(draw_key_plan(sketch, on_it, f"plan{number}"))
    return tuple(found)


def _zone_row(desk: Desk, view: ProjectView, standing: Standing) -> ZoneRow:
    zone, project = standing.zone, view.seen.project
    size = size_of(zone, view.site.sketches[zone.sketch_id], project)
    if zone.placement is not None:
        told, when = [], tr("placed {placing}", placing=placing_words(zone.placement.at, project))
    else:
        told = [say_blocker(blocker, project.units) for blocker in standing.blockers]
        planned = (
            tr("placing {placing}", placing=placing_words(zone.place_at, project))
            if zone.place_at
            else tr("no placing time set")
        )
        when = since_words(zone, project.time_zone) or planned
    if standing.fallen and zone.placement is None:
        told.insert(0, tr("Its release fell away"))
    more = len(told) - MOST_REASONS
    return ZoneRow(
        letter=zone.letter,
        name=zone.name or tr("Zone {letter}", letter=zone.letter),
        sub=", ".join((size, when, *_walked(desk, view, standing))),
        why=tuple(told[:MOST_REASONS]),
        more=trn("and {n} more reason", "and {n} more reasons", more) if more > 0 else "",
        state=trc("zone", standing.state),
        kind=kind_of(standing.state),
        href=f"/zones/{zone.id}/release",
        placing_href=f"/zones/{zone.id}/placing-day",
    )


def _walked(desk: Desk, view: ProjectView, standing: Standing) -> tuple[str, ...]:
    """When it was last walked; that nobody has is a reason, and told among those."""
    if standing.zone.walked_at is None:
        return ()
    return (walked_words(standing.zone, view.seen.project, desk.clock()),)


def _sketch_row(view: ProjectView, sketch: Sketch, number: int) -> ScheduleRow:
    zones = sum(standing.zone.sketch_id == sketch.id for standing in view.standings)
    scale = tr("scale set") if sketch.scale else tr("no scale yet: nothing on it has a size")
    words = ", ".join(
        (trn("{n} zone", "{n} zones", zones), scale, tr("revision {revision}", revision=sketch.revision))
    )
    return ScheduleRow(str(number), sketch.name, words, href=f"/sketches/{sketch.id}")


def _new_zone_href(view: ProjectView) -> str:
    """Straight to outlining where there is one sketch to do it on; of several one is chosen first."""
    ready = [sketch for sketch in view.site.sketches.values() if sketch.scale is not None]
    return f"/sketches/{ready[0].id}/zones/new" if len(ready) == 1 else ""


def _sheets_href(view: ProjectView) -> str:
    """Straight to the sheets where there is one sketch to lay them out on; else the sketches lead there."""
    ready = [sketch for sketch in view.site.sketches.values() if sketch.scale is not None]
    return f"/sketches/{ready[0].id}/layout" if len(ready) == 1 else ""


def _film_words(view: ProjectView) -> str:
    """How many materials and lots there are, standing ones."""
    materials = sum(material.withdrawn is None for material in view.site.materials.values())
    lots = sum(lot.withdrawn is None for lot in view.site.lots.values())
    if not materials:
        return tr("No material is submitted yet.")
    return tr(
        "{materials}, {lots}.",
        materials=trn("{n} material submitted", "{n} materials submitted", materials),
        lots=trn("{n} lot received", "{n} lots received", lots),
    )


def _ready_words(view: ProjectView) -> str:
    """How many ready lists are open by link."""
    count = sum(link.withdrawn is None for link in view.site.ready_links.values())
    if not count:
        return tr("No link is open by which those who place concrete see which zones are ready.")
    return trn(
        "{n} link is open by which those who place concrete see which zones are ready.",
        "{n} links are open by which those who place concrete see which zones are ready.",
        count,
    )


def _people(view: ProjectView) -> tuple[tuple[str, str], ...]:
    here = [member for member in view.site.members.values() if member.role != GONE]
    named = sorted(
        (view.names.get(member.id, tr("A person no longer named")), tr(member.role)) for member in here
    )
    return tuple(named)


def _steps(view: ProjectView) -> tuple[Step, ...]:
    """What a new project needs, in order; nothing once it has all of it."""
    root, sketches = f"/projects/{view.seen.project.id}", list(view.site.sketches.values())
    unscaled = [sketch for sketch in sketches if sketch.scale is None]
    first = sketches[0].id if sketches else ""
    steps = (
        Step(
            tr("Add the slab sketch"),
            tr("A picture or one page of a PDF."),
            f"{root}/sketches/new",
            tr("Add a sketch"),
            bool(sketches),
        ),
        Step(
            tr("Set its scale"),
            tr("Two points and the true distance between them."),
            f"/sketches/{unscaled[0].id}/scale" if unscaled else "",
            tr("Set the scale"),
            bool(sketches) and not unscaled,
        ),
        Step(
            tr("Outline the pour zones"),
            tr("Each zone is walked, held and released on its own."),
            f"/sketches/{first}/zones/new" if sketches and not unscaled else "",
            tr("Outline a zone"),
            bool(view.standings),
        ),
        Step(
            tr("Read the rule sheet"),
            tr("The numbers the gate judges by, and where each comes from."),
            f"{root}/rule-sheet",
            tr("Rule sheet"),
            view.seen.project.sheet.patch_overlap.source.startswith("set by"),
        ),
        Step(
            tr("Let the crew in"),
            tr("A crew lead walks, marks and patches; an inspector reads everything."),
            f"{root}/people",
            tr("Invite people"),
            len(_people(view)) > 1,
        ),
    )
    needed = [step for step in steps if not step.done and step.href != f"{root}/rule-sheet"]
    return steps if needed else ()
