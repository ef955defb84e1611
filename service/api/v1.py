"""Version 1 of the JSON contract, put together: sign-in, every subject's calls, and their description."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, FastAPI
from fastapi.openapi.utils import get_openapi
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance import accounts
from service.api.answers import sites as out
from service.api.crew import (
    film,
    hold_points,
    marks,
    overlap,
    penetrations,
    placing_day,
    repairs,
    seams,
    terminations,
    together,
    walk_order,
)
from service.api.inspector import audit, checkpoints, closeout, life, timestamps
from service.api.office import calendar, orders, projects, ready, ready_lists, releases, rule_sets
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, OpenRoute, SignedRoute, desk_of, json_answer
from service.api.shared.errors import told
from service.api.sketches import layouts, sketches, zones
from service.history.facts.encoding import time_text

PREFIX = "/api/v1"
SUBJECTS = (
    projects, sketches, zones, marks, repairs, hold_points, penetrations, seams, terminations, film,
    rule_sets, together, releases, audit, life, checkpoints, timestamps, closeout, ready_lists, ready,
    calendar, overlap, walk_order, orders, layouts, placing_day,
)  # fmt: skip

entrance = APIRouter(route_class=OpenRoute, tags=["sign-in"])
inside = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["sign-in"])


@entrance.post("/sign-in", response_model=out.SignedIn, responses=told((401, 403, 408, 413, 422, 429, 503)))
def sign_in(body: bodies.SignIn, request: Request) -> Response:
    """A token for `Authorization: Bearer`: good for 30 days of a crew lead, for 24 hours and while it is used
    within the hour of anybody else. Each call gives a new one, so an Idempotency-Key changes nothing here: no
    secret is kept to be told again. Answered with 401 `second-factor-needed`, send `code` as well."""
    address = request.client.host if request.client else "unknown"
    token, ends_at = accounts.sign_in(
        desk_of(request), body.email, body.password, address, accounts.PROGRAM, body.code
    )
    answer = json_answer(200, out.SignedIn(token=token, expires_at=time_text(ends_at)).model_dump_json())
    answer.headers["Cache-Control"] = "no-store"
    return answer


@inside.get("/openapi.json", responses=told((401, 503)))
def description(request: Request) -> dict[str, Any]:
    """This description, as OpenAPI."""
    return describe(request.app)


def describe(app: FastAPI) -> dict[str, Any]:
    """OpenAPI of the JSON contract; worked out once for an app."""
    if not hasattr(app.state, "api_description"):
        app.state.api_description = get_openapi(
            title="Laptight", version="1", description=ABOUT, routes=router.routes
        )
    found: dict[str, Any] = app.state.api_description
    return found


ABOUT = """
Patches, holds and releases of under-slab film, as JSON. This is a quality record, not engineering advice: the
engineer of record, the local code and the film maker's instructions stand above it.

Lengths go in as text with a unit and come out as `{"text", "m"}`; overlaps are rounded down in the text,
shortfalls and cut sizes up. Places on a sketch are `[x, y]` pixels of the full-size sketch, y down. Times are
RFC 3339 UTC. Ids are opaque text. What is refused answers `{"error": {"code", "message", "fields"}}`.
"""

router = APIRouter(prefix=PREFIX)
router.include_router(entrance)
router.include_router(inside)
for subject in SUBJECTS:
    router.include_router(subject.router)
