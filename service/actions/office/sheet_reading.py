"""What a project manager writes on the rule sheet, read and checked: every field at fault is told at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any

from service.actions.frame.doing import LONGEST_NAME, words
from service.domain.nouns.rules import (
    FILM_CLASSES,
    GATE_DEMANDS,
    REPAIR_METHODS,
    STEPS,
    Choice,
    RuleSheet,
    needs_a_source,
)
from service.domain.rule_sheet import rule_sets
from service.domain.rule_sheet.rule_texts import (
    TITLES,
    BadNumber,
    Rule,
    number_of,
    read_class,
    read_number,
    say_number,
    with_value,
)
from service.domain.words.measures import Units
from service.domain.words.refusals import BadInput
from service.domain.words.speech import later, tr

LONGEST_SOURCE = 300
MOST_OWN_STEPS = 20
NO_SOURCE = "set by the project, no source given"
# What may be sent: `sources` goes with each choice, never by itself.
FIELDS = tuple(f.name for f in fields(RuleSheet) if f.name != "sources")
CHOICES = {"repair_methods": REPAIR_METHODS, "gate_demands": GATE_DEMANDS}
NO_NUMBER = later("Write the number as text with its unit, or as value and source.")
BELOW_ALL = later("This is below every published rule set: write where the number comes from.")
BELOW_SETS = later(
    "The ready-made sets that were chosen ask {asked}: to ask less, write where that comes from."
)


def read_sheet(old: RuleSheet, given: Mapping[str, Any], units: Units) -> RuleSheet:
    """The old sheet with what was given, checked. BadInput names every field at fault at once.

    Sets that are given come first and every other field is held against them.
    """
    faults = {name: tr("The rule sheet has no such number.") for name in sorted(set(given) - set(FIELDS))}
    base = old
    if "sets" in given:
        try:
            base = rule_sets.apply(old, _sets(given["sets"]), units)
        except BadInput as bad:
            faults["sets"] = str(bad)
    new: dict[str, Any] = {}
    sources = dict(base.sources)
    for name in (key for key in given if key in FIELDS and key != "sets"):
        try:
            new[name], source = _read(name, getattr(base, name), given[name])
            _note_source(sources, name, source, same=new[name] == getattr(base, name))
        except (BadInput, BadNumber) as bad:
            faults[name] = str(bad)
    sheet = replace(base, **new, sources=tuple(sources.items()))
    if sheet.sets:
        asked = rule_sets.combine(sheet.sets, units)
        for name in new:
            changed = "sets" in given or getattr(sheet, name) != getattr(old, name)
            if changed and not _written(given[name]) and _asks_less(sheet, name, asked):
                faults.setdefault(name, tr(BELOW_SETS, asked=_say_asked(asked, name, units)))
    if faults:
        raise BadInput(
            tr("The rule sheet was not changed: {faults}", faults=" ".join(faults.values())), fields=faults
        )
    return sheet


def _note_source(sources: dict[str, str], name: str, source: str, *, same: bool) -> None:
    """Keep the line beside a choice that is no number: an old line never stands beside a new choice."""
    if name in TITLES:
        return
    if source:
        sources[name] = source
    elif not same:
        sources.pop(name, None)


def _sets(given: Any) -> tuple[str, ...]:
    return _words_of(given, tuple(rule_set.key for rule_set in rule_sets.SETS))


def _asks_less(sheet: RuleSheet, name: str, asked: rule_sets.Combined) -> bool:
    """Whether this field asks less than the sets chosen ask together."""
    match name:
        case "lap" | "patch_overlap" | "film_thickness":
            return bool(getattr(sheet, name).nm < getattr(asked, name).nm)
        case "film_class":
            return _rank(sheet.film_class) > _rank(asked.film_class)
        case "repair_methods":
            return not set(sheet.repair_methods) <= set(asked.methods)
    return False


def _say_asked(asked: rule_sets.Combined, name: str, units: Units) -> str:
    match name:
        case "repair_methods":
            return tr("for no other repair than {methods}", methods=", ".join(map(tr, asked.methods)))
        case "film_class":
            return tr("for class {word}", word=asked.film_class.word)
    return tr("for {number}", number=say_number(name, getattr(asked, name).nm, units))


def _rank(choice: Choice) -> int:
    """0 for the strongest class; none asked comes last."""
    return (*FILM_CLASSES, "").index(choice.word)


# --- one field -------------------------------------------------------------------------------------------


def _read(name: str, old: Any, given: Any) -> tuple[Any, str]:
    """The field's new value, and the source written with it."""
    if name in TITLES:
        return _number(name, old, given), ""
    value, source = _value_and_source(given)
    if name == "second_look":
        if not isinstance(value, bool):
            raise BadInput(tr("Say true or false."))
        return value, source
    if name == "hold_points":
        return _steps(value), source
    return _words_of(value, CHOICES[name]), source


