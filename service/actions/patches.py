"""Log a patch on a defect, preview its overlap, and withdraw one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from service.actions.desk import Desk
from service.actions.doing import allow, length, record, words, zone_to_change
from service.domain import roles
from service.domain.effective import sheet_in
from service.domain.mark_facts import patch_facts, patches_by_mark
from service.domain.measures import Units, say_length
from service.domain.outline_texts import BadOutline, read_angle, read_offset, read_outline
from service.domain.outlines import Outline
from service.domain.overlap import Overlap, Piece, judge, too_many_corners
from service.domain.places import turn_of, turned, turned_point
from service.domain.refusals import BadInput, Conflict, NoScale, NotAllowed
from service.domain.repair import Numbers, Verdict, workmanship
from service.domain.rules import REPAIR_METHODS, SHEET_PATCH
from service.domain.sides import SIDE_WORDS, Sides, side_angle, sides_that_fit
from service.domain.site import Defect, Patch, Site, Sketch
from service.domain.surroundings import Surroundings, surroundings, walled_sides
from service.domain.zone_facts import nm_per_px
from service.history.facts import PatchLogged, PatchWithdrawn
from service.history.standing import standing_of
from service.storage import slices
from service.storage.seen import SeenProject, SeenZone, defect_seen_by, patch_seen_by

WALL = "wall"
ASKED = {"cleaned": "Was the film cleaned?", "dry": "Was it dry?", "edges_taped": "Are all edges taped?"}
MOST_ALSO = 50
MOST_ON_A_MARK = 40


@dataclass(frozen=True, slots=True)
class PatchEntry:
    """What a person gives to log a patch: by `sides` or by `outline` and `offset`, never both."""

    sides: Sides | None
    outline: Outline | None
    offset: tuple[int, int]
    cut: tuple[int, int] | None
    cleaned: bool
    dry: bool
    edges_taped: bool
    tape_width_nm: int
    method: str = SHEET_PATCH
    lot: str = ""
    film_temperature: str = ""
    note: str = ""
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PatchJudged:
    """A logged patch and what it did: `overlap` of all that counts on its mark, this piece included.

    `units`: the project's, for telling it.
    """

    patch: Patch
    overlap: Overlap
    verdict: Verdict
    reasons: tuple[str, ...]
    units: Units


def read_shape(damage: Outline, given: Mapping[str, Any], units: Units = "us") -> PatchEntry:
    """`sides` (with `cut` and `angle_deg` if given) or `outline` (with `offset`) in the contract's forms.

    The workmanship of the entry that comes back is blank; `read_patch` fills it. BadInput names the field.
    """
    by_sides, by_outline = given.get("sides") is not None, given.get("outline") is not None
    if by_sides == by_outline:
        told = "Give the four sides the tape measure reads, or the patch's size and offset."
        raise BadInput(told, fields={"sides": told})
    blank = PatchEntry(None, None, (0, 0), None, False, False, False, 0)
    if by_sides:
        sides = _sides(damage, given["sides"])
        return replace(blank, sides=sides, cut=_cut(damage, sides, given.get("cut"), units))
    try:
        outline = read_outline(given["outline"])
        inside = given["outline"].get("offset") if isinstance(given["outline"], Mapping) else None
        offset = given.get("offset", inside)
        return replace(blank, outline=outline, offset=(0, 0) if offset is None else read_offset(offset))
    except BadOutline as bad:
        raise BadInput(str(bad), fields={bad.field or "outline": str(bad)}, code=bad.code) from None


def _sides(damage: Outline, given: object) -> Sides:
    if not isinstance(given, Mapping):
        raise BadInput("Sides are left, right, near and far.", fields={"sides": "Four sides are needed."})
    read = {word: _reading(word, given.get(word)) for word in SIDE_WORDS}
    if all(reading is None for reading in read.values()):
        told = "A patch cannot be sealed to a wall on all four sides."
        raise BadInput(told, fields={"sides": told})
    try:
        angle = read_angle(given["angle_deg"]) if given.get("angle_deg") is not None else None
    except BadOutline as bad:
        raise BadInput(str(bad), fields={"angle_deg": str(bad)}, code=bad.code) from None
    return Sides(read["left"], read["right"], read["near"], read["far"], side_angle(damage, angle))


def _reading(word: str, given: object) -> int | None:
    if not isinstance(given, str) or not given.strip():
        told = f"Read the tape on the {word} side, or write wall."
        raise BadInput(told, fields={word: told})
    return None if given.strip().lower() == WALL else length(given, word, zero_ok=True)


def _cut(damage: Outline, sides: Sides, given: object, units: Units) -> tuple[int, int] | None:
    if given is None:
        return None
    if not isinstance(given, Mapping) or not all(isinstance(given.get(k), str) for k in ("length", "width")):
        raise BadInput("A cut size is a length and a width.", fields={"cut": "Length and width are needed."})
    cut = length(given["length"], "cut"), length(given["width"], "cut")
    mismatch = sides_that_fit(damage, sides, *cut, units)
    if mismatch is not None:
        raise BadInput(
            f"These numbers cannot all be true. {mismatch}", fields={"cut": mismatch}, code="cannot-be"
        )
    return cut


def read_patch(damage: Outline, given: Mapping[str, Any], units: Units = "us") -> PatchEntry:
    """A whole patch in the contract's forms: cleaned, dry, edges taped and tape width must be answered."""
    faults: dict[str, str] = {}
    for name, asked in ASKED.items():
        if not isinstance(given.get(name), bool):
            faults[name] = f"{asked} Answer yes or no."
    if not isinstance(given.get("tape_width"), str):
        faults["tape_width"] = "Give the tape's width with its unit."
    if faults:
        raise BadInput(" ".join(faults.values()), fields=faults)
    method = given.get("method") or SHEET_PATCH
    if method not in REPAIR_METHODS:
        told = f"The method is one of: {', '.join(REPAIR_METHODS)}."
        raise BadInput(told, fields={"method": told})
    return replace(
        read_shape(damage, given, units),
        cleaned=given["cleaned"],
        dry=given["dry"],
        edges_taped=given["edges_taped"],
        tape_width_nm=length(given["tape_width"], "tape_width"),
        method=method,
        lot=_text(given, "lot", 80),
        film_temperature=_text(given, "film_temperature", 40),
        note=_text(given, "note", 2000),
        also=_also(given.get("also")),
    )


