"""The nouns of a project: frozen, no behaviour beyond themselves, and the Site that holds them.

Lengths are nanometres, angles micro-degrees, sketch positions thousandths of a pixel in the sketch's base
frame (the pixels of its first revision, y down). Times are aware and UTC.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from service.domain.nouns.installed import (
    Laying,
    Look,
    Lot,
    Material,
    Penetration,
    Raised,
    Repair,
    Seam,
    Signature,
    Termination,
)
from service.domain.nouns.kept import Photo, ReadyLink
from service.domain.nouns.placing import (
    Layout,
    OrderPlan,
    Placement,
    Placing,
    PlacingPlan,
    Readings,
    Thickness,
)
from service.domain.nouns.rules import RuleSheet
from service.domain.shapes.outlines import Outline
from service.domain.shapes.sides import Sides
from service.domain.words.measures import Units
from service.domain.words.speech import later

Px = tuple[int, int]

PATCHABLE = (later("hole"), later("tear"), later("burn"), later("other"))
# What is mended in another way than by a flat patch, and the word for it.
OTHER_REPAIR = {
    later("open seam"): later("clean, dry and tape the seam"),
    later("short lap"): later("lap it again or lay a cover strip"),
    later("unsealed penetration"): later("place the penetration on the sketch and log its seal"),
    later("unsealed termination"): later("describe the stretch of edge there and log its seal"),
    later("unbonded tape"): later("take the tape off, clean and tape again"),
    later("displaced sheet"): later("lay the sheet back, lap it and tape it"),
    later("contamination"): later("clean the film, or replace the sheet"),
}
KINDS = ("hole", "tear", "burn", *OTHER_REPAIR, "other")
HOLD_CAUSES = (later("standing water"), later("storm"), later("frost"), "other")


class Noun(Protocol):
    """Anything a Site holds: it has an id."""

    @property
    def id(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Project:
    """`numbers_revision` counts the changes of what the first gate read off the rule sheet, `sheet_revision`
    of all that the gate reads off it now. Here and below, fields with a default came later."""

    id: str
    name: str
    units: Units
    time_zone: str
    sheet: RuleSheet
    numbers_revision: int
    sheet_revision: int = 1


@dataclass(frozen=True, slots=True)
class Member:
    """A person of this project. `id` is the person's: names stay outside the history."""

    id: str
    role: str


@dataclass(frozen=True, slots=True)
class GridLine:
    """A line of the building grid: its label and two points on the sketch."""

    label: str
    a: Px
    b: Px


@dataclass(frozen=True, slots=True)
class Scale:
    """Two points of the sketch and the true distance between them."""

    a: Px
    b: Px
    distance_nm: int


@dataclass(frozen=True, slots=True)
class Alignment:
    """Two points of the base frame and where the present picture shows them (turn, scale and shift)."""

    base_a: Px
    base_b: Px
    now_a: Px
    now_b: Px


@dataclass(frozen=True, slots=True)
class Sketch:
    """`sha256` is the uploaded file's; sizes are in pixels of the present revision.

    `revision` counts the pictures, `scale_revision` how often the scale was set.
    """

    id: str
    name: str
    sha256: str
    page: int | None
    width_px: int
    height_px: int
    levels: int
    revision: int
    scale: Scale | None
    alignment: Alignment | None
    grid: tuple[GridLine, ...]
    scale_revision: int


@dataclass(frozen=True, slots=True)
class Zone:
    """`walked_at` is the last finished punch walk that still counts; a new outline or scale voids it.

    `outline_revision` counts the outlines, `raised_revision` the changes of its own numbers. `penetrations`,
    `seams` and `stretches` count what was ever placed: tags never repeat. `none_here`: what it was stated to
    have none of. `placing`: as it goes on, or went until placed; a pull-back or release ends it (`during`).
    """

    id: str
    sketch_id: str
    letter: str
    name: str
    outline: tuple[Px, ...]
    place_at: datetime | None
    walked_at: datetime | None
    marks: int
    placement: Placement | None
    withdrawn: str | None
    outline_revision: int
    raised: tuple[Raised, ...] = ()
    raised_revision: int = 0
    signatures: tuple[Signature, ...] = ()
    laid: tuple[Laying, ...] = ()
    none_here: tuple[str, ...] = ()
    penetrations: int = 0
    seams: int = 0
    stretches: int = 0
    placing: Placing | None = None


@dataclass(frozen=True, slots=True)
class Wall:
    """An edge the film can be sealed to."""

    id: str
    sketch_id: str
    zone_id: str
    a: Px
    b: Px
    withdrawn: str | None


