"""A new sketch: upload a picture, or a PDF and then choose its page by looking."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.office.projects import one_project
from service.actions.sketches.sketches import TakenIn, settle_sketch, take_in_first
from service.domain.nouns import roles
from service.domain.words.refusals import NotAllowed
from service.domain.words.speech import tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key
from service.web.forms.uploading import (
    ACCEPT,
    HINT,
    PagesToChoose,
    pages_to_choose,
    take_upload_once,
    with_query,
)
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.sketch_answers import TOLD, answer, refused

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class NewSketchPage:
    """`templates/office/sketch_new.html`. pages: those of a PDF sent before, to choose one from."""

    name: str
    page: str
    pages: PagesToChoose | None
    accept: str
    hint: str
    key: str
    action: str
    anew: str
    back: str


@router.get("/projects/{project_id}/sketches/new")
def new_page(
    desk: TheDesk, person: Signed, project_id: str, kept: str = "", name: str = "", first: int = 1
) -> Response:
    return _show(desk, person, project_id, kept, name or tr("Slab"), first)


@router.post("/projects/{project_id}/sketches/new")
def add(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    name = form.text("name", most=120)
    here = f"/projects/{project_id}/sketches/new"

    def settle(taken: TakenIn) -> str:
        sketch = settle_sketch(desk, person.id, project_id, name, taken)
        return f"/sketches/{sketch.id}?said=new"

    status = 0
    if not form.errors:
        try:
            done = take_upload_once(
                request,
                desk,
                person,
                form,
                project_id,
                take=lambda path, page: take_in_first(desk, person.id, project_id, path, page),
                settle=settle,
                choose_page=lambda sha256: with_query(here, kept=sha256, name=name),
            )
            if done is not None:
                return done
        except TOLD as refusal:
            status = refused(form, refusal)
    return _show(desk, person, project_id, form.value("kept"), form.value("name"), 1, form, status)


def _show(
    desk: Desk,
    person: Person,
    project_id: str,
    kept: str,
    name: str,
    first: int,
    form: Form | None = None,
    status: int = 0,
) -> Response:
    seen = one_project(desk, person.id, project_id)
    if not roles.may(seen.role, "add a sketch"):
        raise NotAllowed(tr("Only a project manager adds a sketch."))
    here = f"/projects/{project_id}/sketches/new"
    pages = None
    if kept:
        pages = pages_to_choose(
            desk, person, project_id, kept, first, lambda n: with_query(here, kept=kept, name=name, first=n)
        )
    page = NewSketchPage(
        name=name,
        page=form.value("page") if form else "",
        pages=pages,
        accept=ACCEPT,
        hint=tr(HINT),
        key=form_key(form),
        action=here,
        anew=here,
        back=f"/projects/{project_id}/office",
    )
    return answer("office/sketch_new.html", page, seen.project, seen.role, person, form, status=status)
