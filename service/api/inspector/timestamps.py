"""Timestamps of an authority outside, as JSON: have a checkpoint stamped, list what was received."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from service.actions.evidence import timestamping
from service.actions.evidence.timestamping import Stamp
from service.api.answers import proofs as out
from service.api.inspector.checkpoints import NoFields
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.history.facts.encoding import time_text

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["history"])


@router.post(
    "/projects/{project_id}/timestamps",
    status_code=201,
    response_model=out.Timestamp,
    responses=told(WRITES),
)
def have_a_checkpoint_timestamped(project_id: Id, call: Writes, body: NoFields | None = None) -> Response:
    """Send the authority that this service is told of a checkpoint of the history as it stands, and keep its
    answer. 409: `no-authority`, `stamped-already`, `no-answer`, `bad-stamp`."""

    def ask() -> timestamping.Answer:
        return timestamping.ask_authority(call.desk, call.by, project_id)

    def keep(answer: timestamping.Answer) -> out.Timestamp:
        return _told(timestamping.keep_answer(call.desk, call.by, project_id, answer))

    return call.once_prepared(201, ask, keep)


@router.get("/projects/{project_id}/timestamps", responses=told(READS))
def timestamps_of_a_project(project_id: Id, call: Reads) -> list[out.Timestamp]:
    """Every timestamp received, the newest first."""
    return [_told(stamp) for stamp in timestamping.stamps(call.desk, call.by, project_id)]


def _told(stamp: Stamp) -> out.Timestamp:
    return out.Timestamp(
        size=stamp.size,
        at=time_text(stamp.at),
        token_sha256=stamp.token_sha256,
        chain_sha256=stamp.chain_sha256,
        entry=stamp.seq,
    )
