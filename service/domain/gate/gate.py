"""Is this zone clear? Every blocker at once, in mark order: a crew mends a list, not one item per visit.

A function of facts alone: no clock, no state. The same facts get the same answer today and in ten years.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.nouns.rules import CHECKABLE_DEMANDS, WALK_STEP
from service.domain.nouns.site import PATCHABLE, Alignment, Px, Scale
from service.domain.patches.repair import (
    ACCEPTED,
    OPEN,
    SEALED,
    DefectFacts,
    Numbers,
    Verdict,
    judge_defect,
    repair_faults,
    workmanship,
)
from service.domain.shapes.outlines import Outline

VERSION = 2


@dataclass(frozen=True, slots=True)
class HoldFacts:
    id: str
    cause: str
    lifted: bool


@dataclass(frozen=True, slots=True)
class Revisions:
    """How often each of these was set. Without them a change and its undoing would bring a release back to
    life that nobody gave again. `zone_numbers`: what the zone itself asks more of."""

    numbers: int
    scale: int
    picture: int
    outline: int
    zone_numbers: int = 0


@dataclass(frozen=True, slots=True)
class PenetrationFacts:
    """A penetration that stands in the zone, the seal on it, and the faults of that seal."""

    id: str
    tag: str
    kind: str
    at: Px
    outline: Outline
    seal: str
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SeamFacts:
    """A seam that stands in the zone, its newest walk, and the faults found on it that no mark stands for."""

    id: str
    tag: str
    path: tuple[Px, ...]
    walk: str
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TerminationFacts:
    """A stretch of the zone's edge as described, its seal, and the faults of that."""

    id: str
    tag: str
    kind: str
    path: tuple[Px, ...]
    seal: str
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BareEdge:
    """A part of a side of the zone that no stretch describes: which side, and how long in nanometres."""

    edge: int
    a: Px
    b: Px
    length_nm: int


@dataclass(frozen=True, slots=True)
class LaidFacts:
    """Film of a lot laid in the zone: the lot's number, and what its material lacks."""

    id: str
    lot: str
    number: str
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepFacts:
    """A hold point: signed, refused or neither, and how often it was refused."""

    step: str
    met: bool
    refused: bool
    refusals: int


@dataclass(frozen=True, slots=True)
class ZoneFacts:
    """All that the gate reads, and all that a release names: exactly these are digested.

    `defects` are the standing marks whose outline reaches into the zone, by id; `withdrawn` the ids of
    everything that was taken back, which a release lists; `holds` every hold there was, lifted or not. What
    the sheet does not ask for is left empty. `unstated`: of penetrations and seams, which are asked for, none
    stands, and nobody stated that there are none.
    """

    zone: str
    letter: str
    outline: tuple[Px, ...]
    scale: Scale | None
    alignment: Alignment | None
    numbers: Numbers
    walked: bool
    defects: tuple[DefectFacts, ...]
    withdrawn: tuple[str, ...]
    holds: tuple[HoldFacts, ...]
    revisions: Revisions
    penetrations: tuple[PenetrationFacts, ...] = ()
    seams: tuple[SeamFacts, ...] = ()
    terminations: tuple[TerminationFacts, ...] = ()
    bare_edges: tuple[BareEdge, ...] = ()
    laid: tuple[LaidFacts, ...] = ()
    steps: tuple[StepFacts, ...] = ()
    unstated: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Blocker:
    """One reason why not. `subject` is the kind and id of the thing, `name` its tag, letter or word.

    `faults`: the codes of what is wrong with a seal, a walk or a material.
    """

    code: str
    subject: tuple[str, str]
    name: str
    detail: str = ""
    verdict: Verdict | None = None
    faults: tuple[str, ...] = ()
    length_nm: int = 0


