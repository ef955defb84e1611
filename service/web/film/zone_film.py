"""Film of a zone for the crew: which lot was laid here, and a lot that nobody has received yet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.film.film import (
    MOST_ROLLS,
    judged,
    lay_lot,
    laying_in,
    lots_of,
    receive_and_lay,
    two_films,
    withdraw_laying,
)
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView
from service.domain.gate.wording import FAULTS
from service.domain.nouns import roles
from service.domain.nouns.installed import FILM, Laying, Lot
from service.domain.words.refusals import NotAllowed
from service.domain.words.speech import later, tr, trn
from service.web.drawings.drawing import Choice, ScheduleRow
from service.web.film.film import choices_of
from service.web.film.film_words import ROLL_CAUTION
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import moment, render
from service.web.serving.ways import shell_of
from service.web.shared.crew_words import CAUTION_WALK, CAUTION_WEATHER
from service.web.shared.sheet_words import film_words
from service.web.shared.sketch_answers import TOLD, refused
from service.web.shared.withdrawing import Withdrawing, take_back, withdraw_html
from service.web.shared.zone_views import name_in, standing_view

router = APIRouter(include_in_schema=False)

SAID = {
    "laid": later("The lot is logged as laid here."),
    "gone": later("That is taken back. It stays in the history."),
}
FIELDS = ("lot", "note", "material", "number", "rolls", "lot_note")


@dataclass(frozen=True, slots=True)
class ZoneFilmPage:
    """`templates/crew/film.html`. `two`: a sentence where different film was laid. `lots`: what can be logged
    here; `choices`: materials of which a new lot can be received, pairs (id, words)."""

    letter: str
    asked: str
    two: str
    laid: tuple[ScheduleRow, ...]
    withdrawn: tuple[ScheduleRow, ...]
    may: bool
    lots: tuple[Choice, ...]
    choices: tuple[tuple[str, str], ...]
    values: dict[str, str]
    new_open: bool
    action: str
    new_action: str
    key: str
    new_key: str
    film_href: str
    numbers_href: str
    back: str


@router.get("/zones/{zone_id}/film")
def film_page(desk: TheDesk, person: Signed, zone_id: str, said: str = "") -> Response:
    return _show(standing_view(desk, person, zone_id), person, said=tr(SAID.get(said, "")))


@router.post("/zones/{zone_id}/film")
def lay(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    """A lot that was received, logged as laid here."""
    view = _laying(desk, person, zone_id)
    lot_id = form.value("lot")
    if not lot_id:
        form.wrong("lot", tr("Choose the lot that was laid."))
        return _show(view, person, form)

    def act() -> str:
        lay_lot(desk, person.id, zone_id, lot_id, form.value("note"))
        return f"/zones/{zone_id}/film?said=laid"

    try:
        return send_once(request, desk, person.id, form, act)
    except TOLD as refusal:
        status = refused(form, refusal)
    return _show(standing_view(desk, person, zone_id), person, form, status)


@router.post("/zones/{zone_id}/film/received")
def lay_new(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    """A lot that nobody has received yet: received, and logged as laid here."""
    view = _laying(desk, person, zone_id)
    material = form.value("material")
    if material not in view.site.materials:
        form.wrong("material", tr("Choose what the lot is of."))
    number = form.text("number", needed=tr("Write the lot's number as it is printed."))
    rolls = form.whole("rolls", least=1, most=MOST_ROLLS)
    status = 0
    if not form.errors:

        def act() -> str:
            receive_and_lay(desk, person.id, zone_id, material, number, rolls, form.value("lot_note"))
            return f"/zones/{zone_id}/film?said=laid"

        try:
            return send_once(request, desk, person.id, form, act)
        except TOLD as refusal:
            status = refused(form, refusal, {"note": "lot_note"})
            view = standing_view(desk, person, zone_id)
    return _show(view, person, form, status)


def _laying(desk: Desk, person: Person, zone_id: str) -> ZoneView:
    view = standing_view(desk, person, zone_id)
    if not roles.may(view.seen.role, "log film laid"):
        raise NotAllowed(tr("A crew lead or a project manager logs the film laid."))
    return view


def _show(
    view: ZoneView, person: Person, form: Form | None = None, status: int = 0, said: str = ""
) -> Response:
    zone, project, site = view.zone, view.seen.project, view.site
    laid = [laying for laying in zone.laid if laying.withdrawn is None]
    here = {laying.lot_id for laying in laid}
    left = [lot for lot in reversed(lots_of(site)) if lot.withdrawn is None and lot.id not in here]
    materials = sorted(site.materials.values(), key=lambda material: material.signed.seq)
    choices = choices_of([material for material in materials if material.withdrawn is None])
    key = (form.value("request_key").removesuffix("-new") if form else "") or new_key()
    page = ZoneFilmPage(
        letter=zone.letter,
        asked=_asked_words(view),
        two=_two_words(two_films(site, zone)),
        laid=tuple(_laid_row(view, laying) for laying in laid),
        withdrawn=tuple(_laid_row(view, laying) for laying in zone.laid if laying.withdrawn is not None),
        may=roles.may(view.seen.role, "log film laid"),
        lots=tuple(_choice(view, lot) for lot in left),
        choices=choices,
        values={name: form.value(name) for name in FIELDS} if form else _prefilled(view),
        new_open=not left or bool(form and form.has("number")),
        action=f"/zones/{zone.id}/film",
        new_action=f"/zones/{zone.id}/film/received",
        key=key,
        new_key=f"{key}-new",
        film_href=f"/projects/{project.id}/film",
        numbers_href=f"/zones/{zone.id}/numbers",
        back=f"/zones/{zone.id}",
    )
    errors = form.errors if form else {}
    cautions = (tr(ROLL_CAUTION), tr(CAUTION_WALK), tr(CAUTION_WEATHER))
    shell = shell_of(project, view.seen.role, person, errors=errors, said=said, cautions=cautions)
    return HTMLResponse(render("crew/film.html", page, **shell), status or (422 if errors else 200))


def _prefilled(view: ZoneView) -> dict[str, str]:
    """The lot that was logged last on this sketch, for a crew that goes on to the next zone with it."""
    newest = [laying for zone in view.site.zones.values() for laying in zone.laid if laying.withdrawn is None]
    last = max(newest, key=lambda laying: laying.signed.seq, default=None)
    return {name: "" for name in FIELDS} | {"lot": last.lot_id if last else ""}


def _asked_words(view: ZoneView) -> str:
    """What the film has to be here, and whether the gate asks for it by lot."""
    project = view.seen.project
    asked = film_words(project.sheet, project.units)
    told = [tr("The rule sheet asks nothing of the film.")]
    if asked:
        told = [tr("The rule sheet asks for film of {asked}.", asked=asked)]
    if "film" not in project.sheet.gate_demands:
        told.append(tr("The gate of this project does not ask for film by lot."))
    return " ".join(told)


def _two_words(names: tuple[str, ...]) -> str:
    if not names:
        return ""
    return tr("Different film is laid here: {names}. A patch may be of any of them.", names=", ".join(names))


def _laid_row(view: ZoneView, laying: Laying) -> ScheduleRow:
    lot = view.site.lots[laying.lot_id]
    material = view.site.materials[lot.material_id]
    main = tr("{material}, lot {number}", material=material.name, number=lot.number)
    kind = "F" if material.kind == FILM else material.kind[:1].upper()
    if laying.withdrawn is not None:
        gone = tr("Taken back: {reason}", reason=laying.withdrawn)
        return ScheduleRow(kind, main, gone, kind="withdrawn")
    withdrawn = FAULTS["lot-withdrawn"]
    faults = [tr(withdrawn)] if lot.withdrawn is not None else []
    faults += [tr(FAULTS[code]) for code in judged(material, view.seen.project.sheet).faults]
    when = moment(laying.signed.at, view.seen.project.time_zone)
    by = tr("Logged by {person}, {moment}", person=name_in(view, laying.signed.by), moment=when)
    below = tr("Below the rule sheet: {faults}", faults="; ".join(faults)) if faults else ""
    told = ". ".join(filter(None, (below, laying.note.removesuffix("."), by)))
    may = roles.may(view.seen.role, "withdraw film laid")
    href = f"/zones/{view.zone.id}/film/{laying.id}/withdraw" if may else ""
    return ScheduleRow(kind, main, told, tr("take back") if may else "", href)


def _choice(view: ZoneView, lot: Lot) -> Choice:
    material = view.site.materials[lot.material_id]
    faults = judged(material, view.seen.project.sheet).faults
    told = [tr(material.kind), trn("{n} roll", "{n} rolls", lot.rolls)]
    told += [tr("below the rule sheet")] if faults else []
    words = tr("Lot {number}, {material}", number=lot.number, material=material.name)
    return Choice(lot.id, words, ", ".join(told))


# --- taking back -----------------------------------------------------------------------------------------


@router.get("/zones/{zone_id}/film/{laying_id}/withdraw")
def withdraw_page(desk: TheDesk, person: Signed, zone_id: str, laying_id: str) -> Response:
    return _show_withdraw(desk, person, zone_id, laying_id)


@router.post("/zones/{zone_id}/film/{laying_id}/withdraw")
def withdraw(
    request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str, laying_id: str
) -> Response:
    def act(reason: str) -> str:
        withdraw_laying(desk, person.id, zone_id, laying_id, reason)
        return f"/zones/{zone_id}/film?said=gone"

    shown = partial(_show_withdraw, desk, person, zone_id, laying_id)
    return take_back(request, desk, person, form, tr("Say why it is taken back."), act, shown)


def _show_withdraw(
    desk: Desk, person: Person, zone_id: str, laying_id: str, form: Form | None = None, status: int = 0
) -> Response:
    view = standing_view(desk, person, zone_id)
    if not roles.may(view.seen.role, "withdraw film laid"):
        raise NotAllowed(tr("A crew lead or a project manager takes back what was logged as laid."))
    laying = laying_in(view.zone, laying_id)
    lot = view.site.lots[laying.lot_id]
    told = Withdrawing(
        title=tr("Take back lot {number}", number=lot.number),
        words=tr(
            "It is logged as laid in zone {letter}. Take it back only if it was not laid here.",
            letter=view.zone.letter,
        ),
        gone=laying.withdrawn,
        action=f"/zones/{view.zone.id}/film/{laying_id}/withdraw",
        back=f"/zones/{view.zone.id}/film",
        back_words=tr("Back to the film of zone {letter}", letter=view.zone.letter),
    )
    return withdraw_html(told, view.seen.project, view.seen.role, person, form, status)
