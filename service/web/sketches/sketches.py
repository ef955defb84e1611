"""A sketch's own page: the picture with its zones, how big it is, and the ways to work on it."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import Response

from service.actions.frame.reading import SketchView, sketch_view
from service.domain.nouns import roles
from service.domain.nouns.site import Sketch
from service.domain.words.measures import Units, say_distance
from service.domain.words.speech import later, tr, trc
from service.web.drawings.drawing import ScheduleRow, SketchDrawing
from service.web.drawings.shown import Shown
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import Way
from service.web.shared.plan_pictures import PlanPicture, plan_picture
from service.web.shared.reasons import kind_of
from service.web.shared.sketch_answers import answer, plan_drawing
from service.web.shared.zone_views import placing_words, size_of
from service.web.sketches import sketch_grid, sketch_new, sketch_pictures, sketch_revise, sketch_scale

router = APIRouter(include_in_schema=False)
for part in (sketch_pictures, sketch_new, sketch_scale, sketch_grid, sketch_revise):
    router.include_router(part.router)

SAID = {
    "new": later(
        "The sketch is here. Set its scale next: press two points and type the distance between them."
    ),
    "scale": later("The scale is set."),
    "grid": later("The grid is changed."),
    "revised": later("The new picture is in place. Zones and marks kept their places on the ground."),
    "zone": later("The zone is outlined."),
    "changed": later("The zone is changed."),
    "withdrawn": later("The zone is off the sketch. Its marks stay in the history."),
}


@dataclass(frozen=True, slots=True)
class SketchPage:
    """`templates/office/sketch.html`. ways: what this person may do here, the next step first."""

    name: str
    drawing: SketchDrawing
    plan: PlanPicture
    no_scale: bool
    facts: tuple[tuple[str, str], ...]
    zones: tuple[ScheduleRow, ...]
    ways: tuple[Way, ...]
    may_change: bool
    back: str


@router.get("/sketches/{sketch_id}")
def sketch_page(desk: TheDesk, person: Signed, sketch_id: str, said: str = "") -> Response:
    view = sketch_view(desk, person.id, sketch_id)
    sketch, project = view.seen.sketch, view.seen.project
    page = SketchPage(
        name=sketch.name,
        drawing=plan_drawing(view),
        plan=plan_picture(view),
        no_scale=sketch.scale is None,
        facts=_facts(sketch, project.units),
        zones=_zones(view),
        ways=_ways(sketch) if roles.may(view.seen.role, "add a sketch") else _sheets(sketch),
        may_change=roles.may(view.seen.role, "outline a zone"),
        back=f"/projects/{project.id}/office",
    )
    return answer("office/sketch.html", page, project, view.seen.role, person, said=tr(SAID.get(said, "")))


def _ways(sketch: Sketch) -> tuple[Way, ...]:
    root = f"/sketches/{sketch.id}"
    scale = Way(tr("Set the scale") if sketch.scale is None else tr("Set the scale again"), f"{root}/scale")
    rest = (Way(tr("Lay the grid"), f"{root}/grid"), Way(tr("Put a newer picture in"), f"{root}/revise"))
    if sketch.scale is None:
        return (scale, *rest)
    return (Way(tr("Outline a zone"), f"{root}/zones/new"), *_sheets(sketch), scale, *rest)


def _sheets(sketch: Sketch) -> tuple[Way, ...]:
    """The way to the sheets of the whole slab, for everybody."""
    return () if sketch.scale is None else (Way(tr("Sheets of film"), f"/sketches/{sketch.id}/layout"),)


def _facts(sketch: Sketch, units: Units) -> tuple[tuple[str, str], ...]:
    grid = ", ".join(line.label for line in sketch.grid)
    told = [
        tr("{width} by {height} dots", width=f"{sketch.width_px:,}", height=f"{sketch.height_px:,}"),
        *([tr("page {page} of a PDF", page=sketch.page)] if sketch.page else ()),
        tr("revision {revision}", revision=sketch.revision),
    ]
    return (
        (tr("Scale"), across_words(Shown(sketch).nm_per_px, sketch.width_px, sketch.height_px, units)),
        (tr("Grid lines"), grid or tr("none laid")),
        (tr("Picture"), ", ".join(told)),
    )


def across_words(nm_per_px: float, width_px: int, height_px: int, units: Units) -> str:
    """How far the picture reaches on the ground: what a wrong scale shows up in at once."""
    if not nm_per_px:
        return tr("not set")
    wide, high = (say_distance(round(px * nm_per_px), units) for px in (width_px, height_px))
    return tr("the picture is {wide} wide and {high} high", wide=wide, high=high)


def _zones(view: SketchView) -> tuple[ScheduleRow, ...]:
    project, sketch = view.seen.project, view.seen.sketch
    return tuple(
        ScheduleRow(
            tag=standing.zone.letter,
            main=", ".join(filter(None, (standing.zone.name, size_of(standing.zone, sketch, project)))),
            sub=placing_words(standing.zone.place_at, project),
            way=trc("zone", standing.state),
            href=f"/zones/{standing.zone.id}",
            kind=kind_of(standing.state),
        )
        for standing in view.standings
    )
