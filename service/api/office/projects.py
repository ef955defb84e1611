"""Projects, their rule sheets and their people, as JSON."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.office import projects
from service.actions.people import people
from service.api.answers import sites as out
from service.api.shared import bodies
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes
from service.api.shared.errors import READS, WRITES, told
from service.api.telling import telling
from service.history.facts.encoding import time_text

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["projects"])


@router.post(
    "/projects",
    status_code=201,
    response_model=out.Project,
    responses=told((401, 403, 408, 409, 413, 422, 503)),
)
def start_a_project(body: bodies.NewProject, call: Writes) -> Response:
    """Start a project. Whoever starts it is its project manager."""

    def act() -> out.Project:
        made = projects.start_project(call.desk, call.by, body.name, body.units, body.time_zone)
        seen = projects.one_project(call.desk, call.by, made.id)
        return telling.project(made, seen.role)

    return call.once(201, act)


@router.get("/projects", responses=told((401, 503)))
def my_projects(call: Reads) -> list[out.Project]:
    """Every project the caller is on, by name."""
    return [telling.project(seen.project, seen.role) for seen in projects.my_projects(call.desk, call.by)]


@router.get("/projects/{project_id}", responses=told(READS))
def one_project(project_id: Id, call: Reads) -> out.Project:
    """One project."""
    seen = projects.one_project(call.desk, call.by, project_id)
    return telling.project(seen.project, seen.role)


@router.get("/projects/{project_id}/rule-sheet", responses=told(READS))
def read_the_rule_sheet(project_id: Id, call: Reads) -> out.RuleSheet:
    """The numbers the project is held to, each with where it comes from."""
    seen = projects.one_project(call.desk, call.by, project_id)
    return telling.rule_sheet(seen.project.sheet, seen.project.units)


@router.put("/projects/{project_id}/rule-sheet", response_model=out.RuleSheet, responses=told(WRITES))
def change_the_rule_sheet(project_id: Id, body: bodies.SheetChange, call: Writes) -> Response:
    """Change any of the numbers; the whole sheet comes back. Zones it puts on hold fall by themselves."""

    def act() -> out.RuleSheet:
        sheet = projects.change_rule_sheet(call.desk, call.by, project_id, bodies.given(body))
        seen = projects.one_project(call.desk, call.by, project_id)
        return telling.rule_sheet(sheet, seen.project.units)

    return call.once(200, act)


@router.get("/projects/{project_id}/people", responses=told(READS))
def people_of_a_project(project_id: Id, call: Reads) -> out.People:
    """Who is on the project and, for project managers, who was invited and has not come yet."""
    view = people.people_of(call.desk, call.by, project_id)
    members = [
        out.Member(id=person.id, name=person.name, email=person.email, role=role)
        for person, role in view.members
    ]
    waiting = [
        out.OpenInvitation(id=of.id, email=of.email, role=of.role, ends_at=time_text(of.ends_at))
        for of in view.open
    ]
    return out.People(people=members, invitations=waiting)


@router.post(
    "/projects/{project_id}/people", status_code=201, response_model=out.Invited, responses=told(WRITES)
)
def invite(project_id: Id, body: bodies.Invitation, call: Writes, request: Request) -> Response:
    """Let somebody in: at once where the address has an account, else by the link that comes back."""
    home = request.app.state.settings.base_url or str(request.base_url).rstrip("/")

    def act() -> out.Invited:
        made = people.invite(call.desk, call.by, project_id, body.email, body.role)
        return out.Invited(
            id=made.id if made.person is None else made.person.id,
            email=made.email,
            role=made.role,
            state="invited" if made.person is None else "joined",
            link=f"{home}/join/{made.token}" if made.token else None,
        )

    return call.once(201, act)
