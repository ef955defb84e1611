"""The closeout as told facts: the project, its film, its zones, its floor; see `closeout/told` for the parts.

Times are aware and UTC.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.domain.rule_sheet.floor_tests import Said
from service.history.closeout.told import Act, Ground, ReleaseTold, Undone, ZoneTold


@dataclass(frozen=True, slots=True)
class Head:
    """The project, and the entry it is told from. `key`: the signing key's fingerprint, empty where none is
    known; `given`: the size of the newest checkpoint that had left by then, 0 for none."""

    project: str
    name: str
    units: str
    time_zone: str
    started: datetime
    up_to: int
    at: datetime
    key: str
    given: int


@dataclass(frozen=True, slots=True)
class Somebody:
    """A person of the project: the role they have, or had; when they came and left; entries by them."""

    name: str
    role: str
    came: datetime
    left: datetime | None
    entries: int


@dataclass(frozen=True, slots=True)
class LotTold:
    """`laid_in`: letters of the zones it is logged as laid in. `worked_in`: those whose patches, seals, seams
    or repairs name its number."""

    number: str
    rolls: int
    note: str
    received: Act
    laid_in: tuple[str, ...]
    worked_in: tuple[str, ...]
    undone: Undone | None


@dataclass(frozen=True, slots=True)
class MaterialTold:
    """`stated`: pairs (what, words) its maker states. `stands`: how it stands against the rule sheet."""

    kind: str
    name: str
    shown_class: str
    permeance: str
    thickness: str
    stated: tuple[tuple[str, str], ...]
    stands: str
    note: str
    submitted: Act
    lots: tuple[LotTold, ...]
    undone: Undone | None


@dataclass(frozen=True, slots=True)
class StrayLot:
    """A lot number that work names and nobody received, and the tags of that work."""

    number: str
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FloorCount:
    """The least number of tests for a floor of this area; none where nothing tells its area."""

    name: str
    area: Ground | None
    count: int | None


@dataclass(frozen=True, slots=True)
class SlabTold:
    """A sketch's slab as one floor: all its zones' areas together; each zone by itself; how they add up."""

    whole: FloorCount
    zones: tuple[FloorCount, ...]
    one_by_one: int
    placed: int
    words: str


@dataclass(frozen=True, slots=True)
class FloorTold:
    slabs: tuple[SlabTold, ...]
    in_slab: tuple[Said, ...]
    emission: tuple[Said, ...]
    limits: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NumbersChanged:
    """A change of the rule sheet, or of what a zone asks more of, as a sentence."""

    words: str
    act: Act


@dataclass(frozen=True, slots=True)
class Closeout:
    """Everything that is handed over. `zones` by letter, those taken off the sketch last."""

    head: Head
    numbers: tuple[Said, ...]
    numbers_changed: tuple[NumbersChanged, ...]
    not_asked: tuple[str, ...]
    people: tuple[Somebody, ...]
    materials: tuple[MaterialTold, ...]
    stray_lots: tuple[StrayLot, ...]
    zones: tuple[ZoneTold, ...]
    releases: tuple[ReleaseTold, ...]
    floor: FloorTold
    cautions: tuple[Said, ...]
    proof: tuple[str, ...]
