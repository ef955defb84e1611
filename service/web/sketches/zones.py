"""Outline a zone on a sketch, and change one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import LONGEST_NAME
from service.actions.frame.reading import SketchView, sketch_view
from service.actions.sketches.zones import change_zone, outline_zone
from service.domain.nouns import roles
from service.domain.nouns.site import Zone
from service.domain.sketch.places import from_base
from service.domain.words.refusals import NoScale, NotAllowed
from service.domain.words.speech import later, tr
from service.web.forms.choosing import Chosen
from service.web.forms.forms import Form, Typed
from service.web.forms.placed import read_ring, ring_text
from service.web.forms.sending import form_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.shared.sketch_answers import PLAN, TOLD, answer, refused
from service.web.sketches import walls, zone_withdraw
from service.web.sketches.zone_form import NAMES, ZonePage, chosen_corners, drawing_of, size_words, worked_out
from service.web.sketches.zone_withdraw import standing_view

router = APIRouter(include_in_schema=False)
router.include_router(walls.router)
router.include_router(zone_withdraw.router)

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
NEW_OUTLINE = later(
    "A new outline voids the zone's punch walk: the ground it takes in was not looked at. "
    "A released zone needs a new release."
)


# --- a new one -------------------------------------------------------------------------------------------


@router.get("/sketches/{sketch_id}/zones/new")
def new_page(desk: TheDesk, person: Signed, sketch_id: str) -> Response:
    view = _sketch(desk, person, sketch_id)
    typed = {"letter": _next_letter(view), "name": "", "place_at": "", "sides": ""}
    return _show_new(view, person, chosen_corners(view, {}), typed)


@router.post("/sketches/{sketch_id}/zones/new")
def outline(request: Request, desk: TheDesk, person: Signed, form: Typed, sketch_id: str) -> Response:
    view = _sketch(desk, person, sketch_id)
    chosen = chosen_corners(view, form.values)
    typed = _typed(form)
    if chosen.pressed:
        return _show_new(view, person, chosen, typed, form)
    if form.has("work"):
        text, note = worked_out(view, form, chosen)
        chosen = chosen_corners(view, {"outline": text})
        return _show_new(view, person, chosen, typed, form, note)
    letter = form.text("letter", needed=tr("Give the zone its letter."))
    name = form.text("name", most=LONGEST_NAME)
    place_at = form.moment("place_at", view.seen.project.time_zone)
    _need_corners(form, chosen)
    status = 0
    if not form.errors:

        def act() -> str:
            outline_zone(desk, person.id, sketch_id, letter, name, chosen.settled, place_at)
            return f"/sketches/{sketch_id}?said=zone"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal, NAMES)
            view = _sketch(desk, person, sketch_id)
    return _show_new(view, person, chosen, typed, form, status=status)


def _sketch(desk: Desk, person: Person, sketch_id: str) -> SketchView:
    view = sketch_view(desk, person.id, sketch_id)
    if not roles.may(view.seen.role, "outline a zone"):
        raise NotAllowed(tr("Only a project manager outlines a zone."))
    if view.seen.sketch.scale is None:
        raise NoScale
    return view


def _need_corners(form: Form, chosen: Chosen) -> None:
    if len(chosen.settled) < 3:
        form.wrong(PLAN, tr("Press the corners of the zone on the sketch: three at the least."))


def _typed(form: Form) -> dict[str, str]:
    return {name: form.value(name) for name in ("letter", "name", "place_at", "sides")}


def _next_letter(view: SketchView) -> str:
    """A letter no zone of the project had yet, withdrawn ones counted, because tags never repeat."""
    used = {zone.letter for zone in view.site.zones.values()}
    return next((letter for letter in LETTERS if letter not in used), "")


def _show_new(
    view: SketchView,
    person: Person,
    chosen: Chosen,
    typed: Mapping[str, str],
    form: Form | None = None,
    note: str = "",
    status: int = 0,
) -> Response:
    sketch = view.seen.sketch
    page = replace(
        _page(view, chosen, typed, form, note),
        title=tr("Outline a zone on {name}", name=sketch.name),
        words=tr("Outline the zone"),
        action=f"/sketches/{sketch.id}/zones/new",
        back=f"/sketches/{sketch.id}",
    )
    project, role = view.seen.project, view.seen.role
    return answer("office/zone_form.html", page, project, role, person, form, status=status)


def _page(
    view: SketchView,
    chosen: Chosen,
    typed: Mapping[str, str],
    form: Form | None,
    note: str,
    leave_out: str = "",
) -> ZonePage:
    project = view.seen.project
    return ZonePage(
        title="",
        sketch=view.seen.sketch.name,
        letter_fixed="",
        drawing=drawing_of(view, leave_out),
        chosen=chosen,
        units=project.units,
        typed=typed,
        size=size_words(view.seen.sketch, chosen.settled, project.units),
        note=note,
        sides_hint=tr("right 20 ft\ndown 12'-6\"\nleft 20 ft")
        if project.units == "us"
        else tr("right 6 m\ndown 4200 mm\nleft 6 m"),
        zone_time=project.time_zone,
        warning="",
        words="",
        key=form_key(form),
        action="",
        back="",
        withdraw="",
    )


# --- changing one ----------------------------------------------------------------------------------------


@router.get("/zones/{zone_id}/edit")
def edit_page(desk: TheDesk, person: Signed, zone_id: str) -> Response:
    view, zone = _zone(desk, person, zone_id)
    typed = {
        "letter": zone.letter,
        "name": zone.name,
        "place_at": _local(zone.place_at, view.seen.project.time_zone),
        "sides": "",
    }
    return _show_edit(
        view, zone, person, chosen_corners(view, {"outline": _as_kept(view, zone)}, zone.id), typed
    )


@router.post("/zones/{zone_id}/edit")
def change(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    view, zone = _zone(desk, person, zone_id)
    chosen = chosen_corners(view, form.values, zone_id)
    typed = _typed(form) | {"letter": zone.letter}
    if chosen.pressed:
        return _show_edit(view, zone, person, chosen, typed, form)
    if form.has("work"):
        text, note = worked_out(view, form, chosen)
        return _show_edit(
            view, zone, person, chosen_corners(view, {"outline": text}, zone_id), typed, form, note
        )
    name = form.text("name", most=LONGEST_NAME)
    place_at = form.moment("place_at", view.seen.project.time_zone)
    _need_corners(form, chosen)
    # The same corners, sent back, are no new outline: rounded to the picture they would void the walk.
    kept = chosen.values[0] == ring_text(read_ring(_as_kept(view, zone)))
    status = 0
    if not form.errors:

        def act() -> str:
            corners = None if kept else chosen.settled
            change_zone(desk, person.id, zone_id, name=name, outline=corners, place_at=place_at)
            return f"/sketches/{zone.sketch_id}?said=changed"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal, NAMES)
    return _show_edit(view, zone, person, chosen, typed, form, status=status)


def _zone(desk: Desk, person: Person, zone_id: str) -> tuple[SketchView, Zone]:
    """The zone on its sketch, for somebody who may outline zones; Conflict when it is off the sketch."""
    seen = standing_view(desk, person, zone_id)
    return sketch_view(desk, person.id, seen.zone.sketch_id), seen.zone


def _as_kept(view: SketchView, zone: Zone) -> str:
    return ring_text([from_base(view.seen.sketch, corner) for corner in zone.outline])


def _local(at: datetime | None, time_zone: str) -> str:
    """The moment as a day-and-time field holds it."""
    return "" if at is None else f"{at.astimezone(ZoneInfo(time_zone)):%Y-%m-%dT%H:%M}"


def _show_edit(
    view: SketchView,
    zone: Zone,
    person: Person,
    chosen: Chosen,
    typed: Mapping[str, str],
    form: Form | None = None,
    note: str = "",
    status: int = 0,
) -> Response:
    page = replace(
        _page(view, chosen, typed, form, note, zone.id),
        title=tr("Change zone {letter}", letter=zone.letter),
        letter_fixed=zone.letter,
        warning=tr(NEW_OUTLINE) if zone.walked_at is not None else "",
        words=tr("Change the zone"),
        action=f"/zones/{zone.id}/edit",
        back=f"/sketches/{zone.sketch_id}",
        withdraw="" if zone.placement else f"/zones/{zone.id}/withdraw",
    )
    project, role = view.seen.project, view.seen.role
    return answer("office/zone_form.html", page, project, role, person, form, status=status)
