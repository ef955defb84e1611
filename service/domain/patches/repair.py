"""Is this defect sealed? Judges one mark against the patches and the other repairs logged on it."""

from __future__ import annotations

from dataclasses import dataclass

from service.domain.nouns.installed import CLEAN, LAP_AGAIN, REPLACE_SHEET, TAPE_THE_SEAM
from service.domain.nouns.rules import SHEET_PATCH, TAPE_ONLY, RuleSheet
from service.domain.patches.overlap import Overlap, Piece, judge
from service.domain.shapes.outlines import Outline

OPEN, NOT_SEALED, SEALED, WITHDRAWN = "open", "not sealed", "sealed", "withdrawn"
LOT_NOT_KNOWN = "lot-not-known"
_LOT_ALONE = (LOT_NOT_KNOWN,)
NO_LOOK, ACCEPTED, REFUSED = "none", "accepted", "refused"
LATE = "late"  # nobody looked yet, and it was made on a phone before what others recorded since

# The repairs, besides a patch or a cover strip, that mend each kind. What is sealed elsewhere is not mended
# by a repair of its own: the penetration or the stretch of edge beneath the mark has to be sealed.
MENDED_BY: dict[str, tuple[str, ...]] = {
    "hole": (REPLACE_SHEET,),
    "tear": (REPLACE_SHEET,),
    "burn": (REPLACE_SHEET,),
    "other": (REPLACE_SHEET,),
    "open seam": (TAPE_THE_SEAM, REPLACE_SHEET),
    "short lap": (LAP_AGAIN, REPLACE_SHEET),
    "unbonded tape": (TAPE_THE_SEAM, REPLACE_SHEET),
    "displaced sheet": (LAP_AGAIN, REPLACE_SHEET),
    "contamination": (CLEAN, REPLACE_SHEET),
    "unsealed penetration": (),
    "unsealed termination": (),
}
SEALED_ELSEWHERE = ("unsealed penetration", "unsealed termination")
# Where film laid over the mark mends it: damage by a patch, a seam at fault by a cover strip.
COVERED = tuple(kind for kind in MENDED_BY if kind not in (*SEALED_ELSEWHERE, "displaced sheet"))


@dataclass(frozen=True, slots=True)
class Numbers:
    """The part of the rule sheet that the gate reads, as it holds in one zone. Units as in the sheet."""

    patch_overlap_nm: int
    lap_nm: int
    tape_width_nm: int
    collar_width_nm: int
    collar_length_thousandths: int
    mastic_up_to_nm: int
    station_every_nm: int
    tape_mf: int
    film_class: str
    film_thickness_nm: int
    most_permeance_up: int
    repair_methods: tuple[str, ...]
    second_look: bool
    gate_demands: tuple[str, ...]
    hold_points: tuple[str, ...]

    @classmethod
    def of(cls, sheet: RuleSheet) -> Numbers:
        return cls(
            sheet.patch_overlap.nm,
            sheet.lap.nm,
            sheet.tape_width.nm,
            sheet.collar_width.nm,
            sheet.collar_length_factor.thousandths,
            sheet.mastic_up_to.nm,
            sheet.station_every.nm,
            sheet.tape_temperature.mf,
            sheet.film_class.word,
            sheet.film_thickness.nm,
            sheet.most_permeance.up,
            sheet.repair_methods,
            sheet.second_look,
            sheet.gate_demands,
            sheet.hold_points,
        )


@dataclass(frozen=True, slots=True)
class LookFacts:
    """How second looks at a patch or a repair stand (none, accepted, refused, late); how often refused."""

    word: str = NO_LOOK
    refusals: int = 0


@dataclass(frozen=True, slots=True)
class PatchFacts:
    """A patch as the gate sees it from one mark.

    `walls_stand`: each side sealed to a wall has one there. `film_mf`: the film's temperature, if measured.
    `same_material`: as the zone's film; None where its lot is not known. `fits_roll`: it can be cut from one
    roll. `band_on`: tags of marks whose damage its taped band crosses and the film over them leaves too bare.
    """

    id: str
    piece: Piece
    cleaned: bool
    dry: bool
    edges_taped: bool
    tape_width_nm: int
    method: str
    walls_stand: bool
    film_mf: int | None = None
    same_material: bool | None = True
    fits_roll: bool = True
    band_on: tuple[str, ...] = ()
    look: LookFacts = LookFacts()


