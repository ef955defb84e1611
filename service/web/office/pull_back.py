"""Pulling a release back: one reason, asked on a page of its own."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView
from service.actions.office.release import pull_back
from service.domain.nouns import roles
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.zone_views import ZoneBlock, name_in, standing_view, zone_block

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class PullBackPage:
    letter: str
    block: ZoneBlock
    signed: tuple[tuple[str, str], ...]
    action: str
    key: str
    reason: str
    back: str


def may_pull_back(view: ZoneView) -> bool:
    return (
        view.standing.release is not None
        and view.zone.placement is None
        and roles.may(view.seen.role, "pull back a release")
    )


@router.get("/zones/{zone_id}/pull-back")
def pull_back_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _pull_back(desk, person, zone_id)


@router.post("/zones/{zone_id}/pull-back")
def pull_back_release(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    reason = form.text("reason", needed=tr("Say why the release is pulled back."))
    status = 422
    if not form.errors:
        try:
            return send_once(
                request, desk, person.id, form, lambda: _pulled_back(desk, person, zone_id, reason)
            )
        except BadInput as refusal:
            form.refused(refusal)
        except Conflict as refusal:
            form.refused(refusal)
            status = 409
    return _pull_back(desk, person, zone_id, form, status)


def _pulled_back(desk: Desk, person: Person, zone_id: str, reason: str) -> str:
    pull_back(desk, person.id, zone_id, reason)
    return f"/zones/{zone_id}/release?did=pulled-back"


def _pull_back(
    desk: Desk, person: Person, zone_id: str, form: Form | None = None, status: int = 200
) -> Response:
    view = standing_view(desk, person, zone_id)
    if not roles.may(view.seen.role, "pull back a release"):
        raise NotAllowed(tr("Only a project manager pulls back a release."))
    if not may_pull_back(view) and form is None:
        raise Conflict(
            tr("Zone {letter} has no release to pull back.", letter=view.zone.letter), code="not-released"
        )
    release = view.standing.release
    zone_of = view.seen.project.time_zone
    page = PullBackPage(
        letter=view.zone.letter,
        block=zone_block(view, desk.clock()),
        signed=((tr("Released by"), name_in(view, release.by)), (tr("Released"), moment(release.at, zone_of)))
        if release
        else (),
        action=f"/zones/{zone_id}/pull-back",
        key=new_key(),
        reason=form.value("reason") if form else "",
        back=f"/zones/{zone_id}/release",
    )
    shell = shell_of(view.seen.project, view.seen.role, person, errors=form.errors if form else {})
    return HTMLResponse(render("office/pull_back.html", page, **shell), status)
