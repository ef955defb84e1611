"""Lay the building's grid on a sketch, line by line or a family at a time, and take lines away."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import SketchView, sketch_view
from service.actions.sketches.grids import LineGiven, add_lines, drop_lines
from service.actions.sketches.sketches import NEAREST_POINTS_PX
from service.domain.nouns import roles
from service.domain.sketch.grid_family import MOST_IN_FAMILY, SIDES, family, label_after
from service.domain.words.measures import Units
from service.domain.words.refusals import BadInput, NotAllowed
from service.domain.words.speech import later, tr, trc
from service.web.drawings.drawing import Choice, SketchDrawing
from service.web.drawings.shown import Shown
from service.web.forms.choosing import PAIR, Chosen, Point, choose
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.sketch_answers import PLAN, TOLD, answer, plan_drawing, plan_ground, refused

router = APIRouter(include_in_schema=False)

WORDS = (later("one end of the line"), later("the other end"))
NAMES = {"lines": "label"}
LONGEST_LABEL = 8


@dataclass(frozen=True, slots=True)
class GridPage:
    """`templates/office/sketch_grid.html`. laid: labels of the lines there are; typed: as it was sent."""

    name: str
    drawing: SketchDrawing
    chosen: Chosen
    units: Units
    laid: tuple[str, ...]
    typed: Mapping[str, str]
    sides: tuple[Choice, ...]
    has_scale: bool
    unit: str
    key: str
    drop_key: str
    action: str
    drop_action: str
    back: str


@router.get("/sketches/{sketch_id}/grid")
def grid_page(desk: TheDesk, person: Signed, sketch_id: str, said: str = "") -> Response:
    view = _view(desk, person, sketch_id)
    told = {"laid": tr("Laid. Lay the next, or go back."), "dropped": tr("Taken away.")}.get(said, "")
    return _show(view, person, _chosen(view, {}), said=told)


@router.post("/sketches/{sketch_id}/grid")
def lay(request: Request, desk: TheDesk, person: Signed, form: Typed, sketch_id: str) -> Response:
    view = _view(desk, person, sketch_id)
    chosen = _chosen(view, form.values)
    if chosen.pressed:
        return _show(view, person, chosen, form)
    lines = _lines(view, form, chosen)
    status = 0
    if not form.errors:

        def act() -> str:
            add_lines(desk, person.id, sketch_id, lines)
            return f"/sketches/{sketch_id}/grid?said=laid"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal, NAMES)
            view = _view(desk, person, sketch_id)
    return _show(view, person, chosen, form, status=status)


@router.post("/sketches/{sketch_id}/grid/drop")
def drop(request: Request, desk: TheDesk, person: Signed, form: Typed, sketch_id: str) -> Response:
    labels = tuple(dict.fromkeys(form.many("drop")))
    if not labels:
        form.wrong("drop", tr("Choose the lines to take away."))
    status = 0
    if not form.errors:

        def act() -> str:
            drop_lines(desk, person.id, sketch_id, labels)
            return f"/sketches/{sketch_id}/grid?said=dropped"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal)
    view = _view(desk, person, sketch_id)
    return _show(view, person, _chosen(view, {}), form, status=status)


def _view(desk: Desk, person: Person, sketch_id: str) -> SketchView:
    view = sketch_view(desk, person.id, sketch_id)
    if not roles.may(view.seen.role, "lay the grid"):
        raise NotAllowed(tr("Only a project manager lays the grid."))
    return view


def _chosen(view: SketchView, sent: Mapping[str, str]) -> Chosen:
    return choose(sent, plan_ground(view), PAIR, units=view.seen.project.units, words=tuple(map(tr, WORDS)))


def _lines(view: SketchView, form: Form, chosen: Chosen) -> list[LineGiven]:
    """The line, or the family of it, that the form asks for; what is wrong stands in its errors."""
    label = form.text("label", most=LONGEST_LABEL, needed=tr("Say what the line is called, like A or 1."))
    a, b = chosen.places
    if a is None or b is None:
        form.wrong(PLAN, tr("Press two points on the line first."))
    elif math.dist(a, b) < NEAREST_POINTS_PX:
        form.wrong(PLAN, tr("The two points are too close together. Choose points far apart."))
    more = form.whole("more", least=0, most=MOST_IN_FAMILY) if form.value("more").strip() else 0
    spacing = _spacing(view, form) if more else 0.0
    toward = (
        form.choice("toward", tuple(SIDES), needed=tr("Say on which side the next lines lie."))
        if more
        else ""
    )
    if form.errors:
        return []
    sketch = view.seen.sketch
    try:
        laid = family(
            label,
            (cast(Point, a), cast(Point, b)),
            spacing,
            more,
            toward or "right",
            sketch.width_px,
            sketch.height_px,
        )
    except BadInput as bad:
        form.refused(bad)
        return []
    return list(laid)


def _spacing(view: SketchView, form: Form) -> float:
    """The spacing in pixels of today's picture."""
    nm = form.length("spacing")
    nm_per_px = Shown(view.seen.sketch).nm_per_px
    if not nm_per_px:
        form.wrong("spacing", tr("Set the scale first: without it a spacing has no length on the picture."))
        return 0.0
    return nm / nm_per_px


def _show(
    view: SketchView,
    person: Person,
    chosen: Chosen,
    form: Form | None = None,
    *,
    status: int = 0,
    said: str = "",
) -> Response:
    sketch, project = view.seen.sketch, view.seen.project
    typed = {"label": _next_label(view), "more": "", "spacing": "", "toward": ""}
    if form is not None:
        typed |= {name: form.value(name) for name in typed if form.has(name)}
    page = GridPage(
        name=sketch.name,
        drawing=plan_drawing(view),
        chosen=chosen,
        units=project.units,
        laid=tuple(line.label for line in sketch.grid),
        typed=typed,
        sides=tuple(Choice(side, trc("side", side)) for side in SIDES),
        has_scale=sketch.scale is not None,
        unit="ft" if project.units == "us" else "m",
        key=(form.value("request_key") if form and form.has("label") else "") or new_key(),
        drop_key=new_key(),
        action=f"/sketches/{sketch.id}/grid",
        drop_action=f"/sketches/{sketch.id}/grid/drop",
        back=f"/sketches/{sketch.id}",
    )
    return answer(
        "office/sketch_grid.html", page, project, view.seen.role, person, form, status=status, said=said
    )


def _next_label(view: SketchView) -> str:
    """The label after the last one laid, or A."""
    if not view.seen.sketch.grid:
        return "A"
    try:
        following = label_after(view.seen.sketch.grid[-1].label)
    except BadInput:
        return ""
    return following if len(following) <= LONGEST_LABEL else ""
