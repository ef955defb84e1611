"""Hold a whole zone for standing water, a storm or frost, and lift the hold, saying what was done."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.doing import standing_zone
from service.actions.frame.reading import ZoneView, hold_view, zone_view
from service.actions.sketches.zones import hold_zone, lift_hold
from service.domain.nouns.site import HOLD_CAUSES, Hold
from service.domain.words.names import hold_cause
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.web.drawings.drawing import Choice
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK, starting

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class HoldPage:
    """`templates/crew/hold.html`."""

    letter: str
    causes: tuple[Choice, ...]
    cause: str
    reason: str
    action: str
    back: str
    key: str


@dataclass(frozen=True, slots=True)
class LiftPage:
    """`templates/crew/lift.html`. `lifted`: why it is lifted already, or nothing."""

    letter: str
    cause: str
    held: str
    lifted: str
    reason: str
    action: str
    back: str
    key: str


@router.get("/zones/{zone_id}/hold")
def hold_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    view = zone_view(desk, person.id, zone_id)
    standing_zone(view.seen)
    return _hold_page(view, person)


@router.post("/zones/{zone_id}/hold")
def hold(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    cause = form.choice("cause", HOLD_CAUSES, needed=tr("Say what the zone is held for."))
    reason = form.text("reason", needed=tr("Say what was seen."))

    def act() -> str:
        hold_zone(desk, person.id, zone_id, cause, reason)
        return f"/zones/{zone_id}?said=hold"

    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, act)
        except (BadInput, Conflict) as refusal:
            form.refused(refusal)
    return _hold_page(zone_view(desk, person.id, zone_id), person, form)


def _hold_page(view: ZoneView, person: Person, form: Form | None = None) -> Response:
    page = HoldPage(
        letter=view.zone.letter,
        causes=tuple(Choice(cause, starting(hold_cause(cause))) for cause in HOLD_CAUSES),
        cause=form.value("cause") if form else "",
        reason=form.value("reason") if form else "",
        action=f"/zones/{view.zone.id}/hold",
        back=f"/zones/{view.zone.id}",
        key=form_key(form),
    )
    return _html("crew/hold.html", page, view, person, form)


@router.get("/holds/{hold_id}/lift")
def lift_page(desk: TheDesk, person: Signed, hold_id: str) -> Response:
    return _lift_page(*hold_view(desk, person.id, hold_id), person)


@router.post("/holds/{hold_id}/lift")
def lift(request: Request, desk: TheDesk, person: Signed, form: Typed, hold_id: str) -> Response:
    view, held = hold_view(desk, person.id, hold_id)
    reason = form.text("reason", needed=tr("Say what was done about it."))

    def act() -> str:
        lift_hold(desk, person.id, hold_id, reason)
        return f"/zones/{held.zone_id}?said=lifted"

    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, act)
        except (BadInput, Conflict) as refusal:
            form.refused(refusal)
            view, held = hold_view(desk, person.id, hold_id)
    return _lift_page(view, held, person, form)


def _lift_page(view: ZoneView, held: Hold, person: Person, form: Form | None = None) -> Response:
    who = view.names.get(held.by, tr("a person no longer named"))
    when = moment(held.at, view.seen.project.time_zone)
    page = LiftPage(
        letter=view.zone.letter,
        cause=hold_cause(held.cause),
        held=tr("{who} put it on hold {when}: {reason}", who=who, when=when, reason=held.reason),
        lifted=held.lifted or "",
        reason=form.value("reason") if form else "",
        action=f"/holds/{held.id}/lift",
        back=f"/zones/{view.zone.id}",
        key=form_key(form),
    )
    return _html("crew/lift.html", page, view, person, form)


def _html(template: str, page: object, view: ZoneView, person: Person, form: Form | None) -> Response:
    errors = form.errors if form else {}
    shell = shell_of(view.seen.project, view.seen.role, person, errors=errors, cautions=(CAUTION_WALK,))
    return HTMLResponse(render(template, page, **shell), 422 if errors else 200)
