"""The rule sheet as a form: what is asked now, and what was typed against what was shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.nouns.rules import GATE_DEMANDS, REPAIR_METHODS, RuleSheet
from service.domain.rule_sheet.rule_sets import SETS
from service.domain.rule_sheet.rule_texts import TITLES, exact_number, say_rule
from service.domain.words.measures import Units
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import CheckBox
from service.web.forms.forms import Form
from service.web.shared.sheet_words import (
    CHOICE_TITLES,
    DEMAND_WORDS,
    GROUPS,
    MEANINGS,
    METHOD_WORDS,
    choice_source,
    set_words,
)

# What is ticked, and the words a tick stands for.
BOXES: dict[str, tuple[str, ...]] = {
    "sets": tuple(rule_set.key for rule_set in SETS),
    "repair_methods": REPAIR_METHODS,
    "second_look": ("yes",),
    "gate_demands": GATE_DEMANDS,
}
SOURCE_LABELS = {
    "repair_methods": later("Where a new choice of repairs comes from"),
    "second_look": later("Where a new word on second looks comes from"),
    "gate_demands": later("Where what the gate asks for comes from"),
}


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One number of the sheet, to read or to change. `was`: the text shown when the form was drawn."""

    name: str
    title: str
    means: str
    value: str
    was: str
    source: str
    source_label: str
    new_source: str


@dataclass(frozen=True, slots=True)
class ChoiceRows:
    """Boxes to tick, and the line that says where the choice comes from (`source` empty: it has none)."""

    name: str
    title: str
    boxes: tuple[CheckBox, ...]
    source: str
    source_label: str
    new_source: str


@dataclass(frozen=True, slots=True)
class SheetForm:
    """All of the sheet as a form. `steps`: the hold points, one a line. `was`: hidden pairs (name, text) of
    what is no number as it stood."""

    groups: tuple[tuple[str, tuple[NumberRow, ...]], ...]
    sets: ChoiceRows
    methods: ChoiceRows
    second_look: ChoiceRows
    demands: ChoiceRows
    steps: str
    was: tuple[tuple[str, str], ...]


def sheet_form(sheet: RuleSheet, units: Units, form: Form | None) -> SheetForm:
    """The form, with what this person typed where it differs from what they were shown."""
    mine = form.values if form else {}
    steps = "\n".join(sheet.hold_points)
    return SheetForm(
        groups=tuple(
            (tr(heading), tuple(_number_row(sheet, units, name, mine) for name in names))
            for heading, names in GROUPS
        ),
        sets=_choice_rows(sheet, mine, "sets", [(tr(s.name), set_words(s, units)) for s in SETS]),
        methods=_choice_rows(
            sheet, mine, "repair_methods", [(tr(m), tr(METHOD_WORDS[m])) for m in REPAIR_METHODS]
        ),
        second_look=_choice_rows(
            sheet,
            mine,
            "second_look",
            [(tr("A second look at every patch"), tr("Somebody else than the patcher accepts it on site."))],
        ),
        demands=_choice_rows(
            sheet, mine, "gate_demands", [(tr(d), tr(DEMAND_WORDS[d])) for d in GATE_DEMANDS]
        ),
        steps=mine["hold_points"] if _steps_touched(mine) else steps,
        was=(*((f"{name}_was", _as_text(sheet, name)) for name in BOXES), ("hold_points_was", steps)),
    )


def source_label(name: str) -> str:
    """Over the line that says where a new number comes from."""
    return tr("Where a new {title} comes from", title=tr(TITLES[name]).lower())


def _number_row(sheet: RuleSheet, units: Units, name: str, mine: Mapping[str, str]) -> NumberRow:
    shown = say_rule(sheet, name, units)
    typed = mine.get(name, shown)
    changed = typed.strip() != mine.get(f"{name}_was", shown)
    return NumberRow(
        name,
        tr(TITLES[name]),
        tr(MEANINGS[name]),
        typed if changed else shown,
        shown,
        tr(getattr(sheet, name).source),
        source_label(name),
        mine.get(f"{name}_source", ""),
    )


def _choice_rows(
    sheet: RuleSheet, mine: Mapping[str, str], name: str, told: list[tuple[str, str]]
) -> ChoiceRows:
    now = _now(sheet, mine, name)
    boxes = tuple(
        CheckBox(f"{name}_{n}", words, small, value in now)
        for n, (value, (words, small)) in enumerate(zip(BOXES[name], told, strict=True))
    )
    new_source = mine.get(f"{name}_source", "")
    label = tr(SOURCE_LABELS.get(name, ""))
    return ChoiceRows(name, tr(CHOICE_TITLES[name]), boxes, tr(choice_source(sheet, name)), label, new_source)


def _as_text(sheet: RuleSheet, name: str) -> str:
    value = getattr(sheet, name)
    return ("yes" if value else "") if isinstance(value, bool) else "; ".join(value)


def _ticked(mine: Mapping[str, str], name: str) -> tuple[str, ...]:
    return tuple(word for n, word in enumerate(BOXES[name]) if mine.get(f"{name}_{n}"))


def _boxes_touched(mine: Mapping[str, str], name: str) -> bool:
    return f"{name}_was" in mine and "; ".join(_ticked(mine, name)) != mine[f"{name}_was"]


def _now(sheet: RuleSheet, mine: Mapping[str, str], name: str) -> tuple[str, ...]:
    """What is ticked: this person's ticks where they moved any, else the sheet's."""
    if _boxes_touched(mine, name):
        return _ticked(mine, name)
    return tuple(word for word in _as_text(sheet, name).split("; ") if word)


def _steps(text: str) -> list[str]:
    """Lines that hold something, without stray spaces."""
    lines = (" ".join(line.split()) for line in text.splitlines())
    return [line for line in lines if line]


def _steps_touched(mine: Mapping[str, str]) -> bool:
    return "hold_points" in mine and _steps(mine["hold_points"]) != _steps(mine.get("hold_points_was", ""))


def given(sheet: RuleSheet, mine: Mapping[str, str]) -> dict[str, Any]:
    """What the form changes, in the JSON contract's forms. A number nobody touched is left out, so that its
    rounded text never takes the exact number's place."""
    found: dict[str, Any] = {}
    for name in TITLES:
        typed, source = mine.get(name, "").strip(), mine.get(f"{name}_source", "").strip()
        touched = name in mine and typed != mine.get(f"{name}_was", "")
        if touched or source:
            value = typed if touched else exact_number(getattr(sheet, name), name)
            found[name] = {"value": value, "source": source}
    for name in BOXES:
        touched, source = _boxes_touched(mine, name), mine.get(f"{name}_source", "").strip()
        if name == "sets" and touched:
            found[name] = list(_ticked(mine, name))
        elif name != "sets" and (touched or source):
            found[name] = {"value": _chosen(sheet, mine, name), "source": source}
    if _steps_touched(mine):
        found["hold_points"] = _steps(mine["hold_points"])
    return found


def _chosen(sheet: RuleSheet, mine: Mapping[str, str], name: str) -> Any:
    chosen = _now(sheet, mine, name)
    return bool(chosen) if name == "second_look" else list(chosen)
