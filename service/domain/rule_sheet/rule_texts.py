"""Every number of the rule sheet as people write and read it: one title, one reader, one way of saying it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from service.domain.nouns.rules import FILM_CLASSES, Choice, Factor, Number, Permeance, RuleSheet, Temperature
from service.domain.rule_sheet.film_class import BadAmount, parse_permeance, parse_thickness
from service.domain.rule_sheet.material_texts import say_permeance, say_thickness
from service.domain.words.measures import (
    BadLength,
    Units,
    parse_factor,
    parse_length,
    say_distance,
    say_length,
    say_run,
)
from service.domain.words.speech import later, tr
from service.domain.words.temperatures import BadTemperature, parse_temperature, say_temperature

Rule = Number | Factor | Permeance | Temperature | Choice

TITLES = {
    "patch_overlap": later("Patch overlap"),
    "lap": later("Lap"),
    "tape_width": later("Tape width"),
    "tape_temperature": later("Tape temperature"),
    "collar_width": later("Collar width"),
    "collar_length_factor": later("Collar length"),
    "mastic_up_to": later("Mastic limit"),
    "station_every": later("Spacing of lap readings"),
    "film_class": later("Film class"),
    "film_thickness": later("Film thickness"),
    "most_permeance": later("Most permeance"),
    "cut_allowance": later("Placing allowance"),
}
NONE = later("not asked for")
_NONE_WORDS = ("", "none", "0", NONE, "ninguno", "ninguna", "no se pide")
# What may be left unasked, and what may be nothing at all.
MAY_BE_NONE = ("station_every", "film_thickness", "most_permeance")
_MAY_BE_ZERO = ("cut_allowance", "mastic_up_to")
LEAST_FACTOR, MOST_FACTOR = 1, 10


class BadNumber(ValueError):
    """A number of the rule sheet that cannot be read; the sentence is for people."""


def read_number(name: str, text: str) -> int:
    """A number of the sheet from text, in the sheet's own unit: nanometres, thousandths, millionths of a
    perm, thousandths of a degree; 0 where it is not asked for. BadNumber says what is wrong."""
    if name in MAY_BE_NONE and text.strip().lower() in _NONE_WORDS:
        return 0
    try:
        if name == "film_thickness":
            return parse_thickness(text)
        if name == "most_permeance":
            return parse_permeance(text)
        if name == "tape_temperature":
            return parse_temperature(text)
        if name == "collar_length_factor":
            return _thousandths(text)
        return parse_length(text, zero_ok=name in _MAY_BE_ZERO)
    except (BadAmount, BadLength, BadTemperature) as bad:
        raise BadNumber(str(bad)) from None


def _thousandths(text: str) -> int:
    factor: Fraction = parse_factor(text)
    if not LEAST_FACTOR <= factor <= MOST_FACTOR:
        raise BadNumber(tr("A collar is cut 1 to 10 times the circumference long."))
    return round(factor * 1000)


def read_class(text: str) -> str:
    """`A`, `B`, `C`, or empty for no class asked."""
    word = text.strip()
    if word.lower() in _NONE_WORDS:
        return ""
    word = word.upper().removeprefix("CLASS ").removeprefix("CLASE ").strip()
    if word not in FILM_CLASSES:
        raise BadNumber(tr("The film's class is A, B, C or none."))
    return word


def with_value(rule: Rule, value: int, source: str) -> Rule:
    """The same kind of rule with another number and source."""
    if isinstance(rule, Number):
        return Number(value, source)
    if isinstance(rule, Factor):
        return Factor(value, source)
    if isinstance(rule, Permeance):
        return Permeance(value, source)
    if isinstance(rule, Temperature):
        return Temperature(value, source)
    return replace(rule, source=source)


def number_of(rule: Rule) -> int:
    """A rule's number in the sheet's own unit; of a class, nothing."""
    match rule:
        case Number(value) | Factor(value) | Permeance(value) | Temperature(value):
            return value
    return 0


def say_rule(sheet: RuleSheet, name: str, units: Units) -> str:
    """A number as shown. Rounded the way that asks no less; never read back as it stands."""
    rule: Rule = getattr(sheet, name)
    if isinstance(rule, Choice):
        return rule.word or tr(NONE)
    return say_number(name, number_of(rule), units)


def say_number(name: str, value: int, units: Units) -> str:
    """`6 in`, `1.5`, `10 mil`, `0.1 perm`, `40 °F`, or that it is not asked for."""
    if name in MAY_BE_NONE and not value:
        return tr(NONE)
    match name:
        case "collar_length_factor":
            return f"{value / 1000:g}"
        case "tape_temperature":
            return say_temperature(value, units, down=False)
        case "film_thickness":
            return say_thickness(value, units, down=False)
        case "most_permeance":
            return say_permeance(value, units, up_to=True)
        case "station_every":
            return say_run(value, units) if units == "us" else say_distance(value, units)
    return say_length(value, units)


def exact_number(rule: Rule, name: str) -> str:
    """A rule's number as text that is read back as exactly that number."""
    value = number_of(rule)
    if isinstance(rule, Choice):
        return rule.word or NONE
    if name in MAY_BE_NONE and not value:
        return NONE
    if isinstance(rule, Factor):
        return f"{value / 1000:g}"
    if isinstance(rule, Temperature):
        sign, size = ("-" if value < 0 else ""), abs(value)
        return f"{sign}{size // 1000}.{size % 1000:03d} F"
    unit = "perm" if isinstance(rule, Permeance) else "mm"
    return f"{value // 1_000_000}.{value % 1_000_000:06d} {unit}"