@dataclass(frozen=True, slots=True)
class Defect:
    """`tag` is chalked beside it and never changes; `role` is the maker's at the time, `seq` its entry.

    `cause`: what it likely came from, where somebody said so. `repairs`: those that are no patch.
    `during_placing`: logged after the concrete had begun to come and before the zone was logged as placed.
    """

    id: str
    sketch_id: str
    zone_id: str
    tag: str
    kind: str
    at: Px
    outline: Outline
    note: str
    by: str
    role: str
    marked_at: datetime
    after_placing: bool
    withdrawn: str | None
    seq: int = 0
    cause: str = ""
    repairs: tuple[Repair, ...] = ()
    during_placing: bool = False


@dataclass(frozen=True, slots=True)
class Patch:
    """A patch as logged: by `sides` (what the tape measure read) or by `outline` and `offset` from `at`.

    `at` is the place of the mark it was logged on; `also` are other marks under the same piece.
    `overlap_nm` is what was computed when it was logged, kept as evidence and never judged again from here.
    `late`: it waited on a phone, and others had opened its mark again before it came.
    """

    id: str
    defect_id: str
    zone_id: str
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
    by: str
    role: str
    logged_at: datetime
    withdrawn: str | None
    looks: tuple[Look, ...] = ()
    seq: int = 0
    late: bool = False


@dataclass(frozen=True, slots=True)
class Hold:
    """A whole zone held for a cause that no mark shows (standing water, storm, frost)."""

    id: str
    zone_id: str
    cause: str
    reason: str
    by: str
    at: datetime
    lifted: str | None


@dataclass(frozen=True, slots=True)
class Release:
    """`digest` names the exact facts released; `version` the gate that judged them; `seq` its entry."""

    id: str
    zone_id: str
    digest: str
    version: int
    statement: str
    not_asked_for: tuple[str, ...]
    by: str
    at: datetime
    seq: int
    pulled_back: str | None


@dataclass(slots=True)
class Site:
    """One project's facts, or the slice a question needs. Built by replay or read from the tables."""

    project: Project | None = None
    members: dict[str, Member] = field(default_factory=dict)
    sketches: dict[str, Sketch] = field(default_factory=dict)
    zones: dict[str, Zone] = field(default_factory=dict)
    walls: dict[str, Wall] = field(default_factory=dict)
    defects: dict[str, Defect] = field(default_factory=dict)
    patches: dict[str, Patch] = field(default_factory=dict)
    holds: dict[str, Hold] = field(default_factory=dict)
    releases: dict[str, Release] = field(default_factory=dict)
    photos: dict[str, Photo] = field(default_factory=dict)
    penetrations: dict[str, Penetration] = field(default_factory=dict)
    seams: dict[str, Seam] = field(default_factory=dict)
    terminations: dict[str, Termination] = field(default_factory=dict)
    materials: dict[str, Material] = field(default_factory=dict)
    lots: dict[str, Lot] = field(default_factory=dict)
    ready_links: dict[str, ReadyLink] = field(default_factory=dict)
    layouts: dict[str, Layout] = field(default_factory=dict)
    placing_plans: dict[str, PlacingPlan] = field(default_factory=dict)
    readings: dict[str, Readings] = field(default_factory=dict)
    thicknesses: dict[str, Thickness] = field(default_factory=dict)
    order_plans: dict[str, OrderPlan] = field(default_factory=dict)

    def put(self, noun: Noun) -> None:
        """Keep the newest version of a noun."""
        if isinstance(noun, Project):
            self.project = noun
        else:
            self.shelf(type(noun))[noun.id] = noun

    def shelf(self, kind: type[Noun]) -> dict[str, Noun]:
        """The dict that holds one kind of noun."""
        shelf: dict[str, Noun] = getattr(self, SHELVES[kind])
        return shelf


SHELVES: dict[type, str] = {
    Member: "members",
    Sketch: "sketches",
    Zone: "zones",
    Wall: "walls",
    Defect: "defects",
    Patch: "patches",
    Hold: "holds",
    Release: "releases",
    Photo: "photos",
    Penetration: "penetrations",
    Seam: "seams",
    Termination: "terminations",
    Material: "materials",
    Lot: "lots",
    ReadyLink: "ready_links",
    Layout: "layouts",
    PlacingPlan: "placing_plans",
    Readings: "readings",
    Thickness: "thicknesses",
    OrderPlan: "order_plans",
}
