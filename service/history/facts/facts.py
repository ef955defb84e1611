"""One frozen dataclass per thing that can happen, past tense. `every_fact` closes the list.

A published fact never changes its fields: a new need is a new fact. Units as in `domain.site`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from service.domain.nouns.rules import RuleSheet
from service.domain.nouns.site import Alignment, GridLine, Px, Scale
from service.domain.shapes.outlines import Outline
from service.domain.shapes.sides import Sides
from service.domain.words.measures import Units


@dataclass(frozen=True, slots=True)
class ProjectStarted:
    type: ClassVar[str] = "project-started"
    name: str
    units: Units
    time_zone: str
    sheet: RuleSheet


@dataclass(frozen=True, slots=True)
class RuleSheetChanged:
    """The whole new sheet; `changed` names what differs from the one before."""

    type: ClassVar[str] = "rule-sheet-changed"
    sheet: RuleSheet
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PersonInvited:
    type: ClassVar[str] = "person-invited"
    invitation: str
    role: str


@dataclass(frozen=True, slots=True)
class InvitationWithdrawn:
    """A link that nobody used stops working."""

    type: ClassVar[str] = "invitation-withdrawn"
    invitation: str
    role: str


@dataclass(frozen=True, slots=True)
class PersonJoined:
    """`name_sha256`: hex SHA-256 of a salt and the person's name as it was then. The salt is kept apart and
    can be erased: then nothing here tells the name any more. Empty in what an earlier program wrote."""

    type: ClassVar[str] = "person-joined"
    person: str
    role: str
    name_sha256: str = ""


@dataclass(frozen=True, slots=True)
class PersonLeft:
    """Removed from the project; what they did stays theirs."""

    type: ClassVar[str] = "person-left"
    person: str


@dataclass(frozen=True, slots=True)
class SketchAdded:
    type: ClassVar[str] = "sketch-added"
    sketch: str
    name: str
    sha256: str
    page: int | None
    width_px: int
    height_px: int
    levels: int


@dataclass(frozen=True, slots=True)
class SketchRevised:
    """A newer picture of the same slab, aligned to the base frame by two common points."""

    type: ClassVar[str] = "sketch-revised"
    sketch: str
    sha256: str
    page: int | None
    width_px: int
    height_px: int
    levels: int
    alignment: Alignment


@dataclass(frozen=True, slots=True)
class ScaleSet:
    type: ClassVar[str] = "scale-set"
    sketch: str
    scale: Scale


@dataclass(frozen=True, slots=True)
class GridLaid:
    """The whole grid; an empty one takes it away."""

    type: ClassVar[str] = "grid-laid"
    sketch: str
    lines: tuple[GridLine, ...]


@dataclass(frozen=True, slots=True)
class ZoneOutlined:
    type: ClassVar[str] = "zone-outlined"
    zone: str
    sketch: str
    letter: str
    name: str
    outline: tuple[Px, ...]
    place_at: datetime | None


@dataclass(frozen=True, slots=True)
class ZoneChanged:
    """Name, planned placing time or outline; a new outline voids the walk."""

    type: ClassVar[str] = "zone-changed"
    zone: str
    name: str
    outline: tuple[Px, ...]
    place_at: datetime | None


@dataclass(frozen=True, slots=True)
class ZoneWithdrawn:
    type: ClassVar[str] = "zone-withdrawn"
    zone: str
    reason: str


@dataclass(frozen=True, slots=True)
class WallDrawn:
    type: ClassVar[str] = "wall-drawn"
    wall: str
    sketch: str
    zone: str
    a: Px
    b: Px


@dataclass(frozen=True, slots=True)
class WallWithdrawn:
    type: ClassVar[str] = "wall-withdrawn"
    wall: str
    zone: str
    reason: str


@dataclass(frozen=True, slots=True)
class DefectMarked:
    type: ClassVar[str] = "defect-marked"
    defect: str
    sketch: str
    zone: str
    tag: str
    kind: str
    at: Px
    outline: Outline
    note: str


@dataclass(frozen=True, slots=True)
class DefectWithdrawn:
    type: ClassVar[str] = "defect-withdrawn"
    defect: str
    zone: str
    tag: str
    reason: str


@dataclass(frozen=True, slots=True)
class PatchLogged:
    """`overlap_nm`, `minimum_nm` and `meets` are the judgement as told at the time. `late`: it waited on a
    phone, and others had opened a mark under it again before it came."""

    type: ClassVar[str] = "patch-logged"
    patch: str
    defect: str
    zone: str
    tag: str
    at: Px
    also: tuple[str, ...]
    sides: Sides | None
    outline: Outline | None
    offset: tuple[int, int]
    cleaned: bool
    dry: bool
    edges_taped: bool
    tape_width_nm: int
    method: str
    lot: str
    film_temperature: str
    note: str
    overlap_nm: int | None
    minimum_nm: int
    meets: bool
    late: bool = False


@dataclass(frozen=True, slots=True)
class PatchWithdrawn:
    type: ClassVar[str] = "patch-withdrawn"
    patch: str
    defect: str
    zone: str
    tag: str
    reason: str


@dataclass(frozen=True, slots=True)
class WalkFinished:
    type: ClassVar[str] = "walk-finished"
    zone: str
    letter: str
    note: str


@dataclass(frozen=True, slots=True)
class ZoneHeld:
    type: ClassVar[str] = "zone-held"
    hold: str
    zone: str
    letter: str
    cause: str
    reason: str


@dataclass(frozen=True, slots=True)
class HoldLifted:
    type: ClassVar[str] = "hold-lifted"
    hold: str
    zone: str
    letter: str
    cause: str
    reason: str


@dataclass(frozen=True, slots=True)
class ZoneReleased:
    """`withdrawn` lists what was withdrawn in the zone before this release, tag and reason."""

    type: ClassVar[str] = "zone-released"
    release: str
    zone: str
    letter: str
    digest: str
    version: int
    statement: str
    not_asked_for: tuple[str, ...]
    withdrawn: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReleasePulledBack:
    type: ClassVar[str] = "release-pulled-back"
    release: str
    zone: str
    letter: str
    reason: str


@dataclass(frozen=True, slots=True)
class ZonePlaced:
    type: ClassVar[str] = "zone-placed"
    zone: str
    letter: str
    placed_at: datetime
    volume: str
    without_release: bool
    blockers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PhotoAdded:
    type: ClassVar[str] = "photo-added"
    photo: str
    subject: str
    zone: str
    tag: str
    sha256: str
    thumb_sha256: str
    width_px: int
    height_px: int
