"""For whatever watches the service: whether the process lives, and whether it can do its work now."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import PlainTextResponse, Response

from service.actions.frame import readiness
from service.actions.frame.desk import Desk

router = APIRouter(include_in_schema=False)


@router.get("/health")
def health() -> Response:
    """The process answers; nothing else is asked."""
    return PlainTextResponse("alive\n")


@router.get("/health/ready")
def ready(request: Request) -> Response:
    """Whether database and pictures can be reached and written. What is wrong stands in the log, not here."""
    desk: Desk = request.app.state.desk.fresh()
    if readiness.is_ready(desk):
        return PlainTextResponse("ready\n")
    return PlainTextResponse("not ready\n", status_code=503, headers={"Retry-After": "5"})
