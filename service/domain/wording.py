"""The gate's answers in plain words: overlaps rounded down, shortfalls up, so no sentence beats the rule."""

from __future__ import annotations

from collections.abc import Iterable

from service.domain import film_class, penetrations, seams, terminations
from service.domain.gate import Blocker
from service.domain.measures import Units, say_length, say_run, say_sides
from service.domain.outlines import Outline, cut_size
from service.domain.repair import NOT_SEALED, OPEN, SEALED, Verdict
from service.domain.rules import RuleSheet
from service.domain.site import OTHER_REPAIR

# The faults of seals, walks, edges and materials, each told beside its judge.
FAULTS = {
    **penetrations.FAULT_WORDS,
    **seams.FAULT_WORDS,
    **terminations.FAULT_WORDS,
    **film_class.FAULT_WORDS,
    "lot-withdrawn": "its lot was withdrawn",
}

REASONS = {
    "short": "the overlap is short",
    "not-cleaned": "the film was not cleaned",
    "not-dry": "the film was not dry",
    "edges-not-taped": "not all edges are taped",
    "tape-narrow": "the tape is narrower than the rule sheet asks",
    "method-not-counted": "this repair method does not count on this project",
    "wall-gone": "the wall it was sealed to is no longer drawn there",
    "other-repair": "what was logged does not mend this",
    "too-cold": "the film was colder than the rule sheet asks for taping",
    "other-material": "it is of another material than the film",
    "lot-not-known": "its film lot is not one received here and laid in this zone",
    "wider-than-roll": "it is wider than the roll: log it as the pieces it is made of",
    "band-on-damage": "its tape crosses damage that is not covered",
    "look-refused": "a second look refused it",
    "inspector-refused": "an inspector refused a repair of it and has accepted none since",
    "lap-short": "the lap measured after it is short",
    "collar-first": "the collar there was not made anew since the damage",
    "sealed-elsewhere": "log the seal of the penetration or the edge there",
}


def say_blocker(blocker: Blocker, units: Units) -> str:
    """One reason why not, as a sentence without its full stop."""
    name, detail = blocker.name, blocker.detail
    match blocker.code:
        case "no-scale":
            return f"The sketch of zone {name} has no scale"
        case "zone-hold":
            return f"Zone {name} is on hold: {detail}"
        case "not-walked":
            return f"Zone {name} has no finished punch walk"
        case "defect-open":
            return f"{name} is open: {detail}"
        case "needs-other-repair":
            return f"{name} is open: {detail}. {_other_repair(detail)}"
        case "defect-not-sealed":
            return f"{name} is not sealed: {say_reasons(blocker.verdict, units)}"
        case "second-look":
            return f"{name} is sealed and has no second look, which the rule sheet asks for"
        case "penetration-not-sealed":
            return f"{name} is not sealed, {detail}: {say_faults(blocker.faults)}"
        case "seam-at-fault":
            return f"{name} does not hold: {say_faults(blocker.faults)}"
        case "none-stated":
            return f"Zone {name} has no {detail} placed, and nobody stated that there are none"
        case "edge-not-sealed":
            return f"{name} does not hold, {detail}: {say_faults(blocker.faults)}"
        case "edge-not-described":
            long = say_run(blocker.length_nm, units)
            return f"{long} of side {detail} of zone {name} has no termination described"
        case "film-not-logged":
            return f"Zone {name} has no film lot logged as laid"
        case "film-below-sheet":
            return f"Film lot {name} is below the rule sheet: {say_faults(blocker.faults)}"
        case "hold-point-open":
            return f"Hold point not signed: {detail}"
        case "hold-point-refused":
            return f"Hold point refused: {detail}"
        case _:
            return f"The rule sheet asks for {detail}, which cannot be checked here yet"


def say_faults(faults: Iterable[str]) -> str:
    """What is wrong with a seal, a walk or a material, in one line."""
    return "; ".join(FAULTS[code] for code in faults)


def _other_repair(kind: str) -> str:
    return f"To mend it: {OTHER_REPAIR.get(kind, 'mend it as the rule sheet says')}"


def say_reasons(verdict: Verdict | None, units: Units) -> str:
    """Why a defect is not sealed, in one line."""
    if verdict is None:
        return "nothing is logged"
    told = [say_short(verdict, units) if code == "short" else REASONS[code] for code in verdict.reasons]
    if verdict.others:
        told.append(f"see {', '.join(verdict.others)}")
    return "; ".join(told) or "nothing counts on it"


def say_short(verdict: Verdict, units: Units) -> str:
    """`short by 1/4 in on the right`, or that damage shows."""
    overlap = verdict.overlap
    if overlap is None or overlap.meets:
        return REASONS["short"]
    side = f" on the {overlap.side}" if overlap.side else ""
    if overlap.overlap_nm is not None and overlap.overlap_nm < 0:
        return f"damage shows past the patch{side}"
    return f"short by {say_length(overlap.short_by_nm, units, 'up')}{side}"


def say_cut(outline: Outline, sheet: RuleSheet, units: Units) -> str:
    """`Cut 18 by 16 in (least 16 by 14 in)`: with the placing allowance, because a crew that cuts the least
    makes short patches."""
    least = cut_size(outline, sheet.patch_overlap.nm)
    cut = cut_size(outline, sheet.patch_overlap.nm, sheet.cut_allowance.nm)
    told = say_sides(cut[0], cut[1], units, "up")
    if cut == least:
        return f"Cut {told}"
    return f"Cut {told} (least {say_sides(least[0], least[1], units, 'up')})"


def say_state(verdict: Verdict, units: Units) -> str:
    """A defect's state as its row says it."""
    if verdict.state == SEALED and verdict.overlap is not None and verdict.overlap.overlap_nm is not None:
        return f"sealed, overlap {say_length(verdict.overlap.overlap_nm, units, 'down')}"
    if verdict.state == NOT_SEALED:
        return f"not sealed: {say_reasons(verdict, units)}"
    return OPEN if verdict.state == OPEN else verdict.state
