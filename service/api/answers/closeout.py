"""What programs get of the closeout: the told facts as they are, people by the names they have today."""

from __future__ import annotations

from pydantic import Field

from service.api.answers.closeout_parts import (
    CloseoutAct,
    CloseoutLook,
    CloseoutSaid,
    CloseoutThickness,
    CloseoutUndone,
    CloseoutWeather,
)
from service.api.answers.sites import Answer, Area, Length, Time
from service.domain.gate.during import Found


class CloseoutHead(Answer):
    """The project, and the entry the closeout is told from. `key`: the signing key's fingerprint. `given`:
    the size of the newest checkpoint that had left by then, 0 for none."""

    project: str
    name: str
    units: str
    time_zone: str
    started: Time
    up_to: int
    at: Time
    key: str
    given: int


class CloseoutPerson(Answer):
    name: str
    role: str
    came: Time
    left: Time | None
    entries: int


class CloseoutLot(Answer):
    """`laid_in`: letters of the zones it is logged as laid in; `worked_in`: of those whose work names it."""

    number: str
    rolls: int
    note: str
    received: CloseoutAct
    laid_in: list[str]
    worked_in: list[str]
    undone: CloseoutUndone | None


class CloseoutMaterial(Answer):
    """`stated`: pairs of what its maker states. `stands`: how it stands against the rule sheet."""

    kind: str
    name: str
    shown_class: str
    permeance: str
    thickness: str
    stated: list[list[str]]
    stands: str
    note: str
    submitted: CloseoutAct
    lots: list[CloseoutLot]
    undone: CloseoutUndone | None


class CloseoutStrayLot(Answer):
    """A lot number that work names and nobody received."""

    number: str
    tags: list[str]


class CloseoutLaid(Answer):
    number: str
    material: str
    shown_class: str
    permeance: str
    thickness: str
    state: str
    faults: str
    note: str
    act: CloseoutAct
    undone: CloseoutUndone | None


class CloseoutPatch(Answer):
    """`overlap` and `minimum` as they were judged when it was logged; the overlap is rounded down in its text
    and negative where damage shows past the patch."""

    method: str
    size: str
    over: list[str]
    overlap: Length | None
    minimum: Length
    met: bool
    how: str
    lot: str
    note: str
    act: CloseoutAct
    looks: list[CloseoutLook]
    undone: CloseoutUndone | None


class CloseoutRepair(Answer):
    """`lap` as measured, `minimum` the least lap asked then; null where no lap was made."""

    method: str
    lap: Length | None
    minimum: Length | None
    met: bool
    how: str
    lot: str
    note: str
    act: CloseoutAct
    looks: list[CloseoutLook]
    undone: CloseoutUndone | None


class CloseoutMark(Answer):
    """`under`: tags of marks whose patch lies over this one too. `photos`: their files in the record."""

    id: str
    tag: str
    kind: str
    size: str
    where: str
    note: str
    cause: str
    state: str
    why: str
    overlap: Length | None
    after_placing: bool
    found: Found
    act: CloseoutAct
    patches: list[CloseoutPatch]
    under: list[str]
    repairs: list[CloseoutRepair]
    photos: list[str]
    undone: CloseoutUndone | None


class CloseoutMade(Answer):
    words: str
    how: str
    lot: str
    note: str
    act: CloseoutAct


class CloseoutThing(Answer):
    """A penetration, a seam or a stretch of edge; `made`: its seal or its walk."""

    id: str
    tag: str
    kind: str
    size: str
    where: str
    note: str
    state: str
    why: str
    act: CloseoutAct
    made: CloseoutMade | None
    undone: CloseoutUndone | None


class CloseoutSignature(Answer):
    """`counts`: the outline and the scale it was given for still stand."""

    step: str
    accepted: bool
    note: str
    counts: bool
    act: CloseoutAct


class CloseoutStep(Answer):
    step: str
    state: str


class CloseoutHold(Answer):
    cause: str
    reason: str
    act: CloseoutAct
    lifted: CloseoutUndone | None


class CloseoutRelease(Answer):
    """`force`: what became of it."""

    id: str
    letter: str
    statement: str
    not_asked: list[str]
    withdrawn: list[str]
    digest: str
    act: CloseoutAct
    force: str
    pulled_back: CloseoutUndone | None


class CloseoutStarted(Answer):
    """When placing began, as stated, and who said so."""

    at: Time
    act: CloseoutAct


class CloseoutPlacing(Answer):
    """`against`: what stood against it, of a zone placed without release; else what was found during placing
    and not mended before the concrete covered it."""

    at: Time
    volume: str
    without_release: bool
    against: list[str]
    act: CloseoutAct


class CloseoutZone(Answer):
    """`against`: what the gate finds as the facts stand; `bare`: parts of its edge nobody described."""

    id: str
    letter: str
    name: str
    sketch: str
    state: str
    area: Area | None
    outlined: CloseoutAct
    walked: CloseoutAct | None
    walk_note: str
    more_asked: list[CloseoutSaid]
    none_here: list[str]
    none_stated: list[CloseoutAct]
    laid: list[CloseoutLaid]
    steps: list[CloseoutStep]
    signed: list[CloseoutSignature]
    holds: list[CloseoutHold]
    releases: list[CloseoutRelease]
    started: CloseoutStarted | None
    placed: CloseoutPlacing | None
    against: list[str]
    marks: list[CloseoutMark]
    reaching_in: list[str]
    penetrations: list[CloseoutThing]
    seams: list[CloseoutThing]
    edges: list[CloseoutThing]
    bare: list[str]
    weather: CloseoutWeather | None
    thickness: CloseoutThickness | None
    undone: CloseoutUndone | None


class CloseoutFloor(Answer):
    """The least number of tests for a floor of this area, of either kind; its text is rounded up."""

    name: str
    area: Area | None
    count: int | None


class CloseoutSlab(Answer):
    """A sketch's slab as one floor and zone by zone. `placed`: how many of its zones are."""

    whole: CloseoutFloor
    zones: list[CloseoutFloor]
    one_by_one: int
    placed: int
    words: str


class CloseoutFloors(Answer):
    """`in_slab`: ASTM F2170, `emission`: ASTM F1869; `limits`: what nobody may conclude from this."""

    slabs: list[CloseoutSlab]
    in_slab: list[CloseoutSaid]
    emission: list[CloseoutSaid]
    limits: list[str]


class CloseoutChange(Answer):
    """A change of the rule sheet, or of what a zone asks more of."""

    words: str
    act: CloseoutAct


class Closeout(Answer):
    """As the history stands, told from its first `head.up_to` entries."""

    head: CloseoutHead
    numbers: list[CloseoutSaid]
    numbers_changed: list[CloseoutChange]
    not_asked: list[str]
    people: list[CloseoutPerson]
    materials: list[CloseoutMaterial]
    stray_lots: list[CloseoutStrayLot]
    zones: list[CloseoutZone]
    releases: list[CloseoutRelease]
    floor: CloseoutFloors
    cautions: list[CloseoutSaid]
    proof: list[str] = Field(description="Where the proof is, in sentences.")
