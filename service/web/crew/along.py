"""Take a zone along: one file that names and holds all that a phone needs to work there without signal."""

from __future__ import annotations

import hashlib

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from service.actions.marks.walk_order import walk_of
from service.domain.words.speech import spoken
from service.history.facts.encoding import time_text
from service.web.crew.along_pack import installed_of, marks_of, pages_of, rules_of, tiles_of, zone_of
from service.web.crew.walk_order import stands_at
from service.web.drawings.shown import Shown
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.zone_views import standing_view

router = APIRouter(include_in_schema=False)

FORMAT = 1


@router.get("/zones/{zone_id}/along.json")
def along(request: Request, desk: TheDesk, person: Signed, zone_id: str) -> Response:
    """The zone as of the newest entry. Its ETag is that entry, the person, their role and language, and where
    the phone stands: with none of them another, it is not sent again."""
    view = standing_view(desk, person, zone_id)
    project, start = view.seen.project, stands_at(request, zone_id)
    told = f"{FORMAT} {zone_id} {view.seen.head} {person.id} {view.seen.role} {spoken().code} {start}"
    headers = {
        "ETag": f'W/"{hashlib.sha256(told.encode()).hexdigest()[:32]}"',
        "Cache-Control": "private, no-cache",
    }
    if headers["ETag"] in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    shown, walk = Shown(view.seen.sketch), walk_of(view, start)
    order = [visit.stop.id for visit in walk.visits] + [stop.id for stop in walk.beyond] if walk else []
    pack = {
        "format": FORMAT,
        "zone": zone_of(view, shown),
        "project": {
            "id": project.id,
            "name": project.name,
            "units": project.units,
            "time_zone": project.time_zone,
        },
        "person": person.id,
        "role": view.seen.role,
        "known": view.seen.head,
        "made_at": time_text(desk.clock()),
        "pages": pages_of(view),
        "tiles": tiles_of(view, shown),
        "marks": marks_of(view, shown),
        **installed_of(view, shown),
        "rules": rules_of(view),
        "walk_order": order,
    }
    return JSONResponse(pack, headers=headers)