def _text(given: Mapping[str, Any], name: str, most: int) -> str:
    value = given.get(name)
    if value is not None and not isinstance(value, str):
        raise BadInput("Write text.", fields={name: "Write text."})
    return words(value or "", name, most=most)


def _also(given: object) -> tuple[str, ...]:
    if given is None:
        return ()
    if not isinstance(given, list | tuple) or not all(isinstance(item, str) for item in given):
        raise BadInput("The other marks are a list of ids.", fields={"also": "A list of ids."})
    if len(given) > MOST_ALSO:
        raise BadInput(
            f"One patch lies on at most {MOST_ALSO} other marks.", fields={"also": "Too many marks."}
        )
    return tuple(dict.fromkeys(given))


def log_patch(desk: Desk, by: str, defect_id: str, given: Mapping[str, Any]) -> PatchJudged:
    """Record a patch as it is, and judge the mark. A short patch is kept; another over it counts with it."""
    with desk.writing() as session:
        _, defect = defect_seen_by(session, by, defect_id)
        seen, site = zone_to_change(session, by, defect.zone_id, "log a patch")
        defect = _standing_defect(site, defect_id)
        entry = _in_base(seen.sketch, read_patch(defect.outline, given, seen.project.units))
        also = _marks_under(site, defect, entry.also)
        _check_walls(site, seen, defect, entry.sides)
        overlap = _overlap_with(site, seen, defect, entry)
        fact = _fact(desk, site, seen, defect, replace(entry, also=also), overlap)
        record(desk, session, site, by, seen.role, fact)
    return _judged(site, seen, fact, overlap)


def preview_patch(desk: Desk, by: str, defect_id: str, given: Mapping[str, Any]) -> Overlap:
    """The overlap a patch would have with what counts already. Nothing is recorded."""
    with desk.reading() as session:
        seen, defect = defect_seen_by(session, by, defect_id)
        site = slices.zone_site(session, seen.project.id, seen.zone, seen.sketch, seen.project)
    entry = _in_base(seen.sketch, read_shape(defect.outline, given, seen.project.units))
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
        told = f"{defect.tag} was withdrawn: {defect.withdrawn}. Nothing was recorded."
        raise Conflict(told, code="defect-withdrawn")
    return defect


def _marks_under(site: Site, defect: Defect, also: tuple[str, ...]) -> tuple[str, ...]:
    for mark_id in also:
        mark = site.defects.get(mark_id)
        if mark is None or mark.withdrawn is not None or mark.sketch_id != defect.sketch_id:
            told = "One of the other marks is not a standing mark near this one."
            raise BadInput(told, fields={"also": told})
    return tuple(mark_id for mark_id in also if mark_id != defect.id)


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
        told = f"No wall and no sealed edge is within {within} of the damage on the {missing[0]} side."
        raise BadInput(told, fields={missing[0]: told}, code="no-wall-there")


def _overlap_with(site: Site, seen: SeenZone, defect: Defect, entry: PatchEntry) -> Overlap:
    """Overlap of this piece together with the pieces on the mark that count already."""
    numbers = Numbers.of(sheet_in(site, seen.zone))
    pieces = [Piece(entry.outline, entry.offset, entry.sides)]
    if seen.sketch.scale is not None:
        around = _around(site, seen)
        for patch in patches_by_mark(site.patches.values()).get(defect.id, ()):
            facts = patch_facts(patch, defect, site.defects.get(patch.defect_id), around)
            if not workmanship(facts, numbers):
                pieces.append(facts.piece)
    if len(pieces) > MOST_ON_A_MARK or too_many_corners(defect.outline, pieces):
        told = (
            f"{defect.tag} has too many pieces on it to judge together. Withdraw some, or lay one over all."
        )
        raise BadInput(told, fields={"outline": told}, code="too-many-points")
    return judge(defect.outline, tuple(pieces), numbers.patch_overlap_nm)


def _fact(
    desk: Desk, site: Site, seen: SeenZone, defect: Defect, entry: PatchEntry, overlap: Overlap
) -> PatchLogged:
    return PatchLogged(
        patch=desk.new_id(),
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


def _judged(site: Site, seen: SeenZone, fact: PatchLogged, overlap: Overlap) -> PatchJudged:
    standing = standing_of(site, seen.zone.id)
    verdict = standing.verdicts[fact.defect]
    return PatchJudged(site.patches[fact.patch], overlap, verdict, verdict.reasons, seen.project.units)


def withdraw_patch(desk: Desk, by: str, patch_id: str, reason: str) -> Patch:
    """Take a patch back: it stays in the history with its reason and no longer counts."""
    reason = words(reason, "reason", needed="Say why the patch is withdrawn.")
    with desk.writing() as session:
        _, patch = patch_seen_by(session, by, patch_id)
        seen, site = zone_to_change(session, by, patch.zone_id, "withdraw a patch")
        patch = site.patches[patch_id]
        if patch.withdrawn is not None:
            raise Conflict("That patch is withdrawn already.", code="withdrawn-already")
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
        raise NotAllowed("A patch is withdrawn by whoever logged it, or by the project manager.")
