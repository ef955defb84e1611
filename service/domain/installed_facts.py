"""What the gate reads about film as installed in one zone: seals, seams, edges, lots, hold points."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.edges import undescribed
from service.domain.film_class import film_faults
from service.domain.gate import (
    BareEdge,
    LaidFacts,
    PenetrationFacts,
    SeamFacts,
    StepFacts,
    TerminationFacts,
)
from service.domain.installed import FILM, Penetration, Signature
from service.domain.near_marks import faults_of_seal
from service.domain.repair import Numbers
from service.domain.roles import INSPECTOR
from service.domain.rules import WALK_STEP
from service.domain.seams import MARK_KIND, SHORT_LAP, seam_faults
from service.domain.site import Defect, Site, Zone
from service.domain.terminations import termination_faults


def penetration_facts(
    site: Site, pipes: Sequence[Penetration], numbers: Numbers
) -> tuple[PenetrationFacts, ...]:
    """The penetrations given, each with the faults of its seal, by tag."""
    return tuple(
        PenetrationFacts(
            pipe.id,
            pipe.tag,
            pipe.kind,
            pipe.at,
            pipe.outline,
            pipe.seal.id if pipe.seal else "",
            faults_of_seal(pipe, site.penetrations, numbers),
        )
        for pipe in sorted(pipes, key=lambda pipe: pipe.tag)
    )


def seam_facts(
    site: Site, zone: Zone, per_px: float, numbers: Numbers, marks: Sequence[Defect]
) -> tuple[SeamFacts, ...]:
    """The zone's standing seams by tag. A short lap under a mark of its kind is that mark's to mend.

    `marks`: the zone's own and those that reach in, which hold it. One that lies outside holds another zone:
    a seam that runs on out there is not told whole by it.
    """
    seams = [s for s in site.seams.values() if s.zone_id == zone.id and s.withdrawn is None]
    there = [mark for mark in marks if mark.withdrawn is None]
    places = [(mark.outline, mark.at) for mark in there if mark.kind == MARK_KIND[SHORT_LAP]]
    standing = {mark.id for mark in there}
    return tuple(
        SeamFacts(
            seam.id,
            seam.tag,
            seam.path,
            seam.walk.id if seam.walk else "",
            seam_faults(seam, numbers, per_px, places, standing),
        )
        for seam in sorted(seams, key=lambda seam: seam.tag)
    )


def termination_facts(site: Site, zone: Zone, numbers: Numbers) -> tuple[TerminationFacts, ...]:
    """The zone's standing stretches of edge by tag."""
    return tuple(
        TerminationFacts(
            stretch.id,
            stretch.tag,
            stretch.kind,
            stretch.path,
            stretch.seal.id if stretch.seal else "",
            termination_faults(stretch, numbers),
        )
        for stretch in sorted(site.terminations.values(), key=lambda stretch: stretch.tag)
        if stretch.zone_id == zone.id and stretch.withdrawn is None
    )


def bare_edges(site: Site, zone: Zone, per_px: float) -> tuple[BareEdge, ...]:
    """The parts of the zone's outline that nobody described: film with no end is film that goes on."""
    paths = [t.path for t in site.terminations.values() if t.zone_id == zone.id and t.withdrawn is None]
    return tuple(BareEdge(*part) for part in undescribed(zone.outline, paths, per_px))


def laid_facts(site: Site, zone: Zone, numbers: Numbers) -> tuple[LaidFacts, ...]:
    """The film laid in the zone, lot by lot in the order laid, with what its material lacks."""
    found = []
    for laying in zone.laid:
        lot = site.lots[laying.lot_id]
        material = site.materials[lot.material_id]
        if laying.withdrawn is None and material.kind == FILM:
            gone = ("lot-withdrawn",) if lot.withdrawn is not None else ()
            faults = (*gone, *film_faults(material, numbers))
            found.append(LaidFacts(laying.id, lot.id, lot.number, faults))
    return tuple(found)


def step_facts(site: Site, zone: Zone, numbers: Numbers) -> tuple[StepFacts, ...]:
    """Every hold point in its order. The punch walk is signed by finishing it."""
    scale = site.sketches[zone.sketch_id].scale_revision
    current = [
        s for s in zone.signatures if (s.outline_revision, s.scale_revision) == (zone.outline_revision, scale)
    ]
    return tuple(_step(step, [s for s in current if s.step == step], zone) for step in numbers.hold_points)


def _step(step: str, signatures: Sequence[Signature], zone: Zone) -> StepFacts:
    """The newest signature counts; an inspector's refusal stands until an inspector signs, and no new outline
    or scale takes it back."""
    theirs = [s for s in zone.signatures if s.step == step and s.signed.role == INSPECTOR]
    refused = bool(signatures) and not signatures[-1].accepted
    refused = refused or (bool(theirs) and not theirs[-1].accepted)
    refusals = sum(not s.accepted for s in signatures)
    signed = bool(signatures) or (step == WALK_STEP and zone.walked_at is not None)
    return StepFacts(step, signed and not refused, refused, refusals)


def unstated(site: Site, zone: Zone, pipes: Sequence[Penetration], demands: Sequence[str]) -> tuple[str, ...]:
    """Of penetrations and seams, what is asked for, is nowhere placed, and nobody said there is none of."""
    seams = any(s.zone_id == zone.id and s.withdrawn is None for s in site.seams.values())
    there = {"penetrations": bool(pipes), "seams": seams}
    return tuple(
        what for what, some in there.items() if what in demands and not some and what not in zone.none_here
    )
