"""Log a weather reading by hand, and take readings back with a reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, standing_zone
from service.actions.placing.placing_day import (
    PlacingDay,
    allow_withdrawing,
    placing_day,
    readings_day,
    take_reading,
    thickness_day,
    withdraw_readings,
    withdraw_thickness,
)
from service.actions.placing.readings_entry import read_reading, wind_with_unit
from service.domain.nouns.placing import Readings, Thickness
from service.domain.weather.evaporation import WIND_HEIGHT
from service.domain.weather.texts import METRES_AN_HOUR, NUMBER
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr, trc
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.placing.shell import DEGREE, back_words, rendered, root_of
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html

router = APIRouter(include_in_schema=False)

DEGREES = ("air", "concrete", "film")
FIELDS = (*DEGREES, "humidity", "wind", "wind_unit", "rain", "at", "note")


@dataclass(frozen=True, slots=True)
class ReadingPage:
    """`templates/crew/placing_day_reading.html`."""

    letter: str
    degree: str
    values: Mapping[str, str]
    wind_units: tuple[tuple[str, str], ...]
    wind_height: str
    time_hint: str
    more_open: bool
    action: str
    back: str
    back_words: str
    key: str


@router.get("/zones/{zone_id}/readings")
def reading_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _shown(desk, person, zone_id)


@router.post("/zones/{zone_id}/readings")
def reading(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    day = placing_day(desk, person.id, zone_id)
    project = day.view.seen.project
    given: dict[str, object] = {name: form.value(name) for name in ("humidity", "note")}
    given |= {name: _degrees(form, name, DEGREE[project.units]) for name in DEGREES}
    given |= {"rain": form.flag("rain"), "at": form.moment("at", project.time_zone)}
    try:
        given["wind"] = wind_with_unit(form.value("wind"), form.value("wind_unit"))
    except BadInput as refusal:
        form.refused(refusal)
        given["wind"] = "0 mph"  # so that the other fields are told too; nothing is recorded

    def act() -> str:
        if form.errors:
            read_reading(given, desk.clock())  # what else is amiss is told with it
            raise BadInput(next(iter(form.errors.values())), fields=form.errors)
        take_reading(desk, person.id, zone_id, given)
        return f"/zones/{zone_id}/placing-day?said=reading"

    try:
        return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        return _shown(desk, person, zone_id, form, 422 if isinstance(refusal, BadInput) else 409)


def _degrees(form: Form, name: str, unit: str) -> str:
    """A temperature as typed; a bare number has the unit that stands beside the field."""
    typed = form.value(name).strip().removesuffix("°").strip()
    return f"{typed} {unit}" if NUMBER.fullmatch(typed.replace("−", "-")) else typed


def _shown(desk: Desk, person: Person, zone_id: str, form: Form | None = None, status: int = 200) -> Response:
    day = placing_day(desk, person.id, zone_id)
    allow(day.view.seen, "take readings")
    standing_zone(day.view.seen)
    project = day.view.seen.project
    values = {name: form.value(name) if form else "" for name in FIELDS}
    errors = form.errors if form else {}
    page = ReadingPage(
        letter=day.view.zone.letter,
        degree=f"°{DEGREE[project.units]}",
        values=values,
        wind_units=(("", tr("Choose the unit")), *((unit, _unit_words(unit)) for unit in METRES_AN_HOUR)),
        wind_height=tr(WIND_HEIGHT),
        time_hint=tr(
            "Left empty: now. Of an earlier reading write the day and time in the site's time, like {time}.",
            time=desk.clock().astimezone(ZoneInfo(project.time_zone)).strftime("%Y-%m-%d %H:%M"),
        ),
        more_open=any(values[name] or name in errors for name in ("at", "note")),
        action=f"/zones/{zone_id}/readings",
        back=root_of(day),
        back_words=back_words(day),
        key=form_key(form),
    )
    return rendered("crew/placing_day_reading.html", page, day, person, form, status)


def _unit_words(unit: str) -> str:
    return {"knots": tr("knots"), "mph": trc("unit", "mph")}.get(unit, unit)


# --- taking back ------------------------------------------------------------------------------------------


@router.get("/readings/{readings_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, readings_id: str) -> Response:
    return _show_readings(desk, person, readings_id)


@router.post("/readings/{readings_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, readings_id: str) -> Response:
    def act(reason: str) -> str:
        gone = withdraw_readings(desk, person.id, readings_id, reason)
        return f"/zones/{gone.zone_id}/placing-day?said=withdrawn"

    shown = partial(_show_readings, desk, person, readings_id)
    return take_back(request, desk, person, form, "", act, shown)


def _show_readings(
    desk: Desk, person: Person, readings_id: str, form: Form | None = None, status: int = 0
) -> Response:
    day, readings = readings_day(desk, person.id, readings_id)
    return _withdraw(person, day, readings, f"/readings/{readings_id}/withdraw", form, status)


@router.get("/thickness/{thickness_id}/withdraw")
def withdraw_thickness_page(desk: TheDesk, person: Signed, thickness_id: str) -> Response:
    return _show_thickness(desk, person, thickness_id)


@router.post("/thickness/{thickness_id}/withdraw")
def take_back_thickness(
    request: Request, desk: TheDesk, person: Signed, form: Typed, thickness_id: str
) -> Response:
    def act(reason: str) -> str:
        gone = withdraw_thickness(desk, person.id, thickness_id, reason)
        return f"/zones/{gone.zone_id}/placing-day?said=withdrawn"

    return take_back(
        request, desk, person, form, "", act, partial(_show_thickness, desk, person, thickness_id)
    )


def _show_thickness(
    desk: Desk, person: Person, thickness_id: str, form: Form | None = None, status: int = 0
) -> Response:
    day, thickness = thickness_day(desk, person.id, thickness_id)
    return _withdraw(person, day, thickness, f"/thickness/{thickness_id}/withdraw", form, status)


def _withdraw(
    person: Person, day: PlacingDay, of: Readings | Thickness, action: str, form: Form | None, status: int
) -> Response:
    seen = day.view.seen
    allow_withdrawing(seen, person.id, of.signed)
    told = Withdrawing(
        title=tr("Withdraw these readings"),
        words=tr(
            "For readings that were wrong, or of another place. They stay in the history with your reason, "
            "and nothing is worked out from them any more."
        ),
        gone=of.withdrawn,
        action=action,
        back=root_of(day),
        back_words=back_words(day),
    )
    return withdraw_html(told, seen.project, seen.role, person, form, status)
