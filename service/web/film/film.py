"""Film of a project in the office: materials as submitted and judged, and the lots received of each."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance.accounts import Person
from service.actions.film.film import MOST_ROLLS, FilmView, film_view, judged, receive_lot, submit_material
from service.actions.film.material_reading import FIELDS
from service.actions.frame.desk import Desk
from service.domain.nouns import roles
from service.domain.nouns.installed import FILM, MATERIAL_KINDS, Lot, Material
from service.domain.nouns.rules import FILM_CLASSES
from service.domain.words.refusals import NotAllowed
from service.domain.words.speech import later, tr, trc, trn
from service.web.drawings.drawing import Choice, ReasonRow, ScheduleRow
from service.web.film.film_words import fault_rows, material_facts, missing_words, verdict_words
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import form_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment
from service.web.shared.crew_words import starting
from service.web.shared.sheet_words import film_words
from service.web.shared.sketch_answers import TOLD, answer, refused

router = APIRouter(include_in_schema=False)

SAID = {
    "submitted": later("The material is submitted, and judged below."),
    "received": later("The lot is received."),
    "material": later("The material is withdrawn. It stays in the history with its reason."),
    "lot": later("The lot is withdrawn. It stays in the history with its reason."),
}


@dataclass(frozen=True, slots=True)
class MaterialBlock:
    """One material: how it stands, what is wrong with it, what its maker states, and its lots."""

    name: str
    verdict: str
    small: str
    kind: str
    faults: tuple[ReasonRow, ...]
    missing: str
    facts: tuple[tuple[str, str], ...]
    lots: tuple[ScheduleRow, ...]
    by: str
    withdraw_href: str


@dataclass(frozen=True, slots=True)
class FilmPage:
    """`templates/office/film.html`. `choices`: materials a lot can be received of, pairs (id, words)."""

    asked: str
    asked_by_lot: bool
    blocks: tuple[MaterialBlock, ...]
    withdrawn: tuple[MaterialBlock, ...]
    choices: tuple[tuple[str, str], ...]
    values: dict[str, str]
    action: str
    key: str
    submit_href: str
    sheet_href: str


@dataclass(frozen=True, slots=True)
class SubmitPage:
    """`templates/office/material_new.html`. `values`: what was typed, by the field's name."""

    kinds: tuple[Choice, ...]
    classes: tuple[tuple[str, str], ...]
    values: dict[str, str]
    asked: str
    metric: bool
    action: str
    key: str
    back: str


# --- materials and lots of a project ---------------------------------------------------------------------


@router.get("/projects/{project_id}/film")
def film(desk: TheDesk, person: Signed, project_id: str, said: str = "") -> Response:
    return _show(film_view(desk, person.id, project_id), person, said=tr(SAID.get(said, "")))


@router.post("/projects/{project_id}/film")
def receive(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    """A lot received of one of the materials."""
    view = film_view(desk, person.id, project_id)
    if not roles.may(view.seen.role, "receive a lot"):
        raise NotAllowed(tr("A crew lead or a project manager receives lots."))
    material_id = form.value("material")
    if material_id not in view.site.materials:
        form.wrong("material", tr("Choose what the lot is of."))
    number = form.text("number", needed=tr("Write the lot's number as it is printed."))
    rolls = form.whole("rolls", least=1, most=MOST_ROLLS)
    status = 0
    if not form.errors:

        def act() -> str:
            receive_lot(desk, person.id, material_id, number, rolls, form.value("note"))
            return f"/projects/{project_id}/film?said=received"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal)
            view = film_view(desk, person.id, project_id)
    return _show(view, person, form, status)


def _show(
    view: FilmView, person: Person, form: Form | None = None, status: int = 0, said: str = ""
) -> Response:
    project, role, root = view.seen.project, view.seen.role, f"/projects/{view.seen.project.id}"
    standing = [material for material in view.materials() if material.withdrawn is None]
    gone = [material for material in view.materials() if material.withdrawn is not None]
    may_receive = roles.may(role, "receive a lot")
    page = FilmPage(
        asked=film_words(project.sheet, project.units),
        asked_by_lot="film" in project.sheet.gate_demands,
        blocks=tuple(_block(view, material) for material in standing),
        withdrawn=tuple(_block(view, material) for material in gone),
        choices=choices_of(standing) if may_receive else (),
        values={name: form.value(name) if form else "" for name in ("material", "number", "rolls", "note")},
        action=f"{root}/film",
        key=form_key(form),
        submit_href=f"{root}/film/submit" if roles.may(role, "submit a material") else "",
        sheet_href=f"{root}/rule-sheet",
    )
    return answer("office/film.html", page, project, role, person, form, status=status, said=said)


