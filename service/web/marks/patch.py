"""Log a patch as the tape measure reads it or by its size, with the verdict while typing and after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.reading import ZoneView, defect_view, patch_view
from service.actions.marks.patches import log_patch, preview_patch
from service.domain.nouns import roles
from service.domain.nouns.site import Defect
from service.domain.patches.repair import COVERED
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr
from service.web.drawings.drawing import PatchDrawing
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key
from service.web.marks.patch_form import given_patch, given_shape, has_earlier, offered, patch_page
from service.web.marks.pictures import send_once_with_photos
from service.web.marks.seals import PatchLine, Words, mark_drawing, patch_line, reach_words, stands_words
from service.web.marks.shapes import note_wrong
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import (
    CAUTION_PATCH,
    CAUTION_WEATHER,
    COVER_STRIP,
    FORM_UNIT,
    film_word,
    patch_words,
    what,
)
from service.web.together.patch_offers import AS_PLANNED, PLANNED, planned_fields, ticked

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class PatchedPage:
    """`templates/crew/patched.html`: what a patch did to its mark, and what to do next.

    `strip`: it is a cover strip."""

    tag: str
    strip: bool
    letter: str
    what: str
    stands: Words
    drawing: PatchDrawing
    patch: PatchLine
    unsettled: bool
    again_href: str
    again_words: str
    next_href: str
    mark_href: str
    zone_href: str
    key: str


@router.get("/defects/{defect_id}/patch")
def patch_form(request: Request, desk: TheDesk, person: Signed, defect_id: str) -> Response:
    """The form with what was used last; a plan's link fills in size and place, and ticks the other marks."""
    view, defect = defect_view(desk, person.id, defect_id)
    allow(view.seen, "log a patch")
    if defect.withdrawn is not None:
        return RedirectResponse(f"/defects/{defect.id}", 303)
    planned, also = planned_fields(request.query_params), ticked(request.query_params.getlist("also"))
    values = {**offered(view, person.id), **planned}
    if not planned:
        return _shown(view, person, defect, values, also=also)
    verdict = _as_planned(desk, person, view, defect, values)
    return _shown(view, person, defect, values, verdict=verdict, also=also, planned=tr(AS_PLANNED))


def _as_planned(desk: Desk, person: Person, view: ZoneView, defect: Defect, values: dict[str, str]) -> Words:
    """What the patch would come to; nothing where the address was not made by a plan."""
    unit = FORM_UNIT[view.seen.project.units]
    form = Form(FormData([*values.items(), *((f"{name}_unit", unit) for name in PLANNED)]))
    try:
        verdict = _worked_out(desk, person, view, defect, form)
    except (BadInput, Conflict):
        return "", "", ""
    return ("", "", "") if form.errors else verdict


@router.post("/defects/{defect_id}/patch")
def log(request: Request, desk: TheDesk, person: Signed, form: Typed, defect_id: str) -> Response:
    view, defect = defect_view(desk, person.id, defect_id)
    allow(view.seen, "log a patch")
    if form.has("turn"):
        return _shown(view, person, defect, form.values, form)
    verdict: Words = ("", "", "")
    try:
        if form.has("check"):
            verdict = _worked_out(desk, person, view, defect, form)
        else:
            given = {**given_patch(form, defect), "new_id": form.value("new_id")}

            def act() -> tuple[str, str, str]:
                judged = log_patch(desk, person.id, defect_id, given)
                return "patch", judged.patch.id, f"/patches/{judged.patch.id}"

            if not form.errors:
                return send_once_with_photos(request, desk, person.id, form, ("defect", defect_id), act)
    except (BadInput, Conflict) as refusal:
        note_wrong(form, refusal)
    return _shown(view, person, defect, form.values, form, verdict)


@router.post("/defects/{defect_id}/patch/preview")
def preview(desk: TheDesk, person: Signed, form: Typed, defect_id: str) -> Response:
    """What the shape typed so far would come to, with what lies there already; nothing is recorded."""
    view, defect = defect_view(desk, person.id, defect_id)
    try:
        words, small, kind = _worked_out(desk, person, view, defect, form)
    except (BadInput, Conflict) as refusal:
        note_wrong(form, refusal)
        words, small, kind = next(iter(form.errors.values())), "", ""
    return JSONResponse({"words": words, "small": small, "kind": kind}, 422 if form.errors else 200)


def _worked_out(desk: Desk, person: Person, view: ZoneView, defect: Defect, form: Form) -> Words:
    project = view.seen.project
    overlap = preview_patch(desk, person.id, defect.id, given_shape(form, defect))
    words, small, kind = reach_words(overlap, project.sheet.patch_overlap.nm, project.units)
    if defect.kind not in COVERED:
        return (
            tr("This does not seal it"),
            tr("A flat patch does not mend this, however far it reaches."),
            "stop",
        )
    if has_earlier(view, defect):
        small = tr("Together with what lies there already. {words}", words=small)
    return words, small, kind


def _shown(
    view: ZoneView,
    person: Person,
    defect: Defect,
    values: dict[str, str],
    form: Form | None = None,
    verdict: Words = ("", "", ""),
    also: Sequence[str] = (),
    planned: str = "",
) -> Response:
    errors = form.errors if form else {}
    ticks = form.many("also") if form else list(also)
    page = patch_page(view, defect, values, ticks, verdict, planned)
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=errors,
        cautions=(CAUTION_PATCH, CAUTION_WEATHER),
        known=view.seen.head,
        zone_id=view.zone.id,
    )
    return HTMLResponse(render("crew/patch.html", page, **shell), 422 if errors else 200)


@router.get("/patches/{patch_id}")
def patched(desk: TheDesk, person: Signed, patch_id: str) -> Response:
    view, patch = patch_view(desk, person.id, patch_id)
    project, defect = view.seen.project, view.site.defects[patch.defect_id]
    stands = stands_words(defect, view.verdict(defect), project.units)
    may_patch = defect.withdrawn is None and roles.may(view.seen.role, "log a patch")
    page = PatchedPage(
        tag=defect.tag,
        strip=film_word(defect) == COVER_STRIP,
        letter=view.zone.letter,
        what=what(defect, project.units),
        stands=stands,
        drawing=mark_drawing(view, defect),
        patch=patch_line(view, patch, defect, person.id),
        unsettled=stands[2] == "short",
        again_href=f"/defects/{defect.id}/patch" if may_patch else "",
        again_words=patch_words(defect, again=True),
        next_href=f"/zones/{view.zone.id}/mark" if roles.may(view.seen.role, "mark a defect") else "",
        mark_href=f"/defects/{defect.id}",
        zone_href=f"/zones/{view.zone.id}",
        key=new_key(),
    )
    shell = shell_of(project, view.seen.role, person, cautions=(CAUTION_PATCH,))
    return HTMLResponse(render("crew/patched.html", page, **shell))
