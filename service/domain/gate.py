"""Is this zone clear? Every blocker at once, in mark order: a crew mends a list, not one item per visit.

A function of facts alone: no clock, no state. The same facts get the same answer today and in ten years.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.repair import OPEN, SEALED, DefectFacts, Numbers, Verdict, judge_defect
from service.domain.rules import CHECKABLE_DEMANDS
from service.domain.site import PATCHABLE, Alignment, Px, Scale

VERSION = 1


@dataclass(frozen=True, slots=True)
class HoldFacts:
    id: str
    cause: str
    lifted: bool


@dataclass(frozen=True, slots=True)
class Revisions:
    """How often each of these was set. Without them a change and its undoing would bring a release back to
    life that nobody gave again."""

    numbers: int
    scale: int
    picture: int
    outline: int


@dataclass(frozen=True, slots=True)
class ZoneFacts:
    """All that the gate reads, and all that a release names: exactly these are digested.

    `defects` are the standing marks whose outline reaches into the zone, by id; `withdrawn` the ids of those
    that were taken back, which a release lists; `holds` every hold there was, lifted or not.
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


@dataclass(frozen=True, slots=True)
class Blocker:
    """One reason why not. `subject` is the kind and id of the thing, `name` its tag, letter or word."""

    code: str
    subject: tuple[str, str]
    name: str
    detail: str = ""
    verdict: Verdict | None = None


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
        yield from _defect_blockers(defect, verdicts[defect.id], facts.numbers)
    for demand in facts.numbers.gate_demands:
        if demand not in CHECKABLE_DEMANDS:
            yield Blocker("cannot-be-checked", zone, facts.letter, demand)


def _defect_blockers(defect: DefectFacts, verdict: Verdict, numbers: Numbers) -> Iterator[Blocker]:
    subject = ("defect", defect.id)
    if verdict.state == OPEN:
        code = "defect-open" if defect.kind in PATCHABLE else "needs-other-repair"
        yield Blocker(code, subject, defect.tag, defect.kind, verdict)
    elif verdict.state != SEALED:
        code = "needs-other-repair" if "other-repair" in verdict.reasons else "defect-not-sealed"
        yield Blocker(code, subject, defect.tag, defect.kind, verdict)
    elif numbers.second_look:
        # Asked for and not yet loggable: held, never waved through.
        yield Blocker("second-look", subject, defect.tag, defect.kind, verdict)
