"""Measure the slab's thickness: several places at once, each with its stepper."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, standing_zone
from service.actions.placing.placing_day import PlacingDay, measure_thickness, placing_day
from service.actions.placing.thickness_entry import MOST_DEPTHS
from service.domain.placing.thickness import SAMPLES_NOTE, SOURCE
from service.domain.words.measures import say_length
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.web.drawings.drawing import Choice
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.marks.shapes import STEPS
from service.web.placing.shell import back_words, rendered, root_of
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.crew_words import FORM_UNIT

router = APIRouter(include_in_schema=False)

AT_FIRST = 4  # ACI 117 asks for at least four samples (from memory)
_ROW = re.compile(r"(?:depth|where)_([0-9]{1,3})")
USUAL = {"in": "4", "mm": "100"}


@dataclass(frozen=True, slots=True)
class DepthRow:
    """One place as typed. `number` counts from 0 and names its fields, `depth_3` and `where_3`."""

    number: int
    name: str
    depth: str
    where: str


@dataclass(frozen=True, slots=True)
class ThicknessPage:
    """`templates/crew/placing_day_thickness.html`. `start`: what a stepper puts into an empty field."""

    letter: str
    asked: str
    samples: str
    unit: str
    start: str
    steps: tuple[Choice, ...]
    rows: tuple[DepthRow, ...]
    note: str
    action: str
    back: str
    back_words: str
    key: str


@router.get("/zones/{zone_id}/thickness")
def thickness_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _shown(desk, person, zone_id)


@router.post("/zones/{zone_id}/thickness")
def thickness(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    if form.value("rows") == "more":
        return _shown(desk, person, zone_id, form)
    unit = FORM_UNIT[placing_day(desk, person.id, zone_id).view.seen.project.units]
    given, names = _given(form, unit)

    def act() -> str:
        measure_thickness(desk, person.id, zone_id, given)
        return f"/zones/{zone_id}/placing-day?said=thickness"

    try:
        return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        for name, told in (refusal.fields or {"": refusal.message}).items():
            form.wrong(names.get(name, name), told)
        return _shown(desk, person, zone_id, form, 422 if isinstance(refusal, BadInput) else 409)


def _numbers(values: Mapping[str, str]) -> list[int]:
    found = {int(match[1]) for match in map(_ROW.fullmatch, values) if match}
    return sorted(found)[:MOST_DEPTHS] or list(range(AT_FIRST))


def _given(form: Form, unit: str) -> tuple[dict[str, object], dict[str, str]]:
    """The form in the contract's forms, and which of its fields each of the action's names stands for. A row
    with nothing in it is a place that was not measured."""
    readings: list[dict[str, str]] = []
    numbers = _numbers(form.values)
    names = {"readings": f"depth_{numbers[0]}"}
    for n in numbers:
        if form.value(f"depth_{n}").strip() or form.value(f"where_{n}").strip():
            names |= {f"readings.{len(readings)}.{field}": f"{field}_{n}" for field in ("depth", "where")}
            form.values[f"depth_{n}_unit"] = unit
            readings.append({"depth": form.with_unit(f"depth_{n}"), "where": form.value(f"where_{n}")})
    return {"readings": readings, "note": form.value("note")}, names


def _shown(desk: Desk, person: Person, zone_id: str, form: Form | None = None, status: int = 200) -> Response:
    day = placing_day(desk, person.id, zone_id)
    allow(day.view.seen, "take readings")
    standing_zone(day.view.seen)
    unit = FORM_UNIT[day.view.seen.project.units]
    page = ThicknessPage(
        letter=day.view.zone.letter,
        asked=asked_words(day),
        samples=tr(SAMPLES_NOTE),
        unit=unit,
        start=_start(day, unit),
        steps=STEPS[unit],
        rows=_rows(form),
        note=form.value("note") if form else "",
        action=f"/zones/{zone_id}/thickness",
        back=root_of(day),
        back_words=back_words(day),
        key=form_key(form),
    )
    return rendered("crew/placing_day_thickness.html", page, day, person, form, status)


def _rows(form: Form | None) -> tuple[DepthRow, ...]:
    values = form.values if form else {}
    numbers = _numbers(values)
    if form is not None and form.value("rows") == "more" and len(numbers) < MOST_DEPTHS:
        numbers.append(numbers[-1] + 1)
    return tuple(
        DepthRow(
            n, tr("Place {number}", number=place), values.get(f"depth_{n}", ""), values.get(f"where_{n}", "")
        )
        for place, n in enumerate(numbers, 1)
    )


def _start(day: PlacingDay, unit: str) -> str:
    """The thickness planned, where the first press of a stepper starts."""
    if day.plan is None:
        return USUAL[unit]
    said = say_length(day.plan.thickness_nm, day.view.seen.project.units)
    return said.rsplit(" ", 1)[0].replace(",", "")


def asked_words(day: PlacingDay) -> str:
    """What the readings are judged against, and by what."""
    if day.plan is None:
        return tr("No thickness is planned for this zone yet: the readings are kept, and judged once it is.")
    thick = say_length(day.plan.thickness_nm, day.view.seen.project.units)
    return tr("Planned: {thickness}. Judged by {source}.", thickness=thick, source=tr(SOURCE))
