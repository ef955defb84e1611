"""Penetrations as JSON: trade sizes, placing, what each needs and its seal; and that a zone has none."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.installed import none_here, penetrations
from service.actions.installed.penetrations import penetration_view
from service.api.answers import penetrations as out
from service.api.crew.marks import IN_OUTLINE, places, within
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling import penetrations as tell
from service.domain.nouns.installed import Penetration

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["penetrations"])


@router.get("/trade-sizes", responses=told((401, 503)))
def trade_sizes(call: Reads) -> list[out.TradeSizes]:
    """What passes through film, by kind, and the sizes each comes in with their outside diameters."""
    return tell.trade_sizes()


@router.get("/zones/{zone_id}/penetrations", responses=told(READS))
def penetrations_of_a_zone(zone_id: Id, call: Reads) -> out.Penetrations:
    """Every penetration of the zone with its state, needs and seal, and the groups that stand too close."""
    return tell.penetrations(reading.zone_view(call.desk, call.by, zone_id))


@router.post(
    "/zones/{zone_id}/penetrations",
    status_code=201,
    response_model=out.PenetrationsPlaced,
    responses=told(WRITES),
)
def place_penetrations(zone_id: Id, body: out.NewPenetrations, call: Writes) -> Response:
    """Place one penetration or a row of them alike. Their tags come at once and are never given again."""

    def act() -> out.PenetrationsPlaced:
        made = penetrations.place_penetrations(call.desk, call.by, zone_id, _given(body))
        view = reading.zone_view(call.desk, call.by, zone_id)
        return out.PenetrationsPlaced(penetrations=[tell.penetration(view, pipe) for pipe in made])

    with within(places("outline", (*IN_OUTLINE, "angle_deg"))):
        return call.once(201, act)


def _given(body: bodies.Sent) -> dict[str, Any]:
    """What was sent, by the contract's own names."""
    sent = body.model_dump(exclude_unset=True, by_alias=True)
    return {name: value for name, value in sent.items() if value is not None}


@router.get("/penetrations/{penetration_id}", responses=told(READS))
def one_penetration(penetration_id: Id, call: Reads) -> out.Penetration:
    """A penetration as it stands."""
    return tell.penetration(*penetration_view(call.desk, call.by, penetration_id))


@router.post(
    "/penetrations/{penetration_id}/seals",
    status_code=201,
    response_model=out.SealsLogged,
    responses=told(WRITES),
)
def log_a_seal(penetration_id: Id, body: out.NewSeal, call: Writes) -> Response:
    """Log a seal as built. One that does not hold is kept, the reasons told; a new one takes its place."""

    def act() -> out.SealsLogged:
        made = penetrations.log_seal(call.desk, call.by, penetration_id, _given(body))
        view, _ = penetration_view(call.desk, call.by, penetration_id)
        return tell.sealed(view, [judged.penetration.id for judged in made])

    return call.once(201, act)


@router.post("/penetrations/{penetration_id}/unseal", response_model=out.Penetration, responses=told(WRITES))
def withdraw_a_seal(penetration_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Withdraw the seal logged: it no longer counts, for any of those it goes round."""

    def act() -> out.Penetration:
        return _now(call, penetrations.withdraw_seal(call.desk, call.by, penetration_id, body.reason))

    return call.once(200, act)


@router.post(
    "/penetrations/{penetration_id}/withdraw", response_model=out.Penetration, responses=told(WRITES)
)
def withdraw_a_penetration(penetration_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Entered by mistake: it stays in the history with its reason, and no seal is asked for any more."""

    def act() -> out.Penetration:
        return _now(call, penetrations.withdraw_penetration(call.desk, call.by, penetration_id, body.reason))

    return call.once(200, act)


def _now(call: Call, pipe: Penetration) -> out.Penetration:
    return tell.penetration(*penetration_view(call.desk, call.by, pipe.id))


@router.post(
    "/zones/{zone_id}/none-here", status_code=201, response_model=out.NoneStated, responses=told(WRITES)
)
def state_that_there_are_none(zone_id: Id, body: out.NoneHere, call: Writes) -> Response:
    """State that the zone has no penetrations, or no seams; refused while one stands in it."""

    def act() -> out.NoneStated:
        zone = none_here.state_none(call.desk, call.by, zone_id, body.what)
        state = reading.zone_view(call.desk, call.by, zone_id).standing.state
        return out.NoneStated(zone=zone_id, none_here=list(zone.none_here), state=state)

    return call.once(201, act)
