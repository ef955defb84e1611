"""Log a repair that is no patch, on a mark that a patch does not mend or not best; and withdraw one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.reading import ZoneView, defect_view
from service.actions.marks import repairs
from service.domain.nouns.installed import CLEAN
from service.domain.nouns.site import OTHER_REPAIR, Defect
from service.domain.patches.repair import MENDED_BY
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import Choice
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key
from service.web.marks.mending import method_words
from service.web.marks.pictures import send_once_with_photos
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_PATCH, CAUTION_WEATHER, FORM_UNIT, starting, what
from service.web.shared.last_used import last_used, lots_laid_here
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html

router = APIRouter(include_in_schema=False)

ANSWERS = (("cleaned", later("Was the film cleaned?")), ("dry", later("Was it dry?")))
PLAIN = ("method", "cleaned", "dry", "lap", "taped", "tape_width", "film_temperature", "lot", "note")


@dataclass(frozen=True, slots=True)
class RepairPage:
    """`templates/crew/repair.html`. `lap_legend`: when the lap's fields are filled in."""

    tag: str
    what: str
    told: str
    action: str
    back: str
    key: str
    methods: tuple[Choice, ...]
    answers: tuple[tuple[str, str], ...]
    lap_legend: str
    unit: str
    values: Mapping[str, str]
    lots: tuple[str, ...]


@router.get("/defects/{defect_id}/repair")
def repair_form(desk: TheDesk, person: Signed, defect_id: str, method: str = "") -> Response:
    view, defect = defect_view(desk, person.id, defect_id)
    allow(view.seen, "log a repair")
    if defect.withdrawn is not None or not MENDED_BY[defect.kind]:
        return RedirectResponse(f"/defects/{defect.id}", 303)
    mending = MENDED_BY[defect.kind]
    chosen = method if method in mending else mending[0] if len(mending) == 1 else ""
    return _shown(view, person, defect, {"method": chosen, **last_used(view, person.id)})


@router.post("/defects/{defect_id}/repair")
def log(request: Request, desk: TheDesk, person: Signed, form: Typed, defect_id: str) -> Response:
    view, defect = defect_view(desk, person.id, defect_id)
    allow(view.seen, "log a repair")
    given = given_repair(form)

    def act() -> tuple[str, str, str]:
        repairs.log_repair(desk, person.id, defect_id, given)
        return "defect", defect_id, f"/defects/{defect_id}?said=repair"

    try:
        return send_once_with_photos(request, desk, person.id, form, ("defect", defect_id), act)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
    return _shown(view, person, defect, form.values, form)


def given_repair(form: Form) -> dict[str, object]:
    """The form in the contract's forms. A question nobody answered stays unanswered."""
    answers = {name: {"yes": True, "no": False}.get(form.value(name)) for name in ("cleaned", "dry", "taped")}
    plain = {name: form.value(name) for name in ("method", "film_temperature", "lot", "note")}
    lengths = {name: form.with_unit(name) for name in ("lap", "tape_width")}
    return {**answers, **plain, **lengths}


def _shown(
    view: ZoneView, person: Person, defect: Defect, values: Mapping[str, str], form: Form | None = None
) -> Response:
    project, errors = view.seen.project, form.errors if form else {}
    mending = MENDED_BY[defect.kind]
    page = RepairPage(
        tag=defect.tag,
        what=what(defect, project.units),
        told=_told(defect),
        action=f"/defects/{defect.id}/repair",
        back=f"/defects/{defect.id}",
        key=values.get("request_key") or new_key(),
        methods=tuple(
            Choice(method, starting(tr(method)), method_words(method, project.sheet, project.units))
            for method in mending
        ),
        answers=tuple((name, tr(asked)) for name, asked in ANSWERS),
        lap_legend=tr("If the sheet was replaced") if CLEAN in mending else tr("The lap after it"),
        unit=FORM_UNIT[project.units],
        values={name: values.get(name, "") for name in PLAIN},
        lots=lots_laid_here(view),
    )
    shell = shell_of(
        project, view.seen.role, person, errors=errors, cautions=(CAUTION_PATCH, CAUTION_WEATHER)
    )
    return HTMLResponse(render("crew/repair.html", page, **shell), 422 if errors else 200)


def _told(defect: Defect) -> str:
    if defect.kind not in OTHER_REPAIR:
        return ""
    return tr("To mend it: {mend}.", mend=tr(OTHER_REPAIR[defect.kind]))


# --- withdrawing -----------------------------------------------------------------------------------------


@router.get("/defects/{defect_id}/repairs/{repair_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, defect_id: str, repair_id: str) -> Response:
    return _withdraw(desk, person, defect_id, repair_id)


@router.post("/defects/{defect_id}/repairs/{repair_id}/withdraw")
def withdraw(
    request: Request, desk: TheDesk, person: Signed, form: Typed, defect_id: str, repair_id: str
) -> Response:
    def act(reason: str) -> str:
        repairs.withdraw_repair(desk, person.id, defect_id, repair_id, reason)
        return f"/defects/{defect_id}?said=repair-withdrawn"

    shown = partial(_withdraw, desk, person, defect_id, repair_id)
    return take_back(request, desk, person, form, tr("Say why the repair is withdrawn."), act, shown)


def _withdraw(
    desk: Desk, person: Person, defect_id: str, repair_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view, defect = defect_view(desk, person.id, defect_id)
    repair = repairs.repair_on(defect, repair_id)
    repairs.allow_withdrawing(view.seen, person.id, repair)
    told = Withdrawing(
        title=tr("Withdraw a repair of {tag}", tag=defect.tag),
        words=tr(
            "{method}. For a repair that came undone, or was logged by mistake. It stays on record with your "
            "reason and no longer counts, so {tag} may be open again.",
            method=starting(tr(repair.method)),
            tag=defect.tag,
        ),
        gone=repair.withdrawn,
        action=f"/defects/{defect.id}/repairs/{repair.id}/withdraw",
        back=f"/defects/{defect.id}",
        back_words=tr("Back to {tag}", tag=defect.tag),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)
