"""Log the seal of a penetration as it was built: a collar, mastic, or sealant in a dam round several."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.doing import allow, standing_zone
from service.actions.frame.reading import ZoneView
from service.actions.installed.penetration_entry import (
    CLEANED,
    CLOSE_CUT,
    DRY,
    FINGERS,
    TAPED_TO_FILM,
    TAPED_TO_PIPE,
)
from service.actions.installed.penetrations import is_alike, log_seal, penetration_view
from service.domain.nouns.installed import COLLAR, DAM, MASTIC, Penetration
from service.domain.patches.repair import SEALED
from service.domain.words.measures import say_length
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import tr, trn
from service.web.drawings.drawing import CheckBox, Choice
from service.web.drawings.penetration_drawing import PenetrationDrawing
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.installed.penetration import pipe_drawing
from service.web.installed.penetration_words import (
    CAUTION_PENETRATION,
    COLLAR_STEPS,
    OR_MASTIC,
    CloseGroup,
    groups_of,
    need_of,
    need_words,
    numbers_of,
    state_of,
    tags_words,
    what,
)
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import FORM_UNIT, starting

router = APIRouter(include_in_schema=False)

COLLAR_ASKED = (("fingers", FINGERS), ("taped_to_pipe", TAPED_TO_PIPE), ("taped_to_film", TAPED_TO_FILM))
WORK_ASKED = (("cleaned", CLEANED), ("dry", DRY))
PLAIN = (
    "method", "collar_width", "collar_length", "fingers", "taped_to_pipe", "taped_to_film", "close_cut",
    "cleaned", "dry", "tape_width", "film_temperature", "lot", "note", "all_alike",
)  # fmt: skip
LENGTHS = ("collar_width", "collar_length", "tape_width")
MOST_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Other:
    """Another penetration to tick."""

    id: str
    tag: str
    words: str
    checked: bool


@dataclass(frozen=True, slots=True)
class SealPage:
    """`templates/crew/penetration_seal.html`. `together`: its group, to tick what is under one dam; `alike`:
    others of the same size not sealed yet, to tick, `all_alike` the box for all of `alike_ids`."""

    tag: str
    what: str
    need: str
    or_mastic: str
    steps: str
    drawing: PenetrationDrawing
    methods: tuple[Choice, ...]
    collar_asked: tuple[tuple[str, str], ...]
    close_asked: str
    work_asked: tuple[tuple[str, str], ...]
    values: Mapping[str, str]
    unit: str
    together: tuple[Other, ...]
    all_alike: tuple[CheckBox, ...]
    alike: tuple[Other, ...]
    alike_ids: tuple[str, ...]
    action: str
    back: str
    key: str


@router.get("/penetrations/{penetration_id}/seal")
def seal_form(desk: TheDesk, person: Signed, penetration_id: str, together: str = "") -> Response:
    view, pipe = penetration_view(desk, person.id, penetration_id)
    allow(view.seen, "log a seal")
    if pipe.withdrawn is not None:
        return RedirectResponse(f"/penetrations/{pipe.id}", 303)
    standing_zone(view.seen)
    group = _group(view, pipe)
    if together and group:
        ids = [one.id for one in group.pipes]
        return _shown(view, person, pipe, {"method": DAM}, also=ids)
    return _shown(view, person, pipe, _offered(view, pipe, person.id))


@router.post("/penetrations/{penetration_id}/seal")
def log(request: Request, desk: TheDesk, person: Signed, form: Typed, penetration_id: str) -> Response:
    view, pipe = penetration_view(desk, person.id, penetration_id)
    allow(view.seen, "log a seal")
    given = _given(view, pipe, form)

    def act() -> str:
        made = log_seal(desk, person.id, penetration_id, given)
        return f"/penetrations/{made[0].penetration.id}?said=seal"

    status = 422
    try:
        return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        status = 422 if isinstance(refusal, BadInput) else 409
        form.refused(refusal)
    view, pipe = penetration_view(desk, person.id, penetration_id)
    return _shown(view, person, pipe, form.values, form.many("also"), form.many("same_for"), form, status)


def _given(view: ZoneView, pipe: Penetration, form: Form) -> dict[str, object]:
    """The form in the contract's forms. A question nobody answered stays unanswered."""
    plain: dict[str, object] = {
        name: form.value(name) for name in ("method", "film_temperature", "lot", "note")
    }
    answers = {
        name: {"yes": True, "no": False}.get(form.value(name))
        for name in ("close_cut", *(name for name, _ in (*COLLAR_ASKED, *WORK_ASKED)))
    }
    # Only a dam goes round several, and only what is sealed by itself is sealed alike.
    dam = form.value("method") == DAM
    also = form.many("also") if dam else []
    same_for = [] if dam else form.many("same_for")
    if form.flag("all_alike") and not dam:
        # What was placed meanwhile was not on the page that was ticked: it is not sealed unseen.
        same_for = [other.id for other in _alike(view, pipe) if other.id in form.many("alike")]
    sizes = {name: form.with_unit(name) or None for name in LENGTHS}
    return {**plain, **answers, **sizes, "also": also, "same_for": same_for}


