"""The history and the record, for programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, BinaryIO

from fastapi import APIRouter, Query
from starlette.background import BackgroundTask
from starlette.responses import Response, StreamingResponse

from service.actions.evidence import audit
from service.actions.evidence.checkpoints import newest_note
from service.actions.record.record import make_record
from service.api.answers import marks as out
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute
from service.api.shared.errors import READS, told
from service.api.telling import marks as tell

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["history"])

PIECE = 256 * 1024


@router.get("/projects/{project_id}/history", responses=told(READS))
def history(
    project_id: Id,
    call: Reads,
    after: Annotated[int, Query(ge=0, le=2**53, description="Entries with a greater `seq`.")] = 0,
    limit: Annotated[int, Query(ge=1, le=2**53, description="At most this many; 500 at the most.")] = 100,
) -> out.History:
    """The project's entries in their order. Ask again `after` the last `seq` until fewer come than asked."""
    lines, newest = audit.entries_after(call.desk, call.by, project_id, after, limit)
    note = newest_note(call.desk, call.by, project_id)
    checkpoint = out.Checkpoint(size=newest.entry.seq, last_hash=newest.hash, note=note)
    return out.History(entries=[tell.entry(line) for line in lines], checkpoint=checkpoint)


@router.get(
    "/projects/{project_id}/record",
    response_class=Response,
    responses=told(READS) | {200: {"content": {"application/zip": {}}, "description": "A ZIP."}},
)
def record(project_id: Id, call: Reads) -> Response:
    """The record, a ZIP: the history with its proof, papers, tables and pictures, and verify.py to prove it.

    The one GET that may append an entry: the history says that a record left, and the checkpoint in it covers
    that. Asked again with nothing done since, the same bytes come and nothing is added.
    """
    made = make_record(call.desk, call.by, project_id)
    headers = {
        "Content-Disposition": f'attachment; filename="{made.name}"',
        "Content-Length": str(made.size),
        "Cache-Control": "private, no-store",
    }
    return StreamingResponse(
        _pieces(made.file),
        media_type="application/zip",
        headers=headers,
        background=BackgroundTask(made.file.close),
    )


def _pieces(file: BinaryIO) -> Iterator[bytes]:
    with file:
        while piece := file.read(PIECE):
            yield piece
