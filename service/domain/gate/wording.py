"""The gate's answers in plain words: overlaps rounded down, shortfalls up, so no sentence beats the rule."""

from __future__ import annotations

from collections.abc import Iterable

from service.domain.gate.gate import Blocker
from service.domain.installed import penetrations, seams, terminations
from service.domain.nouns.rules import RuleSheet
from service.domain.nouns.site import OTHER_REPAIR
from service.domain.patches.repair import NOT_SEALED, SEALED, Verdict
from service.domain.rule_sheet import film_class
from service.domain.shapes.outlines import Outline, cut_size
from service.domain.words.measures import Units, say_length, say_run, say_sides
from service.domain.words.names import hold_cause, mark_state, penetration_kind
from service.domain.words.speech import later, tr

# The faults of seals, walks, edges and materials, each told beside its judge.
FAULTS = {
    **penetrations.FAULT_WORDS,
    **seams.FAULT_WORDS,
    **terminations.FAULT_WORDS,
    **film_class.FAULT_WORDS,
    "lot-withdrawn": later("its lot was withdrawn"),
}

REASONS = {
    "short": later("the overlap is short"),
    "not-cleaned": later("the film was not cleaned"),
    "not-dry": later("the film was not dry"),
    "edges-not-taped": later("not all edges are taped"),
    "tape-narrow": later("the tape is narrower than the rule sheet asks"),
    "method-not-counted": later("this repair method does not count on this project"),
    "wall-gone": later("the wall it was sealed to is no longer drawn there"),
    "other-repair": later("what was logged does not mend this"),
    "too-cold": later("the film was colder than the rule sheet asks for taping"),
    "other-material": later("it is of another material than the film"),
    "lot-not-known": later("its film lot is not one received here and laid in this zone"),
    "wider-than-roll": later("it is wider than the roll: log it as the pieces it is made of"),
    "band-on-damage": later("its tape crosses damage that is not covered"),
    "look-refused": later("a second look refused it"),
    "late": later("it was logged on a phone before what others recorded since; look at it again"),
    "inspector-refused": later("an inspector refused a repair of it and has accepted none since"),
    "lap-short": later("the lap measured after it is short"),
    "collar-first": later("the collar there was not made anew since the damage"),
    "sealed-elsewhere": later("log the seal of the penetration or the edge there"),
}

_SHORT = {
    "left": later("short by {short} on the left"),
    "right": later("short by {short} on the right"),
    "near": later("short by {short} on the near"),
    "far": later("short by {short} on the far"),
}
_SHOWS = {
    "left": later("damage shows past the patch on the left"),
    "right": later("damage shows past the patch on the right"),
    "near": later("damage shows past the patch on the near"),
    "far": later("damage shows past the patch on the far"),
}
_NOTHING_STATED = later("Zone {letter} has no {things} placed, and nobody stated that there are none")
_NONE_STATED = {
    "penetrations": later("Zone {letter} has no penetrations placed, and nobody stated that there are none"),
    "seams": later("Zone {letter} has no seams placed, and nobody stated that there are none"),
}


def say_blocker(blocker: Blocker, units: Units) -> str:
    """One reason why not, as a sentence without its full stop."""
    name, detail = blocker.name, blocker.detail
    match blocker.code:
        case "no-scale":
            return tr("The sketch of zone {letter} has no scale", letter=name)
        case "zone-hold":
            return tr("Zone {letter} is on hold: {cause}", letter=name, cause=hold_cause(detail))
        case "not-walked":
            return tr("Zone {letter} has no finished punch walk", letter=name)
        case "defect-open":
            return tr("{tag} is open: {kind}", tag=name, kind=tr(detail))
        case "needs-other-repair":
            return tr("{tag} is open: {kind}. {mend}", tag=name, kind=tr(detail), mend=_other_repair(detail))
        case "defect-not-sealed":
            return tr("{tag} is not sealed: {why}", tag=name, why=say_reasons(blocker.verdict, units))
        case "second-look":
            return tr("{tag} is sealed and has no second look, which the rule sheet asks for", tag=name)
        case _:
            return _say_installed(blocker, units)


