"""What damage likely came from: said of one mark, and counted for the project so that it is stopped."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.causes import Causes, causes_of, tell_cause
from service.actions.reading import defect_view
from service.domain.installed import CAUSES
from service.domain.refusals import BadInput, Conflict
from service.web.crew_defect import defect_shown
from service.web.crew_words import starting
from service.web.forms import Typed
from service.web.guards import Signed, TheDesk
from service.web.render import many, render
from service.web.sending import send_once
from service.web.ways import shell_of

router = APIRouter(include_in_schema=False)

NOT_SAID = "nothing said"


@router.post("/defects/{defect_id}/cause")
def tell(request: Request, desk: TheDesk, person: Signed, form: Typed, defect_id: str) -> Response:
    cause = form.choice("cause", CAUSES, needed="Choose what it likely came from.")

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
    worst = " and ".join(cause for cause, count in known if count == most)
    told = f"{many(marks, 'mark')} that stand, mended or not."
    return CausesPage(
        told=f"{told} Most came likely from {worst}: stop that first." if worst else told,
        totals=tuple((starting(cause or NOT_SAID), f"{count:,}") for cause, count in found.totals),
        rows=tuple(
            (starting(row.cause or NOT_SAID), row.zone, _day(row.week), f"{row.marks:,}")
            for row in found.rows
        ),
        back=f"/projects/{found.seen.project.id}/office",
    )


def _day(week: date) -> str:
    return f"Mon {week.day} {week:%b %Y}"
