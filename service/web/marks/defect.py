"""One mark: its drawing, how it stands and why, its patches and photos, where it is, what was done to it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.evidence.audit import history_of
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView, defect_view, patch_view
from service.actions.marks import defects, patches
from service.actions.marks.defects import withdraw_defect
from service.actions.marks.patches import withdraw_patch
from service.domain.nouns import roles
from service.domain.nouns.site import Defect
from service.domain.patches.repair import COVERED, NOT_SEALED, OPEN
from service.domain.words.speech import later, tr, trc
from service.web.drawings.drawing import Choice, PatchDrawing, PhotoRow, ReasonRow
from service.web.drawings.shown import where_words
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key
from service.web.marks.hole_matters import HoleMatters, hole_matters
from service.web.marks.mending import (
    RepairLine,
    cause_choices,
    look_wanted,
    pieces_words,
    repair_line,
    ways_to_mend,
)
from service.web.marks.pictures import before_after, photo_rows
from service.web.marks.seals import PatchLine, Words, mark_drawing, patch_line, stands_words
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_PATCH, CAUTION_WALK, css, need, patch_words, what
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html
from service.web.together.mark_beside import rows_beside
from service.web.together.patch_offers import OfferLine, offer_line

router = APIRouter(include_in_schema=False)

SAID = {
    "photo": later("The photo is kept."),
    "patch-withdrawn": later("The patch is withdrawn. It stays on record and no longer counts."),
    "repair": later("The repair is kept. How the mark stands now is told below."),
    "repair-withdrawn": later("The repair is withdrawn. It stays on record and no longer counts."),
    "look": later("The second look is kept."),
    "cause": later("What it likely came from is kept."),
}


@dataclass(frozen=True, slots=True)
class DefectPage:
    """`templates/crew/defect.html`. Addresses are empty where this person may not do it."""

    tag: str
    letter: str
    what: str
    kind: str
    stands: Words
    look_wanted: str
    need: str
    pieces: str
    facts: tuple[tuple[str, str], ...]
    drawing: PatchDrawing
    photos: tuple[PhotoRow, ...]
    before_after: tuple[PhotoRow, PhotoRow] | None
    patches: tuple[PatchLine, ...]
    repairs: tuple[RepairLine, ...]
    mends: tuple[ReasonRow, ...]
    beside: tuple[ReasonRow, ...]
    offer: OfferLine | None
    matters: HoleMatters | None
    causes: tuple[Choice, ...]
    cause: str
    cause_action: str
    lines: tuple[tuple[str, str], ...]
    patch_href: str
    patch_words: str
    photo_action: str
    withdraw_href: str
    zone_href: str
    key: str


@router.get("/defects/{defect_id}")
def defect(desk: TheDesk, person: Signed, defect_id: str, said: str = "") -> Response:
    return defect_shown(desk, person, *defect_view(desk, person.id, defect_id), said=tr(SAID.get(said, "")))


def defect_shown(
    desk: Desk, person: Person, view: ZoneView, defect: Defect, form: Form | None = None, said: str = ""
) -> Response:
    """The page of a mark; with a form, its errors and what was typed (422)."""
    lines = history_of(desk, view, defect.tag)
    zone = view.seen.project.time_zone
    told = tuple((moment(line.entry.at, zone), line.sentence) for line in reversed(lines))
    errors = form.errors if form else {}
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=errors,
        cautions=(CAUTION_PATCH if defect.kind in COVERED else CAUTION_WALK,),
        said=said,
        known=view.seen.head,
        zone_id=view.zone.id,
    )
    page = defect_page(view, defect, person.id, told, form.value("cause") if form else "")
    html = render("crew/defect.html", page, **shell)
    return HTMLResponse(html, 422 if errors else 200)


def defect_page(
    view: ZoneView, defect: Defect, person_id: str, lines: tuple[tuple[str, str], ...], cause: str = ""
) -> DefectPage:
    """Everything the mark's page shows, decided. `cause`: as chosen in a form that was refused."""
    project, role = view.seen.project, view.seen.role
    verdict, covered = view.verdict(defect), defect.kind in COVERED
    stands, unsettled = defect.withdrawn is None, verdict.state in (OPEN, NOT_SEALED)
    may_patch = stands and roles.may(role, "log a patch")
    may_go = roles.may(role, "withdraw a defect") and roles.may_withdraw(
        role, person_id, defect.by, defect.role
    )
    logged = any(p.withdrawn is None for p in view.patches_on(defect.id))
    words = patch_words(defect, again=logged)
    may_cause = stands and roles.may(role, "say what damage came from")
    return DefectPage(
        tag=defect.tag,
        letter=view.zone.letter,
        what=what(defect, project.units),
        kind=css(verdict.state),
        stands=stands_words(defect, verdict, project.units),
        look_wanted=look_wanted(view, defect),
        need=need(defect, project.sheet, project.units) if unsettled and covered else "",
        pieces=pieces_words(view, defect) if unsettled else "",
        facts=_facts(view, defect),
        drawing=mark_drawing(view, defect),
        photos=photo_rows(view, defect.id, defect.tag),
        before_after=before_after(view, defect),
        patches=tuple(patch_line(view, p, defect, person_id) for p in view.patches_on(defect.id)),
        repairs=tuple(repair_line(view, r, defect, person_id) for r in defect.repairs),
        mends=ways_to_mend(view, defect, verdict) if unsettled else (),
        beside=rows_beside(view, defect) if unsettled else (),
        offer=offer_line(view, defect),
        matters=hole_matters(view, defect),
        causes=cause_choices(),
        cause=cause or defect.cause,
        cause_action=f"/defects/{defect.id}/cause" if may_cause else "",
        lines=lines,
        patch_href=f"/defects/{defect.id}/patch" if may_patch and covered else "",
        patch_words=words,
        photo_action=f"/defects/{defect.id}/photos" if stands and roles.may(role, "add a photo") else "",
        withdraw_href=f"/defects/{defect.id}/withdraw" if stands and may_go else "",
        zone_href=f"/zones/{view.zone.id}",
        key=new_key(),
    )


