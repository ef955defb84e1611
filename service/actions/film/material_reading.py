"""A material as it was submitted, read from text: every field at fault is told at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from service.actions.frame.doing import LONGEST_NAME, words
from service.domain.nouns.installed import FILM, MATERIAL_KINDS
from service.domain.rule_sheet.film_class import (
    BadAmount,
    parse_permeance,
    parse_puncture,
    parse_tensile,
    parse_thickness,
)
from service.domain.rule_sheet.rule_texts import BadNumber, read_class
from service.domain.words.measures import BadLength, parse_length
from service.domain.words.refusals import BadInput
from service.domain.words.speech import tr
from service.domain.words.temperatures import BadTemperature, parse_temperature

# Fields that its maker may leave unsaid, and how each is read. Units as in `domain.installed`.
STATED: dict[str, Callable[[str], int]] = {
    "permeance": parse_permeance,
    "thickness": parse_thickness,
    "tensile": parse_tensile,
    "puncture": parse_puncture,
    "roll_width": parse_length,
    "roll_length": parse_length,
    "least_lap": parse_length,
    "least_patch_overlap": parse_length,
    "least_temperature": parse_temperature,
}
FIELDS = ("kind", "name", "claimed_class", *STATED, "note")


@dataclass(frozen=True, slots=True)
class Submitted:
    """What was read. `stated`: a number for each field of STATED, None where nothing is stated."""

    kind: str
    name: str
    claimed_class: str
    stated: Mapping[str, int | None]
    note: str


def read_material(given: Mapping[str, str | None]) -> Submitted:
    """A material from text by the names of FIELDS; what is left out or empty is not stated.

    BadInput names every field at fault.
    """
    faults: dict[str, str] = {}
    kind = given.get("kind") or ""
    if kind not in MATERIAL_KINDS:
        faults["kind"] = tr(
            "Choose what it is: {kinds}.", kinds=", ".join(tr(each) for each in MATERIAL_KINDS)
        )
    name = _text(given, "name", faults, LONGEST_NAME, tr("Write its name as the submittal has it."))
    claimed = _claimed(given.get("claimed_class") or "", kind, faults)
    stated = {field: _number(field, given.get(field) or "", faults) for field in STATED}
    note = _text(given, "note", faults)
    if faults:
        in_order = {field: faults[field] for field in FIELDS if field in faults}
        told = tr("The material was not submitted: {faults}", faults=" ".join(in_order.values()))
        raise BadInput(told, fields=in_order)
    return Submitted(kind, name, claimed, stated, note)


def _text(
    given: Mapping[str, str | None],
    field: str,
    faults: dict[str, str],
    most: int = 2000,
    needed: str | None = None,
) -> str:
    try:
        return words(given.get(field) or "", field, most=most, needed=needed)
    except BadInput as bad:
        faults[field] = bad.message
        return ""


def _claimed(text: str, kind: str, faults: dict[str, str]) -> str:
    try:
        claimed = read_class(text)
    except BadNumber as bad:
        faults["claimed_class"] = str(bad)
        return ""
    if claimed and kind in MATERIAL_KINDS and kind != FILM:
        faults["claimed_class"] = tr("Only film has a class.")
    return claimed


def _number(field: str, text: str, faults: dict[str, str]) -> int | None:
    if not text.strip():
        return None
    try:
        return STATED[field](text)
    except (BadAmount, BadLength, BadTemperature) as bad:
        faults[field] = str(bad)
        return None
