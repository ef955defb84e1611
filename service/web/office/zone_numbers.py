"""The numbers of one zone: what holds in it and who asks for it; asking more here than the rule sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView
from service.actions.office.numbers import RaiseEffect, effect_of_raising, origins, raise_numbers
from service.actions.office.projects import SheetEffect
from service.domain.nouns import roles
from service.domain.nouns.rules import RAISABLE, STRICTER_IS_LESS
from service.domain.rule_sheet.rule_texts import TITLES, Rule, exact_number, say_number, say_rule, with_value
from service.domain.words.refusals import BadInput, Conflict, FactsMoved, NotAllowed
from service.domain.words.speech import later, tr
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.office.sheet import (
    SHEET_CAUTION,
    EffectMoved,
    EffectPage,
    effect_row,
    effect_words,
    name_effect,
    sent_again,
)
from service.web.office.sheet_form import source_label
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.sheet_words import MEANINGS, ChangeRow, changes
from service.web.shared.zone_views import standing_view

router = APIRouter(include_in_schema=False)

SAID = {"saved": later("The zone's numbers are changed. It is judged by them from now on.")}
MOVED = later("Somebody changed this zone's numbers since you looked. Look again, then decide.")


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One number: what holds, who asks for it (term, words, source), and what this zone asks more."""

    name: str
    title: str
    means: str
    holds: str
    asked: tuple[tuple[str, str, str], ...]
    hint: str
    value: str
    was: str
    source_label: str
    new_source: str


@dataclass(frozen=True, slots=True)
class NumbersPage:
    """`templates/office/zone_numbers.html`. `may`: who reads may change it; `seen`: how often it was changed
    when the form was drawn."""

    letter: str
    may: bool
    rows: tuple[NumberRow, ...]
    seen: int
    action: str
    key: str
    sheet_href: str
    film_href: str
    back: str


@router.get("/zones/{zone_id}/numbers")
def numbers_page(desk: TheDesk, person: Signed, zone_id: str, did: str = "") -> Response:
    return _answer(standing_view(desk, person, zone_id), person, said=tr(SAID.get(did, "")))


@router.post("/zones/{zone_id}/numbers")
def change(request: Request, desk: TheDesk, person: Signed, form: Typed, zone_id: str) -> Response:
    """Look at the effect (`step` look), go back to the form (edit), or save what was looked at (save)."""
    view = standing_view(desk, person, zone_id)
    if not roles.may(view.seen.role, "raise a zone's numbers"):
        raise NotAllowed(tr("Only a project manager raises a zone's numbers."))
    step = form.value("step")
    if step == "edit":
        return _answer(view, person, form, 200)
    try:
        if step == "save":
            return send_once(request, desk, person.id, form, lambda: _saved(desk, person, view, form))
        if _seen(form) != view.zone.raised_revision:
            raise FactsMoved
        effect = effect_of_raising(desk, person.id, zone_id, given(view, form.values))
        if effect.raised == view.zone.raised:
            raise BadInput(tr("Nothing is changed yet: every number stands as it was."))
        return _effect(view, person, form, effect)
    except EffectMoved:
        effect = effect_of_raising(desk, person.id, zone_id, given(view, form.values))
        return _effect(view, person, form, effect, 409)
    except FactsMoved:
        form.wrong("", tr(MOVED))
        return _answer(standing_view(desk, person, zone_id), person, form, 409)
    except Conflict as refusal:
        form.refused(refusal)
        return _answer(view, person, form, 409)
    except BadInput as refusal:
        form.refused(refusal)
        return _answer(view, person, form)


def _saved(desk: Desk, person: Person, view: ZoneView, form: Form) -> str:
    """Save, in the one transaction in which the effect is worked out again and found to be what was shown."""
    zone_id, wanted = view.zone.id, given(view, form.values)
    raise_numbers(desk, person.id, zone_id, {}, _seen(form))
    effect = effect_of_raising(desk, person.id, zone_id, wanted)
    if name_effect(_moved(view, effect)) != form.value("effect"):
        raise EffectMoved
    raise_numbers(desk, person.id, zone_id, wanted, _seen(form))
    return f"/zones/{zone_id}/numbers?did=saved"


def _seen(form: Form) -> int:
    typed = form.value("seen")
    return int(typed) if typed.isdecimal() and len(typed) < 12 else -1


