"""Is this defect sealed? As judged by the first gate: flat patches only."""

from __future__ import annotations

from dataclasses import dataclass

from service.domain.nouns.rules import RuleSheet
from service.domain.patches.overlap import Piece, judge
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED, Verdict
from service.domain.shapes.outlines import Outline

PATCHABLE = ("hole", "tear", "burn", "other")


@dataclass(frozen=True, slots=True)
class Numbers:
    """The part of the rule sheet that the gate reads. Lengths in nanometres."""

    patch_overlap_nm: int
    tape_width_nm: int
    repair_methods: tuple[str, ...]
    second_look: bool
    gate_demands: tuple[str, ...]

    @classmethod
    def of(cls, sheet: RuleSheet) -> Numbers:
        return cls(
            sheet.patch_overlap.nm,
            sheet.tape_width.nm,
            sheet.repair_methods,
            sheet.second_look,
            sheet.gate_demands,
        )


@dataclass(frozen=True, slots=True)
class PatchFacts:
    """A patch as the gate sees it from one mark. `walls_stand`: each side sealed to a wall has one there."""

    id: str
    piece: Piece
    cleaned: bool
    dry: bool
    edges_taped: bool
    tape_width_nm: int
    method: str
    walls_stand: bool


@dataclass(frozen=True, slots=True)
class DefectFacts:
    """A mark that stands (not withdrawn) and the patches logged on it, oldest first."""

    id: str
    tag: str
    kind: str
    at: tuple[int, int]
    outline: Outline
    patches: tuple[PatchFacts, ...]


def workmanship(patch: PatchFacts, numbers: Numbers) -> tuple[str, ...]:
    """Why this patch cannot count, whatever its size; empty when it can."""
    checks = (
        (patch.cleaned, "not-cleaned"),
        (patch.dry, "not-dry"),
        (patch.edges_taped, "edges-not-taped"),
        (patch.tape_width_nm >= numbers.tape_width_nm, "tape-narrow"),
        (patch.method == "sheet patch" and patch.method in numbers.repair_methods, "method-not-counted"),
        (patch.walls_stand, "wall-gone"),
    )
    return tuple(reason for holds, reason in checks if not holds)


def judge_defect(defect: DefectFacts, numbers: Numbers) -> Verdict:
    """Sealed only where a flat patch is the right repair, is well made, and reaches far enough every way."""
    if not defect.patches:
        return Verdict(OPEN, None, ())
    faults = {patch.id: workmanship(patch, numbers) for patch in defect.patches}
    counting = [patch.piece for patch in defect.patches if not faults[patch.id]]
    overlap = judge(defect.outline, tuple(counting), numbers.patch_overlap_nm) if counting else None
    if defect.kind not in PATCHABLE:
        return Verdict(NOT_SEALED, overlap, ("other-repair",))
    if overlap is not None and overlap.meets:
        return Verdict(SEALED, overlap, ())
    told = tuple(dict.fromkeys(reason for reasons in faults.values() for reason in reasons))
    return Verdict(NOT_SEALED, overlap, (*(("short",) if overlap else ()), *told))
