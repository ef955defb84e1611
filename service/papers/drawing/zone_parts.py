"""What of a zone is drawn on paper, and how each thing stands: from the site's facts alone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from service.domain.gate import gate
from service.domain.gate.installed_facts import penetration_facts, seam_facts, termination_facts
from service.domain.gate.mark_facts import patches_by_mark
from service.domain.gate.zone_facts import marks_in_zone, nm_per_px, penetrations_in_zone, zone_facts
from service.domain.nouns.installed import Penetration, Seam, Termination
from service.domain.nouns.site import Defect, Patch, Px, Site, Wall, Zone
from service.domain.patches.repair import SEALED, Numbers
from service.domain.rule_sheet.effective import sheet_in
from service.domain.shapes.ground import inside
from service.domain.shapes.outlines import Outline, Sides, sides_as_rectangle

ASIDE = 250  # thousandths of a pixel: how far beside an edge it is asked whether that is still the zone
NOT_WALKED, AT_FAULT, IN_ORDER = "not walked", "at fault", "in order"


@dataclass(frozen=True, slots=True)
class ZoneParts:
    """Standing things only. `unsealed`: ids of marks, penetrations and edges not sealed; `seams` with their
    state; `edges` as paths with the outside at their left; `patches` once each, with shape and offset."""

    marks: tuple[Defect, ...]
    patches: tuple[tuple[Patch, Outline, tuple[int, int]], ...]
    pipes: tuple[Penetration, ...]
    seams: tuple[tuple[Seam, str], ...]
    edges: tuple[tuple[Termination, tuple[Px, ...]], ...]
    walls: tuple[Wall, ...]
    unsealed: frozenset[str]


def parts_of(site: Site, zone: Zone) -> ZoneParts:
    """All that stands in the zone or reaches into it, in tag order. The sketch has a scale."""
    scale = site.sketches[zone.sketch_id].scale
    assert scale is not None, "a drawing to scale needs a scale"
    per_px, numbers = nm_per_px(scale), Numbers.of(sheet_in(site, zone))
    marks = [mark for mark in marks_in_zone(site, zone, per_px) if mark.withdrawn is None]
    pipes = [pipe for pipe in penetrations_in_zone(site, zone, per_px) if pipe.withdrawn is None]
    seams = seam_facts(site, zone, per_px, numbers, marks)
    edges = termination_facts(site, zone, numbers)
    verdicts = gate.decide(zone_facts(site, zone.id))[1]
    unsealed = {mark.id for mark in marks if verdicts[mark.id].state != SEALED}
    unsealed |= {told.id for told in penetration_facts(site, pipes, numbers) if told.faults}
    unsealed |= {told.id for told in edges if told.faults}
    return ZoneParts(
        tuple(sorted(marks, key=_tag)),
        _patches(site, marks),
        tuple(sorted(pipes, key=_tag)),
        tuple((site.seams[told.id], _walked(site.seams[told.id], told.faults)) for told in seams),
        tuple((site.terminations[told.id], _outside_at_left(told.path, zone.outline)) for told in edges),
        tuple(w for w in site.walls.values() if w.zone_id == zone.id and w.withdrawn is None),
        frozenset(unsealed),
    )


def _tag(thing: Defect | Penetration) -> tuple[int, str]:
    return len(thing.tag), thing.tag


def _walked(seam: Seam, faults: tuple[str, ...]) -> str:
    return NOT_WALKED if seam.walk is None else AT_FAULT if faults else IN_ORDER


def _patches(site: Site, marks: list[Defect]) -> tuple[tuple[Patch, Outline, tuple[int, int]], ...]:
    """Every patch that lies on one of the marks, as a shape placed from `patch.at`."""
    on = patches_by_mark(site.patches.values())
    found = {patch.id: patch for mark in marks for patch in on.get(mark.id, ())}
    return tuple((patch, *_piece(patch, site.defects[patch.defect_id])) for patch in found.values())


def _piece(patch: Patch, own: Defect) -> tuple[Outline, tuple[int, int]]:
    """The patch from its own mark's middle; a side sealed to a wall is drawn ending at the damage."""
    if patch.outline is not None:
        return patch.outline, patch.offset
    assert patch.sides is not None, "a patch has sides or an outline"
    left, right, near, far = (reading or 0 for reading in patch.sides.readings().values())
    return sides_as_rectangle(own.outline, Sides(left, right, near, far, patch.sides.angle_udeg))


def _outside_at_left(path: tuple[Px, ...], ring: tuple[Px, ...]) -> tuple[Px, ...]:
    """The path so run that the zone lies at its right (y down), asked beside its longest piece."""
    (ax, ay), (bx, by) = max(pairwise(path), key=lambda piece: math.dist(*piece))
    far = math.dist((ax, ay), (bx, by)) or 1.0
    beside = (
        round((ax + bx) / 2 + (by - ay) / far * ASIDE),
        round((ay + by) / 2 + (ax - bx) / far * ASIDE),
    )
    return path[::-1] if inside(beside, ring) else path
