"""Draw the wall edges of a zone that the film can be sealed to, and take one away."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import SketchView, ZoneView, sketch_view, wall_view, zone_view
from service.actions.sketches.zones import draw_wall, withdraw_wall
from service.domain.nouns import roles
from service.domain.nouns.site import Sketch, Wall
from service.domain.words.measures import Units, say_distance
from service.domain.words.refusals import Conflict, NoScale, NotAllowed
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import ScheduleRow, SketchDrawing
from service.web.drawings.shown import Shown, where_words
from service.web.forms.choosing import PAIR, Chosen, choose
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.sketch_answers import PLAN, TOLD, answer, plan_drawing, plan_ground, refused
from service.web.shared.withdrawing import take_back

router = APIRouter(include_in_schema=False)

WORDS = (later("one end of the wall"), later("the other end"))
NAMES = {"from": PLAN, "to": PLAN}


@dataclass(frozen=True, slots=True)
class WallsPage:
    """`templates/office/zone_walls.html`. rows: the walls that stand; each leads to taking it away."""

    letter: str
    drawing: SketchDrawing
    chosen: Chosen
    units: Units
    rows: tuple[ScheduleRow, ...]
    key: str
    action: str
    back: str


@dataclass(frozen=True, slots=True)
class WallPage:
    """`templates/office/wall_withdraw.html`. gone: why it is taken away already, or nothing."""

    letter: str
    wall: str
    gone: str
    reason: str
    key: str
    action: str
    back: str


@router.get("/zones/{zone_id}/walls")
def walls_page(desk: TheDesk, person: Signed, zone_id: str, said: str = "") -> Response:
    view = _standing(desk, person, zone_id)
    told = {"drawn": tr("The wall is drawn."), "gone": tr("The wall is taken away.")}.get(said, "")
    return _show(desk, view, person, {}, said=told)


@router.post("/zones/{zone_id}/walls")
def draw(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    view = _standing(desk, person, zone_id)
    chosen = _chosen(sketch_view(desk, person.id, view.zone.sketch_id), view, form.values)
    if chosen.pressed:
        return _show(desk, view, person, form.values, form)
    a, b = chosen.places
    if a is None or b is None:
        form.wrong(PLAN, tr("Press both ends of the wall on the sketch."))
        return _show(desk, view, person, form.values, form)

    def act() -> str:
        draw_wall(desk, person.id, zone_id, a, b)
        return f"/zones/{zone_id}/walls?said=drawn"

    try:
        return send_once(request, desk, person.id, form, act)
    except TOLD as refusal:
        status = refused(form, refusal, NAMES)
        return _show(desk, _standing(desk, person, zone_id), person, form.values, form, status)


def _standing(desk: Desk, person: Person, zone_id: str) -> ZoneView:
    view = zone_view(desk, person.id, zone_id)
    if not roles.may(view.seen.role, "draw a wall"):
        raise NotAllowed(tr("A crew lead or a project manager draws walls."))
    if view.zone.withdrawn is not None:
        raise Conflict(
            tr(
                "Zone {letter} was taken off the sketch: {withdrawn}.",
                letter=view.zone.letter,
                withdrawn=view.zone.withdrawn,
            )
        )
    if view.seen.sketch.scale is None:
        raise NoScale
    return view


def _chosen(sketch: SketchView, view: ZoneView, sent: Mapping[str, str]) -> Chosen:
    ground = plan_ground(sketch, home=view.zone.outline)
    return choose(sent, ground, PAIR, units=view.seen.project.units, words=tuple(map(tr, WORDS)))


def _show(
    desk: Desk,
    view: ZoneView,
    person: Person,
    sent: Mapping[str, str],
    form: Form | None = None,
    status: int = 0,
    said: str = "",
) -> Response:
    zone, project = view.zone, view.seen.project
    sketch = sketch_view(desk, person.id, zone.sketch_id)
    walls = [w for w in view.site.walls.values() if w.zone_id == zone.id and w.withdrawn is None]
    page = WallsPage(
        letter=zone.letter,
        drawing=plan_drawing(sketch, home=zone.outline),
        chosen=_chosen(sketch, view, sent),
        units=project.units,
        rows=tuple(
            ScheduleRow(str(n), words, way=tr("take away"), href=f"/walls/{wall.id}/withdraw")
            for n, wall in enumerate(walls, 1)
            for words in (wall_words(view.seen.sketch, wall, project.units),)
        ),
        key=form_key(form),
        action=f"/zones/{zone.id}/walls",
        back=f"/zones/{zone.id}",
    )
    return answer(
        "office/zone_walls.html", page, project, view.seen.role, person, form, status=status, said=said
    )


def wall_words(sketch: Sketch, wall: Wall, units: Units) -> str:
    """`Wall, 24 ft long, from C/4, 3 ft east`."""
    shown = Shown(sketch)
    long = say_distance(
        round(math.dist(shown.point(wall.a), shown.point(wall.b)) / 1000 * shown.nm_per_px), units
    )
    where = where_words(sketch, wall.a, units)
    if where:
        return tr("Wall, {length} long, from {where}", length=long, where=where)
    return tr("Wall, {length} long", length=long)


@router.get("/walls/{wall_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, wall_id: str) -> Response:
    return _show_wall(desk, person, wall_id)


@router.post("/walls/{wall_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, wall_id: str) -> Response:
    _, wall = wall_view(desk, person.id, wall_id)

    def act(reason: str) -> str:
        withdraw_wall(desk, person.id, wall_id, reason)
        return f"/zones/{wall.zone_id}/walls?said=gone"

    shown = partial(_show_wall, desk, person, wall_id)
    return take_back(request, desk, person, form, tr("Say why the wall is taken away."), act, shown)


def _show_wall(
    desk: Desk, person: Person, wall_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, wall = wall_view(desk, person.id, wall_id)
    if not roles.may(view.seen.role, "draw a wall"):
        raise NotAllowed(tr("A crew lead or a project manager takes walls away."))
    project = view.seen.project
    page = WallPage(
        letter=view.zone.letter,
        wall=wall_words(view.seen.sketch, wall, project.units),
        gone=wall.withdrawn or "",
        reason=form.value("reason") if form else "",
        key=form_key(form),
        action=f"/walls/{wall.id}/withdraw",
        back=f"/zones/{view.zone.id}/walls",
    )
    return answer("office/wall_withdraw.html", page, project, view.seen.role, person, form, status=status)
