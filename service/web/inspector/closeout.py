"""The closeout: what is handed over when the concrete is in, as a page to read and print, and as a paper."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from markupsafe import Markup
from starlette.responses import HTMLResponse, Response

from service.actions.closeout.paper import CloseoutView, closeout_paper, closeout_view
from service.domain.words.speech import later, tr
from service.history.closeout.sheet import Sheet, tables_of
from service.history.closeout.words import sheet_of
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of

router = APIRouter(include_in_schema=False)

# Where the page of each kind of thing is.
PAGES = {
    "defect": "/defects/{}",
    "penetration": "/penetrations/{}",
    "seam": "/seams/{}",
    "termination": "/edges/{}",
    "release": "/releases/{}",
    "zone": "/zones/{}/as-it-stood",
}

NO_SCALE = later("The sketch has no scale, so this zone cannot be drawn true to it.")
ON_PAPER = later("A zone with so many marks is drawn on the paper alone.")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A zone's drawing: the same SVG that is set on paper, and how it is to be read."""

    svg: Markup
    words: str


@dataclass(frozen=True, slots=True)
class CloseoutPage:
    """`templates/inspector/closeout.html`. `hrefs`: of each thing by kind and id; `drawings`: by zone;
    `undrawn`: by zone, why it has none here."""

    root: str
    sheet: Sheet
    ways: tuple[tuple[str, str], ...]
    hrefs: Mapping[tuple[str, str], str]
    drawings: Mapping[str, Drawn]
    undrawn: Mapping[str, str]


@router.get("/projects/{project_id}/closeout")
def closeout_page(desk: TheDesk, person: Signed, project_id: str) -> Response:
    view = closeout_view(desk, person.id, project_id)
    shell = shell_of(view.seen.project, view.seen.role, person)
    return HTMLResponse(render("inspector/closeout.html", page_of(view), **shell))


@router.get("/projects/{project_id}/closeout.pdf")
def closeout_on_paper(desk: TheDesk, person: Signed, project_id: str) -> Response:
    paper = closeout_paper(desk, person.id, project_id)
    headers = {"Content-Disposition": f'inline; filename="{paper.name}"'}
    return Response(paper.content, media_type="application/pdf", headers=headers)


def page_of(view: CloseoutView) -> CloseoutPage:
    told = view.told
    sheet = sheet_of(told, lambda at: moment(at, told.head.time_zone))
    things = {row.thing for table in tables_of(sheet) for row in table.rows if row.thing[1]}
    return CloseoutPage(
        root=f"/projects/{told.head.project}",
        sheet=sheet,
        ways=tuple((f"#{part.name}", part.heading) for part in (*sheet.before, *sheet.after)),
        hrefs={(kind, id): PAGES[kind].format(id) for kind, id in things},
        drawings={
            # Every text in it was escaped where it was drawn (service/papers/drawing/scale_drawing.py).
            zone: Drawn(Markup(of.svg.decode()), f"{of.key_words} {of.bar.words}")  # noqa: S704
            for zone, of in view.drawings.items()
        },
        undrawn={
            zone.id: tr(ON_PAPER if zone.area else NO_SCALE)
            for zone in told.zones
            if zone.id not in view.drawings
        },
    )
