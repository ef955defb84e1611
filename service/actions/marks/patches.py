"""Log a patch on a defect, preview its overlap, and withdraw one."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

from sqlmodel import Session

from service.actions.frame import late
from service.actions.frame.desk import Desk
from service.actions.frame.doing import allow, free_id, record, words, zone_to_change
from service.actions.marks.patch_entry import PatchEntry, read_patch, read_shape
from service.domain.gate.mark_facts import patches_by_mark
from service.domain.gate.surroundings import Surroundings, surroundings, walled_sides
from service.domain.gate.told import counting_pieces, too_many
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns import roles
from service.domain.nouns.site import Defect, Patch, Site, Sketch
from service.domain.patches.overlap import Overlap, Piece, judge
from service.domain.patches.repair import Numbers, Verdict
from service.domain.rule_sheet.effective import sheet_in
from service.domain.shapes.outlines import Outline, least_rectangle
from service.domain.shapes.sides import Sides, sides_as_rectangle
from service.domain.sketch.places import turn_of, turned, turned_point
from service.domain.words.measures import Units, say_distance, say_length
from service.domain.words.refusals import BadInput, Conflict, NoScale, NotAllowed
from service.domain.words.speech import later, tr
from service.history.facts.facts import PatchLogged, PatchWithdrawn
from service.history.replay.standing import standing_of
from service.storage.history import books, slices
from service.storage.history.seen import SeenProject, SeenZone, defect_seen_by, patch_seen_by

_NO_WALL = {
    "left": later("No wall and no sealed edge is within {within} of the damage on the left side."),
    "right": later("No wall and no sealed edge is within {within} of the damage on the right side."),
    "near": later("No wall and no sealed edge is within {within} of the damage on the near side."),
    "far": later("No wall and no sealed edge is within {within} of the damage on the far side."),
}


@dataclass(frozen=True, slots=True)
class PatchJudged:
    """A logged patch and what it did: `overlap` of all that counts on its mark, this piece included.

    `units`: the project's, for telling it.
    """

    mark: Defect
    patch: Patch
    overlap: Overlap
    verdict: Verdict
    reasons: tuple[str, ...]
    units: Units


def log_patch(desk: Desk, by: str, defect_id: str, given: Mapping[str, Any]) -> PatchJudged:
    """Record a patch as it is, and judge the mark. A short patch is kept; another over it counts with it."""
    with desk.writing() as session:
        _, defect = defect_seen_by(session, by, defect_id)
        seen, site = zone_to_change(session, by, defect.zone_id, "log a patch")
        late.check_standing(desk, session, site, site.defects[defect_id])
        defect = _standing_defect(site, defect_id)
        entry = _in_base(seen.sketch, read_patch(defect.outline, given, seen.project.units))
        also = _marks_under(site, defect, entry.also)
        _check_size(site, seen, defect, entry)
        _check_walls(site, seen, defect, entry.sides)
        overlap = _overlap_with(site, seen, defect, entry)
        if entry.new_id and (same := _received(session, site, by, defect, replace(entry, also=also))):
            return _judged(site, seen, same, overlap)
        opened = late.reopened(desk, session, site, by, [defect_id, *also])
        fact = replace(_fact(desk, site, seen, defect, replace(entry, also=also), overlap), late=opened)
        record(desk, session, site, by, seen.role, fact)
    return _judged(site, seen, site.patches[fact.patch], overlap)


def _received(session: Session, site: Site, by: str, defect: Defect, entry: PatchEntry) -> Patch | None:
    """The same patch of the same person that came before. Conflict where the id is something else's."""
    found = site.patches.get(entry.new_id)
    given = (by, defect.id, entry.sides, entry.outline, entry.offset, entry.also, entry.note)
    if found is not None and given == (
        found.by, found.defect_id, found.sides, found.outline, found.offset, found.also, found.note
    ):  # fmt: skip
        assert site.project is not None
        books.landed_before(session, site.project.id, found.seq)
        return found
    free_id(session, entry.new_id)
    return None


def preview_patch(desk: Desk, by: str, defect_id: str, given: Mapping[str, Any]) -> Overlap:
    """The overlap a patch would have with what counts already. Nothing is recorded."""
    with desk.reading() as session:
        seen, defect = defect_seen_by(session, by, defect_id)
        site = slices.zone_site(session, seen.project.id, seen.zone, seen.sketch, seen.project)
    entry = _in_base(seen.sketch, read_shape(defect.outline, given, seen.project.units))
    _check_size(site, seen, defect, entry)
    return _overlap_with(site, seen, site.defects[defect_id], entry)


def _in_base(sketch: Sketch, entry: PatchEntry) -> PatchEntry:
    """A patch told by its size lies as today's picture shows it; it is kept in the base frame."""
    if entry.outline is None or sketch.alignment is None:
        return entry
    back = -turn_of(sketch)
    return replace(entry, outline=turned(entry.outline, back), offset=turned_point(entry.offset, back))


def _standing_defect(site: Site, defect_id: str) -> Defect:
    defect = site.defects[defect_id]
    if defect.withdrawn is not None:
        told = tr(
            "{tag} was withdrawn: {reason}. Nothing was recorded.", tag=defect.tag, reason=defect.withdrawn
        )
        raise Conflict(told, code="defect-withdrawn")
    return defect


def _marks_under(site: Site, defect: Defect, also: tuple[str, ...]) -> tuple[str, ...]:
    for mark_id in also:
        mark = site.defects.get(mark_id)
        if mark is None or mark.withdrawn is not None or mark.sketch_id != defect.sketch_id:
            told = tr("One of the other marks is not a standing mark near this one.")
            raise BadInput(told, fields={"also": told})
    return tuple(mark_id for mark_id in also if mark_id != defect.id)


