"""Log sheets of a layout as laid, in a form for gloves; and take that back."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.film.layout_ground import Ground, ground_of_layout
from service.actions.film.layout_progress import Progress, progress_of
from service.actions.film.sheets_laid import laying_of, log_sheets, withdraw_sheets
from service.actions.frame.desk import Desk
from service.domain.nouns import roles
from service.domain.nouns.placing import Layout, PlannedSheet
from service.domain.sheets.words import CAUTIONS
from service.domain.sketch.where import where_words
from service.domain.words.measures import say_run
from service.domain.words.refusals import NotAllowed
from service.domain.words.speech import later, tr, trn
from service.history.sentences.placing import say_numbers
from service.web.drawings.drawing import CheckBox, Choice
from service.web.drawings.layout_drawing import LayoutDrawing
from service.web.film.layout_kept import kept_drawing, title_of
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.sketch_answers import TOLD, answer, refused
from service.web.shared.withdrawing import take_back

router = APIRouter(include_in_schema=False)

FIRST = 8  # sheets that stand open in the form; the rest are a press away
NOT_YOURS = later("A crew lead or a project manager logs the sheets laid.")


@dataclass(frozen=True, slots=True)
class LaidPage:
    """`templates/crew/layout_laid.html`. `next`: the sheets to lay next, `rest`: all the others not laid."""

    title: str
    gone: str
    told: str
    next: tuple[CheckBox, ...]
    rest: tuple[CheckBox, ...]
    rest_open: bool
    lots: tuple[Choice, ...]
    lot: str
    note: str
    drawing: LayoutDrawing
    film_href: str
    action: str
    key: str
    back: str


@router.get("/layouts/{layout_id}/laid")
def laid_page(desk: TheDesk, person: Signed, layout_id: str) -> Response:
    return _show(*ground_of_layout(desk, person.id, layout_id), person)


@router.post("/layouts/{layout_id}/laid")
def laid(request: Request, desk: TheDesk, person: Signed, form: Typed, layout_id: str) -> Response:
    sheets = [int(name[6:]) for name in form.values if name.startswith("sheet-") and name[6:].isdecimal()]
    if not sheets:
        form.wrong("sheets", tr("Choose the sheets that were laid."))
    if not form.value("lot"):
        form.wrong("lot", tr("Choose the lot that they were cut from."))
    status = 0
    if not form.errors:

        def act() -> str:
            log_sheets(desk, person.id, layout_id, sheets, form.value("lot"), form.value("note"))
            return f"/layouts/{layout_id}?said=laid"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal)
    return _show(*ground_of_layout(desk, person.id, layout_id), person, form, status)


def _show(
    ground: Ground, layout: Layout, person: Person, form: Form | None = None, status: int = 0
) -> Response:
    if not roles.may(ground.seen.role, "log sheets laid"):
        raise NotAllowed(tr(NOT_YOURS))
    told, project = progress_of(ground, layout), ground.seen.project
    boxes = [_box(ground, sheet, form) for sheet in told.next]
    rest = boxes[FIRST:]
    page = LaidPage(
        title=title_of(ground, layout),
        gone="" if layout.withdrawn is None else tr("Withdrawn: {reason}", reason=layout.withdrawn),
        told=_told(told),
        next=tuple(boxes[:FIRST]),
        rest=tuple(rest),
        rest_open=any(box.checked for box in rest),
        lots=tuple(_lots(ground)),
        lot=form.value("lot") if form else _last_lot(ground, layout),
        note=form.value("note") if form else "",
        drawing=kept_drawing(ground, layout, told),
        film_href=f"/projects/{project.id}/film",
        action=f"/layouts/{layout.id}/laid",
        key=form_key(form),
        back=f"/layouts/{layout.id}",
    )
    errors = form.errors if form else {}
    zone_id = layout.zone_ids[0] if len(layout.zone_ids) == 1 else ""
    shell = shell_of(
        project, ground.seen.role, person, errors=errors, cautions=CAUTIONS, known=ground.seen.head,
        zone_id=zone_id,
    )  # fmt: skip
    return HTMLResponse(render("crew/layout_laid.html", page, **shell), status or (422 if errors else 200))


def _told(told: Progress) -> str:
    if not told.next:
        return tr("Every sheet is logged as laid.")
    return tr("{laid} of {all} sheets laid. The next ones stand first.", laid=len(told.laid), all=told.sheets)


def _box(ground: Ground, sheet: PlannedSheet, form: Form | None) -> CheckBox:
    units, name = ground.seen.project.units, f"sheet-{sheet.number}"
    x, y = (round(sum(at[axis] for at in sheet.corners) / 4) for axis in (0, 1))
    where = where_words(ground.seen.sketch, (x, y), units)
    size = say_run(sheet.cut_length_nm, units)
    small = tr("{size} long, at {where}", size=size, where=where) if where else tr("{size} long", size=size)
    return CheckBox(name, tr("Sheet {number}", number=sheet.number), small, bool(form and form.flag(name)))


def _lots(ground: Ground) -> list[Choice]:
    found = []
    for lot in ground.film_lots():
        words = tr("Lot {number}", number=lot.number)
        material = ground.site.materials[lot.material_id].name
        found.append(Choice(lot.id, words, material))
    return found


def _last_lot(ground: Ground, layout: Layout) -> str:
    """The lot that sheets were last logged with, of this layout or in its zones; or the only one there is."""
    laid = [(one.signed.seq, one.lot_id) for one in layout.laid if one.withdrawn is None]
    laid += [(one.signed.seq, one.lot_id) for z in ground.zones for one in z.laid if one.withdrawn is None]
    lots = [lot.id for lot in ground.film_lots()]
    used = [lot for _, lot in sorted(laid, reverse=True) if lot in lots]
    return used[0] if used else lots[0] if len(lots) == 1 else ""


# --- taking back -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class BackPage:
    """`templates/crew/layout_back.html`."""

    title: str
    words: str
    gone: str
    reason: str
    film_too: bool
    film_words: str
    action: str
    key: str
    back: str


@router.get("/layouts/{layout_id}/laid/{laying_id}/withdraw")
def back_page(desk: TheDesk, person: Signed, layout_id: str, laying_id: str) -> Response:
    return _show_back(desk, person, layout_id, laying_id)


@router.post("/layouts/{layout_id}/laid/{laying_id}/withdraw")
def send_back(
    request: Request, desk: TheDesk, person: Signed, form: Typed, layout_id: str, laying_id: str
) -> Response:
    def act(reason: str) -> str:
        withdraw_sheets(desk, person.id, layout_id, laying_id, reason, film_too=form.flag("film_too"))
        return f"/layouts/{layout_id}?said=back"

    shown = partial(_show_back, desk, person, layout_id, laying_id)
    return take_back(request, desk, person, form, tr("Say why it is taken back."), act, shown)


def _show_back(
    desk: Desk, person: Person, layout_id: str, laying_id: str, form: Form | None = None, status: int = 0
) -> Response:
    ground, layout = ground_of_layout(desk, person.id, layout_id)
    laying = laying_of(layout, laying_id)
    role = ground.seen.role
    own = roles.may_withdraw(role, person.id, laying.signed.by, laying.signed.role)
    if not (roles.may(role, "log sheets laid") and own):
        raise NotAllowed(tr("It is taken back by whoever logged it, or by the project manager."))
    lot, letter = ground.site.lots[laying.lot_id].number, ground.site.zones[laying.zone_id].letter
    numbers = say_numbers(laying.sheets)
    page = BackPage(
        title=trn("Take back sheet {numbers}", "Take back sheets {numbers}", len(laying.sheets),
                  numbers=numbers),
        words=tr("Logged as laid in zone {letter}, lot {number}. Take it back only if that is not so.",
                 letter=letter, number=lot),
        gone=laying.withdrawn or "",
        reason=form.value("reason") if form else "",
        film_too=bool(form and form.flag("film_too")),
        film_words=tr("No film of lot {number} lies in zone {letter} at all", number=lot, letter=letter),
        action=f"/layouts/{layout.id}/laid/{laying.id}/withdraw",
        key=form_key(form),
        back=f"/layouts/{layout.id}",
    )  # fmt: skip
    return answer("crew/layout_back.html", page, ground.seen.project, role, person, form, status=status)
