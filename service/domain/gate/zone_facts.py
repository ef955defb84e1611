"""Gathers from a site exactly what the gate reads about one zone: marks, what is installed, who signed."""

from __future__ import annotations

import math

from service.domain.gate.gate import HoldFacts, Revisions, ZoneFacts
from service.domain.gate.installed_facts import (
    bare_edges,
    laid_facts,
    penetration_facts,
    seam_facts,
    step_facts,
    termination_facts,
    unstated,
)
from service.domain.gate.mark_facts import defect_facts
from service.domain.nouns.installed import Penetration
from service.domain.nouns.site import Defect, Scale, Site, Zone
from service.domain.patches.repair import DefectFacts, Numbers
from service.domain.rule_sheet.effective import sheet_in
from service.domain.shapes.ground import marks_reaching_into
from service.domain.shapes.outlines import reach_nm

MILLI = 1000  # positions are thousandths of a pixel
# Marks outside a zone and this near (10 ft) are looked at for the tape of its patches.
BESIDE_NM = 3_048_000_000


def nm_per_px(scale: Scale) -> float:
    """Nanometres of ground under one pixel of the base frame."""
    (ax, ay), (bx, by) = scale.a, scale.b
    return scale.distance_nm / (math.hypot(bx - ax, by - ay) / MILLI)


def zone_facts(site: Site, zone_id: str, kept: tuple[DefectFacts, ...] | None = None) -> ZoneFacts:
    """The gate's inputs for one zone. AssertionError when the site's project is not loaded.

    `kept`: the standing marks, by id, where they were gathered before and nothing about them moved since.
    """
    assert site.project is not None, "a zone without its project"
    zone = site.zones[zone_id]
    sketch = site.sketches[zone.sketch_id]
    numbers = Numbers.of(sheet_in(site, zone))
    holds = (hold for hold in site.holds.values() if hold.zone_id == zone_id)
    per_px = None if sketch.scale is None else nm_per_px(sketch.scale)
    marks = [] if per_px is None else sorted(marks_in_zone(site, zone, per_px), key=lambda mark: mark.id)
    pipes = [] if per_px is None else penetrations_in_zone(site, zone, per_px)
    bare = ZoneFacts(
        zone=zone_id,
        letter=zone.letter,
        outline=zone.outline,
        scale=sketch.scale,
        alignment=sketch.alignment,
        numbers=numbers,
        walked=zone.walked_at is not None,
        defects=_defects(site, zone, per_px, numbers, marks) if kept is None else kept,
        withdrawn=_withdrawn(site, zone, marks, pipes),
        holds=tuple(
            HoldFacts(hold.id, hold.cause, hold.lifted is not None)
            for hold in sorted(holds, key=lambda hold: hold.id)
        ),
        revisions=Revisions(
            site.project.sheet_revision,
            sketch.scale_revision,
            sketch.revision,
            zone.outline_revision,
            zone.raised_revision,
        ),
    )
    return bare if per_px is None else _asked_for(site, zone, per_px, bare, marks, pipes)


def _defects(
    site: Site, zone: Zone, per_px: float | None, numbers: Numbers, marks: list[Defect]
) -> tuple[DefectFacts, ...]:
    if per_px is None:
        return ()
    here = {mark.id for mark in marks}
    beside = [
        mark
        for mark in site.defects.values()
        if mark.id not in here
        and mark.sketch_id == zone.sketch_id
        and may_reach(mark, zone, per_px, BESIDE_NM)
    ]
    return defect_facts(site, zone, per_px, numbers, marks, sorted(beside, key=lambda mark: mark.id))


