"""One stretch of edge: what must be done there, how it was sealed, with the verdict at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.evidence.audit import history_of
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow
from service.actions.frame.reading import ZoneView
from service.actions.installed.terminations import edge_view, seal_edge
from service.domain.installed.terminations import ENDS_AT, NEEDS_SOURCES
from service.domain.nouns import installed, roles
from service.domain.nouns.installed import IMPEDIMENT, JOINT, EdgeSeal, Termination
from service.domain.patches.repair import SEALED, WITHDRAWN, Numbers
from service.domain.words.measures import Units, say_length
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import later, tr, trc
from service.domain.words.temperatures import say_temperature
from service.web.drawings.drawing import Choice
from service.web.drawings.edge_drawing import EdgeDrawing
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.installed import edge_words as words
from service.web.installed.edge_words import CAUTION_EDGE, Stand
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_PATCH, CAUTION_WEATHER, FORM_UNIT, starting

router = APIRouter(include_in_schema=False)

SAID = {
    "sealed": later("It is recorded."),
    "unsealed": later("The seal is withdrawn. It stays on record and no longer counts."),
}
ANSWERS = ("sealed", "protected", "cleaned", "dry")
PLAIN = (*ANSWERS, "runs_past", "tape_width", "lot", "film_temperature", "note")


@dataclass(frozen=True, slots=True)
class EdgePage:
    """`templates/crew/edge.html`. `action` is empty where this person logs no seal here. `anew`: it holds
    already, so that its form stands back. `also`: others of its kind to seal in one go. Addresses are empty
    where there is nothing to do or this person may not."""

    tag: str
    kind: str
    stands: tuple[str, str, str]
    not_asked: str
    need: str
    numbers: str
    source: str
    drawing: EdgeDrawing
    facts: tuple[tuple[str, str], ...]
    seal: tuple[tuple[str, str], ...]
    lines: tuple[tuple[str, str], ...]
    action: str
    anew: bool
    questions: tuple[tuple[str, str], ...]
    asks_past: bool
    asks_tape: bool
    also: tuple[Choice, ...]
    ticked: tuple[str, ...]
    values: Mapping[str, str]
    unit: str
    next_href: str
    next_words: str
    unseal_href: str
    withdraw_href: str
    back: str
    letter: str
    key: str


@router.get("/edges/{termination_id}")
def edge_page(desk: TheDesk, person: Signed, termination_id: str, said: str = "") -> Response:
    view, stretch = edge_view(desk, person.id, termination_id)
    return _shown(desk, person, view, stretch, said=tr(SAID.get(said, "")))


@router.post("/edges/{termination_id}/seal")
def seal(request: Request, desk: TheDesk, person: Signed, form: Typed, termination_id: str) -> Response:
    view, stretch = edge_view(desk, person.id, termination_id)
    allow(view.seen, "log an edge's seal")
    given = _given(form, stretch.kind)

    def act() -> str:
        seal_edge(desk, person.id, termination_id, given)
        return f"/edges/{termination_id}?said=sealed"

    try:
        return send_once(request, desk, person.id, form, act)
    except (BadInput, Conflict) as refusal:
        form.refused(refusal)
        status = 422 if isinstance(refusal, BadInput) else 409
    return _shown(desk, person, *edge_view(desk, person.id, termination_id), form, status)


def _given(form: Form, kind: str) -> dict[str, object]:
    """The form in the contract's forms. A question nobody answered stays unanswered."""
    asked = [name for name, _ in words.questions(kind)]
    given: dict[str, object] = {name: {"yes": True, "no": False}.get(form.value(name)) for name in asked}
    given |= {name: form.value(name) for name in ("lot", "film_temperature", "note")}
    lengths = ["runs_past"] if kind == JOINT else []
    lengths += ["tape_width"] if kind in ENDS_AT else []
    return {**given, **{name: form.with_unit(name) for name in lengths}, "also": form.many("also")}


def _shown(
    desk: Desk,
    person: Person,
    view: ZoneView,
    stretch: Termination,
    form: Form | None = None,
    status: int = 200,
    said: str = "",
) -> Response:
    project = view.seen.project
    lines = history_of(desk, view, stretch.tag)
    told = tuple((moment(line.entry.at, project.time_zone), line.sentence) for line in reversed(lines))
    values = form.values if form else offered(view, person.id)
    ticked = tuple(form.many("also")) if form else ()
    page = edge_shown(view, stretch, person.id, values, ticked, told, filled=form is not None)
    cautions = (tr(CAUTION_PATCH), tr(CAUTION_EDGE), tr(CAUTION_WEATHER))
    errors = form.errors if form else {}
    shell = shell_of(project, view.seen.role, person, errors=errors, said=said, cautions=cautions)
    return HTMLResponse(render("crew/edge.html", page, **shell), status)