@dataclass(frozen=True, slots=True)
class RepairFacts:
    """A repair that is no patch, as the gate sees it. `lap_nm`: the least lap measured after it."""

    id: str
    method: str
    lap_nm: int | None
    taped: bool
    cleaned: bool
    dry: bool
    tape_width_nm: int
    film_mf: int | None
    same_material: bool | None
    look: LookFacts


@dataclass(frozen=True, slots=True)
class DefectFacts:
    """A mark that stands (not withdrawn) and what was logged on it, oldest first.

    `collars`: tags of penetrations within the outline a patch must reach whose seal was not made anew since
    the damage was marked. `sealed_here`: for what is sealed elsewhere, that everything beneath the mark is.
    `refused`: an inspector refused something on it, taken back since or not, and accepted nothing after it.
    `leans_on`: ids of the seals and walls this hangs on, so that one undone and made anew is another fact.
    """

    id: str
    tag: str
    kind: str
    at: tuple[int, int]
    outline: Outline
    patches: tuple[PatchFacts, ...]
    repairs: tuple[RepairFacts, ...] = ()
    collars: tuple[str, ...] = ()
    sealed_here: bool = False
    leans_on: tuple[str, ...] = ()
    refused: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """How a defect stands. `overlap` is None where no patch counts; `reasons` are stable codes, in order;
    `others` are the tags that the reasons are about."""

    state: str
    overlap: Overlap | None
    reasons: tuple[str, ...]
    others: tuple[str, ...] = ()


def workmanship(patch: PatchFacts, numbers: Numbers) -> tuple[str, ...]:
    """Why this patch cannot count, whatever its size; empty when it can."""
    told = []  # asked of a thousand patches at a time, of which most are well made
    if not patch.cleaned:
        told.append("not-cleaned")
    if not patch.dry:
        told.append("not-dry")
    if not patch.edges_taped:
        told.append("edges-not-taped")
    if patch.tape_width_nm < numbers.tape_width_nm:
        told.append("tape-narrow")
    if patch.method not in _FLAT or patch.method not in numbers.repair_methods:
        told.append("method-not-counted")
    if not patch.walls_stand:
        told.append("wall-gone")
    if not _warm(patch.film_mf, numbers):
        told.append("too-cold")
    if patch.same_material is not True:
        told += [reason for holds, reason in _material_checks(patch.same_material, numbers) if not holds]
    if not patch.fits_roll:
        told.append("wider-than-roll")
    if patch.band_on:
        told.append("band-on-damage")
    word = patch.look.word
    if word == REFUSED:
        told.append("look-refused")
    if word == LATE:
        told.append("late")
    return tuple(told)


_FLAT = (SHEET_PATCH, TAPE_ONLY)


def _warm(film_mf: int | None, numbers: Numbers) -> bool:
    return film_mf is None or film_mf >= numbers.tape_mf


def _material_checks(same: bool | None, numbers: Numbers) -> tuple[tuple[bool, str], ...]:
    """A patch of another material never counts; an unknown lot does not where film is asked for by lot."""
    known = same is not None or "film" not in numbers.gate_demands
    return (same is not False, "other-material"), (known, LOT_NOT_KNOWN)


def repair_faults(repair: RepairFacts, kind: str, numbers: Numbers) -> tuple[str, ...]:
    """Why this repair does not mend a mark of this kind; empty when it does."""
    if repair.method not in MENDED_BY[kind]:
        return ("other-repair",)
    laps = repair.method != CLEAN
    counted = repair.method != REPLACE_SHEET or repair.method in numbers.repair_methods
    checks = [
        (repair.cleaned, "not-cleaned"),
        (repair.dry, "not-dry"),
        (counted, "method-not-counted"),
        (_warm(repair.film_mf, numbers), "too-cold"),
        (repair.look.word != REFUSED, "look-refused"),
        (repair.look.word != LATE, "late"),
    ]
    if laps:
        lap = repair.lap_nm if repair.lap_nm is not None else -1
        checks += [
            (repair.taped, "edges-not-taped"),
            (repair.tape_width_nm >= numbers.tape_width_nm, "tape-narrow"),
            (lap >= numbers.lap_nm, "lap-short"),
        ]
    if repair.method == REPLACE_SHEET:
        checks += _material_checks(repair.same_material, numbers)
    return tuple(reason for holds, reason in checks if not holds)


