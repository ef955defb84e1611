"""The seams of a zone: those not walked and at fault first, and taking one back."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.installed.none_here import SEAMS, standing_there
from service.actions.installed.seams import (
    SeamStand,
    allow_withdrawing,
    seam_view,
    seams_standing,
    withdraw_seam,
)
from service.domain.nouns import roles
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import ScheduleRow, ZoneDrawing
from service.web.forms.forms import Form, Typed
from service.web.installed import seam_words as words
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html

router = APIRouter(include_in_schema=False)

SAID = {
    "drawn": later("They are drawn. Walk each of them with a tape measure."),
    "none": later("It is stated that there are none."),
    "withdrawn": later("The seam is withdrawn. It stays in the history with its reason, and its marks stay."),
}


@dataclass(frozen=True, slots=True)
class SeamsPage:
    """`templates/crew/seams.html`. Addresses are empty where this person may not do it."""

    letter: str
    stands: tuple[str, str, str]
    not_asked: str
    drawing: ZoneDrawing | None
    draw_href: str
    none_href: str
    rows: tuple[ScheduleRow, ...]
    withdrawn: tuple[ScheduleRow, ...]
    empty: str
    back: str


@router.get("/zones/{zone_id}/seams")
def seams(desk: TheDesk, person: Signed, zone_id: str, said: str = "") -> Response:
    view = zone_view(desk, person.id, zone_id)
    shell = shell_of(
        view.seen.project, view.seen.role, person, said=tr(SAID.get(said, "")), cautions=(tr(CAUTION_WALK),)
    )
    return HTMLResponse(render("crew/seams.html", seams_page(view), **shell))


def seams_page(view: ZoneView) -> SeamsPage:
    """Everything the page shows, decided."""
    zone, role, scaled = view.zone, view.seen.role, view.seen.sketch.scale is not None
    told: list[SeamStand] = seams_standing(view) if scaled else []
    stands = zone.withdrawn is None
    may_draw = stands and scaled and roles.may(role, "draw a seam")
    may_state = stands and SEAMS not in zone.none_here and not standing_there(view.site, zone, SEAMS)
    may_state = may_state and roles.may(role, "state that there are none")
    against = words.summary(view, told)
    return SeamsPage(
        letter=zone.letter,
        stands=against
        if stands
        else (tr("Zone {letter} was taken off the sketch", letter=zone.letter), "", "stop"),
        not_asked=words.not_asked(view),
        drawing=words.drawing(
            view, tr("Seams of zone {letter}: {stand}", letter=zone.letter, stand=against[0])
        ),
        draw_href=f"/zones/{zone.id}/seams/draw" if may_draw else "",
        none_href=f"/zones/{zone.id}/none-here?what={SEAMS}" if may_state else "",
        rows=words.rows(view, told),
        withdrawn=words.withdrawn_rows(view, told),
        empty=_empty(scaled, may_draw),
        back=f"/zones/{zone.id}",
    )


def _empty(scaled: bool, may_draw: bool) -> str:
    if not scaled:
        return tr("The sketch has no scale yet: no seam can be drawn on it.")
    if not may_draw:
        return tr("No seam is drawn in this zone.")
    return tr("No seam yet. Draw every line where two sheets overlap: side laps that lie alike go in one go.")


# --- taking back -----------------------------------------------------------------------------------------


@router.get("/seams/{seam_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, seam_id: str) -> Response:
    return _withdraw(desk, person, seam_id)


@router.post("/seams/{seam_id}/withdraw")
def withdraw(request: Request, desk: TheDesk, person: Signed, form: Typed, seam_id: str) -> Response:
    def act(reason: str) -> str:
        gone = withdraw_seam(desk, person.id, seam_id, reason)
        return f"/zones/{gone.zone_id}/seams?said=withdrawn"

    needed = tr("Say why the seam is withdrawn.")
    return take_back(request, desk, person, form, needed, act, partial(_withdraw, desk, person, seam_id))


def _withdraw(
    desk: Desk, person: Person, seam_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, seam = seam_view(desk, person.id, seam_id)
    allow_withdrawing(view.seen.role, person.id, seam)
    told = Withdrawing(
        title=tr("Withdraw {tag}", tag=seam.tag),
        words=tr(
            "Only for a seam drawn by mistake, or one that is no more. It stays in the history with your "
            "reason, its tag is never used again, and the marks made on its walks stay until they are mended."
        ),
        gone=seam.withdrawn,
        action=f"/seams/{seam.id}/withdraw",
        back=f"/seams/{seam.id}",
        back_words=tr("Back to {tag}", tag=seam.tag),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)