def edge_shown(
    view: ZoneView,
    stretch: Termination,
    person_id: str,
    values: Mapping[str, str],
    ticked: tuple[str, ...],
    lines: tuple[tuple[str, str], ...],
    *,
    filled: bool = False,
) -> EdgePage:
    """Everything the page of a stretch shows, decided. `filled`: the form was sent and comes back."""
    told, units = words.stands(view), view.seen.project.units
    mine = next(of for of in told if of.stretch.id == stretch.id)
    may = stretch.withdrawn is None and roles.may(view.seen.role, "log an edge's seal")
    need, numbers = words.needs(view, stretch)

    def may_go(signed: installed.Signed) -> bool:
        role, stands = view.seen.role, stretch.withdrawn is None
        may = stands and roles.may(role, "withdraw an edge")
        return may and roles.may_withdraw(role, person_id, signed.by, signed.role)

    label = tr("{tag} on the edge of its zone", tag=stretch.tag)
    kind, root = starting(tr(stretch.kind)), f"/edges/{stretch.id}"
    next_href, next_words = _next(told, mine) if mine.state == SEALED else ("", "")
    return EdgePage(
        tag=stretch.tag,
        kind=kind,
        stands=words.verdict_words(mine, Numbers.of(view.seen.project.sheet), units),
        not_asked=words.not_asked(view),
        need=need,
        numbers=numbers,
        source=tr(NEEDS_SOURCES[stretch.kind]),
        drawing=words.drawing(view, told, label, only=stretch.id),
        facts=_facts(view, mine),
        seal=_seal_facts(view, stretch.kind, stretch.seal) if stretch.seal else (),
        lines=lines,
        action=f"{root}/seal" if may else "",
        anew=mine.state == SEALED and not filled,
        questions=words.questions(stretch.kind),
        asks_past=stretch.kind == JOINT,
        asks_tape=stretch.kind in ENDS_AT,
        also=_also(told, stretch, units),
        ticked=ticked,
        values={name: values.get(name, "") for name in PLAIN},
        unit=FORM_UNIT[units],
        next_href=next_href,
        next_words=next_words,
        unseal_href=f"{root}/unseal" if stretch.seal and may_go(stretch.seal.signed) else "",
        withdraw_href=f"{root}/withdraw" if may_go(stretch.signed) else "",
        back=f"/zones/{view.zone.id}/edges",
        letter=view.zone.letter,
        key=values.get("request_key") or new_key(),
    )  # fmt: skip


def _also(told: list[Stand], stretch: Termination, units: Units) -> tuple[Choice, ...]:
    """Others of its kind that are not sealed: a crew seals a whole room in one go."""
    return tuple(
        Choice(of.stretch.id, of.stretch.tag, words.where(of, units))
        for of in told
        if of.stretch.kind == stretch.kind
        and of.stretch.id != stretch.id
        and of.state not in (SEALED, WITHDRAWN)
    )


def _next(told: list[Stand], mine: Stand) -> tuple[str, str]:
    """The stretch to seal next: the one after this by its tag, else the first that is left."""
    left = [of.stretch for of in told if of.state not in (SEALED, WITHDRAWN)]
    after = [stretch for stretch in left if stretch.signed.seq > mine.stretch.signed.seq]
    found = next(iter((*after, *left)), None)
    return (f"/edges/{found.id}", tr("Next: {tag}", tag=found.tag)) if found else ("", "")


def offered(view: ZoneView, person_id: str) -> dict[str, str]:
    """What this person used last along this edge: tape and lot. Answers and readings never are."""
    own = [t.seal for t in view.terminations() if t.seal is not None and t.seal.signed.by == person_id]
    last = max(own, key=lambda each: each.signed.seq, default=None)
    if last is None:
        return {}
    tape = say_length(last.work.tape_width_nm, view.seen.project.units, "down").rsplit(" ", 1)[0]
    return {"tape_width": tape.replace(",", ""), "lot": last.work.lot}


# --- facts -----------------------------------------------------------------------------------------------


def _facts(view: ZoneView, of: Stand) -> tuple[tuple[str, str], ...]:
    stretch, units = of.stretch, view.seen.project.units
    rows = [(tr("Where"), words.where(of, units))]
    if stretch.kind == JOINT:
        rows.append((tr("Beyond"), starting(words.beyond_words(words.neighbours(view, stretch)))))
    if stretch.authority:
        rows.append((tr("On the word of"), stretch.authority))
    if stretch.what:
        rows.append((tr("Ends at") if stretch.kind == IMPEDIMENT else tr("There"), stretch.what))
    rows.append((trc("edge", "Described"), _who(view, stretch.signed)))
    return (*rows, (tr("Note"), stretch.note)) if stretch.note else tuple(rows)


def _seal_facts(view: ZoneView, kind: str, seal: EdgeSeal) -> tuple[tuple[str, str], ...]:
    units, work = view.seen.project.units, seal.work
    rows = [(tr("Whole") if kind not in ENDS_AT else tr("Sealed all along"), _yes(seal.sealed))]
    if seal.runs_past_nm is not None:
        rows.append((tr("Runs past"), say_length(seal.runs_past_nm, units, "down")))
        rows.append((tr("Protected"), _yes(seal.protected is True)))
    rows.append((tr("Cleaned, dry"), f"{_yes(work.cleaned)}, {_yes(work.dry)}"))
    if kind in ENDS_AT:
        wide = say_length(work.tape_width_nm, units, "down")
        tape = tr("{width} wide", width=wide) if work.tape_width_nm else tr("none: mastic")
        rows.append((tr("Tape"), tape))
    if work.lot:
        rows.append((tr("Lot"), work.lot))
    if work.film_mf is not None:
        rows.append((tr("Film temperature"), say_temperature(work.film_mf, units)))
    rows.append((trc("seal", "Logged"), _who(view, seal.signed)))
    return (*rows, (tr("Note"), work.note)) if work.note else tuple(rows)


def _who(view: ZoneView, signed: installed.Signed) -> str:
    name = view.names.get(signed.by, tr("a person no longer named"))
    return f"{name}, {tr(signed.role)}, {moment(signed.at, view.seen.project.time_zone)}"


def _yes(true: bool) -> str:
    return tr("yes") if true else tr("no")