def _say_installed(blocker: Blocker, units: Units) -> str:
    """The same for what is installed besides marks."""
    name, detail, why = blocker.name, blocker.detail, say_faults(blocker.faults)
    match blocker.code:
        case "penetration-not-sealed":
            kind = penetration_kind(detail)
            return tr("{tag} is not sealed, {kind}: {why}", tag=name, kind=kind, why=why)
        case "seam-at-fault":
            return tr("{tag} does not hold: {why}", tag=name, why=why)
        case "none-stated":
            return tr(_NONE_STATED.get(detail, _NOTHING_STATED), letter=name, things=tr(detail))
        case "edge-not-sealed":
            return tr("{tag} does not hold, {kind}: {why}", tag=name, kind=tr(detail), why=why)
        case "edge-not-described":
            return tr(
                "{length} of side {side} of zone {letter} has no termination described",
                length=say_run(blocker.length_nm, units),
                side=detail,
                letter=name,
            )
        case "film-not-logged":
            return tr("Zone {letter} has no film lot logged as laid", letter=name)
        case "film-below-sheet":
            return tr("Film lot {number} is below the rule sheet: {why}", number=name, why=why)
        case "hold-point-open":
            return tr("Hold point not signed: {step}", step=tr(detail))
        case "hold-point-refused":
            return tr("Hold point refused: {step}", step=tr(detail))
        case _:
            told = later("The rule sheet asks for {demand}, which cannot be checked here yet")
            return tr(told, demand=tr(detail))


def say_faults(faults: Iterable[str]) -> str:
    """What is wrong with a seal, a walk or a material, in one line."""
    return "; ".join(tr(FAULTS[code]) for code in faults)


def _other_repair(kind: str) -> str:
    if kind not in OTHER_REPAIR:
        return tr("To mend it: mend it as the rule sheet says")
    return tr("To mend it: {how}", how=tr(OTHER_REPAIR[kind]))


def say_reasons(verdict: Verdict | None, units: Units) -> str:
    """Why a defect is not sealed, in one line."""
    if verdict is None:
        return tr("nothing is logged")
    told = [say_short(verdict, units) if code == "short" else tr(REASONS[code]) for code in verdict.reasons]
    if verdict.others:
        told.append(tr("see {tags}", tags=", ".join(verdict.others)))
    return "; ".join(told) or tr("nothing counts on it")


def say_short(verdict: Verdict, units: Units) -> str:
    """`short by 1/4 in on the right`, or that damage shows."""
    overlap = verdict.overlap
    if overlap is None or overlap.meets:
        reason = REASONS["short"]
        return tr(reason)
    if overlap.overlap_nm is not None and overlap.overlap_nm < 0:
        return tr(_SHOWS[overlap.side]) if overlap.side else tr("damage shows past the patch")
    short = say_length(overlap.short_by_nm, units, "up")
    return tr(_SHORT[overlap.side], short=short) if overlap.side else tr("short by {short}", short=short)


def say_cut(outline: Outline, sheet: RuleSheet, units: Units) -> str:
    """`Cut 18 by 16 in (least 16 by 14 in)`: with the placing allowance, because a crew that cuts the least
    makes short patches."""
    least = cut_size(outline, sheet.patch_overlap.nm)
    cut = cut_size(outline, sheet.patch_overlap.nm, sheet.cut_allowance.nm)
    told = say_sides(cut[0], cut[1], units, "up")
    if cut == least:
        return tr("Cut {size}", size=told)
    return tr("Cut {size} (least {least})", size=told, least=say_sides(least[0], least[1], units, "up"))


def say_state(verdict: Verdict, units: Units) -> str:
    """A defect's state as its row says it."""
    if verdict.state == SEALED and verdict.overlap is not None and verdict.overlap.overlap_nm is not None:
        overlap = say_length(verdict.overlap.overlap_nm, units, "down")
        return tr("sealed, overlap {overlap}", overlap=overlap)
    if verdict.state == NOT_SEALED:
        return tr("not sealed: {why}", why=say_reasons(verdict, units))
    return mark_state(verdict.state)
