"""Walk a seam: its laps read where the sheet asks for them, its tape, and the runs at fault on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.reading import ZoneView
from service.actions.installed.seams import seam_view, seams_standing, walk_seam
from service.domain.nouns.installed import Seam
from service.domain.words.measures import say_length
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import later, tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.installed import seam_words as words
from service.web.installed.seam_walk_form import (
    ANSWERS,
    PLAIN,
    ReadingRow,
    RunRow,
    fault_options,
    given_walk,
    offered,
    reading_rows,
    run_rows,
    run_rows_open,
    work_through,
)
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_PATCH, CAUTION_WALK, CAUTION_WEATHER, FORM_UNIT
from service.web.shared.last_used import lots_laid_here

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class WalkPage:
    """`templates/crew/seam_walk.html`. `gone`: why it is not walked any more, or nothing. `runs_open` and
    `more_open`: something was typed there."""

    tag: str
    what: str
    gone: str
    need: str
    along: str
    unit: str
    way_unit: str
    readings: tuple[ReadingRow, ...]
    runs: tuple[RunRow, ...]
    faults: tuple[tuple[str, str], ...]
    runs_open: bool
    answers: tuple[tuple[str, str], ...]
    lots: tuple[str, ...]
    values: Mapping[str, str]
    more_open: bool
    action: str
    back: str
    key: str


@router.get("/seams/{seam_id}/walk")
def walk_page(desk: TheDesk, person: Signed, seam_id: str) -> Response:
    view, seam = _seam(desk, person, seam_id)
    return _shown(view, person, seam, offered(view, seam, person.id))


@router.post("/seams/{seam_id}/walk")
def walk(request: Request, desk: TheDesk, person: Signed, form: Typed, seam_id: str) -> Response:
    view, seam = _seam(desk, person, seam_id)
    if work_through(form):
        return _shown(view, person, seam, form.values)
    given, names = given_walk(form, view.seen.project.units)

    def act() -> str:
        walk_seam(desk, person.id, seam_id, given)
        return f"/seams/{seam_id}?said=walked"

    try:
        return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        status = 422 if isinstance(refusal, BadInput) else 409
        for name, told in (refusal.fields or {"": refusal.message}).items():
            form.wrong(names.get(name, name), told)
    return _shown(*_again(desk, person, seam_id), form.values, form, status)


def _again(desk: Desk, person: Person, seam_id: str) -> tuple[ZoneView, Person, Seam]:
    view, seam = _seam(desk, person, seam_id)
    return view, person, seam


def _seam(desk: Desk, person: Person, seam_id: str) -> tuple[ZoneView, Seam]:
    view, seam = seam_view(desk, person.id, seam_id)
    allow(view.seen, "walk a seam")
    return view, seam


def _shown(
    view: ZoneView,
    person: Person,
    seam: Seam,
    values: Mapping[str, str],
    form: Form | None = None,
    status: int = 200,
) -> Response:
    errors, units, sheet = form.errors if form else {}, view.seen.project.units, view.seen.project.sheet
    of = next(one for one in seams_standing(view) if one.seam.id == seam.id)
    runs = run_rows(values)
    lap, tape = say_length(sheet.lap.nm, units, "up"), say_length(sheet.tape_width.nm, units, "up")
    page = WalkPage(
        tag=seam.tag,
        what=words.what(of, units),
        gone=_gone(seam),
        need=tr("Lap at least {lap}, tape at least {tape} wide.", lap=lap, tape=tape),
        along=tr("{tag} is {length} long.", tag=seam.tag, length=words.say_way(of.long_nm, units)),
        unit=FORM_UNIT[units],
        way_unit=words.RUN_UNIT[units],
        readings=reading_rows(values),
        runs=runs,
        faults=fault_options(),
        runs_open=run_rows_open(runs) or len(runs) > 1,
        answers=tuple((name, tr(question)) for name, question in ANSWERS),
        lots=lots_laid_here(view),
        values={name: values.get(name, "") for name in PLAIN},
        more_open=any(values.get(name) or name in errors for name in ("film_temperature", "note")),
        action=f"/seams/{seam.id}/walk",
        back=f"/seams/{seam.id}",
        key=values.get("request_key") or new_key(),
    )
    cautions = (tr(CAUTION_WALK), tr(CAUTION_PATCH), tr(CAUTION_WEATHER))
    shell = shell_of(view.seen.project, view.seen.role, person, errors=errors, cautions=cautions)
    return HTMLResponse(render("crew/seam_walk.html", page, **shell), status)


def _gone(seam: Seam) -> str:
    """Why it is not walked any more, or nothing."""
    if not seam.withdrawn:
        return ""
    told = later("{tag} was withdrawn: {reason}. It is not walked any more.")
    return tr(told, tag=seam.tag, reason=seam.withdrawn)
