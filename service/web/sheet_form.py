"""The rule sheet as a form: what each number means, and what was typed against what was shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.measures import Units, say_length
from service.domain.rules import (
    CHECKABLE_DEMANDS,
    GATE_DEMANDS,
    REPAIR_METHODS,
    SHEET_PATCH,
    Factor,
    Number,
    RuleSheet,
)
from service.web.drawing import CheckBox
from service.web.forms import Form

JUDGED, TOLD = "The gate judges by it.", "Kept with the project; the gate does not judge it yet."
NO_SOURCE = "set by the project, no source given"

# Each number's title, what it means, and what becomes of it.
MEANINGS: dict[str, tuple[str, str, str]] = {
    "patch_overlap": (
        "Patch overlap",
        "How far a patch reaches past the damage, the least over all directions.",
        JUDGED,
    ),
    "lap": ("Lap", "How far two sheets lie over each other where they meet, at least.", TOLD),
    "tape_width": ("Tape width", "The narrowest tape that counts on a patch's edges.", JUDGED),
    "collar_width": ("Collar width", "How tall the wrap of film round a pipe is cut.", TOLD),
    "collar_length_factor": (
        "Collar length",
        "How many times the pipe's circumference the wrap is cut long.",
        TOLD,
    ),
    "mastic_up_to": ("Mastic up to", "The largest penetration that may be sealed with mastic alone.", TOLD),
    "cut_allowance": (
        "Placing allowance",
        "Added on each side of the least cut size, so that a patch laid a little off still reaches.",
        "Told in every cut size; a patch cut without it is judged the same.",
    ),
}
LISTS = ("repair_methods", "gate_demands")


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One number of the sheet, to read or to change. `was`: the text shown when the form was drawn."""

    name: str
    title: str
    means: str
    use: str
    value: str
    was: str
    source: str
    new_source: str