def _group(view: ZoneView, pipe: Penetration) -> CloseGroup | None:
    return next((group for group in groups_of(view) if pipe in group.pipes), None)


def _alike(view: ZoneView, pipe: Penetration) -> list[Penetration]:
    """Others of the same size in the zone whose seal is not logged, or does not hold."""
    return [
        other
        for other in view.penetrations()
        if other.id != pipe.id and is_alike(pipe, other) and state_of(view, other) != SEALED
    ]


def _offered(view: ZoneView, pipe: Penetration, person_id: str) -> dict[str, str]:
    """What this person used last here: the method where it may seal this one, and that method's collar width,
    tape and lot. What is measured or answered anew for every seal never is."""
    pipes = view.site.penetrations.values()
    seals = [p.seal for p in pipes if p.seal and p.seal.signed.by == person_id and p.seal.method != DAM]
    if not need_of(view, pipe).mastic_allowed:
        seals = [seal for seal in seals if seal.method == COLLAR]
    last = max(seals, key=lambda seal: seal.signed.seq, default=None)
    if last is None:
        return {"method": COLLAR}

    def bare(nm: int) -> str:
        return (
            say_length(nm, view.seen.project.units, "down").rsplit(" ", 1)[0].replace(",", "") if nm else ""
        )

    wide, tape = bare(last.collar_width_nm), bare(last.work.tape_width_nm)
    return {"method": last.method, "collar_width": wide, "tape_width": tape, "lot": last.work.lot}


def _shown(
    view: ZoneView,
    person: Person,
    pipe: Penetration,
    values: Mapping[str, str],
    also: Sequence[str] = (),
    same_for: Sequence[str] = (),
    form: Form | None = None,
    status: int = 200,
) -> Response:
    page = seal_page(view, pipe, values, also, same_for)
    shell = shell_of(
        view.seen.project,
        view.seen.role,
        person,
        errors=form.errors if form else {},
        cautions=(tr(CAUTION_PENETRATION),),
    )
    return HTMLResponse(render("crew/penetration_seal.html", page, **shell), status)


def seal_page(
    view: ZoneView, pipe: Penetration, values: Mapping[str, str], also: Sequence[str], same_for: Sequence[str]
) -> SealPage:
    """The form with what was typed, or with what is offered."""
    units, group = view.seen.project.units, _group(view, pipe)
    alike = _alike(view, pipe)
    dam = values.get("method") == DAM and group is not None
    return SealPage(
        tag=pipe.tag,
        what=what(pipe, units),
        need=f"{group.words}." if dam and group else f"{need_words(need_of(view, pipe), units)}.",
        or_mastic=tr(OR_MASTIC) if not dam and need_of(view, pipe).mastic_allowed else "",
        steps="" if dam else tr(COLLAR_STEPS),
        drawing=pipe_drawing(view, pipe, group, together=dam),
        methods=_methods(view, pipe, group),
        collar_asked=tuple((name, tr(question)) for name, question in COLLAR_ASKED),
        close_asked=tr(CLOSE_CUT),
        work_asked=tuple((name, tr(question)) for name, question in WORK_ASKED),
        values={name: values.get(name, "") for name in PLAIN},
        unit=FORM_UNIT[units],
        together=tuple(
            Other(one.id, one.tag, what(one, units), one.id in also)
            for one in (group.pipes if group else ())
            if one.id != pipe.id
        ),
        all_alike=_all_alike(alike, values),
        alike=tuple(
            Other(one.id, one.tag, what(one, units), one.id in same_for) for one in alike[:MOST_SHOWN]
        )
        if len(alike) > 1
        else (),
        alike_ids=tuple(one.id for one in alike),
        action=f"/penetrations/{pipe.id}/seal",
        back=f"/penetrations/{pipe.id}",
        key=values.get("request_key") or new_key(),
    )


def _methods(view: ZoneView, pipe: Penetration, group: CloseGroup | None) -> tuple[Choice, ...]:
    limit = say_length(numbers_of(view).mastic_up_to_nm, view.seen.project.units)
    may = need_of(view, pipe).mastic_allowed
    mastic = tr("up to {limit} across", limit=limit)
    if not may:
        mastic = tr("too large: up to {limit}; kept, and does not seal", limit=limit)
    methods = (Choice(COLLAR, starting(tr(COLLAR))), Choice(MASTIC, starting(tr(MASTIC)), mastic))
    return (*methods, Choice(DAM, starting(tr(DAM)), tr("round several"))) if group else methods


def _all_alike(alike: Sequence[Penetration], values: Mapping[str, str]) -> tuple[CheckBox, ...]:
    if not alike:
        return ()
    words = trn(
        "Same for this one too: {tags}",
        "Same for these too: {tags}",
        len(alike),
        tags=tags_words(p.tag for p in alike),
    )
    small = trn(
        "{n} other of the same size not sealed; a seal is logged on each",
        "{n} others of the same size not sealed; a seal is logged on each",
        len(alike),
    )
    return (CheckBox("all_alike", words, small, values.get("all_alike") == "yes"),)
