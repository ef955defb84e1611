"""Ready lists as JSON for the project's people: open one, list them, withdraw one."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response

from service.actions.office import ready_lists
from service.api.answers.sites import Answer, Time
from service.api.shared.bodies import Sent, Text, WithReason, example
from service.api.shared.calls import SIGNED_IN, Id, Reads, SignedRoute, Writes, json_answer
from service.api.shared.errors import READS, WRITES, told
from service.api.telling.telling import NOBODY
from service.domain.nouns.kept import ReadyLink
from service.history.facts.encoding import time_text

router = APIRouter(route_class=SignedRoute, dependencies=SIGNED_IN, tags=["ready lists"])


class NewReadyList(Sent):
    model_config = example(label="ready-mix dispatcher")
    label: Text = Field(description="What they do who get the link; no name: the history keeps it for ever.")


class ReadyListLink(Answer):
    """`link` is told once, in the answer that opens the list: no secret is kept to be told again, so the same
    Idempotency-Key gets the same answer with `link` null. `withdrawn`: the reason."""

    id: str
    label: str
    opened_at: Time
    by: str
    withdrawn: str | None
    link: str | None


@router.post(
    "/projects/{project_id}/ready-lists",
    status_code=201,
    response_model=ReadyListLink,
    responses=told(WRITES),
)
def open_a_ready_list(project_id: Id, body: NewReadyList, call: Writes, request: Request) -> Response:
    """Open a ready list: a link by which anybody who holds it reads which zones are ready, until it is
    withdrawn."""
    home = request.app.state.settings.base_url or str(request.base_url).rstrip("/")
    links: list[ReadyListLink] = []

    def act() -> ReadyListLink:
        opened = ready_lists.open_ready_list(call.desk, call.by, project_id, body.label)
        kept = _link(opened.link, call.person.name)
        links.append(kept.model_copy(update={"link": f"{home}/ready/{opened.token}"}))
        return kept

    answer = call.once(201, act)
    if links:
        answer = json_answer(201, links[0].model_dump_json())
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.get("/projects/{project_id}/ready-lists", responses=told(READS))
def ready_lists_of_a_project(project_id: Id, call: Reads) -> list[ReadyListLink]:
    """Every ready list of the project, withdrawn ones too, the newest first. No link is told again."""
    view = ready_lists.ready_lists_of(call.desk, call.by, project_id)
    return [_link(link, view.names.get(link.by, NOBODY)) for link in view.links]


@router.post("/ready-lists/{link_id}/withdraw", response_model=ReadyListLink, responses=told(WRITES))
def withdraw_a_ready_list(link_id: Id, body: WithReason, call: Writes) -> Response:
    """The link opens nothing from now on."""

    def act() -> ReadyListLink:
        link = ready_lists.withdraw_ready_list(call.desk, call.by, link_id, body.reason)
        seen, _ = ready_lists.one_ready_list(call.desk, call.by, link_id)
        view = ready_lists.ready_lists_of(call.desk, call.by, seen.project.id)
        return _link(link, view.names.get(link.by, NOBODY))

    return call.once(200, act)


def _link(of: ReadyLink, by: str) -> ReadyListLink:
    return ReadyListLink(
        id=of.id, label=of.label, opened_at=time_text(of.at), by=by, withdrawn=of.withdrawn, link=None
    )