@dataclass(frozen=True, slots=True)
class SheetForm:
    """All of the sheet as a form. `was`: hidden pairs (name, text) of the boxes as they stood."""

    numbers: tuple[NumberRow, ...]
    methods: tuple[CheckBox, ...]
    demands: tuple[CheckBox, ...]
    second_look: tuple[CheckBox, ...]
    was: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One difference between two sheets, in words."""

    title: str
    before: str
    after: str
    source: str


def number_text(sheet: RuleSheet, name: str, units: Units) -> str:
    """A number as shown; never read back as it stands, because it is rounded."""
    value: Number | Factor = getattr(sheet, name)
    if isinstance(value, Factor):
        return f"{value.thousandths / 1000:g}"
    return say_length(value.nm, units)


def sheet_form(sheet: RuleSheet, units: Units, form: Form | None) -> SheetForm:
    """The form, with what this person typed where it differs from what they were shown."""
    mine = form.values if form else {}
    methods, demands, look = (_now(sheet, mine, name) for name in (*LISTS, "second_look"))
    return SheetForm(
        numbers=tuple(_number_row(sheet, units, name, mine) for name in MEANINGS),
        methods=tuple(
            CheckBox(f"repair_methods_{n}", method, _method_words(method), method in methods)
            for n, method in enumerate(REPAIR_METHODS)
        ),
        demands=tuple(
            CheckBox(f"gate_demands_{n}", demand, _demand_words(demand), demand in demands)
            for n, demand in enumerate(GATE_DEMANDS)
        ),
        second_look=(
            CheckBox(
                "second_look_0",
                "A second look at every patch",
                "Cannot be signed here yet: asking for it holds every zone with a mark.",
                bool(look),
            ),
        ),
        was=tuple((f"{name}_was", _as_text(sheet, name)) for name in (*LISTS, "second_look")),
    )


def _number_row(sheet: RuleSheet, units: Units, name: str, mine: Mapping[str, str]) -> NumberRow:
    title, means, use = MEANINGS[name]
    shown = number_text(sheet, name, units)
    typed = mine.get(name, shown)
    changed = typed.strip() != mine.get(f"{name}_was", shown)
    return NumberRow(
        name,
        title,
        means,
        use,
        typed if changed else shown,
        shown,
        getattr(sheet, name).source,
        mine.get(f"{name}_source", ""),
    )


def _method_words(method: str) -> str:
    return "" if method == SHEET_PATCH else "Cannot be judged here yet: a mark mended so stays not sealed."


def _demand_words(demand: str) -> str:
    return (
        "" if demand in CHECKABLE_DEMANDS else "Cannot be checked here yet: asking for it holds every zone."
    )


def _as_text(sheet: RuleSheet, name: str) -> str:
    value = getattr(sheet, name)
    return ("yes" if value else "") if isinstance(value, bool) else "; ".join(value)


def _ticked(mine: Mapping[str, str], name: str) -> tuple[str, ...]:
    options = {"repair_methods": REPAIR_METHODS, "gate_demands": GATE_DEMANDS, "second_look": ("yes",)}[name]
    return tuple(word for n, word in enumerate(options) if mine.get(f"{name}_{n}"))


def _now(sheet: RuleSheet, mine: Mapping[str, str], name: str) -> tuple[str, ...]:
    """What is ticked: this person's ticks where they moved any, else the sheet's."""
    if f"{name}_was" in mine and "; ".join(_ticked(mine, name)) != mine[f"{name}_was"]:
        return _ticked(mine, name)
    return tuple(word for word in _as_text(sheet, name).split("; ") if word)


def given(sheet: RuleSheet, mine: Mapping[str, str]) -> dict[str, Any]:
    """What the form changes, in the JSON contract's forms. A number nobody touched is left out, so that its
    rounded text never takes the exact number's place."""
    found: dict[str, Any] = {}
    for name in MEANINGS:
        typed, source = mine.get(name, "").strip(), mine.get(f"{name}_source", "").strip()
        touched = name in mine and typed != mine.get(f"{name}_was", "")
        if touched or source:
            value = typed if touched else _exact(getattr(sheet, name))
            left = NO_SOURCE if name == "collar_length_factor" else ""
            found[name] = {"value": value, "source": source or left}
    for name in (*LISTS, "second_look"):
        ticked = _ticked(mine, name)
        if f"{name}_was" in mine and "; ".join(ticked) != mine[f"{name}_was"]:
            found[name] = bool(ticked) if name == "second_look" else list(ticked)
    return found


def _exact(value: Number | Factor) -> str:
    if isinstance(value, Factor):
        return f"{value.thousandths / 1000:g}"
    return f"{value.nm // 1_000_000}.{value.nm % 1_000_000:06d} mm"


def changes(old: RuleSheet, new: RuleSheet, units: Units) -> tuple[ChangeRow, ...]:
    """Every difference, in the sheet's order."""
    rows = [
        ChangeRow(
            MEANINGS[name][0],
            number_text(old, name, units),
            number_text(new, name, units),
            getattr(new, name).source,
        )
        for name in MEANINGS
        if getattr(old, name) != getattr(new, name)
    ]
    titles = {
        "repair_methods": "Repair that counts",
        "gate_demands": "Asked of the gate besides",
        "second_look": "Second look",
    }
    for name, title in titles.items():
        if getattr(old, name) != getattr(new, name):
            rows.append(ChangeRow(title, _in_words(old, name), _in_words(new, name), ""))
    return tuple(rows)


def _in_words(sheet: RuleSheet, name: str) -> str:
    value = getattr(sheet, name)
    if isinstance(value, bool):
        return "asked for" if value else "not asked for"
    return ", ".join(value) or "nothing"


def read_rows(sheet: RuleSheet, units: Units) -> tuple[tuple[str, ...], ...]:
    """The whole sheet for who only reads it: title, value, and what it means with where it comes from."""
    numbers = tuple(
        (title, number_text(sheet, name, units), f"{means} {use} From: {getattr(sheet, name).source}.")
        for name, (title, means, use) in MEANINGS.items()
    )
    return (
        *numbers,
        ("Repair that counts", _in_words(sheet, "repair_methods")),
        ("Second look", _in_words(sheet, "second_look")),
        ("Asked of the gate besides", _in_words(sheet, "gate_demands")),
    )
