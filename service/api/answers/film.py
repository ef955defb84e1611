"""What programs get of materials, lots, film laid, ready-made sets, and the numbers of one zone."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from service.api.answers.marks import Reason
from service.api.answers.sites import Answer, Length, RuleSheet, Time


class Amount(Answer):
    """`text` in the project's units; `value` in the unit that the field's name and description say."""

    text: str
    value: float


class Material(Answer):
    """A material as submitted; null where its maker states nothing. `reached_class`: what its numbers show,
    null for none. `faults`: why it cannot be the film here. `missing`: what nobody stated and is needed."""

    id: str
    project: str
    kind: str
    name: str
    claimed_class: str | None
    reached_class: str | None
    permeance: Amount | None = Field(description="US perms.")
    thickness: Length | None
    tensile: Amount | None = Field(description="lbf/in.")
    puncture: Amount | None = Field(description="Grams.")
    roll_width: Length | None
    roll_length: Length | None
    least_lap: Length | None
    least_patch_overlap: Length | None
    least_temperature: Amount | None = Field(description="Degrees Fahrenheit.")
    note: str
    meets: bool
    faults: list[Reason]
    missing: list[str]
    by: str
    at: Time
    withdrawn: str | None


class Lot(Answer):
    """`zones`: letters of the zones in which it is logged as laid."""

    id: str
    material: str
    material_name: str
    kind: str
    number: str
    rolls: int
    note: str
    zones: list[str]
    by: str
    at: Time
    withdrawn: str | None


class Laying(Answer):
    """A lot laid in a zone, and what its material lacks there."""

    id: str
    zone: str
    lot: str
    number: str
    material: str
    material_name: str
    kind: str
    note: str
    faults: list[Reason]
    by: str
    at: Time
    withdrawn: str | None


class ZoneFilm(Answer):
    """`films`: names of the film materials laid; more than one says that different film was laid here."""

    zone: str
    state: str
    asked_for: bool = Field(description="Whether this project's gate asks for film by lot.")
    laid: list[Laying]
    films: list[str]


class BothUnits(Answer):
    """A set's own figure in each system of units, never one from the other."""

    us: Length
    metric: Length


class RuleSet(Answer):
    """A ready-made set. `patch_overlap`, `methods`, `film_class`, `film_thickness` are null where it states
    nothing."""

    key: str
    name: str
    lap: BothUnits
    patch_overlap: BothUnits | None
    methods: list[str] | None
    film_class: Literal["A", "B", "C"] | None
    film_thickness: BothUnits | None
    notes: str
    source: str


class Asked(Answer):
    """Somebody who asks for a number in a zone: the rule sheet, the zone, or a material by its name."""

    who: str
    text: str
    source: str


class ZoneNumber(Answer):
    """A number as it holds in the zone, and everybody who asks for it, the rule sheet first."""

    text: str
    source: str
    asked: list[Asked]


class ZoneNumbers(Answer):
    """`numbers`: what a zone may ask more of, by name. `raised`: names of what this zone itself asks more.
    `sheet`: the whole rule sheet as it holds here."""

    zone: str
    state: str
    raised: list[str]
    numbers: dict[str, ZoneNumber]
    sheet: RuleSheet
