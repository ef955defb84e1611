"""The ready list by link as JSON, for programs that hold the link and no account."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter
from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response

from service.actions.office import ready_lists
from service.actions.office.ready_lists import ReadyZone
from service.api.answers.sites import Answer, Area, Time
from service.api.shared.calls import BY_LINK, OpenRoute, desk_of, json_answer
from service.api.shared.errors import told
from service.api.telling.telling import time
from service.domain.words.measures import Units, area_json
from service.history.facts.encoding import time_text

router = APIRouter(route_class=OpenRoute, tags=["ready lists"])

HEADERS = {
    "Cache-Control": "private, no-cache",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
}


class ReadyListZone(Answer):
    """`since`: when it was released, or placed. `release_mark` stands on the release's certificate too."""

    letter: str
    name: str
    state: Literal["ready to place", "placed", "not ready"]
    since: Time | None
    release_mark: str | None = Field(examples=["entry 57, 1f3c 9a07"])
    area: Area | None
    place_at: Time | None


class AsOf(Answer):
    """`at`: when this was asked. `entry`: the newest of the history then, recorded at `entry_at`."""

    at: Time
    entry: int
    entry_at: Time


class ReadyList(Answer):
    """A quality record, not an order to place: a zone can lose its release at any moment."""

    project: str
    as_of: AsOf
    zones: list[ReadyListZone]


@router.get(
    "/ready/{token}",
    dependencies=BY_LINK,
    response_model=ReadyList,
    responses=told((404, 422, 503)) | {304: {"description": "Nothing was recorded since the ETag sent."}},
)
def read_a_ready_list(token: str, request: Request) -> Response:
    """Which zones are ready to place, by link alone: no sign-in. The ETag changes with every entry of the
    history. Ask again before the trucks leave."""
    desk = desk_of(request)
    etag = f'W/"{ready_lists.version_of(desk, token)}"'
    if etag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers={**HEADERS, "ETag": etag})
    view = ready_lists.ready_list(desk, token)
    as_of = AsOf(at=time_text(view.asked_at), entry=view.head, entry_at=time_text(view.head_at))
    made = ReadyList(
        project=view.project_name, as_of=as_of, zones=[_zone(zone, view.units) for zone in view.zones]
    )
    answer = json_answer(200, made.model_dump_json())
    answer.headers.update({**HEADERS, "ETag": f'W/"{view.version}"'})
    return answer


def _zone(of: ReadyZone, units: Units) -> ReadyListZone:
    area = None if of.area_m2 is None else Area.model_validate(area_json(of.area_m2, units))
    return ReadyListZone(
        letter=of.letter,
        name=of.name,
        state=of.state,
        since=time(of.since),
        release_mark=of.mark or None,
        area=area,
        place_at=time(of.place_at),
    )