def _asked_for(
    site: Site, zone: Zone, per_px: float, bare: ZoneFacts, marks: list[Defect], pipes: list[Penetration]
) -> ZoneFacts:
    """The facts with what the sheet asks for besides marks, and nothing else."""
    numbers, demands = bare.numbers, bare.numbers.gate_demands
    standing = [pipe for pipe in pipes if pipe.withdrawn is None]
    edges = "terminations" in demands
    return ZoneFacts(
        bare.zone, bare.letter, bare.outline, bare.scale, bare.alignment, numbers, bare.walked, bare.defects,
        bare.withdrawn, bare.holds, bare.revisions,
        penetrations=penetration_facts(site, standing, numbers) if "penetrations" in demands else (),
        seams=seam_facts(site, zone, per_px, numbers, marks) if "seams" in demands else (),
        terminations=termination_facts(site, zone, numbers) if edges else (),
        bare_edges=bare_edges(site, zone, per_px) if edges else (),
        laid=laid_facts(site, zone, numbers) if "film" in demands else (),
        steps=step_facts(site, zone, numbers) if "hold points" in demands else (),
        unstated=unstated(site, zone, per_px, standing, demands),
    )  # fmt: skip


def _withdrawn(site: Site, zone: Zone, marks: list[Defect], pipes: list[Penetration]) -> tuple[str, ...]:
    """The ids of all that was taken back here: a thing taken back and placed anew is another thing."""
    gone = [mark.id for mark in marks if mark.withdrawn is not None]
    gone += [pipe.id for pipe in pipes if pipe.withdrawn is not None]
    gone += [s.id for s in site.seams.values() if s.zone_id == zone.id and s.withdrawn is not None]
    gone += [t.id for t in site.terminations.values() if t.zone_id == zone.id and t.withdrawn is not None]
    gone += [laying.id for laying in zone.laid if laying.withdrawn is not None]
    gone += _lots_withdrawn(site, marks)
    return tuple(sorted(gone))


def _lots_withdrawn(site: Site, marks: list[Defect]) -> list[str]:
    """Those that these marks were mended with. Few are ever withdrawn: only then every patch is read."""
    lots = [lot for lot in site.lots.values() if lot.withdrawn]
    if not lots:
        return []
    here = {mark.id for mark in marks}
    patches = (p for p in site.patches.values() if not here.isdisjoint((p.defect_id, *p.also)))
    used = {patch.lot.casefold().strip() for patch in patches}
    used |= {repair.work.lot.casefold().strip() for mark in marks for repair in mark.repairs}
    return [lot.id for lot in lots if lot.number.casefold() in used]


def marks_in_zone(site: Site, zone: Zone, per_px: float) -> list[Defect]:
    """The zone's marks, and its neighbours' whose outline reaches into it; withdrawn ones too."""
    here = [mark for mark in site.defects.values() if mark.sketch_id == zone.sketch_id]
    own = [mark for mark in here if mark.zone_id == zone.id]
    others = [mark for mark in here if mark.zone_id != zone.id and may_reach(mark, zone, per_px)]
    inside = marks_reaching_into([(mark.outline, mark.at) for mark in others], per_px, zone.outline)
    return own + [mark for mark, reaches in zip(others, inside, strict=True) if reaches]


def penetrations_in_zone(site: Site, zone: Zone, per_px: float) -> list[Penetration]:
    """The zone's penetrations, and its neighbours' that reach into it, by id; withdrawn ones too."""
    here = [pipe for pipe in site.penetrations.values() if pipe.sketch_id == zone.sketch_id]
    own = [pipe for pipe in here if pipe.zone_id == zone.id]
    others = [pipe for pipe in here if pipe.zone_id != zone.id and may_reach(pipe, zone, per_px)]
    inside = marks_reaching_into([(pipe.outline, pipe.at) for pipe in others], per_px, zone.outline)
    found = own + [pipe for pipe, reaches in zip(others, inside, strict=True) if reaches]
    return sorted(found, key=lambda pipe: pipe.id)


def may_reach(thing: Defect | Penetration, zone: Zone, per_px: float, room_nm: int = 0) -> bool:
    """A cheap box test, so that the exact one is asked only of the few near the zone or within `room_nm`."""
    far = (reach_nm(thing.outline) + room_nm) / per_px * MILLI + MILLI
    xs, ys = [x for x, _ in zone.outline], [y for _, y in zone.outline]
    x, y = thing.at
    return min(xs) - far <= x <= max(xs) + far and min(ys) - far <= y <= max(ys) + far
