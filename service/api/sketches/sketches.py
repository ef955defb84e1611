"""Sketches, their scale, and the zones outlined on them, as JSON."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, File, Form, UploadFile
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.sketches import sketches, zones
from service.api.answers import sites as out
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.shared.uploads import land_upload, only
from service.api.telling import telling
from service.domain.nouns.site import Sketch
from service.domain.words.refusals import BadInput
from service.history.facts.encoding import read_time

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["sketches"])


def _told(call: Call, sketch: Sketch) -> out.Sketch:
    seen = sketches.one_sketch(call.desk, call.by, sketch.id)
    return telling.sketch(sketch, seen.project.id, seen.project.units)


@router.post(
    "/projects/{project_id}/sketches",
    status_code=201,
    response_model=out.Sketch,
    responses=told(WRITES),
    dependencies=[Depends(only("file", "page", "name"))],
)
def add_a_sketch(
    project_id: Id,
    call: Writes,
    file: Annotated[UploadFile, File(description="PNG, JPEG, WebP or PDF: 100 MB, 80 megapixels at most.")],
    page: Annotated[
        int | None, Form(ge=1, le=100_000, description="Of a PDF, from 1; drawn at 200 dots per inch.")
    ] = None,
    name: Annotated[str, Form(max_length=10_000)] = "",
) -> Response:
    """Add a sketch from a picture or a page of a PDF."""
    return land_upload(
        call,
        file,
        lambda source: sketches.take_in_first(call.desk, call.by, project_id, source, page),
        lambda taken: _told(call, sketches.settle_sketch(call.desk, call.by, project_id, name, taken)),
        f"{page}\n{name}",
    )


@router.get("/sketches/{sketch_id}", responses=told(READS))
def one_sketch(sketch_id: Id, call: Reads) -> out.SketchWithZones:
    """A sketch with its zones (those taken off it left out)."""
    seen = sketches.one_sketch(call.desk, call.by, sketch_id)
    told_here = telling.sketch(seen.sketch, seen.project.id, seen.project.units)
    on_it = [zone for zone in _zones(call, seen.project.id) if zone.sketch == sketch_id]
    return out.SketchWithZones(**dict(told_here), zones=on_it)


@router.get("/projects/{project_id}/zones", responses=told(READS), tags=["zones"])
def zones_of_a_project(project_id: Id, call: Reads) -> list[out.Zone]:
    """The project's zones by letter, each with its state (those taken off a sketch left out)."""
    return _zones(call, project_id)


def _zones(call: Call, project_id: str) -> list[out.Zone]:
    view = reading.project_view(call.desk, call.by, project_id)
    return [
        telling.zone(
            standing,
            view.site.sketches[standing.zone.sketch_id],
            project_id,
            view.seen.project.units,
            view.names,
        )
        for standing in view.standings
    ]


@router.put("/sketches/{sketch_id}/scale", response_model=out.Sketch, responses=told(WRITES))
def set_the_scale(sketch_id: Id, body: bodies.ScaleSet, call: Writes) -> Response:
    """Two places on today's picture and the true distance between them. A changed scale voids every walk."""
    return call.once(
        200,
        lambda: _told(
            call, sketches.set_scale(call.desk, call.by, sketch_id, body.from_, body.to, body.distance)
        ),
    )


@router.post(
    "/sketches/{sketch_id}/zones",
    status_code=201,
    response_model=out.Zone,
    responses=told(WRITES),
    tags=["zones"],
)
def outline_a_zone(sketch_id: Id, body: bodies.NewZone, call: Writes) -> Response:
    """Outline a zone by its corners. 409 `no-scale` on a sketch whose scale is not set."""

    def act() -> out.Zone:
        place_at = moment(body.place_at, "place_at")
        made = zones.outline_zone(
            call.desk, call.by, sketch_id, body.letter, body.name, body.outline, place_at
        )
        return telling.zone_of(reading.zone_view(call.desk, call.by, made.id))

    return call.once(201, act)


def moment(text: str | None, field: str) -> datetime | None:
    """A time as RFC 3339 with its offset. BadInput names the field."""
    if text is None:
        return None
    told_how = "Write a time with its offset from UTC, like 2026-11-26T06:30:00Z."
    try:
        read = read_time(text)
    except (ValueError, OverflowError):
        raise BadInput(told_how, fields={field: told_how}) from None
    if not datetime(1900, 1, 1, tzinfo=UTC) <= read < datetime(3000, 1, 1, tzinfo=UTC):
        raise BadInput(told_how, fields={field: told_how})
    return read
