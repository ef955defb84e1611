"""Repairs that are no patch, second looks, and what damage came from, as JSON."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import Field
from starlette.responses import Response

from service.actions.frame import reading
from service.actions.marks import causes, looks, repairs
from service.api.answers import marks
from service.api.answers import repairs as out
from service.api.shared import bodies
from service.api.shared.bodies import Length, Sent, Text, example, listed
from service.api.shared.calls import SIGNED_IN, Call, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling import marks as tell
from service.domain.nouns.installed import CAUSES, REPAIRS

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["defects and patches"])


class NewRepair(Sent):
    """A repair that makes a lap answers `lap`, `taped` and `tape_width` too; film only cleaned does not."""

    model_config = example(
        method="lap again", lap="7 in", taped=True, tape_width="4 in", cleaned=True, dry=True,
        film_temperature="55 F", lot="R-2231",
    )  # fmt: skip
    method: Text = Field(description=listed(REPAIRS))
    cleaned: bool
    dry: bool
    lap: Length | None = Field(default=None, description="The least lap measured after it.")
    taped: bool | None = Field(default=None, description="Taped from end to end.")
    tape_width: Length | None = None
    film_temperature: Text | None = Field(default=None, description='With its unit: "55 F".')
    lot: Text | None = None
    note: Text | None = None


class NewLook(Sent):
    model_config = example(accepted=False, note="The tape stands off at the north edge")
    accepted: bool
    note: Text = Field(default="", description="Needed where it is refused.")


class Cause(Sent):
    model_config = example(cause="steel")
    cause: Text = Field(description=listed(CAUSES))


def _defect(call: Call, defect_id: str) -> marks.Defect:
    return tell.defect(*reading.defect_view(call.desk, call.by, defect_id))


@router.post(
    "/defects/{defect_id}/repairs", status_code=201, response_model=out.RepairLogged, responses=told(WRITES)
)
def log_a_repair(defect_id: Id, body: NewRepair, call: Writes) -> Response:
    """Log a repair that is no patch, as it is. One that does not mend the mark is kept, the reasons told."""
    sent = {name: value for name, value in bodies.given(body).items() if value is not None}

    def act() -> out.RepairLogged:
        made = repairs.log_repair(call.desk, call.by, defect_id, sent).repair
        view, defect = reading.defect_view(call.desk, call.by, defect_id)
        verdict = view.verdict(defect)
        told_of = tell.repair(view, defect, made)
        return out.RepairLogged(
            id=made.id,
            defect=defect.id,
            tag=defect.tag,
            method=made.method,
            meets=not told_of.reasons,
            repair_reasons=told_of.reasons,
            defect_state=verdict.state,
            reasons=tell.reasons(verdict, defect.kind, view.seen.project.units),
        )

    return call.once(201, act)


@router.post(
    "/defects/{defect_id}/repairs/{repair_id}/withdraw",
    response_model=marks.Withdrawn,
    responses=told(WRITES),
)
def withdraw_a_repair(defect_id: Id, repair_id: Id, body: bodies.WithReason, call: Writes) -> Response:
    """Take a repair back: it stays in the history with its reason and no longer counts."""

    def act() -> marks.Withdrawn:
        gone = repairs.withdraw_repair(call.desk, call.by, defect_id, repair_id, body.reason)
        view, defect = reading.defect_view(call.desk, call.by, defect_id)
        return marks.Withdrawn(
            id=gone.id,
            defect=defect_id,
            tag=defect.tag,
            withdrawn=gone.withdrawn or "",
            state=view.verdict(defect).state,
        )

    return call.once(200, act)


@router.post(
    "/patches/{patch_id}/looks", status_code=201, response_model=marks.Defect, responses=told(WRITES)
)
def look_at_a_patch(patch_id: Id, body: NewLook, call: Writes) -> Response:
    """A second look at a patch, by another person than its maker. A refusal holds the mark."""

    def act() -> marks.Defect:
        patch = looks.look_at_patch(call.desk, call.by, patch_id, body.accepted, body.note)
        return _defect(call, patch.defect_id)

    return call.once(201, act)


@router.post(
    "/defects/{defect_id}/repairs/{repair_id}/looks",
    status_code=201,
    response_model=marks.Defect,
    responses=told(WRITES),
)
def look_at_a_repair(defect_id: Id, repair_id: Id, body: NewLook, call: Writes) -> Response:
    """A second look at a repair, by another person than its maker. A refusal holds the mark."""

    def act() -> marks.Defect:
        looks.look_at_repair(call.desk, call.by, defect_id, repair_id, body.accepted, body.note)
        return _defect(call, defect_id)

    return call.once(201, act)


@router.post("/defects/{defect_id}/cause", response_model=marks.Defect, responses=told(WRITES))
def say_what_a_mark_came_from(defect_id: Id, body: Cause, call: Writes) -> Response:
    """What the damage likely came from, so that it is stopped. The last word said counts."""

    def act() -> marks.Defect:
        causes.tell_cause(call.desk, call.by, defect_id, body.cause)
        return _defect(call, defect_id)

    return call.once(200, act)


@router.get("/projects/{project_id}/causes", responses=told(READS))
def what_damage_came_from(project_id: Id, call: Reads) -> out.Causes:
    """The project's standing marks counted by likely cause, zone and week, most first."""
    found = causes.causes_of(call.desk, call.by, project_id)
    return out.Causes(
        causes=[out.CauseTotal(cause=cause, marks=marks) for cause, marks in found.totals],
        by_zone_and_week=[
            out.CauseCount(cause=row.cause, zone=row.zone, week=row.week.isoformat(), marks=row.marks)
            for row in found.rows
        ],
    )
