"""The rule sheet in words: what each number means, what a ready-made set asks, and what a change alters."""

from __future__ import annotations

from dataclasses import dataclass

from service.domain.measures import Units, say_length
from service.domain.rule_sets import RuleSet, combine, set_of
from service.domain.rule_texts import TITLES, number_of, say_number, say_rule
from service.domain.rules import (
    REPLACE,
    SHEET_PATCH,
    STEPS,
    TAPE_ONLY,
    Choice,
    RuleSheet,
    not_asked_for,
    source_of,
)

# What each number means and what it decides, in the groups in which they stand on the sheet.
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Patches, laps and tape",
        ("patch_overlap", "lap", "station_every", "tape_width", "tape_temperature", "cut_allowance"),
    ),
    ("Penetrations", ("collar_width", "collar_length_factor", "mastic_up_to")),
    ("Film", ("film_class", "film_thickness", "most_permeance")),
)
MEANINGS: dict[str, str] = {
    "patch_overlap": "How far a patch reaches past the damage, the least over all directions.",
    "lap": "How far two sheets lie over each other where they meet, at least.",
    "station_every": "How far apart the lap is measured when a seam is walked, or none.",
    "tape_width": "The narrowest tape that counts.",
    "tape_temperature": "How warm the film is at least when tape is put on. Ask the tape's maker.",
    "cut_allowance": "Added on each side of the least cut size, so that a patch laid a little off still "
    "reaches. A patch cut without it is judged the same.",
    "collar_width": "How wide the wrap of film round a pipe is cut: up the pipe and out on the film.",
    "collar_length_factor": "How many times the pipe's circumference the wrap is cut long.",
    "mastic_up_to": "The largest penetration that may be sealed with mastic alone.",
    "film_class": "The least class of ASTM E1745 for film under slabs: A, B, C, or none. A is strongest.",
    "film_thickness": "How thick the film is at least, like 10 mil or 0.25 mm, or none. No class of ASTM "
    "E1745 asks for a thickness.",
    "most_permeance": "The most vapor the film may pass, like 0.1 perm, or none.",
}
CHOICE_TITLES = {
    "repair_methods": "Repair that counts",
    "second_look": "Second look",
    "gate_demands": "Asked of the gate besides",
    "hold_points": "Hold points",
    "sets": "Ready-made sets",
}
METHOD_WORDS = {
    SHEET_PATCH: "A piece of film over the damage, taped on all edges.",
    TAPE_ONLY: "Two soil-gas standards permit it by name; the tape has to cover the damage.",
    REPLACE: "The damaged sheet is taken out and a new one lapped in.",
}
DEMAND_WORDS = {
    "penetrations": "Each is placed and its seal holds, or it is stated that there are none.",
    "seams": "Each is walked with its laps measured, or it is stated that there are none.",
    "terminations": "Every stretch of the edge is described, and its seal holds.",
    "hold points": "Each is signed, in time order.",
    "film": "The film laid is logged by lot, and its material is what the sheet asks.",
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
    told = [f"Laps {say_length(rule_set.lap_nm(units), units)}"]
    told += [f"patches {say_length(patch, units)}"] if patch else []
    told += [f"film of class {rule_set.film_class} at least"] if rule_set.film_class else []
    if thick := rule_set.film_nm(units):
        told.append(f"film of {say_number('film_thickness', thick, units)} at least")
    methods = f" Counts: {', '.join(rule_set.methods)}." if rule_set.methods else ""
    return f"{', '.join(told)}.{methods} {rule_set.notes} ({rule_set.source})"


def together_rows(sheet: RuleSheet, units: Units) -> tuple[tuple[str, str, str], ...]:
    """What the sets chosen ask together, each number with the set that governs it."""
    if not sheet.sets:
        return ()
    asked = combine(sheet.sets, units)
    return (
        ("Lap", say_length(asked.lap.nm, units), asked.lap.source),
        ("Patch overlap", say_length(asked.patch_overlap.nm, units), asked.patch_overlap.source),
        ("Repair that counts", ", ".join(asked.methods), asked.methods_source),
        ("Film class", asked.film_class.word or "not asked for", asked.film_class.source),
        (
            "Film thickness",
            say_number("film_thickness", asked.film_thickness.nm, units),
            asked.film_thickness.source,
        ),
    )


def choice_words(sheet: RuleSheet, name: str) -> str:
    """A choice of the sheet that is no number."""
    value = getattr(sheet, name)
    if isinstance(value, bool):
        return "asked for" if value else "not asked for"
    if name == "sets":
        return "; ".join(set_of(key).name for key in value) or "none"
    return (" → " if name == "hold_points" else ", ").join(value) or "nothing"


def _brief(sheet: RuleSheet, name: str) -> str:
    """A choice as a change tells it: of the hold points, how many and which are the project's own."""
    if name != "hold_points":
        return choice_words(sheet, name)
    own = ", ".join(step for step in sheet.hold_points if step not in STEPS)
    return f"the {len(STEPS)} of the trade" + (f" and {own}" if own else "")


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
            rows.append(ChangeRow(title, before, say_rule(new, name, units), getattr(new, name).source))
    for name, title in CHOICE_TITLES.items():
        source, same = choice_source(new, name), getattr(old, name) == getattr(new, name)
        if not same or source != choice_source(old, name):
            before = "" if same else _brief(old, name)
            rows.append(ChangeRow(title, before, _brief(new, name), source))
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
            TITLES[name],
            say_rule(sheet, name, units),
            f"{MEANINGS[name]} From: {getattr(sheet, name).source}.",
        )
        for _, names in GROUPS
        for name in names
    )
    return (*numbers, *(_choice_row(sheet, name, title) for name, title in CHOICE_TITLES.items()))


def _choice_row(sheet: RuleSheet, name: str, title: str) -> tuple[str, ...]:
    source = choice_source(sheet, name)
    row = (title, choice_words(sheet, name))
    return (*row, f"From: {source}.") if source else row


def in_force(sheet: RuleSheet, units: Units) -> tuple[tuple[str, str], ...]:
    """The few numbers a page of the whole project shows, and what the gate does not ask for."""
    return (
        ("Patch overlap", say_length(sheet.patch_overlap.nm, units)),
        ("Lap", say_length(sheet.lap.nm, units)),
        ("Tape", say_length(sheet.tape_width.nm, units)),
        ("Film", film_words(sheet, units) or "not asked for"),
        ("Second look", choice_words(sheet, "second_look")),
        ("Not asked for", ", ".join(not_asked_for(sheet)) or "nothing: the gate asks for all"),
    )


def film_words(sheet: RuleSheet, units: Units) -> str:
    """`class A, 10 mil, at most 0.1 perm`: what the film has to be, or nothing where nothing is asked."""
    told = [f"class {sheet.film_class.word}"] if sheet.film_class.word else []
    told += [say_rule(sheet, "film_thickness", units)] if sheet.film_thickness.nm else []
    told += [f"at most {say_rule(sheet, 'most_permeance', units)}"] if sheet.most_permeance.up else []
    return ", ".join(told)
