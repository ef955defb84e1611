"""What damage likely came from: said of one mark, and counted for the project so that it is stopped."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.frame.reading import defect_view
from service.actions.marks.causes import Causes, causes_of, tell_cause
from service.domain.nouns.installed import CAUSES
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import later, tr, trn
from service.web.forms.forms import Typed
from service.web.forms.sending import send_once
from service.web.marks.defect import defect_shown
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import months, render, weekdays
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import starting

router = APIRouter(include_in_schema=False)

NOT_SAID = later("nothing said")


@router.post("/defects/{defect_id}/cause")
def tell(request: Request, desk: TheDesk, person: Signed, form: Typed, defect_id: str) -> Response:
    cause = form.choice("cause", CAUSES, needed=tr("Choose what it likely came from."))

    def act() -> str:
        tell_cause(desk, person.id, defect_id, cause)
        return f"/defects/{defect_id}?said=cause"

    if not form.errors:
        try:
            return send_once(request, desk, person.id, form, act)
        except (BadInput, Conflict) as refusal:
            form.refused(refusal)
    return defect_shown(desk, person, *defect_view(desk, person.id, defect_id), form)


# --- the office's count ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class CausesPage:
    """`templates/office/causes.html`. `totals`: (cause, marks in words); `rows`: cause, zone, week, marks."""

    told: str
    totals: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, str, str, str], ...]
    back: str


@router.get("/projects/{project_id}/causes")
def causes(desk: TheDesk, person: Signed, project_id: str) -> Response:
    found = causes_of(desk, person.id, project_id)
    shell = shell_of(found.seen.project, found.seen.role, person)
    return HTMLResponse(render("office/causes.html", causes_page(found), **shell))


def causes_page(found: Causes) -> CausesPage:
    """The count in words: the worst cause first, so that somebody stops it."""
    marks = sum(count for _, count in found.totals)
    known = [(cause, count) for cause, count in found.totals if cause and cause != CAUSES[-1]]
    most = max((count for _, count in known), default=0)
    worst = [tr(cause) for cause, count in known if count == most]
    told = trn("{n} mark that stand, mended or not.", "{n} marks that stand, mended or not.", marks)
    return CausesPage(
        told=" ".join((told, *_stop_first(worst))),
        totals=tuple((starting(tr(cause or NOT_SAID)), f"{count:,}") for cause, count in found.totals),
        rows=tuple(
            (starting(tr(row.cause or NOT_SAID)), row.zone, _day(row.week), f"{row.marks:,}")
            for row in found.rows
        ),
        back=f"/projects/{found.seen.project.id}/office",
    )


def _stop_first(worst: list[str]) -> tuple[str, ...]:
    """What most of the damage came from, as a sentence; none where nobody said."""
    if not worst:
        return ()
    if len(worst) == 1:
        return (tr("Most came likely from {cause}: stop that first.", cause=worst[0]),)
    return (
        tr(
            "Most came likely from {causes} and {last}: stop that first.",
            causes=", ".join(worst[:-1]),
            last=worst[-1],
        ),
    )


def _day(week: date) -> str:
    return tr(
        "{weekday} {day} {month} {year}",
        weekday=weekdays()[0],
        day=week.day,
        month=months()[week.month - 1],
        year=week.year,
    )
