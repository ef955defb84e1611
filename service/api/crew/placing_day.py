"""A zone's placing day as JSON: its plan, weather readings, a station's file, the slab's thickness."""

from __future__ import annotations

import json
from datetime import UTC
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Depends, File, Form, UploadFile
from pydantic import Field
from starlette.responses import Response

from service.actions.placing import placing_day, weather_files
from service.api.answers import placing as out
from service.api.shared.bodies import Length, Sent, Text, WithReason, example, given
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.shared.uploads import land_upload, only
from service.api.sketches.sketches import moment
from service.api.telling import placing as tell
from service.domain.weather.evaporation import LIMITS
from service.domain.words.refusals import BadInput

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["placing day"])

Typed = Annotated[str, Field(max_length=200)]


class NewPlan(Sent):
    model_config = example(
        thickness="5 in", allowance="5", truck="10 cu yd", rate="40 cu yd", limit="directly on film",
        mix="4000 psi",
    )  # fmt: skip
    thickness: Length
    allowance: Typed = Field(default="", description="Percent, 0 to 100.")
    truck: Typed = Field(default="", description='A load: "10 cu yd" or "8 m3". Empty: no loads are told.')
    rate: Typed = Field(default="", description='Placed in an hour: "40 cu yd" or "30 m3".')
    limit: Text = Field(description="One of: " + ", ".join(LIMITS) + ".")
    mix: Text = ""


class NewReading(Sent):
    """`wind` names its unit: mph, km/h, m/s or knots, 20 in (0.5 m) above the slab."""

    model_config = example(
        air="85 F", concrete="82 F", film="90 F", humidity="45", wind="12 mph", rain=False,
        at="2026-11-26T15:30:00Z", note="north side",
    )  # fmt: skip
    air: Typed
    concrete: Typed | None = None
    film: Typed | None = None
    humidity: Typed
    wind: Typed
    rain: bool = False
    at: Typed | None = Field(default=None, description="RFC 3339 with its offset; now where it is left out.")
    note: Text = ""


class NewDepth(Sent):
    depth: Length
    where: Text = ""


class NewThickness(Sent):
    model_config = example(readings=[{"depth": "5 1/8 in", "where": "by column B2"}], note="")
    readings: Annotated[list[NewDepth], Field(max_length=200)]
    note: Text = ""


@router.get("/zones/{zone_id}/placing-day", responses=told(READS))
def placing_day_of_a_zone(zone_id: Id, call: Reads, day: str = "") -> out.PlacingDay:
    """The placing day: whether the gate lets the zone be placed, and guidance beside it. `day` (2026-11-26)
    chooses whose readings are told; the newest day that has any otherwise."""
    return tell.placing_day(placing_day.placing_day(call.desk, call.by, zone_id), call.desk.clock(), day)


@router.put("/zones/{zone_id}/placing-plan", response_model=out.PlacingPlan, responses=told(WRITES))
def plan_a_placing(zone_id: Id, body: NewPlan, call: Writes) -> Response:
    """Set the whole plan of a zone's placing."""

    def act() -> out.PlacingPlan:
        made = placing_day.plan_placing(call.desk, call.by, zone_id, given(body))
        return tell.plan(placing_day.placing_day(call.desk, call.by, zone_id), made)

    return call.once(200, act)


@router.post(
    "/zones/{zone_id}/readings", status_code=201, response_model=out.WeatherTaken, responses=told(WRITES)
)
def log_a_reading(zone_id: Id, body: NewReading, call: Writes) -> Response:
    """Log one weather reading; never of a time still to come."""

    def act() -> out.WeatherTaken:
        at = moment(body.at, "at")
        sent: dict[str, Any] = {**given(body), "at": at.astimezone(UTC) if at else None}
        made = placing_day.take_reading(call.desk, call.by, zone_id, sent)
        return tell.taken(placing_day.placing_day(call.desk, call.by, zone_id), made)

    return call.once(201, act)


@router.post("/readings/{readings_id}/withdraw", response_model=out.WeatherTaken, responses=told(WRITES))
def withdraw_readings(readings_id: Id, body: WithReason, call: Writes) -> Response:
    """Take weather readings back: nothing is worked out from them any more."""

    def act() -> out.WeatherTaken:
        gone = placing_day.withdraw_readings(call.desk, call.by, readings_id, body.reason)
        return tell.taken(placing_day.placing_day(call.desk, call.by, gone.zone_id), gone)

    return call.once(200, act)