def decide(facts: ZoneFacts) -> tuple[tuple[Blocker, ...], dict[str, Verdict]]:
    """Every blocker, and how each defect stands by its id."""
    verdicts = {defect.id: judge_defect(defect, facts.numbers) for defect in facts.defects}
    return tuple(_blockers(facts, verdicts)), verdicts


def _blockers(facts: ZoneFacts, verdicts: dict[str, Verdict]) -> Iterator[Blocker]:
    zone = ("zone", facts.zone)
    if facts.scale is None:
        yield Blocker("no-scale", zone, facts.letter)
    for hold in facts.holds:
        if hold.lifted:
            continue
        yield Blocker("zone-hold", ("hold", hold.id), facts.letter, hold.cause)
    if not facts.walked:
        yield Blocker("not-walked", zone, facts.letter)
    for defect in sorted(facts.defects, key=lambda d: d.tag):
        yield from defect_blockers(defect, verdicts[defect.id], facts.numbers)
    yield from _installed_blockers(facts)
    for demand in facts.numbers.gate_demands:
        if demand not in CHECKABLE_DEMANDS:
            yield Blocker("cannot-be-checked", zone, facts.letter, demand)


def defect_blockers(defect: DefectFacts, verdict: Verdict, numbers: Numbers) -> Iterator[Blocker]:
    """What one mark holds its zone for: one reason, or none."""
    subject = ("defect", defect.id)
    if verdict.state == OPEN:
        code = "defect-open" if defect.kind in PATCHABLE else "needs-other-repair"
        yield Blocker(code, subject, defect.tag, defect.kind, verdict)
    elif verdict.state != SEALED:
        other = {"other-repair", "sealed-elsewhere"} & set(verdict.reasons)
        code = "needs-other-repair" if other else "defect-not-sealed"
        yield Blocker(code, subject, defect.tag, defect.kind, verdict)
    elif numbers.second_look and not _looked_at(defect, numbers):
        yield Blocker("second-look", subject, defect.tag, defect.kind, verdict)


def _looked_at(defect: DefectFacts, numbers: Numbers) -> bool:
    """Whether another person accepted every patch and repair that counts."""
    counting = [patch.look for patch in defect.patches if not workmanship(patch, numbers)]
    counting += [r.look for r in defect.repairs if not repair_faults(r, defect.kind, numbers)]
    return all(look.word == ACCEPTED for look in counting)


def _installed_blockers(facts: ZoneFacts) -> Iterator[Blocker]:
    zone = ("zone", facts.zone)
    for pipe in facts.penetrations:
        if pipe.faults:
            subject = ("penetration", pipe.id)
            yield Blocker("penetration-not-sealed", subject, pipe.tag, pipe.kind, faults=pipe.faults)
    for seam in facts.seams:
        if seam.faults:
            yield Blocker("seam-at-fault", ("seam", seam.id), seam.tag, faults=seam.faults)
    for what in facts.unstated:
        yield Blocker("none-stated", zone, facts.letter, what)
    for stretch in facts.terminations:
        if stretch.faults:
            subject = ("termination", stretch.id)
            yield Blocker("edge-not-sealed", subject, stretch.tag, stretch.kind, faults=stretch.faults)
    for bare in facts.bare_edges:
        yield Blocker("edge-not-described", zone, facts.letter, str(bare.edge), length_nm=bare.length_nm)
    yield from _film_blockers(facts)
    for step in facts.steps:
        if step.refused:
            yield Blocker("hold-point-refused", zone, facts.letter, step.step)
        elif not step.met and (step.step != WALK_STEP or facts.walked):
            yield Blocker("hold-point-open", zone, facts.letter, step.step)


def _film_blockers(facts: ZoneFacts) -> Iterator[Blocker]:
    if "film" in facts.numbers.gate_demands and not facts.laid:
        yield Blocker("film-not-logged", ("zone", facts.zone), facts.letter)
    for lot in facts.laid:
        if lot.faults:
            yield Blocker("film-below-sheet", ("lot", lot.lot), lot.number, faults=lot.faults)
