"""The crew's pages: a project's zones with what is held, and every page of one zone, mark and patch."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module

from fastapi import APIRouter
from starlette.responses import HTMLResponse, Response

from service.actions.frame.reading import project_view
from service.domain.nouns import roles
from service.domain.words.names import zone_state
from service.domain.words.speech import trn
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import css, placing, starting, summary

PAGES = (
    "crew.along",
    "crew.zone", "crew.hold", "marks.mark", "marks.defect", "marks.patch", "marks.photos", "installed.edges",
    "installed.edge_seal",
    "installed.edge_withdraw", "marks.repairs", "marks.looks", "crew.hold_points", "marks.causes",
    "film.zone_film",
    "installed.penetration_place", "installed.penetrations", "installed.penetration",
    "installed.penetration_seal", "installed.penetration_withdraw",
    "installed.seams", "installed.seam", "installed.seam_draw", "installed.seam_walk", "together.together",
    "crew.walk_order", "placing.day", "placing.start",
    "film.layout_kept", "film.layout_laid",
)  # fmt: skip

router = APIRouter(include_in_schema=False)
for _name in PAGES:
    router.include_router(import_module(f"service.web.{_name}").router)


@dataclass(frozen=True, slots=True)
class ZoneLine:
    """One zone of the list: `kind` is its state as the style sheet names it."""

    letter: str
    name: str
    href: str
    kind: str
    state: str
    why: str
    placing: str
    walked: str


@dataclass(frozen=True, slots=True)
class CrewPage:
    """`templates/crew/zones.html`. `office_href` is empty where somebody else outlines zones."""

    zones: tuple[ZoneLine, ...]
    told: str
    office_href: str
    pours_href: str


@router.get("/projects/{project_id}/crew")
def zones(desk: TheDesk, person: Signed, project_id: str) -> Response:
    view = project_view(desk, person.id, project_id)
    project = view.seen.project
    lines = tuple(
        ZoneLine(
            letter=standing.zone.letter,
            name=standing.zone.name,
            href=f"/zones/{standing.zone.id}",
            kind=css(standing.state),
            state=starting(zone_state(standing.state)),
            why=summary(standing),
            placing=placing(standing.zone, project.time_zone),
            walked=moment(standing.zone.walked_at, project.time_zone) if standing.zone.walked_at else "",
        )
        for standing in view.standings
    )
    held = sum(line.kind in ("held", "laying") for line in lines)
    office = f"/projects/{project_id}/office" if roles.may(view.seen.role, "outline a zone") else ""
    told = trn("{n} zone, {held} not clear yet", "{n} zones, {held} not clear yet", len(lines), held=held)
    page = CrewPage(lines, told if lines else "", office, f"/projects/{project_id}/plan-of-pours")
    shell = shell_of(project, view.seen.role, person, f"/projects/{project_id}/crew")
    return HTMLResponse(render("crew/zones.html", page, **shell))
