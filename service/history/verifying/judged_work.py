"""What entries tell as judged of work (patches, repairs, seals, walks, numbers), worked out again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from service.domain.earlier import zone_facts_1
from service.domain.earlier.told_1 import overlap_told
from service.domain.gate.mark_facts import repair_facts
from service.domain.gate.told import changed_in_sheet, changed_in_zone, counting_pieces, too_many
from service.domain.gate.wording import say_faults
from service.domain.installed.penetrations import seal_faults
from service.domain.installed.seams import MARK_KIND, SHORT_LAP, distance_along, short_runs
from service.domain.installed.terminations import termination_faults
from service.domain.nouns.installed import EdgeSeal, Repair, Seal, Seam, SeamRun, Signed
from service.domain.nouns.site import Defect
from service.domain.patches.overlap import Overlap, Piece, judge
from service.domain.patches.repair import repair_faults
from service.domain.words.measures import SIXTEENTH_NM, Units, say_length
from service.history.facts import facts as f
from service.history.facts import installed as g
from service.history.facts.entries import Entry
from service.history.verifying.before import Before


@dataclass(frozen=True, slots=True)
class Answer:
    """What an entry tells, and what comes out of the facts before it, in words; the same where it is right.

    `earlier`: it comes out right under the rules of the program that wrote it.
    """

    told: str
    found: str
    earlier: bool = False

    @property
    def right(self) -> bool:
        return self.told == self.found


RIGHT, EARLIER = Answer("", ""), Answer("", "", earlier=True)
Judge = Callable[[Before, Entry, Any], Iterator[Answer]]


def _signed(entry: Entry) -> Signed:
    return Signed(entry.by, entry.role, entry.at, entry.seq)


# --- marks -------------------------------------------------------------------------------------------------


def patch_logged(before: Before, entry: Entry, fact: f.PatchLogged) -> Iterator[Answer]:
    mark = before.site.defects[fact.defect]
    minimum = before.numbers(fact.zone).patch_overlap_nm
    overlap = _with_others(before, mark, fact, minimum)
    as_told = fact.overlap_nm, fact.minimum_nm, fact.meets
    if overlap is not None and as_told == (overlap.overlap_nm, minimum, overlap.meets):
        yield RIGHT  # most of a history: nothing is put into words
        return
    told = _overlap(*as_told, before.units)
    if overlap is None:
        yield Answer(told, "there are more pieces on the mark than are ever judged together")
    elif not before.later and _as_the_first(before, mark, fact) == as_told:
        yield EARLIER
    else:
        yield Answer(told, _overlap(overlap.overlap_nm, minimum, overlap.meets, before.units))


def _with_others(before: Before, mark: Defect, fact: f.PatchLogged, minimum_nm: int) -> Overlap | None:
    pieces, around = [Piece(fact.outline, fact.offset, fact.sides)], before.around(fact.zone)
    if around is not None:
        pieces += counting_pieces(mark, before.laid_on(mark.id), before.site.defects, around)
    return None if too_many(mark.outline, pieces) else judge(mark.outline, tuple(pieces), minimum_nm)


def _as_the_first(before: Before, mark: Defect, fact: f.PatchLogged) -> tuple[int | None, int, bool]:
    facts = zone_facts_1.zone_facts(before.round(fact.zone), fact.zone)
    overlap = overlap_told(mark, Piece(fact.outline, fact.offset, fact.sides), facts)
    return overlap.overlap_nm, facts.numbers.patch_overlap_nm, overlap.meets


def _overlap(overlap_nm: int | None, minimum_nm: int, meets: bool, units: Units) -> str:
    verdict = "which is enough" if meets else "which is not enough"
    if overlap_nm is None:
        return f"no overlap, {verdict}"
    reach = f"{say_length(overlap_nm, units, 'down')} ({overlap_nm:,} nm)"
    least = f"{say_length(minimum_nm, units)} ({minimum_nm:,} nm)"
    return f"an overlap of {reach} of {least} asked, {verdict}"


def repair_logged(before: Before, entry: Entry, fact: g.RepairLogged) -> Iterator[Answer]:
    mark, around = before.site.defects[fact.defect], before.around(fact.zone)
    told = "a repair that mends it" if fact.meets else "a repair that does not mend it"
    if around is None:
        yield Answer(told, "a sketch without a scale, on which no repair can be logged")
        return
    made = Repair(
        fact.repair, fact.method, fact.lap_nm, fact.taped, fact.work, (), _signed(entry), None, fact.late
    )  # fmt: skip
    faults = repair_faults(repair_facts(made, around), mark.kind, around.numbers)
    yield Answer(told, "a repair that does not mend it" if faults else "a repair that mends it")


# --- what is installed -------------------------------------------------------------------------------------


def seal_logged(before: Before, entry: Entry, fact: g.SealLogged) -> Iterator[Answer]:
    together = (fact.penetration, *fact.also)
    seal = Seal(
        fact.seal, fact.method, together, fact.collar_width_nm, fact.collar_length_nm, fact.fingers,
        fact.taped_to_pipe, fact.taped_to_film, fact.close_cut, fact.work, _signed(entry),
    )  # fmt: skip
    outlines = [before.site.penetrations[id].outline for id in together]
    yield Answer(_faults(fact.faults), _faults(seal_faults(outlines, seal, before.numbers(fact.zone))))


def edge_sealed(before: Before, entry: Entry, fact: g.TerminationSealed) -> Iterator[Answer]:
    seal = EdgeSeal(fact.seal, fact.sealed, fact.runs_past_nm, fact.protected, fact.work, _signed(entry))
    stretch = replace(before.site.terminations[fact.termination], seal=seal)
    yield Answer(_faults(fact.faults), _faults(termination_faults(stretch, before.numbers(fact.zone))))


def _faults(codes: tuple[str, ...]) -> str:
    return say_faults(codes) if codes else "no fault"


def seam_walked(before: Before, entry: Entry, fact: g.SeamWalked) -> Iterator[Answer]:
    """Every run that the readings show as short is told, and every run told has its mark."""
    seam, per_px = before.site.seams[fact.seam], before.per_px(fact.zone)
    if per_px is None:
        yield Answer("a walk with measured laps", "a sketch without a scale, on which nothing is measured")
        return
    short = short_runs(seam.path, fact.stations, before.numbers(fact.zone), per_px)
    told = _spans(seam, fact.runs, per_px)
    grain = 2 * SIXTEENTH_NM + per_px / 250
    missing = [run for run in short if not any(a <= run[0] + grain and run[1] <= b + grain for a, b in told)]
    said = f"{len(short)} runs with a short lap" if len(short) != 1 else "1 run with a short lap"
    kept = len(short) - len(missing)
    yield Answer(f"{kept} of {said} marked" if missing else f"{said} marked", f"{said} marked")
    for run in fact.runs:
        if not _marked(before, run):
            yield Answer(f"a mark for a run that is {run.fault}", "no standing mark of that kind for the run")


def _spans(seam: Seam, runs: tuple[SeamRun, ...], per_px: float) -> list[tuple[float, float]]:
    """From where to where along the seam short laps are told, pieces that meet at a corner joined."""
    ends = (
        (distance_along(seam.path, at, per_px) for at in (run.a, run.b))
        for run in runs
        if run.fault == SHORT_LAP
    )
    joined: list[tuple[float, float]] = []
    for a, b in sorted((min(pair), max(pair)) for pair in (tuple(two) for two in ends)):
        if joined and a <= joined[-1][1] + SIXTEENTH_NM + per_px / 250:
            joined[-1] = joined[-1][0], max(joined[-1][1], b)
        else:
            joined.append((a, b))
    return joined


def _marked(before: Before, run: SeamRun) -> bool:
    mark = before.site.defects.get(run.mark)
    return mark is not None and mark.withdrawn is None and mark.kind == MARK_KIND.get(run.fault)


# --- numbers -----------------------------------------------------------------------------------------------


def sheet_changed(before: Before, entry: Entry, fact: f.RuleSheetChanged) -> Iterator[Answer]:
    assert before.site.project is not None, "a rule sheet before its project"
    found = changed_in_sheet(before.site.project.sheet, fact.sheet)
    yield Answer(_changed(fact.changed), _changed(found))


def numbers_raised(before: Before, entry: Entry, fact: g.NumbersRaised) -> Iterator[Answer]:
    found = changed_in_zone(before.site.zones[fact.zone].raised, fact.raised)
    yield Answer(_changed(fact.changed), _changed(found))


def _changed(names: tuple[str, ...]) -> str:
    return f"a change of {', '.join(name.replace('_', ' ') for name in names) or 'nothing'}"


JUDGES: dict[type, tuple[str, str, Judge]] = {
    f.PatchLogged: ("patch", "patches", patch_logged),
    g.RepairLogged: ("repair", "repairs", repair_logged),
    g.SealLogged: ("seal", "seals", seal_logged),
    g.TerminationSealed: ("sealed edge", "sealed edges", edge_sealed),
    g.SeamWalked: ("walked seam", "walked seams", seam_walked),
    f.RuleSheetChanged: ("rule sheet", "rule sheets", sheet_changed),
    g.NumbersRaised: ("zone's numbers", "zones' numbers", numbers_raised),
}
