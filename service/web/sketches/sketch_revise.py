"""A newer picture for a sketch: upload, two common points on both, a look at the zones, then in place."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import SketchView, sketch_view
from service.actions.sketches import pictures
from service.actions.sketches.pictures import Taken
from service.actions.sketches.sketches import NEAREST_POINTS_PX, TakenIn, settle_revision, take_in
from service.domain.nouns import roles
from service.domain.words.measures import Units
from service.domain.words.refusals import Conflict, NotAllowed
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import SketchDrawing
from service.web.drawings.shown import Shown
from service.web.forms.choosing import PAIR, Chosen, Ground, choose
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.forms.stills import window_src
from service.web.forms.uploading import (
    ACCEPT,
    HINT,
    PagesToChoose,
    pages_to_choose,
    take_upload_once,
    with_query,
)
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.sketch_answers import PLAN, TOLD, answer, plan_drawing, plan_ground, refused
from service.web.sketches.sketch_newer import NEW_PLAN, Sure, coming, newer_sketch, what_follows

router = APIRouter(include_in_schema=False)

OLD, NEW = "old_", "new_"
WORDS = (later("the first point"), later("the second point"))
NAMES = {"old_points": PLAN, "new_points": NEW_PLAN}


@dataclass(frozen=True, slots=True)
class RevisePage:
    """`templates/office/sketch_revise.html`: upload or choose a page."""

    name: str
    page: str
    pages: PagesToChoose | None
    accept: str
    hint: str
    key: str
    action: str
    back: str


@dataclass(frozen=True, slots=True)
class AlignPage:
    """`templates/office/sketch_align.html`: two common points on the old and on the new picture.

    sure: the zones over the new picture, shown in place of the points once they stand.
    """

    name: str
    old: SketchDrawing
    new: SketchDrawing
    old_chosen: Chosen
    new_chosen: Chosen
    units: Units
    fields: tuple[tuple[str, str], ...]
    sure: Sure | None
    key: str
    action: str
    back: str


@router.get("/sketches/{sketch_id}/revise")
def revise_page(
    desk: TheDesk, person: Signed, sketch_id: str, picture: str = "", kept: str = "", first: int = 1
) -> Response:
    view = _view(desk, person, sketch_id)
    if picture:
        return _align(desk, view, person, Taken.read(picture), {})
    return _show(desk, view, person, kept, first)


@router.post("/sketches/{sketch_id}/revise")
def revise(
    request: Request, desk: TheDesk, person: Signed, form: Typed, sketch_id: str, picture: str = ""
) -> Response:
    view = _view(desk, person, sketch_id)
    if picture:
        return _settle(request, desk, view, person, form, Taken.read(picture))
    here = f"/sketches/{sketch_id}/revise"

    def settle(taken: TakenIn) -> str:
        return with_query(here, picture=Taken(taken[0], taken[1]).name)

    status = 0
    try:
        done = take_upload_once(
            request,
            desk,
            person,
            form,
            view.seen.project.id,
            take=lambda path, page: take_in(desk, person.id, sketch_id, path, page),
            settle=settle,
            choose_page=lambda sha256: with_query(here, kept=sha256),
        )
        if done is not None:
            return done
    except TOLD as refusal:
        status = refused(form, refusal)
    return _show(desk, view, person, form.value("kept"), 1, form, status)


def _view(desk: Desk, person: Person, sketch_id: str) -> SketchView:
    view = sketch_view(desk, person.id, sketch_id)
    if not roles.may(view.seen.role, "add a sketch"):
        raise NotAllowed(tr("Only a project manager puts a newer picture in."))
    return view


def _show(
    desk: Desk,
    view: SketchView,
    person: Person,
    kept: str,
    first: int,
    form: Form | None = None,
    status: int = 0,
) -> Response:
    sketch, project = view.seen.sketch, view.seen.project
    here = f"/sketches/{sketch.id}/revise"
    pages = None
    if kept:
        pages = pages_to_choose(
            desk, person, project.id, kept, first, lambda n: with_query(here, kept=kept, first=n)
        )
    page = RevisePage(
        name=sketch.name,
        page=form.value("page") if form else "",
        pages=pages,
        accept=ACCEPT,
        hint=tr(HINT),
        key=form_key(form),
        action=here,
        back=f"/sketches/{sketch.id}",
    )
    return answer("office/sketch_revise.html", page, project, view.seen.role, person, form, status=status)


def _settle(
    request: Request, desk: Desk, view: SketchView, person: Person, form: Form, taken: Taken
) -> Response:
    """The points were sent: show them again, or what follows from them, or put the picture in place."""
    sketch_id = view.seen.sketch.id
    old, new = _chosen(desk, view, taken, form.values)
    if old.pressed or new.pressed or form.has("again"):
        return _align(desk, view, person, taken, form.values, form)
    for chosen, name in ((old, PLAN), (new, NEW_PLAN)):
        a, b = chosen.places
        if a is None or b is None:
            form.wrong(
                name,
                tr("Press both points on the new picture.")
                if chosen is new
                else tr("Press both points on the old picture."),
            )
        elif math.dist(a, b) < NEAREST_POINTS_PX:
            form.wrong(
                name,
                tr("The points on the new picture are too close together. Choose them far apart.")
                if chosen is new
                else tr("The points on the old picture are too close together. Choose them far apart."),
            )
    if form.errors:
        return _align(desk, view, person, taken, form.values, form)
    if not form.flag("confirm"):
        sure = what_follows(desk, view, taken, old.settled, new.settled)
        return _align(desk, view, person, taken, form.values, form, sure)

    def act() -> str:
        if form.value("revision") != str(sketch_view(desk, person.id, sketch_id).seen.sketch.revision):
            told = tr(
                "Somebody put another picture in meanwhile. Choose the points again on today's picture."
            )
            raise Conflict(told)
        settle_revision(desk, person.id, sketch_id, taken.sha256, taken.page, old.settled, new.settled)
        return f"/sketches/{sketch_id}?said=revised"

    try:
        return send_once(request, desk, person.id, form, act)
    except TOLD as refusal:
        status = refused(form, refusal, NAMES)
        view = _view(desk, person, sketch_id)
        return _align(desk, view, person, taken, form.values, form, status=status)


def _chosen(desk: Desk, view: SketchView, taken: Taken, sent: Mapping[str, str]) -> tuple[Chosen, Chosen]:
    units = view.seen.project.units
    ground = Ground(window_src(view.seen.sketch, taken.name), *pictures.sizes_of(desk, taken))
    return (
        choose(
            sent, plan_ground(view), PAIR, prefix=OLD, by_dots=True, units=units, words=tuple(map(tr, WORDS))
        ),
        choose(sent, ground, PAIR, prefix=NEW, units=units, words=tuple(map(tr, WORDS))),
    )


def _align(
    desk: Desk,
    view: SketchView,
    person: Person,
    taken: Taken,
    sent: Mapping[str, str],
    form: Form | None = None,
    sure: Sure | None = None,
    status: int = 0,
) -> Response:
    sketch, project = view.seen.sketch, view.seen.project
    old, new = _chosen(desk, view, taken, sent)
    newer = newer_sketch(desk, sketch, taken)
    drawing = Shown(newer).viewer(NEW_PLAN, tr("The new picture of {name}", name=sketch.name))
    names = [f"{prefix}{field}" for prefix in (OLD, NEW) for field in ("x1", "y1", "x2", "y2")]
    page = AlignPage(
        name=sketch.name,
        old=plan_drawing(view, label=tr("Today's picture of {name}", name=sketch.name)),
        new=coming(drawing, sketch, taken),
        old_chosen=old,
        new_chosen=new,
        units=project.units,
        fields=(
            *zip(names, (*old.values, *new.values), strict=True),
            ("revision", str(sketch.revision)),
        ),
        sure=sure,
        key=form_key(form),
        action=with_query(f"/sketches/{sketch.id}/revise", picture=taken.name),
        back=f"/sketches/{sketch.id}",
    )
    return answer("office/sketch_align.html", page, project, view.seen.role, person, form, status=status)