def _facts(view: ZoneView, defect: Defect) -> tuple[tuple[str, str], ...]:
    project = view.seen.project
    who = view.names.get(defect.by, tr("a person no longer named"))
    rows = [
        (
            tr("Where"),
            where_words(view.seen.sketch, defect.at, project.units) or tr("as drawn on the sketch"),
        ),
        (tr("Marked"), f"{who}, {tr(defect.role)}, {moment(defect.marked_at, project.time_zone)}"),
    ]
    if defect.cause:
        rows.append((tr("Likely cause"), tr(defect.cause)))
    if defect.note:
        rows.append((tr("Note"), defect.note))
    if defect.after_placing:
        rows.append((tr("Received"), tr("after placing: concrete was in already")))
    if defect.during_placing:
        rows.append((trc("mark", "Found"), tr("during placing")))
    return tuple(rows)


# --- withdrawing -----------------------------------------------------------------------------------------


@router.get("/defects/{defect_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, defect_id: str) -> Response:
    return _withdraw_mark(desk, person, defect_id)


@router.post("/defects/{defect_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, defect_id: str) -> Response:
    def act(reason: str) -> str:
        gone = withdraw_defect(desk, person.id, defect_id, reason)
        return f"/zones/{gone.zone_id}?said=withdrawn"

    needed = tr("Say why the mark is withdrawn.")
    return take_back(
        request, desk, person, form, needed, act, partial(_withdraw_mark, desk, person, defect_id)
    )


def _withdraw_mark(
    desk: Desk, person: Person, defect_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, defect = defect_view(desk, person.id, defect_id)
    defects.allow_withdrawing(view.seen, person.id, defect)
    told = Withdrawing(
        title=tr("Withdraw {tag}", tag=defect.tag),
        words=tr(
            "{what}. Only for a mark entered by mistake: damage that was found is mended, not withdrawn. It "
            "stays in the history with your reason, and is listed at release.",
            what=what(defect, view.seen.project.units),
        ),
        gone=defect.withdrawn,
        action=f"/defects/{defect.id}/withdraw",
        back=f"/defects/{defect.id}",
        back_words=tr("Back to {tag}", tag=defect.tag),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)


@router.get("/patches/{patch_id}/withdraw")
def withdraw_patch_page(desk: TheDesk, person: Signed, patch_id: str) -> Response:
    return _withdraw_patch(desk, person, patch_id)


@router.post("/patches/{patch_id}/withdraw")
def withdraw_a_patch(request: Request, desk: TheDesk, person: Signed, form: Typed, patch_id: str) -> Response:
    def act(reason: str) -> str:
        gone = withdraw_patch(desk, person.id, patch_id, reason)
        return f"/defects/{gone.defect_id}?said=patch-withdrawn"

    needed = tr("Say why the patch is withdrawn.")
    return take_back(
        request, desk, person, form, needed, act, partial(_withdraw_patch, desk, person, patch_id)
    )


def _withdraw_patch(
    desk: Desk, person: Person, patch_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, patch = patch_view(desk, person.id, patch_id)
    patches.allow_withdrawing(view.seen, person.id, patch)
    tag = view.site.defects[patch.defect_id].tag
    told = Withdrawing(
        title=tr("Withdraw a patch on {tag}", tag=tag),
        words=tr(
            "For a patch that was taken up, or logged by mistake. It stays on record with your reason and no "
            "longer counts, so {tag} may be open again.",
            tag=tag,
        ),
        gone=patch.withdrawn,
        action=f"/patches/{patch.id}/withdraw",
        back=f"/defects/{patch.defect_id}",
        back_words=tr("Back to {tag}", tag=tag),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)
