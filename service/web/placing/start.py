"""Starting to place a zone: who released it and when, asked once more before the first concrete is told."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.reading import ZoneView
from service.actions.office.placing_start import start_placing
from service.domain.gate.during import goes_on
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr, trc
from service.history.replay.standing import READY, release_mark
from service.web.drawings.drawing import ReasonRow
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.placing.placed import WET_CAUTION
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK, CAUTION_WEATHER
from service.web.shared.reasons import reason_rows
from service.web.shared.zone_views import ZoneBlock, name_in, standing_view, zone_block

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class StartPage:
    """`templates/crew/start_placing.html`. `ready`: it may start now; else `reasons` say why not, or
    `nobody_released` that nothing stands against it."""

    letter: str
    block: ZoneBlock
    ready: bool
    reasons: tuple[ReasonRow, ...]
    nobody_released: bool
    facts: tuple[tuple[str, str], ...]
    at: str
    time_hint: str
    action: str
    key: str
    back: str


@router.get("/zones/{zone_id}/start-placing")
def start_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    view = standing_view(desk, person, zone_id)
    return _shown(desk, person, view)


@router.post("/zones/{zone_id}/start-placing")
def start(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    view = standing_view(desk, person, zone_id)
    at = form.moment("at", view.seen.project.time_zone)

    def act() -> str:
        start_placing(desk, person.id, zone_id, at)
        return f"/zones/{zone_id}?said=placing"

    status = 422
    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, act)
        except BadInput as refusal:
            form.refused(refusal)
        except Conflict as refusal:
            form.refused(refusal)
            status = 409
    return _shown(desk, person, standing_view(desk, person, zone_id), form, status)


def _shown(
    desk: Desk, person: Person, view: ZoneView, form: Form | None = None, status: int = 200
) -> Response:
    allow(view.seen, "start placing")
    zone, standing, project = view.zone, view.standing, view.seen.project
    if form is None and (zone.placement is not None or standing.placing is not None):
        told = tr("Placing of zone {letter} was started already.", letter=zone.letter)
        raise Conflict(told, code="placing-already")
    ready = standing.state == READY and not goes_on(zone)
    against = () if standing.state == READY else standing.blockers
    page = StartPage(
        letter=zone.letter,
        block=zone_block(view, desk.clock()),
        ready=ready,
        reasons=reason_rows(against, zone, project.id, project.units, view.site.defects),
        nobody_released=zone.placement is None and standing.state != READY and not standing.blockers,
        facts=_released(view) if ready else (),
        at=form.value("at") if form else "",
        time_hint=tr("In the site's time ({time_zone}). Left empty, it is now.", time_zone=project.time_zone),
        action=f"/zones/{zone.id}/start-placing",
        key=new_key(),
        back=f"/zones/{zone.id}",
    )
    shell = shell_of(
        project,
        view.seen.role,
        person,
        errors=form.errors if form else {},
        cautions=(tr(WET_CAUTION), CAUTION_WALK, CAUTION_WEATHER),
    )
    return HTMLResponse(render("crew/start_placing.html", page, **shell), status)


def _released(view: ZoneView) -> tuple[tuple[str, str], ...]:
    release = view.standing.release
    assert release is not None, "a zone is ready to place by its release"
    return (
        (trc("zone", "Released by"), name_in(view, release.by)),
        (trc("zone", "Released"), moment(release.at, view.seen.project.time_zone)),
        (tr("Stating"), release.statement),
        (tr("Release mark"), release_mark(release.seq, release.digest)),
    )
