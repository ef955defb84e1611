"""The rule sheet in words: what each number means, what a ready-made set asks, and what a change alters."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from service.domain.nouns.rules import (
    REPLACE,
    SHEET_PATCH,
    STEPS,
    TAPE_ONLY,
    Choice,
    RuleSheet,
    not_asked_for,
    source_of,
)
from service.domain.rule_sheet.rule_sets import RuleSet, combine, set_of
from service.domain.rule_sheet.rule_texts import TITLES, number_of, say_number, say_rule
from service.domain.words.measures import Units, say_length
from service.domain.words.speech import later, tr

# What each number means and what it decides, in the groups in which they stand on the sheet.
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        later("Patches, laps and tape"),
        ("patch_overlap", "lap", "station_every", "tape_width", "tape_temperature", "cut_allowance"),
    ),
    (later("Penetrations"), ("collar_width", "collar_length_factor", "mastic_up_to")),
    (later("Film"), ("film_class", "film_thickness", "most_permeance")),
)
MEANINGS: dict[str, str] = {
    "patch_overlap": later("How far a patch reaches past the damage, the least over all directions."),
    "lap": later("How far two sheets lie over each other where they meet, at least."),
    "station_every": later("How far apart the lap is measured when a seam is walked, or none."),
    "tape_width": later("The narrowest tape that counts."),
    "tape_temperature": later("How warm the film is at least when tape is put on. Ask the tape's maker."),
    "cut_allowance": later(
        "Added on each side of the least cut size, so that a patch laid a little off still "
        "reaches. A patch cut without it is judged the same."
    ),
    "collar_width": later("How wide the wrap of film round a pipe is cut: up the pipe and out on the film."),
    "collar_length_factor": later("How many times the pipe's circumference the wrap is cut long."),
    "mastic_up_to": later("The largest penetration that may be sealed with mastic alone."),
    "film_class": later(
        "The least class of ASTM E1745 for film under slabs: A, B, C, or none. A is strongest."
    ),
    "film_thickness": later(
        "How thick the film is at least, like 10 mil or 0.25 mm, or none. No class of ASTM "
        "E1745 asks for a thickness."
    ),
    "most_permeance": later("The most vapor the film may pass, like 0.1 perm, or none."),
}
CHOICE_TITLES = {
    "repair_methods": later("Repair that counts"),
    "second_look": later("Second look"),
    "gate_demands": later("Asked of the gate besides"),
    "hold_points": later("Hold points"),
    "sets": later("Ready-made sets"),
}
METHOD_WORDS = {
    SHEET_PATCH: later("A piece of film over the damage, taped on all edges."),
    TAPE_ONLY: later("Two soil-gas standards permit it by name; the tape has to cover the damage."),
    REPLACE: later("The damaged sheet is taken out and a new one lapped in."),
}
DEMAND_WORDS = {
    "penetrations": later("Each is placed and its seal holds, or it is stated that there are none."),
    "seams": later("Each is walked with its laps measured, or it is stated that there are none."),
    "terminations": later("Every stretch of the edge is described, and its seal holds."),
    "hold points": later("Each is signed, in time order."),
    "film": later("The film laid is logged by lot, and its material is what the sheet asks."),
}


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One difference between two sheets, in words. `before` is empty where only the source is another."""

    title: str
    before: str
    after: str
    source: str


def set_words(rule_set: RuleSet, units: Units) -> str:
    """What a ready-made set asks, and where that was read."""
    patch = rule_set.patch_nm(units)
    told = [tr("Laps {length}", length=say_length(rule_set.lap_nm(units), units))]
    told += [tr("patches {length}", length=say_length(patch, units))] if patch else []
    told += [tr("film of class {letter} at least", letter=rule_set.film_class)] if rule_set.film_class else []
    if thick := rule_set.film_nm(units):
        told.append(tr("film of {thickness} at least", thickness=say_number("film_thickness", thick, units)))
    methods = tr("Counts: {methods}.", methods=_listed(rule_set.methods)) if rule_set.methods else ""
    notes = f"{tr(rule_set.notes)} ({tr(rule_set.source)})"
    return " ".join(filter(None, (f"{', '.join(told)}.", methods, notes)))


def _listed(words: Iterable[str]) -> str:
    """Words of closed sets, one after the other."""
    return ", ".join(map(tr, words))