def _number(name: str, old: Rule, given: Any) -> Rule:
    text, source = text_and_source(given)
    if isinstance(old, Choice):
        word = read_class(text)
        return Choice(word, source or (old.source if word == old.word else NO_SOURCE))
    value = read_number(name, text)
    if not source and value == number_of(old):
        source = old.source
    if needs_a_source(name, value) and not source:
        raise BadInput(tr(BELOW_ALL))
    return with_value(old, value, source or NO_SOURCE)


def text_and_source(given: Any) -> tuple[str, str]:
    """A number as typed and where it comes from; the source may be empty."""
    text, source = _value_and_source(given)
    if not isinstance(text, str):
        raise BadInput(tr(NO_NUMBER))
    return text, source


def _value_and_source(given: Any) -> tuple[Any, str]:
    """What was given bare, or as value and source."""
    if not isinstance(given, Mapping):
        return given, ""
    if "value" not in given or not set(given) <= {"value", "source"}:
        raise BadInput(tr(NO_NUMBER))
    source = given.get("source") or ""
    if not isinstance(source, str):
        raise BadInput(tr("The source is a line of text."))
    return given["value"], words(source, "source", most=LONGEST_SOURCE)


def _written(given: Any) -> bool:
    """Whether a source was written with it."""
    return bool(_value_and_source(given)[1])


def _listed(given: Any) -> list[str]:
    if not isinstance(given, list | tuple) or not all(isinstance(item, str) for item in given):
        raise BadInput(tr("Write a list of words."))
    return list(given)


def _words_of(given: Any, allowed: Sequence[str]) -> tuple[str, ...]:
    listed = _listed(given)
    strange = [item for item in listed if item not in allowed]
    if strange:
        raise BadInput(
            tr(
                "{strange} is not one of: {allowed}.",
                strange=repr(strange[0][:60]),
                allowed=", ".join(map(tr, allowed)),
            )
        )
    return tuple(item for item in allowed if item in listed)


def _steps(given: Any) -> tuple[str, ...]:
    """The hold points in time order: the nine of the trade as they stand, a project's own among them."""
    steps = [" ".join(words(step, "hold_points", most=LONGEST_NAME).split()) for step in _listed(given)]
    steps = [step for step in steps if step]
    kept = [step for step in steps if step in STEPS]
    gone = [step for step in STEPS if step not in kept]
    if gone:
        raise BadInput(
            tr(
                "The hold point {step} stays: a project adds its own and takes none away. To ask for none of "
                "them, leave hold points out of what the gate asks for.",
                step=repr(tr(gone[0])),
            )
        )
    if kept != list(STEPS):
        raise BadInput(tr("The hold points of the trade stay in their order of time, each once."))
    plain = [step.casefold() for step in steps]
    twice = next((step for step, low in zip(steps, plain, strict=True) if plain.count(low) > 1), None)
    if twice is not None:
        raise BadInput(tr("The hold point {step} stands there twice.", step=repr(tr(twice))))
    if len(steps) - len(STEPS) > MOST_OWN_STEPS:
        raise BadInput(
            tr(
                "A project adds at most {most} hold points of its own.",
                most=MOST_OWN_STEPS,
            )
        )
    return tuple(steps)
