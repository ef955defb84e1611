"""What the gate reads about film as installed in one zone: seals, seams, edges, lots, hold points."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from service.domain.gate.gate import (
    BareEdge,
    LaidFacts,
    PenetrationFacts,
    SeamFacts,
    StepFacts,
    TerminationFacts,
)
from service.domain.gate.mark_facts import look_facts
from service.domain.gate.near_marks import faults_of_seal
from service.domain.installed.edges import undescribed
from service.domain.installed.seams import MARK_KIND, SHORT_LAP, seam_faults
from service.domain.installed.terminations import termination_faults
from service.domain.nouns.installed import FILM, Penetration, Seam, Signature
from service.domain.nouns.roles import INSPECTOR
from service.domain.nouns.rules import INCH_NM, LOOK_STEP, WALK_STEP
from service.domain.nouns.site import Defect, Site, Zone
from service.domain.patches.repair import ACCEPTED, Numbers
from service.domain.rule_sheet.film_class import film_faults
from service.domain.shapes.ground import inside, length_inside
from service.domain.shapes.nearby import MILLI


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
    seams = seams_in_zone(site, zone, per_px)
    there = [mark for mark in marks if mark.withdrawn is None]
    places = [(mark.outline, mark.at) for mark in there if mark.kind == MARK_KIND[SHORT_LAP]]
    standing = {mark.id for mark in there}
    return tuple(
        SeamFacts(
            seam.id,
            seam.tag,
            seam.path,
            seam.walk.id if seam.walk else "",
            _faults_in(zone, seam, lambda part: seam_faults(part, numbers, per_px, places, standing)),
        )
        for seam in sorted(seams, key=lambda seam: seam.tag)
    )


# Of a neighbour's seam that runs in, what these say is judged by its readings and runs in this zone alone.
ELSEWHERE = ("lap-short", "run-not-marked")
# A seam drawn to the joint, or a hand's breadth past it, does not run on into the next zone (chosen here).
RUNS_IN_NM = 6 * INCH_NM


def _faults_in(zone: Zone, seam: Seam, judge: Callable[[Seam], tuple[str, ...]]) -> tuple[str, ...]:
    """The faults of a seam as far as they are this zone's. Its own are judged once, whole."""
    if seam.zone_id == zone.id:
        return judge(seam)
    whole = tuple(code for code in judge(seam) if code not in ELSEWHERE)
    return whole + tuple(code for code in judge(_inside(seam, zone)) if code in ELSEWHERE)


def seams_in_zone(site: Site, zone: Zone, per_px: float) -> list[Seam]:
    """The zone's standing seams, and its neighbours' that run into it."""
    least = RUNS_IN_NM / per_px * MILLI
    return [
        seam
        for seam in site.seams.values()
        if seam.withdrawn is None
        and seam.sketch_id == zone.sketch_id
        and (seam.zone_id == zone.id or length_inside(seam.path, zone.outline) > least)
    ]


def _inside(seam: Seam, zone: Zone) -> Seam:
    """The seam with the readings and runs of its walk that lie in the zone."""
    if seam.walk is None:
        return seam
    stations = tuple(s for s in seam.walk.stations if inside(s.at, zone.outline))
    runs = tuple(r for r in seam.walk.runs if inside(r.a, zone.outline) or inside(r.b, zone.outline))
    return replace(seam, walk=replace(seam.walk, stations=stations, runs=runs))


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
    facts = [_step(step, [s for s in current if s.step == step], zone) for step in numbers.hold_points]
    return tuple(
        replace(found, met=False) if found.step == LOOK_STEP and _stale(current, site, zone) else found
        for found in facts
    )


def _stale(current: Sequence[Signature], site: Site, zone: Zone) -> bool:
    """Whether the second look of the zone was before some patch or repair of it, or by whoever made that.

    One that another person looked at by itself and accepted is not asked of the zone's look again.
    """
    signed = [s.signed for s in current if s.step == LOOK_STEP]
    if not signed:
        return False
    marks = [mark for mark in site.defects.values() if mark.zone_id == zone.id]
    work = [
        (p.seq, p.by, p.looks) for p in site.patches.values() if p.zone_id == zone.id and p.withdrawn is None
    ]
    work += [
        (r.signed.seq, r.signed.by, r.looks) for mark in marks for r in mark.repairs if r.withdrawn is None
    ]
    return any(
        look_facts(looks).word != ACCEPTED and (seq > signed[-1].seq or by == signed[-1].by)
        for seq, by, looks in work
    )


def _step(step: str, signatures: Sequence[Signature], zone: Zone) -> StepFacts:
    """The newest signature counts; an inspector's refusal stands until an inspector signs, and no new outline
    or scale takes it back."""
    theirs = [s for s in zone.signatures if s.step == step and s.signed.role == INSPECTOR]
    refused = bool(signatures) and not signatures[-1].accepted
    refused = refused or (bool(theirs) and not theirs[-1].accepted)
    refusals = sum(not s.accepted for s in signatures)
    signed = bool(signatures) or (step == WALK_STEP and zone.walked_at is not None)
    return StepFacts(step, signed and not refused, refused, refusals)


def unstated(
    site: Site, zone: Zone, per_px: float, pipes: Sequence[Penetration], demands: Sequence[str]
) -> tuple[str, ...]:
    """Of penetrations and seams, what is asked for, is nowhere placed, and nobody said there is none of."""
    there = {"penetrations": bool(pipes), "seams": bool(seams_in_zone(site, zone, per_px))}
    return tuple(
        what for what, some in there.items() if what in demands and not some and what not in zone.none_here
    )
