"""Walk order: the next mark in big letters, which way and how far, and the rest by the least walking.

Where somebody stands is no fact of the site: it is kept on their phone alone, a cookie for each zone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.frame.reading import ZoneView
from service.actions.marks.walk_order import to_visit, walk_of
from service.domain.nouns import roles
from service.domain.nouns.site import Defect, Px
from service.domain.patches.repair import COVERED
from service.domain.sketch.places import from_base, to_base
from service.domain.walk.order import Visit, WalkOrder
from service.domain.words.measures import Units, say_distance
from service.domain.words.refusals import NoScale
from service.domain.words.speech import later, tr, trn
from service.web.crew.walk_drawing import walk_drawing
from service.web.drawings.drawing import ScheduleRow, SketchDrawing, ZoneDrawing
from service.web.drawings.shown import Shown, where_words
from service.web.forms.choosing import POINT, Chosen, choose, ground_of
from service.web.serving import guards
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import (
    CAUTION_PATCH,
    CAUTION_WALK,
    SEAM_KINDS_OF_MARK,
    css,
    mark_rows,
    need,
    what,
)
from service.web.shared.zone_views import standing_view

router = APIRouter(include_in_schema=False)

COOKIE = "stand"
A_DAY = 86_400
# Eighths of a turn on the sketch from the right, clockwise.
WAYS = (
    later("To the right on the sketch"),
    later("Right and down on the sketch"),
    later("Down on the sketch"),
    later("Left and down on the sketch"),
    later("To the left on the sketch"),
    later("Left and up on the sketch"),
    later("Up on the sketch"),
    later("Right and up on the sketch"),
)


@dataclass(frozen=True, slots=True)
class NextMark:
    """The mark to go to. `turn`: of the arrow, in degrees clockwise from the right; None: no way is told."""

    tag: str
    far: str
    way: str
    turn: int | None
    round_walls: str
    where: str
    what: str
    need: str
    mark_href: str
    patch_href: str
    patch_words: str
    repair_href: str
    next_href: str
    stand_href: str


@dataclass(frozen=True, slots=True)
class WalkOrderPage:
    """`templates/crew/walk_order.html`. `choosing`: where one stands is being asked."""

    letter: str
    root: str
    empty: str
    from_words: str
    next: NextMark | None
    length: str
    told: str
    rows: tuple[ScheduleRow, ...]
    beyond: tuple[ScheduleRow, ...]
    drawing: ZoneDrawing | None
    sketch: SketchDrawing
    chosen: Chosen
    choosing: bool
    amiss: str
    units: str


@router.get("/zones/{zone_id}/walk-order")
def walk_order(request: Request, desk: TheDesk, person: Signed, zone_id: str, show: str = "") -> Response:
    view = standing_view(desk, person, zone_id)
    sent = request.query_params
    chosen = _chosen(view, dict(sent))
    if chosen.places[0] is not None and not chosen.pressed and "x" in sent:
        return _stood(request, view, chosen.places[0])
    start = stands_at(request, zone_id)
    number = int(show) if show.isascii() and show.isdigit() and len(show) < 4 else 1
    page = walk_order_page(view, start, number, chosen)
    if "x" in sent and not chosen.pressed:
        page = replace(page, choosing=True, amiss=tr("Press the place on the sketch: where do you stand?"))
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        cautions=(CAUTION_WALK, CAUTION_PATCH),
        known=view.seen.head,
        zone_id=view.zone.id,
    )
    return HTMLResponse(render("crew/walk_order.html", page, **shell))


def _stood(request: Request, view: ZoneView, place: tuple[float, float]) -> Response:
    """Kept on this phone for a day, in the base frame: a newer picture moves nobody."""
    x, y = to_base(view.seen.sketch, place)
    answer = RedirectResponse(f"/zones/{view.zone.id}/walk-order", 303)
    answer.set_cookie(
        COOKIE, f"{x}.{y}", max_age=A_DAY, path=f"/zones/{view.zone.id}",
        secure=guards.over_https(request), httponly=True, samesite="lax",
    )  # fmt: skip
    return answer


def stands_at(request: Request, zone_id: str) -> Px | None:
    """Where this phone said last that it stands in the zone; None where it did not."""
    try:
        x, y = (int(part) for part in request.cookies.get(COOKIE, "").split("."))
    except ValueError:
        return None
    return (x, y) if max(abs(x), abs(y)) <= 1_000_000_000 else None


def _chosen(view: ZoneView, sent: dict[str, str]) -> Chosen:
    ground = ground_of(
        view.seen.sketch,
        home=view.zone.outline,
        rings=[view.zone.outline],
        walls=[(w.a, w.b) for w in view.site.walls.values() if w.withdrawn is None],
        words=[(mark.tag, mark.at) for mark in to_visit(view)],
    )
    return choose(sent, ground, POINT, units=view.seen.project.units)


def walk_order_page(view: ZoneView, start: Px | None, show: int, chosen: Chosen) -> WalkOrderPage:
    """Everything the page shows, decided. `show`: which of the visits stands in big letters, from 1."""
    found = walk_of(view, start)
    shown, units = Shown(view.seen.sketch), view.seen.project.units
    if found is None:
        raise NoScale
    marks = {mark.id: mark for mark in to_visit(view)}
    visits = found.visits
    at = min(max(show, 1), len(visits)) if visits else 0
    return WalkOrderPage(
        letter=view.zone.letter,
        root=f"/zones/{view.zone.id}",
        empty="" if marks else tr("No open mark here: nothing to walk to."),
        from_words=_from_words(found, at),
        next=_next(view, found, at, marks) if at else None,
        length=tr("{length} in all", length=say_distance(found.length_nm, units)),
        told=_told(found),
        rows=tuple(_rows(view, visits, marks, at)),
        beyond=tuple(mark_rows(view, [marks[stop.id] for stop in found.beyond])),
        drawing=walk_drawing(view, shown, found, at),
        sketch=shown.viewer(
            "sketch",
            tr("Where you stand on the sketch"),
            ring=view.zone.outline,
            zones=[(view.zone.letter, view.zone.outline, css(view.standing.state))],
            walls=view.site.walls.values(),
            marks_href=f"/zones/{view.zone.id}/marks.json",
        ),
        chosen=chosen,
        choosing=start is None or chosen.pressed,
        amiss="",
        units=units,
    )


def _from_words(found: WalkOrder, at: int) -> str:
    if at > 1:
        return tr("From {tag}", tag=found.visits[at - 2].stop.tag)
    if found.start is None:
        return tr("Begin here: then the rest is least to walk")
    return tr("From where you stand")


def _told(found: WalkOrder) -> str:
    if not found.visits:
        return ""
    if found.exact:
        return tr("No other order is less to walk.")
    return tr("Many marks: a shorter order may exist, by little.")


def _next(view: ZoneView, found: WalkOrder, at: int, marks: dict[str, Defect]) -> NextMark:
    visit = found.visits[at - 1]
    mark, project, sketch = marks[visit.stop.id], view.seen.project, view.seen.sketch
    role, root = view.seen.role, f"/zones/{view.zone.id}/walk-order"
    turn, ends = _turn(view, visit), max(len(visit.way) - 2, 0)
    x, y = from_base(sketch, mark.at)
    return NextMark(
        tag=mark.tag,
        far=_far(visit, project.units),
        way="" if turn is None else tr(WAYS[round(turn / 45) % 8]),
        turn=turn,
        round_walls=trn("then round the end of a wall", "then round {n} ends of walls", ends) if ends else "",
        where=where_words(sketch, mark.at, project.units),
        what=what(mark, project.units),
        need=need(mark, project.sheet, project.units),
        mark_href=f"/defects/{mark.id}",
        patch_href=f"/defects/{mark.id}/patch"
        if mark.kind in COVERED and roles.may(role, "log a patch")
        else "",
        patch_words=tr("Log the cover strip") if mark.kind in SEAM_KINDS_OF_MARK else tr("Log the patch"),
        repair_href=f"/defects/{mark.id}/repair" if roles.may(role, "log a repair") else "",
        next_href=f"{root}?show={at + 1}" if at < len(found.visits) else "",
        stand_href=f"{root}?x={x:.3f}&y={y:.3f}",
    )


def _far(visit: Visit, units: Units) -> str:
    if not visit.way:
        return ""
    return say_distance(visit.leg_nm, units) if visit.leg_nm else tr("You stand at it")


def _turn(view: ZoneView, visit: Visit) -> int | None:
    """Which way the leg sets out on today's picture, in degrees clockwise from the right."""
    if len(visit.way) < 2 or visit.leg_nm == 0:
        return None
    (ax, ay), (bx, by) = (from_base(view.seen.sketch, spot) for spot in visit.way[:2])
    return round(math.degrees(math.atan2(by - ay, bx - ax))) % 360


def _rows(view: ZoneView, visits: tuple[Visit, ...], marks: dict[str, Defect], at: int) -> list[ScheduleRow]:
    """All but the one in big letters, from the one after it on, then those before it."""
    turn = [*visits[at:], *visits[: max(at - 1, 0)]]
    rows = mark_rows(view, [marks[visit.stop.id] for visit in turn])
    return [
        replace(row, way=say_distance(visit.leg_nm, view.seen.project.units) if visit.way else "")
        for row, visit in zip(rows, turn, strict=True)
    ]


def in_walk_order(view: ZoneView, start: Px | None, marks: list[Defect]) -> list[Defect]:
    """These marks as the walk comes to them; those it does not come to last."""
    found = walk_of(view, start)
    if found is None:
        return marks
    turn = {visit.stop.id: k for k, visit in enumerate(found.visits)}
    return sorted(marks, key=lambda mark: turn.get(mark.id, len(turn)))