def choices_of(materials: list[Material]) -> tuple[tuple[str, str], ...]:
    """What a lot can be of, the only one chosen beforehand where there is one."""
    told = tuple((material.id, f"{material.name}, {tr(material.kind)}") for material in materials)
    return told if len(told) == 1 else (("", tr("Choose the material")), *told) if told else ()


def _block(view: FilmView, material: Material) -> MaterialBlock:
    project, stands = view.seen.project, judged(material, view.seen.project.sheet)
    verdict, small, kind = verdict_words(material, stands, project.sheet, project.units)
    name = material.name if material.kind == FILM else f"{material.name}, {tr(material.kind)}"
    who = view.names.get(material.signed.by, tr("A person no longer named"))
    may = roles.may(view.seen.role, "withdraw a material") and material.withdrawn is None
    return MaterialBlock(
        name=name,
        verdict=verdict,
        small=small,
        kind=kind,
        faults=fault_rows(stands.faults) if material.withdrawn is None else (),
        missing=missing_words(stands.missing) if material.withdrawn is None else "",
        facts=material_facts(material, project.units),
        lots=tuple(_lot_row(view, lot) for lot in view.lots(material.id)),
        by=tr(
            "Submitted by {person}, {moment}",
            person=who,
            moment=moment(material.signed.at, project.time_zone),
        ),
        withdraw_href=f"/materials/{material.id}/withdraw" if may else "",
    )


def _lot_row(view: FilmView, lot: Lot) -> ScheduleRow:
    laid = view.zones_with(lot.id)
    where = ", ".join(zone.letter for zone in laid)
    told = tr("not laid yet")
    if laid:
        told = trn("laid in zone {letters}", "laid in zones {letters}", len(laid), letters=where)
    if lot.withdrawn is not None:
        gone = tr("Withdrawn: {reason}; {told}", reason=lot.withdrawn, told=told)
        return ScheduleRow(tr("Lot"), lot.number, gone, kind="withdrawn")
    sub = ", ".join(filter(None, (trn("{n} roll", "{n} rolls", lot.rolls), told, lot.note)))
    may = roles.may(view.seen.role, "withdraw a lot")
    return ScheduleRow(
        tr("Lot"), lot.number, sub, tr("withdraw") if may else "", f"/lots/{lot.id}/withdraw" if may else ""
    )


# --- submitting ------------------------------------------------------------------------------------------


@router.get("/projects/{project_id}/film/submit")
def submit_page(desk: TheDesk, person: Signed, project_id: str) -> Response:
    return _show_submit(_submitting(desk, person, project_id), person)


@router.post("/projects/{project_id}/film/submit")
def submit(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    view = _submitting(desk, person, project_id)

    def act() -> str:
        submit_material(desk, person.id, project_id, {name: form.value(name) for name in FIELDS})
        return f"/projects/{project_id}/film?said=submitted"

    try:
        return send_once(request, desk, person.id, form, act)
    except TOLD as refusal:
        status = refused(form, refusal)
    return _show_submit(view, person, form, status)


def _submitting(desk: Desk, person: Person, project_id: str) -> FilmView:
    view = film_view(desk, person.id, project_id)
    if not roles.may(view.seen.role, "submit a material"):
        raise NotAllowed(tr("Only a project manager submits materials."))
    return view


def _show_submit(view: FilmView, person: Person, form: Form | None = None, status: int = 0) -> Response:
    project = view.seen.project
    page = SubmitPage(
        kinds=tuple(Choice(kind, starting(tr(kind))) for kind in MATERIAL_KINDS),
        classes=(
            ("", trc("class", "None")),
            *((name, tr("Class {name}", name=name)) for name in FILM_CLASSES),
        ),
        values={name: form.value(name) if form else "" for name in FIELDS},
        asked=film_words(project.sheet, project.units),
        metric=project.units == "metric",
        action=f"/projects/{project.id}/film/submit",
        key=form_key(form),
        back=f"/projects/{project.id}/film",
    )
    return answer("office/material_new.html", page, project, view.seen.role, person, form, status=status)
