"""A layout as it was kept: its sheets drawn, what is laid and what is left; and taking it back."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.closeout.layout_paper import layout_paper
from service.actions.entrance.accounts import Person
from service.actions.film.layout_ground import Ground, ground_of_layout
from service.actions.film.layout_keeping import withdraw_layout
from service.actions.film.layout_progress import Progress, progress_of
from service.actions.frame.desk import Desk
from service.domain.nouns import roles
from service.domain.nouns.placing import Layout
from service.domain.sheets.words import CAUTIONS, direction_words, order_words
from service.domain.words.measures import say_area, say_distance
from service.domain.words.refusals import NotAllowed
from service.domain.words.speech import later, tr, trn
from service.history.sentences.placing import say_numbers
from service.web.drawings.drawing import ScheduleRow
from service.web.drawings.layout_drawing import LayoutDrawing, ToDraw, draw_layout
from service.web.drawings.shown import Shown
from service.web.film.layout_words import MM2_PER_M2, Fact, roll_words, sheet_row
from service.web.forms.forms import Form, Typed
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html

router = APIRouter(include_in_schema=False)

SAID = {
    "kept": later("The layout is kept."),
    "laid": later("The sheets are logged as laid."),
    "back": later("That is taken back. It stays in the history."),
    "gone": later("The layout is withdrawn. It stays in the history with its reason."),
}


@dataclass(frozen=True, slots=True)
class KeptPage:
    """`templates/crew/layout.html`. `stands`: the layout's own state, where it is withdrawn; `layings`: what
    was logged as laid, each with the way to take it back."""

    title: str
    stands: str
    drawing: LayoutDrawing
    facts: tuple[Fact, ...]
    order: str
    next: tuple[ScheduleRow, ...]
    rest: tuple[ScheduleRow, ...]
    laid: tuple[ScheduleRow, ...]
    lots: tuple[ScheduleRow, ...]
    layings: tuple[ScheduleRow, ...]
    about: tuple[Fact, ...]
    lay_href: str
    paper_href: str
    order_href: str
    again_href: str
    withdraw_href: str
    back: str
    back_words: str


@router.get("/layouts/{layout_id}")
def kept_layout(desk: TheDesk, person: Signed, layout_id: str, said: str = "", stayed: str = "") -> Response:
    ground, layout = ground_of_layout(desk, person.id, layout_id)
    told = tr(SAID.get(said, ""))
    if said == "kept" and stayed.isascii() and stayed.isdigit() and len(stayed) < 5:
        more = trn(
            "{n} seam of the one before stays: somebody walked it.",
            "{n} seams of the one before stay: somebody walked them.",
            int(stayed),
        )
        told = f"{told} {more}"
    shell = shell_of(ground.seen.project, ground.seen.role, person, said=told, cautions=CAUTIONS)
    return HTMLResponse(render("crew/layout.html", _page(ground, layout), **shell))


@router.get("/layouts/{layout_id}/sheets.pdf")
def paper_of_layout(desk: TheDesk, person: Signed, layout_id: str) -> Response:
    paper = layout_paper(desk, person.id, layout_id)
    headers = {"Content-Disposition": f'inline; filename="{paper.name}"'}
    return Response(paper.content, media_type="application/pdf", headers=headers)


def _page(ground: Ground, layout: Layout) -> KeptPage:
    told = progress_of(ground, layout)
    sketch, units, role = ground.seen.sketch, ground.seen.project.units, ground.seen.role
    laid = [sheet for sheet in layout.sheets if sheet.number in told.laid]
    rows = [sheet_row(sheet, sketch, units) for sheet in told.next]
    stands = layout.withdrawn is None
    home = f"/zones/{layout.zone_ids[0]}" if len(layout.zone_ids) == 1 else f"/sketches/{layout.sketch_id}"
    root = f"/layouts/{layout.id}"
    may = stands and roles.may(role, "plan the sheets")
    return KeptPage(
        title=title_of(ground, layout),
        stands="" if layout.withdrawn is None else tr("Withdrawn: {reason}", reason=layout.withdrawn),
        drawing=kept_drawing(ground, layout, told),
        facts=_facts(ground, told),
        order=order_words(layout.starts),
        next=tuple(rows[:8]),
        rest=tuple(rows[8:]),
        laid=tuple(sheet_row(sheet, sketch, units) for sheet in laid),
        lots=tuple(_lot_row(ground, told)),
        layings=tuple(_layings(ground, layout)),
        about=_about(ground, layout),
        lay_href=f"{root}/laid" if told.next and stands and roles.may(role, "log sheets laid") else "",
        paper_href=f"{root}/sheets.pdf",
        order_href=f"/projects/{ground.seen.project.id}/order",
        again_href=f"{home}/layout" if may else "",
        withdraw_href=f"{root}/withdraw" if may else "",
        back=home,
        back_words=tr("Back to the sketch") if len(layout.zone_ids) > 1 else _back_words(ground, layout),
    )


def _back_words(ground: Ground, layout: Layout) -> str:
    return tr("Back to zone {letter}", letter=ground.site.zones[layout.zone_ids[0]].letter)


def title_of(ground: Ground, layout: Layout) -> str:
    """`Sheets of zone B`, or of several."""
    letters = [ground.site.zones[zone].letter for zone in layout.zone_ids]
    if len(letters) == 1:
        return tr("Sheets of zone {letter}", letter=letters[0])
    return tr("Sheets of zones {letters}", letters=", ".join(letters))


def kept_drawing(ground: Ground, layout: Layout, told: Progress) -> LayoutDrawing:
    """The sheets as kept, with the seams that stand in their zones."""
    zones = [ground.site.zones[zone] for zone in layout.zone_ids]
    seams = [s for s in ground.site.seams.values() if s.zone_id in layout.zone_ids and s.withdrawn is None]
    laps = [(s.kind, (a, b)) for s in seams for a, b in zip(s.path, s.path[1:], strict=False)]
    what = ToDraw(
        layout.sheets, laps, told.laid, layout.openings, layout.direction_udeg, layout.starts,
        layout.roll_width_nm - layout.side_lap_nm,
    )  # fmt: skip
    label = tr("{laid} of {all} sheets laid", laid=len(told.laid), all=told.sheets)
    return draw_layout(Shown(ground.seen.sketch), zones, what, label)


def _facts(ground: Ground, told: Progress) -> tuple[Fact, ...]:
    units = ground.seen.project.units
    film = say_area(told.film_left_mm2 / MM2_PER_M2, units)
    laid = say_area(told.film_laid_mm2 / MM2_PER_M2, units)
    seams = trn("{n} seam not walked and sealed", "{n} seams not walked and sealed", told.seams_left)
    pipes = trn("{n} penetration not sealed", "{n} penetrations not sealed", told.pipes_left)
    return (
        (tr("Laid"), tr("{laid} of {all} sheets", laid=len(told.laid), all=told.sheets), laid),
        (tr("Left to lay"), trn("{n} sheet", "{n} sheets", len(told.next)), film),
        (tr("Left to tape"), say_distance(told.seam_left_nm, units), seams),
        (tr("Left to seal"), tr("{edge} of edge", edge=say_distance(told.edge_left_nm, units)), pipes),
    )


def _about(ground: Ground, layout: Layout) -> tuple[Fact, ...]:
    """What it was asked with."""
    units, site = ground.seen.project.units, ground.site
    film = site.materials[layout.material_id].name if layout.material_id in site.materials else ""
    by = ground.names.get(layout.signed.by, tr("a person no longer named"))
    when = moment(layout.signed.at, ground.seen.project.time_zone)
    hand = tr("the first sheet put by hand") if layout.by_hand else tr("the least film sought")
    return (
        (tr("Roll"), roll_words(layout.roll_width_nm, layout.roll_length_nm, units), film),
        (tr("Film"), say_area(layout.film_mm2 / MM2_PER_M2, units), hand),
        (tr("Laps"), tr("{side} along, {end} across", side=say_distance(layout.side_lap_nm, units),
                        end=say_distance(layout.end_lap_nm, units)), ""),
        (tr("Concrete goes"), direction_words(ground.direction_shown(layout.direction_udeg)), ""),
        (tr("Kept"), when, by),
    )  # fmt: skip


def _lot_row(ground: Ground, told: Progress) -> list[ScheduleRow]:
    units, found = ground.seen.project.units, []
    for used in told.by_lot:
        lot = ground.site.lots[used.lot_id]
        material = ground.site.materials[lot.material_id].name
        main = tr("Lot {number}, {material}", number=lot.number, material=material)
        said = trn("sheet {sheets}", "sheets {sheets}", len(used.sheets), sheets=say_numbers(used.sheets))
        found.append(ScheduleRow("F", main, said, say_area(used.film_mm2 / MM2_PER_M2, units)))
    return found


def _layings(ground: Ground, layout: Layout) -> list[ScheduleRow]:
    """What was logged as laid, the newest first; what was taken back struck through."""
    found, role = [], ground.seen.role
    for laying in sorted(layout.laid, key=lambda one: -one.signed.seq):
        by = ground.names.get(laying.signed.by, tr("a person no longer named"))
        when = moment(laying.signed.at, ground.seen.project.time_zone)
        told = tr("Logged by {person}, {moment}", person=by, moment=when)
        if laying.note:
            told = f"{laying.note.removesuffix('.')}. {told}"
        lot = ground.site.lots[laying.lot_id].number
        numbers = say_numbers(laying.sheets)
        main = tr("Sheets {sheets}, lot {number}", sheets=numbers, number=lot)
        letter = ground.site.zones[laying.zone_id].letter
        if laying.withdrawn is not None:
            gone = tr("Taken back: {reason}", reason=laying.withdrawn)
            found.append(ScheduleRow(letter, main, gone, kind="withdrawn"))
            continue
        may = roles.may(role, "log sheets laid") and layout.withdrawn is None
        href = f"/layouts/{layout.id}/laid/{laying.id}/withdraw" if may else ""
        found.append(ScheduleRow(letter, main, told, tr("take back") if may else "", href))
    return found


# --- taking it back --------------------------------------------------------------------------------------


@router.get("/layouts/{layout_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, layout_id: str) -> Response:
    return _show_withdraw(desk, person, layout_id)


@router.post("/layouts/{layout_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, layout_id: str) -> Response:
    def act(reason: str) -> str:
        withdraw_layout(desk, person.id, layout_id, reason)
        return f"/layouts/{layout_id}?said=gone"

    shown = partial(_show_withdraw, desk, person, layout_id)
    return take_back(request, desk, person, form, tr("Say why the layout is withdrawn."), act, shown)


def _show_withdraw(
    desk: Desk, person: Person, layout_id: str, form: Form | None = None, status: int = 0
) -> Response:
    ground, layout = ground_of_layout(desk, person.id, layout_id)
    role, project = ground.seen.role, ground.seen.project
    own = roles.may_withdraw(role, person.id, layout.signed.by, layout.signed.role)
    if not (roles.may(role, "plan the sheets") and own):
        raise NotAllowed(tr("A layout is taken back by whoever kept it, or by the project manager."))
    told = Withdrawing(
        title=tr("Withdraw the layout"),
        words=tr("Its seams that nobody walked are withdrawn with it. Walked seams and lots laid stay."),
        gone=layout.withdrawn,
        action=f"/layouts/{layout.id}/withdraw",
        back=f"/layouts/{layout.id}",
        back_words=tr("Back to the sheets"),
    )
    return withdraw_html(told, project, role, person, form, status)
