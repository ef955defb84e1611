"""What the gate reads about marks: each with its patches, repairs, and the penetrations it lies near."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from service.domain.gate.near_marks import near_marks
from service.domain.gate.surroundings import (
    Surroundings,
    lines_leant_on,
    same_material,
    surroundings,
    walls_stand,
)
from service.domain.nouns.installed import Look, Repair
from service.domain.nouns.roles import INSPECTOR
from service.domain.nouns.rules import SHEET_PATCH
from service.domain.nouns.site import Defect, Patch, Site, Zone
from service.domain.patches.bands import PatchOnSketch, bands_on_damage, seen_from
from service.domain.patches.overlap import Piece
from service.domain.patches.repair import (
    ACCEPTED,
    LATE,
    NO_LOOK,
    REFUSED,
    SEALED,
    SEALED_ELSEWHERE,
    DefectFacts,
    LookFacts,
    Numbers,
    PatchFacts,
    RepairFacts,
    judge_defect,
    workmanship,
)
from service.domain.shapes.nearby import Placed
from service.domain.shapes.outlines import least_rectangle, reach_nm
from service.domain.words.temperatures import BadTemperature, parse_temperature


def defect_facts(
    site: Site,
    zone: Zone,
    per_px: float,
    numbers: Numbers,
    marks: Sequence[Defect],
    beside: Sequence[Defect] = (),
) -> tuple[DefectFacts, ...]:
    """The standing ones of these marks, by id, with all that is logged on them.

    `beside`: marks that do not reach into the zone and lie so near that tape of its patches may cross them.
    """
    around = surroundings(site, zone, per_px, numbers)
    standing = [mark for mark in (*marks, *beside) if mark.withdrawn is None]
    by_mark = patches_by_mark(site.patches.values())
    near = near_marks(site, zone, standing, around)
    refused = _refused(site.patches.values(), standing)
    facts = [
        DefectFacts(
            mark.id,
            mark.tag,
            mark.kind,
            mark.at,
            mark.outline,
            tuple(
                patch_facts(patch, mark, site.defects.get(patch.defect_id), around)
                for patch in by_mark.get(mark.id, ())
            ),
            tuple(repair_facts(repair, around) for repair in mark.repairs if repair.withdrawn is None),
            near.collars(mark),
            near.sealed_here(mark),
            (*near.seals(mark), *lines_leant_on(mark, by_mark.get(mark.id, ()), around)),
            mark.id in refused,
        )
        for mark in standing
    ]
    told = {mark.id for mark in marks}
    return tuple(mark for mark in _with_bands(site, facts, around) if mark.id in told)


# --- patches and repairs ----------------------------------------------------------------------------------


def patches_by_mark(patches: Iterable[Patch]) -> dict[str, list[Patch]]:
    """Standing patches under the id of every mark they lie on, oldest first."""
    found: dict[str, list[Patch]] = defaultdict(list)
    for patch in sorted(patches, key=lambda patch: (patch.logged_at, patch.id)):
        if patch.withdrawn is None:
            for mark in (patch.defect_id, *patch.also):
                found[mark].append(patch)
    return found


def patch_facts(patch: Patch, mark: Defect, primary: Defect | None, around: Surroundings) -> PatchFacts:
    """A patch as seen from one mark. `primary` is the mark it was logged on."""
    of = primary or mark
    stands = patch.sides is None or walls_stand(patch.sides, of, around)
    return PatchFacts(
        patch.id,
        piece_seen_from(patch, mark, primary, around.per_px),
        patch.cleaned,
        patch.dry,
        patch.edges_taped,
        patch.tape_width_nm,
        patch.method,
        stands,
        _degrees(patch.film_temperature),
        same_material(patch.lot, around),
        _fits_roll(patch, of, around),
        (),
        _as_asked(look_facts(patch.looks, patch.late), around.numbers),
    )


def piece_seen_from(patch: Patch, mark: Defect, primary: Defect | None, per_px: float) -> Piece:
    """The patch placed from a mark's centre: exact on its own mark, by the sketch's scale on the others."""
    piece = Piece(patch.outline, patch.offset, patch.sides)
    if mark.id == patch.defect_id:
        return piece
    assert patch.outline is not None or primary is not None, "sides are round their own mark"
    own = Placed(patch.defect_id, primary.outline if primary else mark.outline, patch.at)
    return seen_from(piece, own, Placed(mark.id, mark.outline, mark.at), per_px)


def _degrees(text: str) -> int | None:
    try:
        return parse_temperature(text) if text else None
    except BadTemperature:  # words written before a temperature was asked for as one
        return None


def _fits_roll(patch: Patch, of: Defect, around: Surroundings) -> bool:
    """A piece broader than the widest roll of this film cannot be one piece."""
    if around.roll_nm is None or _spans(patch, of) <= around.roll_nm:
        return True
    piece = seen_from(
        Piece(patch.outline, patch.offset, patch.sides),
        Placed("", of.outline, of.at),
        Placed(" ", of.outline, of.at),
        around.per_px,
    )
    return piece.outline is None or min(least_rectangle(piece.outline)[:2]) <= around.roll_nm


def _spans(patch: Patch, of: Defect) -> int:
    """No less than the piece's least width: the first look, which settles nearly every patch."""
    if patch.sides is None:
        assert patch.outline is not None, "a patch has sides or an outline"
        return 2 * reach_nm(patch.outline)
    left, right, near, far = (reading or 0 for reading in patch.sides.readings().values())
    return 2 * reach_nm(of.outline) + min(left + right, near + far)


