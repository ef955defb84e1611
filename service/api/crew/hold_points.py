"""The hold points of a zone, in time order, and signing the next, as JSON."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import Field
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.frame.reading import ZoneView
from service.actions.installed import hold_points
from service.actions.installed.hold_points import StepView, next_step, steps_of
from service.api.answers import repairs as out
from service.api.shared.bodies import Sent, Text, example
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling.telling import NOBODY
from service.history.facts.encoding import time_text

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["zones"])


class NewSignature(Sent):
    model_config = example(step="laps", accepted=True, note="Every seam walked")
    step: Text = Field(description="A hold point of the rule sheet.")
    accepted: bool
    note: Text = Field(default="", description="Needed where it is refused.")


@router.get("/zones/{zone_id}/hold-points", responses=told(READS))
def hold_points_of_a_zone(zone_id: Id, call: Reads) -> out.HoldPoints:
    """Every hold point of the zone with its signatures, in the order they are signed."""
    return _told(call, zone_id)


@router.post(
    "/zones/{zone_id}/hold-points", status_code=201, response_model=out.HoldPoints, responses=told(WRITES)
)
def sign_a_hold_point(zone_id: Id, body: NewSignature, call: Writes) -> Response:
    """Sign a hold point, or refuse it. Each waits for every step before it (409 `hold-point-order`); the
    punch walk is signed by finishing it, and the second look by nobody who did the work (409 `own-work`)."""

    def act() -> out.HoldPoints:
        hold_points.sign_hold_point(call.desk, call.by, zone_id, body.step, body.accepted, body.note)
        return _told(call, zone_id)

    return call.once(201, act)


def _told(call: Call, zone_id: str) -> out.HoldPoints:
    view = reading.zone_view(call.desk, call.by, zone_id)
    steps = steps_of(view.site, view.zone)
    return out.HoldPoints(
        zone=zone_id,
        asked_for="hold points" in view.seen.project.sheet.gate_demands,
        next=next_step(steps) or None,
        steps=[_step(view, step) for step in steps],
    )


def _step(view: ZoneView, of: StepView) -> out.HoldPoint:
    return out.HoldPoint(
        step=of.step,
        state="signed" if of.met else "refused" if of.refused else "not signed",
        signatures=[
            out.Signature(
                id=s.id,
                accepted=s.accepted,
                note=s.note,
                by=view.names.get(s.signed.by, NOBODY),
                role=s.signed.role,
                at=time_text(s.signed.at),
                lapsed=s.id in of.lapsed,
            )
            for s in of.signatures
        ],
    )
