"""Starting a project: its name, the units the site works in, and its time zone."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from zoneinfo import available_timezones

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person, not_by_code
from service.actions.office.projects import start_project
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render

router = APIRouter(include_in_schema=False)

REGIONS = ("Africa", "America", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific")


@dataclass(frozen=True, slots=True)
class NewProjectPage:
    """`templates/office/new_project.html`. `zones`: pairs (name, words) of time zones."""

    key: str
    name: str
    units: str
    time_zone: str
    zones: tuple[tuple[str, str], ...]


def time_zones() -> tuple[tuple[str, str], ...]:
    """Every region and city of the time zone data base, in words."""
    return (("", tr("Choose the site's region and city")), *_regions_and_cities())


@cache
def _regions_and_cities() -> tuple[tuple[str, str], ...]:
    names = sorted(name for name in available_timezones() if name.split("/")[0] in REGIONS)
    return tuple((name, name.replace("_", " ").replace("/", ", ")) for name in names)


@router.get("/projects/new")
def new_project(desk: TheDesk, person: Signed) -> Response:
    not_by_code(desk)
    return _new_project(person)


@router.post("/projects/new")
def start(request: Request, desk: TheDesk, person: Signed, form: Typed) -> Response:
    name = form.text("name", most=120, needed=tr("Give the project a name."))
    units = form.choice("units", ("us", "metric"), needed=tr("Choose the units the site works in."))
    time_zone = form.value("time_zone")
    if not time_zone:
        form.wrong("time_zone", tr("Choose the site's region and city."))
    if not form.errors:
        try:
            return send_once(
                request,
                desk,
                person.id,
                form,
                lambda: f"/projects/{start_project(desk, person.id, name, units, time_zone).id}/office",
            )
        except (BadInput, Conflict) as refusal:
            form.refused(refusal)
    return _new_project(person, form)


def _new_project(person: Person, form: Form | None = None) -> Response:
    page = NewProjectPage(
        key=new_key(),
        name=form.value("name") if form else "",
        units=form.value("units") if form else "",
        time_zone=form.value("time_zone") if form else "",
        zones=time_zones(),
    )
    html = render(
        "office/new_project.html",
        page,
        person=person.name,
        person_id=person.id,
        errors=form.errors if form else {},
    )
    return HTMLResponse(html, 422 if form else 200)
