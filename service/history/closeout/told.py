"""What a closeout tells of zones and all that lies in them: who did what and when, decided and in words.

Times are aware and UTC. Texts are what people typed, or words of ours with lengths in the project's units:
overlaps and laps rounded down, areas up. People are told by the name they have today.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.domain.gate.during import Found
from service.domain.rule_sheet.floor_tests import Said


@dataclass(frozen=True, slots=True)
class Size:
    """A length in nanometres and as it is shown."""

    nm: int
    text: str


@dataclass(frozen=True, slots=True)
class Ground:
    """An area in square metres and as it is shown, rounded up."""

    m2: float
    text: str


@dataclass(frozen=True, slots=True)
class Act:
    """Who did something, in which role, when, and at which entry of the history."""

    who: str
    role: str
    at: datetime
    seq: int


@dataclass(frozen=True, slots=True)
class Undone:
    """That something was taken back, by whom and why."""

    act: Act
    why: str


@dataclass(frozen=True, slots=True)
class Look:
    """Another person's second look at a patch or a repair."""

    accepted: bool
    note: str
    act: Act


# --- film ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LaidTold:
    """Film of a lot laid in a zone, with what its material shows and what is wrong with it."""

    number: str
    material: str
    shown_class: str
    permeance: str
    thickness: str
    state: str
    faults: str
    note: str
    act: Act
    undone: Undone | None


# --- marks and repairs -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PatchTold:
    """A patch as it was logged, on one mark and under it also `over`. `overlap` and `minimum` are as judged
    then; None where no overlap is to be told. `how`: how it was made, what is missing in it first."""

    method: str
    size: str
    over: tuple[str, ...]
    overlap: Size | None
    minimum: Size
    met: bool
    how: str
    lot: str
    note: str
    act: Act
    looks: tuple[Look, ...]
    undone: Undone | None


@dataclass(frozen=True, slots=True)
class RepairTold:
    """A repair that is no patch. `minimum`: the least lap asked then, where a lap was made."""

    method: str
    lap: Size | None
    minimum: Size | None
    met: bool
    how: str
    lot: str
    note: str
    act: Act
    looks: tuple[Look, ...]
    undone: Undone | None


@dataclass(frozen=True, slots=True)
class MarkTold:
    """A mark with everything logged on it. `found`: before, during or after placing. `under`: tags of marks
    whose patch lies over this one as well. `overlap`: as all that counts on it reaches today. `why`: why it
    is not sealed."""

    id: str
    tag: str
    kind: str
    size: str
    where: str
    note: str
    cause: str
    state: str
    why: str
    overlap: Size | None
    after_placing: bool
    found: Found
    act: Act
    patches: tuple[PatchTold, ...]
    under: tuple[str, ...]
    repairs: tuple[RepairTold, ...]
    photos: tuple[str, ...]
    undone: Undone | None


# --- what is installed -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Made:
    """A seal, or a walk of a seam: in words, how the work was done, the lot, the note, and who logged it."""

    words: str
    how: str
    lot: str
    note: str
    act: Act


@dataclass(frozen=True, slots=True)
class ThingTold:
    """A penetration, a seam or a stretch of edge. `size`: its trade size or its length."""

    id: str
    tag: str
    kind: str
    size: str
    where: str
    note: str
    state: str
    why: str
    act: Act
    made: Made | None
    undone: Undone | None


# --- zones -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Signed:
    """A hold point signed or refused. `counts`: the outline and the scale it was given for still stand."""

    step: str
    accepted: bool
    note: str
    counts: bool
    act: Act


@dataclass(frozen=True, slots=True)
class Step:
    """A hold point and how it stands: signed, refused or not signed."""

    step: str
    state: str


@dataclass(frozen=True, slots=True)
class HoldTold:
    cause: str
    reason: str
    act: Act
    lifted: Undone | None


@dataclass(frozen=True, slots=True)
class ReleaseTold:
    """`force`: what became of it. `withdrawn`: what was withdrawn in the zone before it, as it stated."""

    id: str
    letter: str
    statement: str
    not_asked: tuple[str, ...]
    withdrawn: tuple[str, ...]
    digest: str
    act: Act
    force: str
    pulled_back: Undone | None


@dataclass(frozen=True, slots=True)
class StartedTold:
    """`at`: when placing began, as stated. `act`: who said so."""

    at: datetime
    act: Act


@dataclass(frozen=True, slots=True)
class PlacedTold:
    """`at`: when concrete was placed, as stated. `act`: who marked it so. `against`: what stood against it,
    or was found during placing and not mended before the concrete covered it."""

    at: datetime
    volume: str
    without_release: bool
    against: tuple[str, ...]
    act: Act


@dataclass(frozen=True, slots=True)
class WeatherTold:
    """The weather readings that stand. `highest`: the highest estimate of evaporation; empty where the
    concrete's temperature was never read."""

    count: int
    first: datetime
    last: datetime
    highest: str
    highest_at: datetime | None


@dataclass(frozen=True, slots=True)
class DepthTold:
    """The slab's thickness in one place."""

    depth: Size
    where: str
    note: str
    act: Act


@dataclass(frozen=True, slots=True)
class ThicknessTold:
    """The thickness readings that stand, judged together. `asked`, and what hangs on it, is None where no
    thickness is planned; `planned`: who planned it."""

    asked: Size | None
    planned: Act | None
    average: Size | None
    thinnest: Size | None
    meets: bool | None
    faults: str
    readings: tuple[DepthTold, ...]


@dataclass(frozen=True, slots=True)
class ZoneTold:
    """A zone with all that lies in it. `against`: what the gate finds as the facts stand, but for what is
    kept with `placed`. `bare`: parts of its edge that nobody described. `started`: the placing that goes on,
    or went on until it was placed. `reaching_in`: tags of neighbours' marks that reach into it.
    `none_stated`: who stated each of `none_here`."""

    id: str
    letter: str
    name: str
    sketch: str
    state: str
    area: Ground | None
    outlined: Act
    walked: Act | None
    walk_note: str
    more_asked: tuple[Said, ...]
    none_here: tuple[str, ...]
    none_stated: tuple[Act, ...]
    laid: tuple[LaidTold, ...]
    steps: tuple[Step, ...]
    signed: tuple[Signed, ...]
    holds: tuple[HoldTold, ...]
    releases: tuple[ReleaseTold, ...]
    started: StartedTold | None
    placed: PlacedTold | None
    against: tuple[str, ...]
    marks: tuple[MarkTold, ...]
    reaching_in: tuple[str, ...]
    penetrations: tuple[ThingTold, ...]
    seams: tuple[ThingTold, ...]
    edges: tuple[ThingTold, ...]
    bare: tuple[str, ...]
    weather: WeatherTold | None
    thickness: ThicknessTold | None
    undone: Undone | None