def given(view: ZoneView, mine: Mapping[str, str]) -> dict[str, Any]:
    """What the form changes, in the contract's forms: emptied, a number is taken back; untouched, left out,
    so that its rounded text never takes the exact number's place."""
    raised = {one.name: one.value for one in view.zone.raised}
    found: dict[str, Any] = {}
    for name in RAISABLE:
        typed, source = mine.get(name, "").strip(), mine.get(f"{name}_source", "").strip()
        touched = name in mine and typed != mine.get(f"{name}_was", "").strip()
        if touched and not typed:
            found[name] = None
        elif touched or (source and not typed):
            found[name] = {"value": typed, "source": source}
        elif source and name in raised:
            rule: Rule = getattr(view.seen.project.sheet, name)
            found[name] = {
                "value": exact_number(with_value(rule, raised[name], ""), name),
                "source": source,
            }
    return found


# --- the effect ------------------------------------------------------------------------------------------


def _moved(view: ZoneView, effect: RaiseEffect) -> list[SheetEffect]:
    if effect.before == effect.after:
        return []
    return [SheetEffect(view.zone.id, view.zone.letter, effect.before, effect.after)]


def _effect(view: ZoneView, person: Person, form: Form, effect: RaiseEffect, status: int = 200) -> Response:
    moved = _moved(view, effect)
    page = EffectPage(
        action=f"/zones/{view.zone.id}/numbers",
        key=new_key(),
        changes=_changes(view, effect),
        effects=tuple(effect_row(one) for one in moved),
        heading=effect_words(moved),
        moved=status != 200,
        sent=sent_again(form),
        effect=name_effect(moved),
        save=tr("Save the numbers of zone {letter}", letter=view.zone.letter),
    )
    shell = shell_of(view.seen.project, view.seen.role, person, cautions=(tr(SHEET_CAUTION),))
    return HTMLResponse(render("office/rule_sheet_effect.html", page, **shell), status)


def _changes(view: ZoneView, effect: RaiseEffect) -> tuple[ChangeRow, ...]:
    """What would hold otherwise, and what the zone would ask that its material asks more of already."""
    units, sheet = view.seen.project.units, view.seen.project.sheet
    rows = changes(sheet, effect.sheet, units)
    told = {row.title for row in rows}
    old = {one.name: one for one in view.zone.raised}
    more = [
        ChangeRow(
            tr(TITLES[one.name]),
            say_rule(sheet, one.name, units),
            tr(
                "{holds}, for {number} is asked more of already,",
                holds=say_rule(sheet, one.name, units),
                number=say_number(one.name, one.value, units),
            ),
            tr(one.source),
        )
        for one in effect.raised
        if old.get(one.name) != one and tr(TITLES[one.name]) not in told
    ]
    return (*rows, *more)


# --- the numbers -----------------------------------------------------------------------------------------


def _answer(
    view: ZoneView, person: Person, form: Form | None = None, status: int = 422, *, said: str = ""
) -> Response:
    zone, project = view.zone, view.seen.project
    page = NumbersPage(
        letter=zone.letter,
        may=roles.may(view.seen.role, "raise a zone's numbers"),
        rows=tuple(_row(view, name, form.values if form else {}) for name in RAISABLE),
        seen=zone.raised_revision,
        action=f"/zones/{zone.id}/numbers",
        key=new_key(),
        sheet_href=f"/projects/{project.id}/rule-sheet",
        film_href=f"/zones/{zone.id}/film",
        back=f"/zones/{zone.id}/release",
    )
    errors = form.errors if form else {}
    shell = shell_of(project, view.seen.role, person, errors=errors, said=said, cautions=(tr(SHEET_CAUTION),))
    return HTMLResponse(render("office/zone_numbers.html", page, **shell), status if form else 200)


def _row(view: ZoneView, name: str, mine: Mapping[str, str]) -> NumberRow:
    units = view.seen.project.units
    own = next((one for one in view.zone.raised if one.name == name), None)
    shown = say_number(name, own.value, units) if own else ""
    typed = mine.get(name, shown)
    changed = typed.strip() != mine.get(f"{name}_was", shown).strip()
    asked = origins(view.site, view.zone, name, units)
    return NumberRow(
        name=name,
        title=tr(TITLES[name]),
        means=tr(MEANINGS[name]),
        holds=say_rule(view.seen.project.sheet, name, units),
        asked=tuple((of.who, of.words, tr(of.source)) for of in asked),
        hint=tr("Less than {asked}; empty to ask what the rule sheet asks.", asked=asked[0].words)
        if name in STRICTER_IS_LESS
        else tr("More than {asked}; empty to ask what the rule sheet asks.", asked=asked[0].words),
        value=typed if changed else shown,
        was=shown,
        source_label=source_label(name),
        new_source=mine.get(f"{name}_source", ""),
    )