def judge_defect(defect: DefectFacts, numbers: Numbers) -> Verdict:
    """Sealed only where a right repair of its kind is well made and, laid over, reaches far enough."""
    if defect.kind in SEALED_ELSEWHERE:
        return Verdict(SEALED, None, ()) if defect.sealed_here else _not_here(defect)
    if not defect.patches and not defect.repairs:
        return _NOTHING_LOGGED
    if len(defect.patches) == 1 and (alone := _sealed_by(defect, defect.patches[0], numbers)) is not None:
        return alone
    laid = [(patch, workmanship(patch, numbers)) for patch in defect.patches]
    repairs = [repair_faults(repair, defect.kind, numbers) for repair in defect.repairs]
    overlap, covered = _film_over(defect, laid, numbers)
    if (covered or () in repairs) and not defect.collars and not defect.refused and not _any_refused(defect):
        return Verdict(SEALED, overlap, ())
    faults = [told for _, told in laid] + repairs
    return _why_not(defect, overlap, covered or () in repairs, faults)


_NOTHING_LOGGED = Verdict(OPEN, None, ())


def _sealed_by(defect: DefectFacts, patch: PatchFacts, numbers: Numbers) -> Verdict | None:
    """Sealed, where one well made sheet patch and nothing else was logged and reaches far enough, as on most
    marks that are mended; None where the rest has to be asked."""
    asked = defect.repairs or defect.collars or defect.refused or defect.kind not in COVERED
    if asked or patch.method != SHEET_PATCH or workmanship(patch, numbers):
        return None
    overlap = judge(defect.outline, (patch.piece,), numbers.patch_overlap_nm)
    return Verdict(SEALED, overlap, ()) if overlap.meets else None


def _any_refused(defect: DefectFacts) -> bool:
    for patch in defect.patches:
        if patch.look.word == REFUSED:
            return True
    return any(repair.look.word == REFUSED for repair in defect.repairs) if defect.repairs else False


def _film_over(
    defect: DefectFacts, laid: list[tuple[PatchFacts, tuple[str, ...]]], numbers: Numbers
) -> tuple[Overlap | None, bool]:
    """The overlap of the sheet patches that count, and whether film over the mark mends it. `laid`: the
    patches with what is wrong with each."""
    # A piece whose lot alone is not known counts for nothing, and the crew is told how far it reaches.
    well_laid = [patch for patch, told in laid if not told or told == _LOT_ALONE]
    sheets = tuple([patch.piece for patch in well_laid if patch.method == SHEET_PATCH])
    overlap = judge(defect.outline, sheets, numbers.patch_overlap_nm) if sheets else None
    if defect.kind not in COVERED:
        return overlap, False
    counting = [patch for patch, told in laid if not told]
    if len(counting) < len(well_laid):
        known = tuple(patch.piece for patch in counting if patch.method == SHEET_PATCH)
        meets = bool(known) and judge(defect.outline, known, numbers.patch_overlap_nm).meets
    else:
        meets = overlap is not None and overlap.meets
    # No standard gives tape a number of its own (TRADE: AARST permits it by name only): it has to cover.
    tapes = [patch.piece for patch in counting if patch.method == TAPE_ONLY]
    return overlap, meets or any(judge(defect.outline, (piece,), 1).meets for piece in tapes)


def _not_here(defect: DefectFacts) -> Verdict:
    logged = bool(defect.patches or defect.repairs)
    return Verdict(NOT_SEALED if logged else OPEN, None, ("sealed-elsewhere",) if logged else ())


def _why_not(
    defect: DefectFacts, overlap: Overlap | None, mended: bool, faults: list[tuple[str, ...]]
) -> Verdict:
    told: list[str] = []
    if not mended:
        if defect.kind not in COVERED:
            told += ["other-repair"] if overlap is not None else []
        elif overlap is not None and not overlap.meets:
            told.append("short")
        told += [reason for reasons in faults for reason in reasons]
    if defect.refused:
        told.append("inspector-refused")
    elif any("look-refused" in reasons for reasons in faults):
        told.append("look-refused")
    if defect.collars:
        told.append("collar-first")
    bands = [tag for patch in defect.patches for tag in patch.band_on]
    others = tuple(dict.fromkeys((*bands, *defect.collars)))
    return Verdict(NOT_SEALED, overlap, tuple(dict.fromkeys(told)), others)