def together_rows(sheet: RuleSheet, units: Units) -> tuple[tuple[str, str, str], ...]:
    """What the sets chosen ask together, each number with the set that governs it."""
    if not sheet.sets:
        return ()
    asked = combine(sheet.sets, units)
    return (
        (tr("Lap"), say_length(asked.lap.nm, units), tr(asked.lap.source)),
        (tr("Patch overlap"), say_length(asked.patch_overlap.nm, units), tr(asked.patch_overlap.source)),
        (tr("Repair that counts"), _listed(asked.methods), tr(asked.methods_source)),
        (tr("Film class"), asked.film_class.word or tr("not asked for"), tr(asked.film_class.source)),
        (
            tr("Film thickness"),
            say_number("film_thickness", asked.film_thickness.nm, units),
            tr(asked.film_thickness.source),
        ),
    )


def choice_words(sheet: RuleSheet, name: str) -> str:
    """A choice of the sheet that is no number."""
    value = getattr(sheet, name)
    if isinstance(value, bool):
        return tr("asked for") if value else tr("not asked for")
    if name == "sets":
        return "; ".join(tr(set_of(key).name) for key in value) or tr("none")
    return (" → " if name == "hold_points" else ", ").join(map(tr, value)) or tr("nothing")


def _brief(sheet: RuleSheet, name: str) -> str:
    """A choice as a change tells it: of the hold points, how many and which are the project's own."""
    if name != "hold_points":
        return choice_words(sheet, name)
    own = ", ".join(step for step in sheet.hold_points if step not in STEPS)
    if own:
        return tr("the {count} of the trade and {own}", count=len(STEPS), own=own)
    return tr("the {count} of the trade", count=len(STEPS))


def choice_source(sheet: RuleSheet, name: str) -> str:
    """Where a choice comes from; sets and hold points carry no line of their own."""
    return "" if name in ("sets", "hold_points") else source_of(sheet, name)


def changes(old: RuleSheet, new: RuleSheet, units: Units) -> tuple[ChangeRow, ...]:
    """Every difference, in the sheet's order."""
    rows = []
    for name, title in TITLES.items():
        if getattr(old, name) != getattr(new, name):
            same = _value(old, name) == _value(new, name)
            before = "" if same else say_rule(old, name, units)
            rows.append(
                ChangeRow(tr(title), before, say_rule(new, name, units), tr(getattr(new, name).source))
            )
    for name, title in CHOICE_TITLES.items():
        source, same = choice_source(new, name), getattr(old, name) == getattr(new, name)
        if not same or source != choice_source(old, name):
            before = "" if same else _brief(old, name)
            rows.append(ChangeRow(tr(title), before, _brief(new, name), tr(source)))
    return tuple(rows)


def _value(sheet: RuleSheet, name: str) -> object:
    """A field without its source."""
    rule = getattr(sheet, name)
    if name not in TITLES:
        return rule
    return rule.word if isinstance(rule, Choice) else number_of(rule)


def read_rows(sheet: RuleSheet, units: Units) -> tuple[tuple[str, ...], ...]:
    """The whole sheet for who only reads it: title, value, and what it means with where it comes from."""
    numbers = tuple(
        (
            tr(TITLES[name]),
            say_rule(sheet, name, units),
            f"{tr(MEANINGS[name])} {_from(getattr(sheet, name).source)}",
        )
        for _, names in GROUPS
        for name in names
    )
    return (*numbers, *(_choice_row(sheet, name, title) for name, title in CHOICE_TITLES.items()))


def _choice_row(sheet: RuleSheet, name: str, title: str) -> tuple[str, ...]:
    source = choice_source(sheet, name)
    row = (tr(title), choice_words(sheet, name))
    return (*row, _from(source)) if source else row


def _from(source: str) -> str:
    return tr("From: {source}.", source=tr(source))


def in_force(sheet: RuleSheet, units: Units) -> tuple[tuple[str, str], ...]:
    """The few numbers a page of the whole project shows, and what the gate does not ask for."""
    return (
        (tr("Patch overlap"), say_length(sheet.patch_overlap.nm, units)),
        (tr("Lap"), say_length(sheet.lap.nm, units)),
        (tr("Tape"), say_length(sheet.tape_width.nm, units)),
        (tr("Film"), film_words(sheet, units) or tr("not asked for")),
        (tr("Second look"), choice_words(sheet, "second_look")),
        (tr("Not asked for"), _listed(not_asked_for(sheet)) or tr("nothing: the gate asks for all")),
    )


def film_words(sheet: RuleSheet, units: Units) -> str:
    """`class A, 10 mil, at most 0.1 perm`: what the film has to be, or nothing where nothing is asked."""
    told = [tr("class {word}", word=sheet.film_class.word)] if sheet.film_class.word else []
    told += [say_rule(sheet, "film_thickness", units)] if sheet.film_thickness.nm else []
    told += (
        [tr("at most {rule}", rule=say_rule(sheet, "most_permeance", units))]
        if sheet.most_permeance.up
        else []
    )
    return ", ".join(told)
