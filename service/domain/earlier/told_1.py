"""What the first program told when a patch was logged and a zone placed. Never changed again."""

from __future__ import annotations

from service.domain.earlier import gate_1
from service.domain.earlier.repair_1 import Numbers, PatchFacts, workmanship
from service.domain.gate.gate import Blocker
from service.domain.gate.wording import REASONS, say_short
from service.domain.nouns.site import Defect
from service.domain.patches.overlap import Overlap, Piece, judge
from service.domain.patches.repair import Verdict
from service.domain.words.measures import Units

_REASONS = REASONS | {"other-repair": "a flat patch does not mend this"}
_OTHER_REPAIR = {
    "open seam": "clean, dry and tape the seam",
    "short lap": "lap it again or lay a cover strip",
    "unsealed penetration": "seal it with a collar",
    "unsealed termination": "seal the edge",
    "unbonded tape": "take the tape off, clean and tape again",
    "displaced sheet": "lay the sheet back and tape it",
    "contamination": "clean the film, or replace the sheet",
}


def overlap_told(mark: Defect, piece: Piece, facts: gate_1.ZoneFacts) -> Overlap:
    """The overlap of a patch just laid with those on its mark that counted. `facts`: of its zone then."""
    on_it = next((defect.patches for defect in facts.defects if defect.id == mark.id), ())
    pieces = [piece, *(patch.piece for patch in on_it if _counts(patch, facts.numbers))]
    return judge(mark.outline, tuple(pieces), facts.numbers.patch_overlap_nm)


def _counts(patch: PatchFacts, numbers: Numbers) -> bool:
    return not workmanship(patch, numbers)


def say_blocker_1(blocker: Blocker, units: Units) -> str:
    """One reason why not, as the first program said it."""
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
            mend = _OTHER_REPAIR.get(detail, "mend it as the rule sheet says")
            return f"{name} is open: {detail}. A flat patch does not mend this: {mend}"
        case "defect-not-sealed":
            return f"{name} is not sealed: {_reasons(blocker.verdict, units)}"
        case "second-look":
            return f"{name} is sealed and has no second look, which the rule sheet asks for"
        case _:
            return f"The rule sheet asks for {detail}, which cannot be checked here yet"


def _reasons(verdict: Verdict | None, units: Units) -> str:
    if verdict is None:
        return "nothing is logged"
    told = [say_short(verdict, units) if code == "short" else _REASONS[code] for code in verdict.reasons]
    return "; ".join(told) or "nothing counts on it"
