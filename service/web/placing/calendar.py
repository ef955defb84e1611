"""The plan of pours, moving a zone's placing day, and the calendar that a person reads it in by link."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.office.projects import one_project
from service.actions.placing.calendars import end_link, feed, links_of, make_link, version_of
from service.actions.placing.pour_plan import move_placing_day, pour_plan
from service.domain.nouns import roles
from service.domain.words.refusals import BadInput, Conflict, NotAllowed
from service.domain.words.speech import later, tr
from service.web.forms.forms import Form, Typed
from service.web.forms.moments import local_text
from service.web.forms.sending import address_once, form_key, send_once
from service.web.placing.pour_page import pours_page
from service.web.serving.errors import status_of
from service.web.serving.guards import BY_LINK, Signed, TheDesk, whole_address
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.sketch_answers import TOLD, answer, refused
from service.web.shared.zone_views import standing_view

router = APIRouter(include_in_schema=False)

HEADERS = {
    "Cache-Control": "private, no-cache",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
}
CALENDAR = "text/calendar; charset=utf-8"
SAID = {
    "moved": later("The placing day is changed. Those who place concrete are not told from here: tell them."),
    "again": later(
        "That link was made already, and was shown that once. If nobody copied it, end it and make another."
    ),
    "ended": later("The link is ended: it opens nothing any more."),
}
COVERS_ALL = "all"


@router.get("/projects/{project_id}/plan-of-pours")
def plan_of_pours(desk: TheDesk, person: Signed, project_id: str, did: str = "") -> Response:
    return _answer(desk, person, project_id, said=tr(SAID.get(did, "")))


def _answer(
    desk: Desk,
    person: Person,
    project_id: str,
    form: Form | None = None,
    status: int = 200,
    *,
    shown: str = "",
    said: str = "",
) -> Response:
    plan, links = pour_plan(desk, person.id, project_id), links_of(desk, person.id)
    page = pours_page(plan, person, links, shown)
    shell = shell_of(
        plan.view.seen.project, plan.view.seen.role, person, errors=form.errors if form else {}, said=said
    )
    headers = {"Cache-Control": "no-store"} if shown else {}
    return HTMLResponse(render("office/plan_of_pours.html", page, **shell), status, headers=headers)


# --- moving a day ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class MoveDayPage:
    """`templates/office/move_day.html`. `field`: the day and time as typed, or as planned."""

    letter: str
    field: str
    zone_time: str
    action: str
    key: str
    back: str


@router.get("/zones/{zone_id}/move-day")
def move_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _day_page(standing_view(desk, person, zone_id), person)


@router.post("/zones/{zone_id}/move-day")
def move(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    """Plan the zone for another day, or for none where the field is left empty."""
    view = zone_view(desk, person.id, zone_id)
    place_at, status = form.moment("place_at", view.seen.project.time_zone), 422
    if not form.errors:

        def act() -> str:
            move_placing_day(desk, person.id, zone_id, place_at)
            return f"/projects/{view.seen.project.id}/plan-of-pours?did=moved#zone-{view.zone.letter}"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal)
    return _day_page(view, person, form, status)


def _day_page(view: ZoneView, person: Person, form: Form | None = None, status: int = 0) -> Response:
    project, zone = view.seen.project, view.zone
    if not roles.may(view.seen.role, "outline a zone"):
        raise NotAllowed(tr("Only a project manager moves a placing day."))
    planned = local_text(zone.place_at, project.time_zone) if zone.place_at else ""
    page = MoveDayPage(
        letter=zone.letter,
        field=form.value("place_at") if form else planned,
        zone_time=project.time_zone,
        action=f"/zones/{zone.id}/move-day",
        key=form_key(form),
        back=f"/projects/{project.id}/plan-of-pours",
    )
    return answer("office/move_day.html", page, project, view.seen.role, person, form, status=status)


# --- the calendar by link --------------------------------------------------------------------------------


@router.post("/projects/{project_id}/calendar-links")
def make(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    """The link is in this answer alone. The same form sent again says so."""
    root, fresh = f"/projects/{project_id}/plan-of-pours", []
    one_project(desk, person.id, project_id)  # only those who see the project make one from it

    def act() -> tuple[int, str]:
        covered = None if form.value("covers") == COVERS_ALL else project_id
        fresh.append(make_link(desk, person.id, covered))
        return 303, f"{root}?did=again"

    try:
        address = address_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        return _answer(desk, person, project_id, form, status_of(refusal))
    if not fresh:
        return RedirectResponse(address, 303)
    shown = whole_address(request, f"/calendar/{fresh[0].token}.ics")
    return _answer(desk, person, project_id, shown=shown)


@router.post("/projects/{project_id}/calendar-links/{calendar_id}/end")
def end(
    request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str, calendar_id: str
) -> Response:
    one_project(desk, person.id, project_id)

    def act() -> str:
        end_link(desk, person.id, calendar_id)
        return f"/projects/{project_id}/plan-of-pours?did=ended"

    return send_once(request, desk, person.id, form, act)


@router.get("/calendar/{token}.ics", dependencies=BY_LINK)
def calendar(request: Request, desk: TheDesk, token: str) -> Response:
    """When zones are placed, as iCalendar, for whoever holds the link. NotFound once it is ended."""
    etag = f'W/"{version_of(desk, token)}"'
    if etag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers={**HEADERS, "ETag": etag})
    written, version = feed(desk, token, whole_address(request, ""))
    return Response(written, media_type=CALENDAR, headers={**HEADERS, "ETag": f'W/"{version}"'})