@router.post(
    "/zones/{zone_id}/readings/file",
    status_code=201,
    response_model=out.FileTaken,
    responses=told(WRITES),
    dependencies=[Depends(only("file", "name", "answers", "from", "to", "leave_out"))],
)
def take_a_station_file(
    zone_id: Id,
    call: Writes,
    file: Annotated[UploadFile, File(description="CSV or text: 2 MB, 50,000 rows at most.")],
    name: Annotated[str, Form(max_length=10_000)] = "",
    answers: Annotated[str, Form(max_length=10_000, description='JSON: {"wind-unit": "knots"}.')] = "{}",
    first: Annotated[str, Form(alias="from", max_length=40, description="The first day wanted.")] = "",
    last: Annotated[str, Form(alias="to", max_length=40, description="The last day wanted.")] = "",
    leave_out: Annotated[
        bool, Form(description="Take the rest where lines cannot be read; else nothing is taken.")
    ] = False,
) -> Response:
    """Take the readings of a weather station's file. What it leaves open is asked: 422 `questions`, each
    named in `fields` with its choices, to be answered in `answers`. Lines that cannot be read are 422
    `lines-left-out`, each named, unless `leave_out` says to take the rest."""
    said = _answers(answers)

    def keep(source: Path) -> str:
        return weather_files.keep_file(call.desk, call.by, zone_id, source.read_bytes())

    def act(kept: str) -> out.FileTaken:
        days = weather_files.read_days(first, last)
        _, found = weather_files.understand(call.desk, call.by, zone_id, kept, said, days)
        _all_told(found, leave_out)
        made = weather_files.take_file(call.desk, call.by, zone_id, kept, name, said, days)
        return tell.file_taken(placing_day.placing_day(call.desk, call.by, zone_id), made, found)

    more = "\n".join((name, json.dumps(said, sort_keys=True), first, last, str(leave_out)))
    return land_upload(call, file, keep, act, more)


def _answers(text: str) -> dict[str, str]:
    try:
        read = json.loads(text)
    except (ValueError, RecursionError):
        read = None
    if not isinstance(read, dict) or not all(isinstance(value, str) for value in read.values()):
        told_how = 'Write the answers as a JSON object of texts, like {"wind-unit": "mph"}.'
        raise BadInput(told_how, fields={"answers": told_how})
    return read


def _all_told(found: weather_files.Understood, leave_out: bool) -> None:
    """BadInput while the file leaves a question open, or has lines that nobody agreed to leave out."""
    fields = {
        question.key: f"{question.text} One of: {_choices(question.choices)}."
        for question in found.station.questions
    }
    if fields:
        raise BadInput("The file leaves something open.", fields=fields, code="questions")
    if found.station.faults and not leave_out:
        lines = {f"line {each.line}": each.text for each in found.station.faults}
        raise BadInput("Lines of the file cannot be read.", fields=lines, code="lines-left-out")


def _choices(choices: tuple[tuple[str, str], ...]) -> str:
    return ", ".join(value if value == words else f"{value} ({words})" for value, words in choices)


@router.post(
    "/zones/{zone_id}/thickness", status_code=201, response_model=out.ThicknessTaken, responses=told(WRITES)
)
def log_thickness(zone_id: Id, body: NewThickness, call: Writes) -> Response:
    """Log thickness readings of the zone's slab, taken together."""

    def act() -> out.ThicknessTaken:
        made = placing_day.measure_thickness(call.desk, call.by, zone_id, body.model_dump())
        return tell.thickness(placing_day.placing_day(call.desk, call.by, zone_id), made)

    return call.once(201, act)


@router.post("/thickness/{thickness_id}/withdraw", response_model=out.ThicknessTaken, responses=told(WRITES))
def withdraw_thickness(thickness_id: Id, body: WithReason, call: Writes) -> Response:
    """Take thickness readings back."""

    def act() -> out.ThicknessTaken:
        gone = placing_day.withdraw_thickness(call.desk, call.by, thickness_id, body.reason)
        return tell.thickness(placing_day.placing_day(call.desk, call.by, gone.zone_id), gone)

    return call.once(200, act)