def _check_size(site: Site, seen: SeenZone, defect: Defect, entry: PatchEntry) -> None:
    """A piece longer than its whole zone, with the overlap past both ends, was read or typed wrong.

    What the sheet asks past damage along a whole edge may be longer than the zone, and is no mistake.
    """
    if seen.sketch.scale is None:
        return
    outline = entry.outline or _as_outline(defect, entry.sides)
    long = max(least_rectangle(outline)[:2])
    extent = max(math.dist(a, b) for a, b in combinations(seen.zone.outline, 2))
    most = extent * nm_per_px(seen.sketch.scale) / 1000 + 2 * sheet_in(site, seen.zone).patch_overlap.nm
    if long > most:
        told = tr(
            "A patch {length} long is larger than zone {letter} itself. Read the tape again, and check the "
            "unit.",
            length=say_distance(long, seen.project.units),
            letter=seen.zone.letter,
        )
        raise BadInput(told, fields={"outline" if entry.outline else "sides": told}, code="larger-than-zone")


def _as_outline(defect: Defect, sides: Sides | None) -> Outline:
    assert sides is not None, "an entry has an outline or sides"
    left, right, near, far = (reading or 0 for reading in sides.readings().values())
    return sides_as_rectangle(defect.outline, Sides(left, right, near, far, sides.angle_udeg))[0]


def _around(site: Site, seen: SeenZone) -> Surroundings:
    assert seen.sketch.scale is not None, "asked for where there is a scale"
    return surroundings(site, seen.zone, nm_per_px(seen.sketch.scale), Numbers.of(sheet_in(site, seen.zone)))


def _check_walls(site: Site, seen: SeenZone, defect: Defect, sides: Sides | None) -> None:
    """A side is sealed to a wall only where a drawn wall stands within the overlap asked on that side."""
    if sides is None or None not in sides.readings().values():
        return
    if seen.sketch.scale is None:
        raise NoScale
    around = _around(site, seen)
    there = walled_sides(defect.outline, defect.at, sides.angle_udeg, around)
    missing = [word for word, reading in sides.readings().items() if reading is None and word not in there]
    if missing:
        within = say_length(around.numbers.patch_overlap_nm, seen.project.units)
        told = tr(_NO_WALL[missing[0]], within=within)
        raise BadInput(told, fields={missing[0]: told}, code="no-wall-there")


def _overlap_with(site: Site, seen: SeenZone, defect: Defect, entry: PatchEntry) -> Overlap:
    """Overlap of this piece together with the pieces on the mark that count already."""
    numbers = Numbers.of(sheet_in(site, seen.zone))
    pieces = [Piece(entry.outline, entry.offset, entry.sides)]
    if seen.sketch.scale is not None:
        laid = patches_by_mark(site.patches.values()).get(defect.id, ())
        pieces += counting_pieces(defect, laid, site.defects, _around(site, seen))
    if too_many(defect.outline, pieces):
        told = tr(
            "{tag} has too many pieces on it to judge together. Withdraw some, or lay one over all.",
            tag=defect.tag,
        )
        raise BadInput(told, fields={"outline": told}, code="too-many-points")
    return judge(defect.outline, tuple(pieces), numbers.patch_overlap_nm)


def _fact(
    desk: Desk, site: Site, seen: SeenZone, defect: Defect, entry: PatchEntry, overlap: Overlap
) -> PatchLogged:
    return PatchLogged(
        patch=entry.new_id or desk.new_id(),
        defect=defect.id,
        zone=defect.zone_id,
        tag=defect.tag,
        at=defect.at,
        also=entry.also,
        sides=entry.sides,
        outline=entry.outline,
        offset=entry.offset,
        cleaned=entry.cleaned,
        dry=entry.dry,
        edges_taped=entry.edges_taped,
        tape_width_nm=entry.tape_width_nm,
        method=entry.method,
        lot=entry.lot,
        film_temperature=entry.film_temperature,
        note=entry.note,
        overlap_nm=overlap.overlap_nm,
        minimum_nm=sheet_in(site, seen.zone).patch_overlap.nm,
        meets=overlap.meets,
    )


def _judged(site: Site, seen: SeenZone, patch: Patch, overlap: Overlap) -> PatchJudged:
    standing = standing_of(site, seen.zone.id)
    verdict = standing.verdicts[patch.defect_id]
    mark = site.defects[patch.defect_id]
    return PatchJudged(mark, patch, overlap, verdict, verdict.reasons, seen.project.units)


def withdraw_patch(desk: Desk, by: str, patch_id: str, reason: str) -> Patch:
    """Take a patch back: it stays in the history with its reason and no longer counts."""
    reason = words(reason, "reason", needed=tr("Say why the patch is withdrawn."))
    with desk.writing() as session:
        _, patch = patch_seen_by(session, by, patch_id)
        seen, site = zone_to_change(session, by, patch.zone_id, "withdraw a patch")
        patch = site.patches[patch_id]
        if patch.withdrawn is not None:
            raise Conflict(tr("That patch is withdrawn already."), code="withdrawn-already")
        allow_withdrawing(seen, by, patch)
        tag = site.defects[patch.defect_id].tag
        record(
            desk, session, site, by, seen.role,
            PatchWithdrawn(patch_id, patch.defect_id, patch.zone_id, tag, reason),
        )  # fmt: skip
    return site.patches[patch_id]


def allow_withdrawing(seen: SeenProject, by: str, patch: Patch) -> None:
    """NotAllowed unless this person may withdraw this patch."""
    allow(seen, "withdraw a patch")
    if not roles.may_withdraw(seen.role, by, patch.by, patch.role):
        raise NotAllowed(tr("A patch is withdrawn by whoever logged it, or by the project manager."))
