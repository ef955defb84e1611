"""Lay out the sheets of a zone or a slab: ask, look, move the first sheet's edge, see its cost, keep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.film.layout_ground import Ground, ground_of_sketch, ground_of_zone
from service.actions.film.layout_keeping import keep_layout
from service.actions.film.sheet_layouts import Planned, planned
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.domain.nouns import roles
from service.domain.nouns.placing import Layout
from service.domain.sheets.words import CAUTIONS
from service.domain.words.refusals import BadInput, Conflict, NoScale
from service.domain.words.speech import tr, trn
from service.web.drawings.drawing import ScheduleRow
from service.web.film.layout_form import (
    LayoutForm,
    Sent,
    given_of,
    layout_form,
    names_of_fields,
    read_sent,
    sent_form,
)
from service.web.film.layout_shown import Answered, answered, drawing_of
from service.web.film.layout_words import cost_words, said_facts
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.sketch_answers import refused

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class LayoutPage:
    """`templates/office/sheet_layout.html`. `standing`: layouts that a kept one would take the place of;
    `warned`: what becomes of them. `key`, `reason`, `seams`: of the keeping."""

    title: str
    form: LayoutForm
    answered: Answered | None
    standing: tuple[ScheduleRow, ...]
    warned: str
    may: bool
    empty: str
    action: str
    key: str
    reason: str
    seams: bool
    back: str
    back_words: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where sheets are laid out: a zone, or zones of a sketch."""

    ground: Ground
    root: str
    slab: bool

    @property
    def action(self) -> str:
        return f"{self.root}/layout"


def _zone(desk: Desk, person: Person, zone_id: str) -> Place:
    return _place(ground_of_zone(desk, person.id, zone_id), f"/zones/{zone_id}", slab=False)


def _sketch(desk: Desk, person: Person, sketch_id: str) -> Place:
    return _place(ground_of_sketch(desk, person.id, sketch_id), f"/sketches/{sketch_id}", slab=True)


def _place(ground: Ground, root: str, *, slab: bool) -> Place:
    if ground.seen.sketch.scale is None:
        raise NoScale
    return Place(ground, root, slab)


# --- the pages -------------------------------------------------------------------------------------------


