"""Gathers what the first gate read about a zone: marks, flat patches, walls, the walk and holds."""

from __future__ import annotations

from service.domain.earlier.gate_1 import Revisions, ZoneFacts
from service.domain.earlier.repair_1 import DefectFacts, Numbers, PatchFacts
from service.domain.gate.gate import HoldFacts
from service.domain.gate.mark_facts import patches_by_mark, piece_seen_from
from service.domain.gate.zone_facts import marks_in_zone, nm_per_px
from service.domain.nouns.site import Defect, Patch, Scale, Site, Wall, Zone
from service.domain.shapes.ground import closed_sides
from service.domain.shapes.sides import Sides


def zone_facts(site: Site, zone_id: str) -> ZoneFacts:
    """The first gate's inputs for one zone. AssertionError when the site's project is not loaded."""
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
                _patch_facts(
                    patch, mark, site.defects.get(patch.defect_id), per_px, walls, numbers.patch_overlap_nm
                )
                for patch in by_mark.get(mark.id, ())
            ),
        )
        for mark in marks
    )


def _patch_facts(
    patch: Patch, mark: Defect, primary: Defect | None, per_px: float, walls: list[Wall], minimum_nm: int
) -> PatchFacts:
    """A patch as seen from one mark. `primary` is the mark it was logged on."""
    stands = patch.sides is None or _walls_stand(patch.sides, primary or mark, per_px, walls, minimum_nm)
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


def _walls_stand(sides: Sides, mark: Defect, per_px: float, walls: list[Wall], minimum_nm: int) -> bool:
    """True when every side sealed to a wall has a standing wall within the required overlap of the damage."""
    sealed = {word for word, reading in sides.readings().items() if reading is None}
    lines = [(wall.a, wall.b) for wall in walls]
    return sealed <= closed_sides(mark.outline, mark.at, per_px, lines, sides.angle_udeg, minimum_nm)
