"""One zone: as it stands, its walks, walls and holds, its gate, release and placing, as JSON."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from fastapi import APIRouter
from pydantic import BaseModel, Field
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.frame.reading import ZoneView
from service.actions.office import placing_start, release
from service.actions.sketches import zones
from service.api.answers import marks as out
from service.api.answers import sites
from service.api.shared import bodies, errors
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.sketches.sketches import moment
from service.api.telling import marks as tell
from service.api.telling import telling
from service.domain.gate.gate import Blocker
from service.domain.words.refusals import ZoneHeld

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["zones"])


class HeldBody(errors.ErrorBody):
    blockers: list[out.Blocker] = Field(default=[])


class Held(BaseModel):
    """`zone-held` lists every reason; the other refusals have no `blockers`."""

    error: HeldBody


def _view(call: Call, zone_id: str) -> ZoneView:
    return reading.zone_view(call.desk, call.by, zone_id)


@router.get("/zones/{zone_id}", responses=told(READS))
def one_zone(zone_id: Id, call: Reads) -> out.ZoneWithDefects:
    """The zone as it stands, with its defects, each with state, overlap, reasons, patches and needs."""
    return tell.zone_with_defects(_view(call, zone_id))


@router.post("/zones/{zone_id}/walks", status_code=201, response_model=out.Walked, responses=told(WRITES))
def finish_a_walk(zone_id: Id, call: Writes, body: bodies.WalkFinished | None = None) -> Response:
    """A punch walk is finished: every hole, tear, seam and pipe of the zone was looked at."""

    def act() -> out.Walked:
        zone = zones.finish_walk(call.desk, call.by, zone_id, body.note if body else "")
        state = _view(call, zone_id).standing.state
        return out.Walked(zone=zone_id, state=state, walked_at=telling.time(zone.walked_at))

    return call.once(201, act)


@router.post("/zones/{zone_id}/walls", status_code=201, response_model=out.Wall, responses=told(WRITES))
def draw_a_wall(zone_id: Id, body: bodies.NewWall, call: Writes) -> Response:
    """An edge the film can be sealed to."""

    def act() -> out.Wall:
        made = zones.draw_wall(call.desk, call.by, zone_id, body.from_, body.to)
        return tell.wall(_view(call, zone_id), made)

    return call.once(201, act)


@router.post("/walls/{wall_id}/withdraw", response_model=out.Wall, responses=told(WRITES))
def withdraw_a_wall(wall_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Take a wall edge away: patches sealed to it no longer hold on that side."""

    def act() -> out.Wall:
        gone = zones.withdraw_wall(call.desk, call.by, wall_id, body.reason)
        return tell.wall(_view(call, gone.zone_id), gone)

    return call.once(200, act)


@router.post("/zones/{zone_id}/holds", status_code=201, response_model=out.Hold, responses=told(WRITES))
def hold_a_zone(zone_id: Id, body: bodies.NewHold, call: Writes) -> Response:
    """Hold the whole zone for a cause that no mark shows."""

    def act() -> out.Hold:
        made = zones.hold_zone(call.desk, call.by, zone_id, body.cause, body.reason)
        return tell.hold(made, _view(call, zone_id).names)

    return call.once(201, act)


@router.post("/holds/{hold_id}/lift", response_model=out.Hold, responses=told(WRITES))
def lift_a_hold(hold_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Lift a hold, saying what was done about it."""

    def act() -> out.Hold:
        lifted = zones.lift_hold(call.desk, call.by, hold_id, body.reason)
        return tell.hold(lifted, _view(call, lifted.zone_id).names)

    return call.once(200, act)


@router.get("/zones/{zone_id}/gate", responses=told(READS), tags=["gate"])
def ask_the_gate(zone_id: Id, call: Reads) -> out.Gate:
    """Whether the zone may be released, with every reason why not, and the digest of what was judged."""
    return tell.gate(_view(call, zone_id))


@router.post(
    "/zones/{zone_id}/release",
    status_code=201,
    response_model=out.Release,
    responses=told(WRITES)
    | {
        409: {"model": Held, "description": "`facts-moved`, told before `zone-held`, which lists `blockers`."}
    },
    tags=["gate"],
)
def release_a_zone(zone_id: Id, body: bodies.NewRelease, call: Writes) -> Response:
    """Release a clear zone by naming the digest of the facts that were seen."""

    def act() -> out.Release:
        made = release.release_zone(call.desk, call.by, zone_id, body.digest, body.statement)
        view = _view(call, zone_id)
        return tell.release(made, view.standing, view.names)

    return _or_held(call, zone_id, lambda: call.once(201, act))


def _or_held(call: Call, zone_id: str, asked: Callable[[], Response]) -> Response:
    """What was asked, or every reason why the zone is held."""
    try:
        return asked()
    except ZoneHeld as held:
        units = _view(call, zone_id).seen.project.units
        blockers = [tell.blocker(cast(Blocker, of), units).model_dump() for of in held.blockers]
        return errors.error(409, held.code, held.message, blockers=blockers)


@router.post("/zones/{zone_id}/pull-back", response_model=out.Release, responses=told(WRITES), tags=["gate"])
def pull_a_release_back(zone_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Undo the zone's release, with a reason."""

    def act() -> out.Release:
        undone = release.pull_back(call.desk, call.by, zone_id, body.reason)
        view = _view(call, zone_id)
        return tell.release(undone, view.standing, view.names)

    return call.once(200, act)


@router.post(
    "/zones/{zone_id}/start-placing",
    status_code=201,
    response_model=sites.Zone,
    responses=told(WRITES)
    | {409: {"model": Held, "description": "`zone-held` lists `blockers`; `not-ready`, `placing-already`."}},
    tags=["gate"],
)
def start_placing_a_zone(zone_id: Id, call: Writes, body: bodies.PlacingStarted | None = None) -> Response:
    """Concrete begins to come in a zone that is ready to place. Damage found from now on does not end it."""

    def act() -> sites.Zone:
        at = moment(body.at, "at") if body else None
        placing_start.start_placing(call.desk, call.by, zone_id, at)
        return telling.zone_of(_view(call, zone_id))

    return _or_held(call, zone_id, lambda: call.once(201, act))


@router.post("/zones/{zone_id}/placed", response_model=sites.Zone, responses=told(WRITES), tags=["gate"])
def mark_a_zone_placed(zone_id: Id, call: Writes, body: bodies.Placed | None = None) -> Response:
    """Concrete is in. A zone that was not ready to place is kept as placed without release, with what stood
    against it: look at `state` in what comes back."""

    def act() -> sites.Zone:
        given = body or bodies.Placed()
        at = moment(given.at, "at")
        release.mark_placed(call.desk, call.by, zone_id, at, given.volume or "")
        return telling.zone_of(_view(call, zone_id))

    return call.once(200, act)