@router.get("/zones/{zone_id}/layout")
def zone_layout(request: Request, desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _look(request, person, _zone(desk, person, zone_id))


@router.get("/sketches/{sketch_id}/layout")
def slab_layout(request: Request, desk: TheDesk, person: Signed, sketch_id: str) -> Response:
    return _look(request, person, _sketch(desk, person, sketch_id))


@router.get("/zones/{zone_id}/layout/cost.json")
def zone_cost(request: Request, desk: TheDesk, person: Signed, zone_id: str) -> Response:
    return _cost(request, _zone(desk, person, zone_id))


@router.get("/sketches/{sketch_id}/layout/cost.json")
def slab_cost(request: Request, desk: TheDesk, person: Signed, sketch_id: str) -> Response:
    return _cost(request, _sketch(desk, person, sketch_id))


@router.post("/zones/{zone_id}/layout")
def keep_of_zone(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    return _keep(request, desk, person, form, _zone(desk, person, zone_id))


@router.post("/sketches/{sketch_id}/layout")
def keep_of_slab(request: Request, desk: TheDesk, person: Signed, form: Typed, sketch_id: str) -> Response:
    return _keep(request, desk, person, form, _sketch(desk, person, sketch_id))


def _look(request: Request, person: Person, place: Place) -> Response:
    sent = read_sent(sent_form(request), place.ground)
    found = _planned(place, sent) if sent.asked else None
    return _shown(person, place, sent, found)


def _planned(place: Place, sent: Sent) -> Planned | None:
    """The layout as asked; what is at fault is noted on the form."""
    ground, chosen = place.ground, set(sent.zone_ids(place.ground.zones))
    if place.slab and not chosen:
        sent.form.wrong("zones", tr("Choose the zones that the sheets lie over."))
        return None
    ground = replace(
        ground, zones=tuple(zone for zone in ground.zones if zone.id in chosen or not place.slab)
    )
    try:
        return planned(ground, given_of(sent, place.ground, slab=False))
    except BadInput as refusal:
        refused(sent.form, refusal, names_of_fields())
        return None


def _cost(request: Request, place: Place) -> Response:
    """What one place of the first sheet's edge comes to, and how the sheets then lie: for the script."""
    sent = read_sent(sent_form(request), place.ground, posted=True)
    found = _planned(place, sent)
    if found is None:
        return JSONResponse({"told": next(iter(sent.form.errors.values()), "")}, 422)
    best = _best(place, sent, found)
    drawing = drawing_of(found)
    words = cost_words(found.layout, best.layout, place.ground.seen.project.units)
    numbers = [[number.text, number.x, number.y] for number in drawing.numbers]
    told = {**words, "paths": dict(drawing.paths), "numbers": numbers, "seen_as": found.seen_as,
            "facts": [fact[1:] for fact in said_facts(found)]}  # fmt: skip
    return JSONResponse(told, headers={"Cache-Control": "no-store"})


def _keep(request: Request, desk: Desk, person: Person, form: Form, place: Place) -> Response:
    allow(place.ground.seen, "plan the sheets")
    sent = read_sent(form, place.ground, posted=True)
    given = given_of(sent, place.ground, slab=place.slab)
    if not place.slab:
        given["zones"] = [zone.id for zone in place.ground.zones]
    elif not given["zones"]:
        form.wrong("zones", tr("Choose the zones that the sheets lie over."))
    given |= {"draw_seams": form.flag("draw_seams"), "reason": form.value("reason")}

    def act() -> str:
        kept = keep_layout(desk, person.id, place.ground.seen.sketch.id, given, seen_as=form.value("seen_as"))
        said = f"&stayed={len(kept.stayed)}" if kept.stayed else ""
        return f"/layouts/{kept.layout.id}?said=kept{said}"

    status = 422
    try:
        if not form.errors:
            return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        status = refused(form, refusal, names_of_fields())
    return _shown(person, place, sent, _seen_again(place, sent), status)


def _seen_again(place: Place, sent: Sent) -> Planned | None:
    """The layout that was not kept, shown again beside why; its own faults are told already."""
    errors = dict(sent.form.errors)
    found = _planned(place, sent)
    sent.form.errors = errors or sent.form.errors
    return found


def _best(place: Place, sent: Sent, found: Planned) -> Planned:
    """The same with the least film sought."""
    if found.entry.offset_nm is None:
        return found
    kept = sent.form.values["offset"]
    sent.form.values["offset"] = ""
    best = _planned(place, sent)
    sent.form.values["offset"] = kept
    return best or found


# --- showing ---------------------------------------------------------------------------------------------


def _shown(person: Person, place: Place, sent: Sent, found: Planned | None, status: int = 0) -> Response:
    ground, form = place.ground, sent.form
    project = ground.seen.project
    standing = ground.standing_layouts()
    page = LayoutPage(
        title=_title(place),
        form=layout_form(ground, sent, place.action, slab=place.slab),
        answered=answered(found, _best(place, sent, found), sent, place.action) if found else None,
        standing=tuple(standing_row(ground, layout) for layout in standing),
        may=roles.may(ground.seen.role, "plan the sheets"),
        warned=_warned(found.ground.standing_layouts() if found else ()),
        empty="" if ground.zones else tr("No zone without concrete is outlined on this sketch yet."),
        action=place.action,
        key=form_key(form),
        reason=form.value("reason"),
        seams=form.flag("draw_seams") if form.has("seen_as") else True,
        back=place.root,
        back_words=tr("Back to the sketch") if place.slab else _back_words(ground),
    )
    shell = shell_of(project, ground.seen.role, person, errors=form.errors, cautions=CAUTIONS)
    html = render("office/sheet_layout.html", page, **shell)
    return HTMLResponse(html, status or (422 if form.errors else 200))


def _title(place: Place) -> str:
    if place.slab:
        return tr("Sheets of {sketch}", sketch=place.ground.seen.sketch.name)
    return tr("Sheets of zone {letter}", letter=place.ground.zones[0].letter)


def _back_words(ground: Ground) -> str:
    return tr("Back to zone {letter}", letter=ground.zones[0].letter)


def standing_row(ground: Ground, layout: Layout) -> ScheduleRow:
    """A layout that stands, with its zones and who kept it."""
    letters = ", ".join(ground.site.zones[zone].letter for zone in layout.zone_ids)
    when = moment(layout.signed.at, ground.seen.project.time_zone)
    by = ground.names.get(layout.signed.by, tr("a person no longer named"))
    told = tr("kept by {person}, {moment}", person=by, moment=when)
    main = trn("{n} sheet", "{n} sheets", len(layout.sheets))
    return ScheduleRow(letters, main, told, tr("See it"), f"/layouts/{layout.id}")


def _warned(standing: Sequence[Layout]) -> str:
    """What becomes of the layouts that a kept one takes the place of."""
    if not standing:
        return ""
    told = tr(
        "Kept, it takes the place of what stands here: that is withdrawn with your reason, and its seams "
        "that nobody walked with it. Walked seams stay."
    )
    laid = sum(len(x.sheets) for layout in standing for x in layout.laid if x.withdrawn is None)
    if not laid:
        return told
    more = trn(
        "{n} sheet is logged as laid to it: log it again to the new one.",
        "{n} sheets are logged as laid to it: log them again to the new one.",
        laid,
    )
    return f"{told} {more}"
