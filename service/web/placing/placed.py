"""Marking a zone placed: the day, the time, the volume; asked twice where the zone is not ready to place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView
from service.actions.office.release import mark_placed
from service.domain.nouns import roles
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from service.domain.words.speech import later, tr
from service.history.replay.standing import READY
from service.web.drawings.drawing import ReasonRow
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.reasons import reason_rows
from service.web.shared.zone_views import ZoneBlock, standing_view, zone_block

router = APIRouter(include_in_schema=False)

WET_CAUTION = later("Wet concrete is caustic: gloves, boots, eyewash within reach.")


@dataclass(frozen=True, slots=True)
class PlacedPage:
    """`templates/office/placed.html`. `ready`: the zone is ready to place. `asks`: the second asking, for a
    zone that is not. `reasons`: what stands against it; of one that is ready, what was found during placing
    and is not mended. `sure`: the digest that the second asking was shown with."""

    letter: str
    block: ZoneBlock
    ready: bool
    asks: bool
    reasons: tuple[ReasonRow, ...]
    nobody_released: bool
    action: str
    key: str
    at: str
    at_words: str
    volume: str
    volume_hint: str
    time_hint: str
    sure: str
    back: str


@router.get("/zones/{zone_id}/placed")
def placed_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _answer(desk, person, standing_view(desk, person, zone_id))


@router.post("/zones/{zone_id}/placed")
def placed(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    view = standing_view(desk, person, zone_id)
    _allow(view)
    at = form.moment("at", view.seen.project.time_zone)
    volume = form.text("volume", most=40)
    sure = form.has("sure") and form.value("sure") == view.standing.digest
    status = 422
    if not form.errors:
        try:
            return send_once(
                request, desk, person.id, form, lambda: _placed(desk, person, zone_id, at, volume, sure)
            )
        except BadInput as refusal:
            form.refused(refusal)
        except Conflict as refusal:
            if refusal.code == "not-ready":
                return _answer(desk, person, standing_view(desk, person, zone_id), form, 409, asks=True)
            form.refused(refusal)
            status = 409
    return _answer(desk, person, standing_view(desk, person, zone_id), form, status)


def _placed(desk: Desk, person: Person, zone_id: str, at: datetime | None, volume: str, sure: bool) -> str:
    mark_placed(desk, person.id, zone_id, at, volume, sure=sure)
    return f"/zones/{zone_id}/release?did=placed"


def _allow(view: ZoneView) -> None:
    if not roles.may(view.seen.role, "mark a zone placed"):
        raise NotAllowed(tr("Only a project manager marks a zone placed."))


def _answer(
    desk: Desk,
    person: Person,
    view: ZoneView,
    form: Form | None = None,
    status: int = 200,
    *,
    asks: bool = False,
) -> Response:
    _allow(view)
    if view.zone.placement is not None and form is None:
        raise Conflict(tr("Zone {letter} is placed already.", letter=view.zone.letter), code="zone-placed")
    project, standing, now = view.seen.project, view.standing, desk.clock()
    began = view.zone.placing
    local = (began.started_at if began else now).astimezone(ZoneInfo(project.time_zone))
    at = form.value("at") if form else local.strftime("%Y-%m-%dT%H:%M")
    against = standing.found if standing.state == READY else standing.blockers
    ready = standing.state == READY
    page = PlacedPage(
        letter=view.zone.letter,
        block=zone_block(view, now),
        ready=ready,
        asks=asks,
        reasons=reason_rows(against, view.zone, project.id, project.units, view.site.defects),
        nobody_released=not standing.blockers and not ready,
        action=f"/zones/{view.zone.id}/placed",
        key=new_key(),
        at=at,
        at_words=_at_words(form, project.time_zone) if asks and form else "",
        volume=form.value("volume") if form else "",
        volume_hint=tr("As on the delivery tickets, such as 60 cu yd. It can be left out.")
        if project.units == "us"
        else tr("As on the delivery tickets, such as 46 m3. It can be left out."),
        time_hint=tr("When placing started, in the site's time ({time_zone}).", time_zone=project.time_zone),
        sure=standing.digest,
        back=f"/zones/{view.zone.id}/release",
    )
    shell = shell_of(
        project, view.seen.role, person, errors=form.errors if form else {}, cautions=(tr(WET_CAUTION),)
    )
    return HTMLResponse(render("office/placed.html", page, **shell), status)


def _at_words(form: Form, time_zone: str) -> str:
    at = form.moment("at", time_zone)
    return moment(at, time_zone) if at else tr("now")
