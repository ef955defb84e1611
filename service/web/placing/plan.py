"""Plan a zone's placing: the slab's thickness, the allowance, truck and rate, and the limit for its mix."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, standing_zone
from service.actions.placing.placing_day import PlacingDay, placing_day, plan_placing
from service.actions.placing.readings_entry import mpct_words
from service.domain.placing.concrete import ALLOWANCE_SOURCE
from service.domain.weather.evaporation import LIMITS, Limit
from service.domain.weather.texts import say_rate
from service.domain.words.measures import Units, say_length
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.web.drawings.drawing import Choice
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.placing.shell import back_words, rendered, root_of
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.crew_words import FORM_UNIT

router = APIRouter(include_in_schema=False)

FIELDS = ("thickness", "allowance", "truck", "rate", "limit", "mix")


@dataclass(frozen=True, slots=True)
class PlanPage:
    """`templates/office/placing_plan.html`."""

    letter: str
    unit: str
    values: Mapping[str, str]
    allowance_hint: str
    truck_hint: str
    rate_hint: str
    limits: tuple[Choice, ...]
    action: str
    back: str
    back_words: str
    key: str


@router.get("/zones/{zone_id}/placing-plan")
def plan_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _shown(desk, person, zone_id)


@router.post("/zones/{zone_id}/placing-plan")
def plan(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    given = {**{name: form.value(name) for name in FIELDS}, "thickness": form.with_unit("thickness")}

    def act() -> str:
        plan_placing(desk, person.id, zone_id, given)
        return f"/zones/{zone_id}/placing-day?said=planned"

    try:
        return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        return _shown(desk, person, zone_id, form, 422 if isinstance(refusal, BadInput) else 409)


def _shown(desk: Desk, person: Person, zone_id: str, form: Form | None = None, status: int = 200) -> Response:
    day = placing_day(desk, person.id, zone_id)
    allow(day.view.seen, "plan a placing")
    standing_zone(day.view.seen)
    units = day.view.seen.project.units
    values = {name: form.value(name) for name in FIELDS} if form else _planned(day, units)
    page = PlanPage(
        letter=day.view.zone.letter,
        unit=FORM_UNIT[units],
        values=values,
        allowance_hint=tr("In percent. {source}.", source=_starting(tr(ALLOWANCE_SOURCE))),
        truck_hint=tr("What one truck carries, like 10 cu yd. Empty: no loads are worked out.")
        if units == "us"
        else tr("What one truck carries, like 8 m3. Empty: no loads are worked out."),
        rate_hint=tr("What is placed in an hour, like 40 cu yd.")
        if units == "us"
        else tr("What is placed in an hour, like 30 m3."),
        limits=tuple(limit_choice(limit, units) for limit in LIMITS.values()),
        action=f"/zones/{zone_id}/placing-plan",
        back=root_of(day),
        back_words=back_words(day),
        key=form_key(form),
    )
    return rendered("office/placing_plan.html", page, day, person, form, status)


def _planned(day: PlacingDay, units: Units) -> dict[str, str]:
    """The plan as it stands; of a new one only the limit is offered, the most careful first."""
    of = day.plan
    if of is None:
        return {**dict.fromkeys(FIELDS, ""), "limit": next(iter(LIMITS))}
    return {
        "thickness": say_length(of.thickness_nm, units).rsplit(" ", 1)[0].replace(",", ""),
        "allowance": mpct_words(of.allowance_mpct),
        "truck": of.truck,
        "rate": of.rate,
        "limit": of.limit,
        "mix": of.mix,
    }


def limit_choice(limit: Limit, units: Units) -> Choice:
    """The limit with its figure and where that comes from."""
    figure = say_rate(float(limit.of(units)), units)
    return Choice(limit.name, f"{tr(limit.label)}: {figure}", tr(limit.source))


def _starting(words: str) -> str:
    return words[:1].upper() + words[1:]
