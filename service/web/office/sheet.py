"""The rule sheet: each number with its source and meaning; a change shows its effect before it is saved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.actions.entrance.accounts import Person
from service.actions.evidence.audit import entries_after
from service.actions.frame.desk import Desk
from service.actions.office.numbers import zone_sheets
from service.actions.office.projects import SheetEffect, change_rule_sheet, effect_of_sheet, one_project
from service.actions.office.sheet_reading import read_sheet
from service.domain.nouns import roles
from service.domain.nouns.rules import RAISABLE, not_asked_for
from service.domain.rule_sheet.rule_texts import TITLES, say_rule
from service.domain.words.refusals import BadInput, Conflict, FactsMoved, NotAllowed
from service.domain.words.speech import later, tr, trc, trn
from service.history.facts.facts import RuleSheetChanged
from service.history.replay.standing import CLEAR, HELD, READY
from service.web.drawings.drawing import ScheduleRow
from service.web.forms.forms import Form, Typed
from service.web.forms.sending import new_key, send_once
from service.web.office.sheet_form import SheetForm, given, sheet_form
from service.web.serving.guards import Signed, TheDesk
from service.web.serving.render import render
from service.web.serving.ways import shell_of
from service.web.shared.reasons import kind_of
from service.web.shared.sheet_words import ChangeRow, changes, read_rows, together_rows

router = APIRouter(include_in_schema=False)

SHEET_CAUTION = later(
    "Enter what the contract, the local code and the film maker's instructions ask; the "
    "largest of them governs. Nothing here replaces the engineer of record."
)
SAID = {"saved": later("The rule sheet is changed. Every zone is judged by it from now on.")}
MOST_TOLD = 12


@dataclass(frozen=True, slots=True)
class SheetPage:
    """`templates/office/rule_sheet.html`. `may`: who reads may change it. `together`: what the chosen sets
    ask. `zones`: each with what it asks more. `moved`: what others changed since the form was drawn."""

    may: bool
    action: str
    key: str
    seen: int
    form: SheetForm
    read: tuple[tuple[str, ...], ...]
    together: tuple[tuple[str, str, str], ...]
    zones: tuple[ScheduleRow, ...]
    not_asked: str
    moved: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EffectRow:
    letter: str
    words: str
    kind: str
    href: str


@dataclass(frozen=True, slots=True)
class EffectPage:
    """`templates/office/rule_sheet_effect.html`: what a change would do, before it is made. `sent`: every
    field of the form, to be sent again; `effect` names what was shown. `save`: the words of the button."""

    action: str
    key: str
    changes: tuple[ChangeRow, ...]
    effects: tuple[EffectRow, ...]
    heading: str
    moved: bool
    sent: tuple[tuple[str, str], ...]
    effect: str
    save: str


@router.get("/projects/{project_id}/rule-sheet")
def rule_sheet(desk: TheDesk, person: Signed, project_id: str, did: str = "") -> Response:
    return _answer(desk, person, project_id, said=tr(SAID.get(did, "")))


@router.post("/projects/{project_id}/rule-sheet")
def change(request: Request, desk: TheDesk, person: Signed, form: Typed, project_id: str) -> Response:
    """Look at the effect (`step` look), go back to the form (edit), or save what was looked at (save)."""
    seen = one_project(desk, person.id, project_id)
    if not roles.may(seen.role, "change the rule sheet"):
        raise NotAllowed(tr("Only a project manager changes the rule sheet."))
    wanted = given(seen.project.sheet, form.values)
    step = form.value("step")
    if step == "edit":
        return _answer(desk, person, project_id, form, 200)
    try:
        if step == "save":
            return send_once(request, desk, person.id, form, lambda: _saved(desk, person, project_id, form))
        if _others(desk, person, project_id, _seen(form)):
            raise FactsMoved
        if read_sheet(seen.project.sheet, wanted, seen.project.units) == seen.project.sheet:
            raise BadInput(tr("Nothing is changed yet: every number stands as it was."))
        return _effect(desk, person, project_id, form)
    except BadInput as refusal:
        form.refused(refusal)
        return _answer(desk, person, project_id, form)
    except EffectMoved:
        return _effect(desk, person, project_id, form, 409)
    except FactsMoved:
        form.wrong("", tr("Somebody changed the rule sheet since you looked. Look again, then decide."))
        return _answer(desk, person, project_id, form, 409)
    except Conflict as refusal:
        form.refused(refusal)
        return _answer(desk, person, project_id, form, 409)


class EffectMoved(Exception):
    """What the change would do is no longer what was shown."""


def _saved(desk: Desk, person: Person, project_id: str, form: Form) -> str:
    """Save, in the one transaction in which the effect is worked out again and found to be what was shown."""
    wanted = given(one_project(desk, person.id, project_id).project.sheet, form.values)
    change_rule_sheet(desk, person.id, project_id, {}, seen_head=_seen(form))
    if name_effect(effect_of_sheet(desk, person.id, project_id, wanted)[1]) != form.value("effect"):
        raise EffectMoved
    change_rule_sheet(desk, person.id, project_id, wanted, seen_head=_seen(form))
    return f"/projects/{project_id}/rule-sheet?did=saved"


def _seen(form: Form) -> int:
    typed = form.value("seen")
    return int(typed) if typed.isdecimal() and len(typed) < 12 else 0


def name_effect(effects: Sequence[SheetEffect]) -> str:
    """Names what a change would do, so that what is saved is what was shown."""
    return "; ".join(f"{effect.letter}: {effect.before} to {effect.after}" for effect in effects) or "none"


# --- the effect ------------------------------------------------------------------------------------------


def _effect(desk: Desk, person: Person, project_id: str, form: Form, status: int = 200) -> Response:
    seen = one_project(desk, person.id, project_id)
    sheet, effects = effect_of_sheet(desk, person.id, project_id, given(seen.project.sheet, form.values))
    page = EffectPage(
        action=f"/projects/{project_id}/rule-sheet",
        key=new_key(),
        changes=changes(seen.project.sheet, sheet, seen.project.units),
        effects=tuple(effect_row(effect) for effect in effects),
        heading=effect_words(effects),
        moved=status != 200,
        sent=sent_again(form),
        effect=name_effect(effects),
        save=tr("Save the rule sheet"),
    )
    shell = shell_of(seen.project, seen.role, person, cautions=(tr(SHEET_CAUTION),))
    return HTMLResponse(render("office/rule_sheet_effect.html", page, **shell), status)


def sent_again(form: Form) -> tuple[tuple[str, str], ...]:
    """Every field of the form but what belongs to one step of it."""
    mine = ("request_key", "step", "effect")
    return tuple((name, value) for name, value in form.values.items() if name not in mine)


def effect_row(effect: SheetEffect) -> EffectRow:
    """A zone whose state a change would move."""
    words = tr(
        "{before} now, {after} then",
        before=trc("zone", effect.before),
        after=trc("zone", effect.after),
    )
    return EffectRow(effect.letter, words, kind_of(effect.after), f"/zones/{effect.zone}/release")


def effect_words(effects: Sequence[SheetEffect]) -> str:
    """What a change does to zones, in sentences."""
    fallen = [effect.letter for effect in effects if effect.before == READY]
    held = [effect.letter for effect in effects if effect.after == HELD and effect.before != READY]
    freed = [effect.letter for effect in effects if effect.after == CLEAR and effect.before == HELD]
    told = []
    if fallen:
        told.append(
            trn(
                "The release of zone {letters} falls away.",
                "The release of zones {letters} falls away.",
                len(fallen),
                letters=", ".join(fallen),
            )
        )
    if held:
        told.append(
            trn(
                "Zone {letters} goes back on hold.",
                "Zones {letters} go back on hold.",
                len(held),
                letters=", ".join(held),
            )
        )
    if freed:
        told.append(
            trn(
                "Zone {letters} is no longer held.",
                "Zones {letters} are no longer held.",
                len(freed),
                letters=", ".join(freed),
            )
        )
    return " ".join(told) or tr("No zone changes its state by this.")


# --- the sheet -------------------------------------------------------------------------------------------


def _answer(
    desk: Desk,
    person: Person,
    project_id: str,
    form: Form | None = None,
    status: int = 422,
    *,
    said: str = "",
) -> Response:
    seen = one_project(desk, person.id, project_id)
    sheet, units = seen.project.sheet, seen.project.units
    left_out = not_asked_for(sheet)
    page = SheetPage(
        may=roles.may(seen.role, "change the rule sheet"),
        action=f"/projects/{project_id}/rule-sheet",
        key=new_key(),
        seen=seen.head,
        form=sheet_form(sheet, units, form),
        read=read_rows(sheet, units),
        together=together_rows(sheet, units),
        zones=_zone_rows(desk, person, project_id),
        not_asked=", ".join(map(tr, left_out)),
        moved=_others(desk, person, project_id, _seen(form)) if form and status == 409 else (),
    )
    shell = shell_of(
        seen.project,
        seen.role,
        person,
        errors=form.errors if form else {},
        said=said,
        cautions=(tr(SHEET_CAUTION),),
    )
    return HTMLResponse(render("office/rule_sheet.html", page, **shell), status if form else 200)


def _zone_rows(desk: Desk, person: Person, project_id: str) -> tuple[ScheduleRow, ...]:
    """Every zone with the numbers that hold in it and are stricter than the sheet's."""
    seen, found = zone_sheets(desk, person.id, project_id)
    base, units = seen.project.sheet, seen.project.units
    rows = []
    for one in found:
        more = [name for name in RAISABLE if getattr(one.sheet, name) != getattr(base, name)]
        told = ", ".join(f"{tr(TITLES[name]).lower()} {say_rule(one.sheet, name, units)}" for name in more)
        rows.append(
            ScheduleRow(
                one.zone.letter,
                one.zone.name or tr("Zone {letter}", letter=one.zone.letter),
                told or tr("as the rule sheet asks"),
                tr("asks more") if told else "",
                f"/zones/{one.zone.id}/numbers",
            )
        )
    return tuple(rows)


def _others(desk: Desk, person: Person, project_id: str, after: int) -> tuple[str, ...]:
    """What others changed on the sheet since a number of the history, in sentences."""
    lines, _ = entries_after(desk, person.id, project_id, after, limit=500)
    return tuple(line.sentence for line in lines if isinstance(line.entry.fact, RuleSheetChanged))[
        -MOST_TOLD:
    ]
