"""The first gate, as it judged: marks, flat patches, the walk and holds. Never changed again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.earlier.repair_1 import PATCHABLE, DefectFacts, Numbers, judge_defect
from service.domain.gate.gate import Blocker, HoldFacts
from service.domain.nouns.site import Alignment, Px, Scale
from service.domain.patches.repair import OPEN, SEALED, Verdict

VERSION = 1


# What could be logged when this gate was the newest: nothing, so every demand held.
CHECKABLE_DEMANDS: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Revisions:
    """How often each of these was set."""

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