def repair_facts(repair: Repair, around: Surroundings) -> RepairFacts:
    """A repair that is no patch, as the gate sees it."""
    work = repair.work
    return RepairFacts(
        repair.id,
        repair.method,
        repair.lap_nm,
        repair.taped,
        work.cleaned,
        work.dry,
        work.tape_width_nm,
        work.film_mf,
        same_material(work.lot, around),
        _as_asked(look_facts(repair.looks, repair.late), around.numbers),
    )


def _as_asked(look: LookFacts, numbers: Numbers) -> LookFacts:
    """Where no second look is asked for, one that accepted only confirms: no release falls by it."""
    if numbers.second_look or look.word != ACCEPTED:
        return look
    return LookFacts(NO_LOOK, look.refusals)


def look_facts(looks: Sequence[Look], late: bool = False) -> LookFacts:
    """The newest look counts; an inspector's refusal stands until an inspector accepts. `late`: it was made
    before what others recorded when it came, so it needs a look."""
    refusals = sum(not look.accepted for look in looks)
    theirs = [look for look in looks if look.role == INSPECTOR]
    if theirs and not theirs[-1].accepted:
        return LookFacts(REFUSED, refusals)
    if not looks:
        return LookFacts(LATE if late else NO_LOOK, 0)
    return LookFacts(ACCEPTED if looks[-1].accepted else REFUSED, refusals)


def _refused(patches: Iterable[Patch], marks: Sequence[Defect]) -> set[str]:
    """The marks whose last word from an inspector is a refusal: taking work back does not take that back."""
    words: dict[str, list[Look]] = defaultdict(list)
    for patch in patches:
        for mark_id in (patch.defect_id, *patch.also) if patch.looks else ():
            words[mark_id] += patch.looks
    for mark in marks:
        for repair in mark.repairs:
            words[mark.id] += repair.looks
    theirs = {id: [look for look in looks if look.role == INSPECTOR] for id, looks in words.items()}
    return {id for id, looks in theirs.items() if looks and not max(looks, key=_place).accepted}


def _place(look: Look) -> int:
    return look.seq


# --- taped bands over other damage ------------------------------------------------------------------------


def _with_bands(site: Site, facts: list[DefectFacts], around: Surroundings) -> tuple[DefectFacts, ...]:
    """The facts with what each patch's tape crosses. Damage mended otherwise than by film is whole again."""
    laid: dict[str, PatchOnSketch] = {}
    whole = set()
    for mark in facts:
        for patch in mark.patches:
            if (
                patch.id not in laid
                and patch.method == SHEET_PATCH
                and not workmanship(patch, around.numbers)
            ):
                laid[patch.id] = on_sketch(site, site.patches[patch.id])
        if _mended_otherwise(mark, around.numbers):
            whole.add(mark.id)
    bare = [Placed(mark.id, mark.outline, mark.at) for mark in facts if mark.id not in whole]
    minimum = around.numbers.patch_overlap_nm
    crossed = bands_on_damage(list(laid.values()), bare, around.per_px, minimum, own=False) if laid else {}
    if not crossed:
        return tuple(facts)
    tags = {mark.id: mark.tag for mark in facts}
    return tuple(_crossing(mark, crossed, tags) for mark in facts)


def on_sketch(site: Site, patch: Patch) -> PatchOnSketch:
    """The patch where it lies. KeyError when the site does not hold the mark it was logged on."""
    own = site.defects[patch.defect_id]
    piece = Piece(patch.outline, patch.offset, patch.sides)
    return PatchOnSketch(patch.id, piece, Placed(own.id, own.outline, patch.at), patch.tape_width_nm)


def _mended_otherwise(mark: DefectFacts, numbers: Numbers) -> bool:
    rest = tuple(patch for patch in mark.patches if patch.method != SHEET_PATCH)
    if not rest and not mark.repairs and mark.kind not in SEALED_ELSEWHERE:
        return False
    verdict = judge_defect(replace(mark, patches=rest, collars=()), numbers)
    return verdict.state == SEALED


def _crossing(
    mark: DefectFacts, crossed: Mapping[str, tuple[str, ...]], tags: Mapping[str, str]
) -> DefectFacts:
    """What a patch's tape crosses besides the mark itself: of that its own overlap already tells."""
    if not any(patch.id in crossed for patch in mark.patches):
        return mark
    patches = tuple(
        replace(patch, band_on=tuple(tags[id] for id in crossed.get(patch.id, ()) if id != mark.id))
        for patch in mark.patches
    )
    return replace(mark, patches=patches)
