"""Gathers from a site exactly what the gate reads about one zone: the marks that reach in, their patches."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

from service.domain.gate import HoldFacts, Revisions, ZoneFacts
from service.domain.ground import closed_sides, marks_reaching_into
from service.domain.outlines import Outline, reach_nm
from service.domain.overlap import Piece
from service.domain.repair import DefectFacts, Numbers, PatchFacts
from service.domain.sides import Sides, sides_as_rectangle
from service.domain.site import Defect, Patch, Px, Scale, Site, Wall, Zone

MILLI = 1000  # positions are thousandths of a pixel


def nm_per_px(scale: Scale) -> float:
    """Nanometres of ground under one pixel of the base frame."""
    (ax, ay), (bx, by) = scale.a, scale.b
    return scale.distance_nm / (math.hypot(bx - ax, by - ay) / MILLI)


def zone_facts(site: Site, zone_id: str) -> ZoneFacts:
    """The gate's inputs for one zone. AssertionError when the site's project is not loaded."""
    assert site.project is not None, "a zone without its project"
    zone = site.zones[zone_id]
    sketch = site.sketches[zone.sketch_id]
    numbers = Numbers.of(site.project.sheet)
    holds = (hold for hold in site.holds.values() if hold.zone_id == zone_id)
    standing, withdrawn = _marks(site, zone, sketch.scale)
    return ZoneFacts(
        zone=zone_id,
        letter=zone.letter,
        outline=zone.outline,
        scale=sketch.scale,
        alignment=sketch.alignment,
        numbers=numbers,
        walked=zone.walked_at is not None,
        defects=_defects(site, zone, sketch.scale, numbers, standing),
        withdrawn=withdrawn,
        holds=tuple(
            HoldFacts(hold.id, hold.cause, hold.lifted is not None)
            for hold in sorted(holds, key=lambda hold: hold.id)
        ),
        revisions=Revisions(
            site.project.numbers_revision, sketch.scale_revision, sketch.revision, zone.outline_revision
        ),
    )


def _marks(site: Site, zone: Zone, scale: Scale | None) -> tuple[list[Defect], tuple[str, ...]]:
    """The standing marks that reach into the zone, and the ids of the withdrawn ones, both by id."""
    if scale is None:
        return [], ()
    marks = sorted(marks_in_zone(site, zone, nm_per_px(scale)), key=lambda mark: mark.id)
    standing = [mark for mark in marks if mark.withdrawn is None]
    return standing, tuple(mark.id for mark in marks if mark.withdrawn is not None)


def _defects(
    site: Site, zone: Zone, scale: Scale | None, numbers: Numbers, marks: list[Defect]
) -> tuple[DefectFacts, ...]:
    if scale is None:
        return ()
    per_px = nm_per_px(scale)
    walls = [
        wall for wall in site.walls.values() if wall.sketch_id == zone.sketch_id and wall.withdrawn is None
    ]
    by_mark = patches_by_mark(site.patches.values())
    return tuple(
        DefectFacts(
            mark.id,
            mark.tag,
            mark.kind,
            mark.at,
            mark.outline,
            tuple(
                patch_facts(
                    patch, mark, site.defects.get(patch.defect_id), per_px, walls, numbers.patch_overlap_nm
                )
                for patch in by_mark.get(mark.id, ())
            ),
        )
        for mark in marks
    )


def marks_in_zone(site: Site, zone: Zone, per_px: float) -> list[Defect]:
    """The zone's marks, and its neighbours' whose outline reaches into it; withdrawn ones too."""
    here = [mark for mark in site.defects.values() if mark.sketch_id == zone.sketch_id]
    own = [mark for mark in here if mark.zone_id == zone.id]
    others = [mark for mark in here if mark.zone_id != zone.id and _may_reach(mark, zone, per_px)]
    inside = marks_reaching_into([(mark.outline, mark.at) for mark in others], per_px, zone.outline)
    return own + [mark for mark, reaches in zip(others, inside, strict=True) if reaches]


def _may_reach(mark: Defect, zone: Zone, per_px: float) -> bool:
    """A cheap box test, so that the exact one is asked only of the few marks near the zone."""
    far = reach_nm(mark.outline) / per_px * MILLI + MILLI
    xs, ys = [x for x, _ in zone.outline], [y for _, y in zone.outline]
    x, y = mark.at
    return min(xs) - far <= x <= max(xs) + far and min(ys) - far <= y <= max(ys) + far


def patches_by_mark(patches: Iterable[Patch]) -> dict[str, list[Patch]]:
    """Standing patches under the id of every mark they lie on, oldest first."""
    found: dict[str, list[Patch]] = defaultdict(list)
    for patch in sorted(patches, key=lambda patch: (patch.logged_at, patch.id)):
        if patch.withdrawn is None:
            for mark in (patch.defect_id, *patch.also):
                found[mark].append(patch)
    return found


def patch_facts(
    patch: Patch, mark: Defect, primary: Defect | None, per_px: float, walls: list[Wall], minimum_nm: int
) -> PatchFacts:
    """A patch as seen from one mark. `primary` is the mark it was logged on."""
    stands = patch.sides is None or walls_stand(patch.sides, primary or mark, per_px, walls, minimum_nm)
    return PatchFacts(
        patch.id,
        piece_seen_from(patch, mark, primary, per_px),
        patch.cleaned,
        patch.dry,
        patch.edges_taped,
        patch.tape_width_nm,
        patch.method,
        stands,
    )


def piece_seen_from(patch: Patch, mark: Defect, primary: Defect | None, per_px: float) -> Piece:
    """The patch placed from a mark's centre: exact on its own mark, by the sketch's scale on the others."""
    if mark.id == patch.defect_id:
        return Piece(patch.outline, patch.offset, patch.sides)
    dx = round((patch.at[0] - mark.at[0]) / MILLI * per_px)
    dy = round((patch.at[1] - mark.at[1]) / MILLI * per_px)
    outline, (ox, oy) = _outline_of(patch, primary)
    return Piece(outline, (dx + ox, dy + oy))


def _outline_of(patch: Patch, primary: Defect | None) -> tuple[Outline, tuple[int, int]]:
    if patch.outline is not None:
        return patch.outline, patch.offset
    assert patch.sides is not None and primary is not None, "a patch has an outline, or sides round its mark"
    # A side sealed to a wall reaches no further than the mark itself when seen from another mark.
    left, right, near, far = (reading or 0 for reading in patch.sides.readings().values())
    closed = Sides(left, right, near, far, patch.sides.angle_udeg)
    return sides_as_rectangle(primary.outline, closed)


def walls_stand(sides: Sides, mark: Defect, per_px: float, walls: list[Wall], minimum_nm: int) -> bool:
    """True when every side sealed to a wall has a standing wall within the required overlap of the damage."""
    sealed = {word for word, reading in sides.readings().items() if reading is None}
    return sealed <= walled_sides(mark.outline, mark.at, sides.angle_udeg, per_px, walls, minimum_nm)


def walled_sides(
    outline: Outline, at: Px, angle_udeg: int, per_px: float, walls: list[Wall], minimum_nm: int
) -> set[str]:
    """The sides of a mark on which a standing wall lies within the required overlap of the damage."""
    return closed_sides(outline, at, per_px, [(wall.a, wall.b) for wall in walls], angle_udeg, minimum_nm)
