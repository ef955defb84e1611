"""A second look at a patch or a repair: what was logged, and one answer by another person than its maker."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView, defect_view, patch_view
from service.actions.marks import looks
from service.actions.marks.repairs import repair_on
from service.domain.nouns.site import Defect
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import later, tr, trc
from service.web.drawings.drawing import Choice, PatchDrawing, PhotoRow
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.marks.mending import RepairLine, repair_line
from service.web.marks.seals import PatchLine, mark_drawing, patch_line
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK, COVER_STRIP, PATCH, film_word, what

router = APIRouter(include_in_schema=False)

ACCEPT, REFUSE = "accept", "refuse"
NEEDED = later("Say whether you accept it or refuse it.")


@dataclass(frozen=True, slots=True)
class LookPage:
    """`templates/crew/look.html`. `gone`: why what was logged no longer stands, or nothing."""

    tag: str
    go_and_see: str
    what: str
    made: str
    verdict: str
    facts: tuple[tuple[str, str], ...]
    note_of: str
    gone: str
    looks: tuple[str, ...]
    photos: tuple[PhotoRow, ...]
    drawing: PatchDrawing | None
    answers: tuple[Choice, ...]
    answer: str
    note: str
    action: str
    back: str
    key: str


@router.get("/patches/{patch_id}/look")
def patch_look(desk: TheDesk, person: Signed, patch_id: str) -> Response:
    return _patch(desk, person, patch_id)


@router.post("/patches/{patch_id}/look")
def look_at_patch(request: Request, desk: TheDesk, person: Signed, form: Typed, patch_id: str) -> Response:
    def act(accepted: bool, note: str) -> str:
        return looks.look_at_patch(desk, person.id, patch_id, accepted, note).defect_id

    return _sent(request, desk, person, form, act) or _patch(desk, person, patch_id, form)


@router.get("/defects/{defect_id}/repairs/{repair_id}/look")
def repair_look(desk: TheDesk, person: Signed, defect_id: str, repair_id: str) -> Response:
    return _repair(desk, person, defect_id, repair_id)


@router.post("/defects/{defect_id}/repairs/{repair_id}/look")
def look_at_repair(
    request: Request, desk: TheDesk, person: Signed, form: Typed, defect_id: str, repair_id: str
) -> Response:
    def act(accepted: bool, note: str) -> str:
        looks.look_at_repair(desk, person.id, defect_id, repair_id, accepted, note)
        return defect_id

    return _sent(request, desk, person, form, act) or _repair(desk, person, defect_id, repair_id, form)


def _sent(
    request: Request, desk: Desk, person: Person, form: Form, act: Callable[[bool, str], str]
) -> Response | None:
    """Send the look once and go to the mark it is about; None where the form must be shown again."""
    answer = form.choice("answer", (ACCEPT, REFUSE), needed=tr(NEEDED))
    note = form.text("note", needed=tr(looks.SAY_WHY) if form.value("answer") == REFUSE else "")
    if form.errors:
        return None
    try:
        return send_once(
            request, desk, person.id, form, lambda: f"/defects/{act(answer == ACCEPT, note)}?said=look"
        )
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        return None


def _patch(desk: Desk, person: Person, patch_id: str, form: Form | None = None) -> Response:
    view, patch = patch_view(desk, person.id, patch_id)
    looks.allow_looking(view.seen, person.id, patch.by)
    defect = view.site.defects[patch.defect_id]
    line = patch_line(view, patch, defect, person.id)
    return _shown(view, person, defect, line, f"/patches/{patch_id}/look", form)


def _repair(desk: Desk, person: Person, defect_id: str, repair_id: str, form: Form | None = None) -> Response:
    view, defect = defect_view(desk, person.id, defect_id)
    repair = repair_on(defect, repair_id)
    looks.allow_looking(view.seen, person.id, repair.signed.by)
    line = repair_line(view, repair, defect, person.id)
    return _shown(view, person, defect, line, f"/defects/{defect_id}/repairs/{repair_id}/look", form)


def _shown(
    view: ZoneView,
    person: Person,
    defect: Defect,
    line: PatchLine | RepairLine,
    action: str,
    form: Form | None,
) -> Response:
    errors = form.errors if form else {}
    patch = isinstance(line, PatchLine)
    page = LookPage(
        tag=defect.tag,
        go_and_see=_go_and_see(film_word(defect) if patch else ""),
        what=what(defect, view.seen.project.units),
        made=line.title,
        verdict=line.verdict,
        facts=line.facts,
        note_of=line.note,
        gone=line.withdrawn,
        looks=line.looks,
        photos=line.photos if isinstance(line, PatchLine) else (),
        drawing=mark_drawing(view, defect) if patch else None,
        answers=(
            Choice(ACCEPT, trc("look", "Accepted"), tr("seen on site, and it holds")),
            Choice(REFUSE, trc("look", "Refused"), tr("it holds the zone until it is mended anew")),
        ),
        answer=form.value("answer") if form else "",
        note=form.value("note") if form else "",
        action=action,
        back=f"/defects/{defect.id}",
        key=form_key(form),
    )
    shell = shell_of(view.seen.project, view.seen.role, person, errors=errors, cautions=(CAUTION_WALK,))
    return HTMLResponse(render("crew/look.html", page, **shell), 422 if errors else 200)


def _go_and_see(piece: str) -> str:
    """`piece`: what was laid over the mark, nothing where it was mended otherwise."""
    if piece == PATCH:
        return tr("Go and see the patch itself: press its edges, look along the tape.")
    if piece == COVER_STRIP:
        return tr("Go and see the cover strip itself: press its edges, look along the tape.")
    return tr("Go and see the repair itself: press its edges, look along the tape.")
