"""The hold points of a zone as a signed sheet: each step with who signed it and when; sign the next."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import standing_zone
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.installed.hold_points import (
    OWN_WORK,
    SAY_WHY,
    StepView,
    did_work,
    may_sign,
    next_step,
    sign_hold_point,
    steps_of,
)
from service.domain.nouns import roles
from service.domain.nouns.rules import LOOK_STEP, WALK_STEP
from service.domain.words.names import step_state
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import later, tr, trc
from service.web.drawings.drawing import Choice
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK, starting

router = APIRouter(include_in_schema=False)

SIGN, REFUSE = "sign", "refuse"
NOBODY = later("a person no longer named")
LAPSES = later(
    "A signature speaks of the zone as it was drawn then. A new outline or a new scale voids it, and the "
    "step is signed again. An inspector's refusal stands until an inspector signs."
)
SAID = {
    "signed": later("The hold point is signed."),
    "refused": later("The refusal is kept. The zone is held for it."),
}


@dataclass(frozen=True, slots=True)
class StepLine:
    """One ruled line of the sheet: the step, how it stands, and every signature as a sentence."""

    step: str
    stands: str
    signed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HoldPointsPage:
    """`templates/crew/hold_points.html`. `steps`: pairs (step, words) that may be signed now by who looks."""

    letter: str
    told: str
    lapses: str
    lines: tuple[StepLine, ...]
    note_of: str
    walk_href: str
    steps: tuple[tuple[str, str], ...]
    step: str
    answers: tuple[Choice, ...]
    answer: str
    note: str
    action: str
    back: str
    key: str


@router.get("/zones/{zone_id}/hold-points")
def hold_points(desk: TheDesk, person: Signed, zone_id: str, said: str = "") -> Response:
    return _shown(desk, person, zone_id, said=tr(SAID.get(said, "")))


@router.post("/zones/{zone_id}/hold-points")
def sign(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    step = form.text("step", needed=tr("Choose the step."))
    answer = form.choice("answer", (SIGN, REFUSE), needed=tr("Say whether you sign it or refuse it."))
    note = form.text("note", needed=tr(SAY_WHY) if form.value("answer") == REFUSE else "")

    def act() -> str:
        sign_hold_point(desk, person.id, zone_id, step, answer == SIGN, note)
        return f"/zones/{zone_id}/hold-points?said={'signed' if answer == SIGN else 'refused'}"

    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, act)
        except (BadInput, Conflict) as refusal:
            form.refused(refusal)
    return _shown(desk, person, zone_id, form)


def _shown(desk: Desk, person: Person, zone_id: str, form: Form | None = None, said: str = "") -> Response:
    view = zone_view(desk, person.id, zone_id)
    standing_zone(view.seen)
    errors = form.errors if form else {}
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=errors,
        cautions=(CAUTION_WALK,),
        said=said,
        known=view.seen.head,
        zone_id=view.zone.id,
    )
    page = hold_points_page(view, person, form)
    return HTMLResponse(render("crew/hold_points.html", page, **shell), 422 if errors else 200)


def hold_points_page(view: ZoneView, person: Person, form: Form | None = None) -> HoldPointsPage:
    """The sheet as it stands, and what this person may sign of it now."""
    zone, steps = view.zone, steps_of(view.site, view.zone)
    coming = next_step(steps)
    may = zone.placement is None and roles.may(view.seen.role, "sign a hold point")
    mine = [step.step for step in steps if may and may_sign(view, person.id, step)]
    typed = form.value("step") if form else ""
    return HoldPointsPage(
        letter=zone.letter,
        told=_told(view, coming),
        lapses=tr(LAPSES),
        lines=tuple(_line(view, step) for step in steps),
        note_of=_why_not(view, person, coming),
        walk_href=f"/zones/{zone.id}#walk" if coming == WALK_STEP and zone.placement is None else "",
        steps=(
            *((("", tr("Choose the step")),) if mine and coming not in mine else ()),
            *((step, _step_words(step, step != coming)) for step in mine),
        ),
        step=typed or (coming if coming in mine else ""),
        answers=(
            Choice(SIGN, trc("hold point", "Signed"), tr("I looked, and it is in order")),
            Choice(REFUSE, trc("hold point", "Refused"), tr("it is not, and the zone is held")),
        ),
        answer=form.value("answer") if form else "",
        note=form.value("note") if form else "",
        action=f"/zones/{zone.id}/hold-points",
        back=f"/zones/{zone.id}",
        key=form_key(form),
    )


def _told(view: ZoneView, coming: str) -> str:
    asked = "hold points" in view.seen.project.sheet.gate_demands
    told = tr("Signed in this order before the film is covered. Next: {step}.", step=tr(coming))
    if not coming:
        told = tr("Every hold point is signed.")
    return told if asked else " ".join((told, tr("The gate of this project does not ask for them.")))


def _step_words(step: str, again: bool) -> str:
    words = starting(tr(step))
    return tr("{step}, once more", step=words) if again else words


def _why_not(view: ZoneView, person: Person, coming: str) -> str:
    """Why the next step is not this person's to sign here."""
    if view.zone.placement is not None:
        return tr("Concrete is in: what it covers can be signed no more.")
    if coming == LOOK_STEP and did_work(view.site, view.zone, person.id):
        return tr(OWN_WORK)
    return ""


def _line(view: ZoneView, step: StepView) -> StepLine:
    stands = step_state("signed" if step.met else "refused" if step.refused else "not signed")
    told = [_signature(view, step, i) for i in range(len(step.signatures))]
    walked = view.zone.walked_at
    if step.step == WALK_STEP and walked is not None:
        told.append(tr("Walk finished {when}", when=moment(walked, view.seen.project.time_zone)))
    return StepLine(starting(tr(step.step)), stands, tuple(told))


def _signature(view: ZoneView, step: StepView, i: int) -> str:
    """`Signed by Ina Inspector, inspector, Wed 25 Nov 2026, 6:00 am: note`."""
    of = step.signatures[i]
    who = view.names.get(of.signed.by, tr(NOBODY))
    told = tr(
        later("Signed by {who}, {role}, {when}")
        if of.accepted
        else later("Refused by {who}, {role}, {when}"),
        who=who,
        role=tr(of.signed.role),
        when=moment(of.signed.at, view.seen.project.time_zone),
    )
    told += f": {of.note}" if of.note else ""
    if of.id not in step.lapsed:
        return told
    return tr("{signature} (lapsed: the outline or the scale is a newer one)", signature=told)
