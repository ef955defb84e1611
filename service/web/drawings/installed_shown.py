"""What is installed in a zone, from its facts to what the drawings take: how each thing stands, and where."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from service.actions.frame.reading import ZoneView
from service.domain.gate.gate import PenetrationFacts, SeamFacts, TerminationFacts
from service.domain.gate.installed_facts import penetration_facts, seam_facts, termination_facts
from service.domain.gate.zone_facts import marks_in_zone, nm_per_px, penetrations_in_zone
from service.domain.nouns.installed import Penetration, Seam, Termination
from service.domain.nouns.site import Px
from service.domain.shapes.ground import inside
from service.web.drawings.drawing import (
    AT_FAULT,
    NOT_SEALED,
    NOT_WALKED,
    NOTHING,
    EdgeToDraw,
    InstalledToDraw,
    PenetrationToDraw,
    SeamToDraw,
)
from service.web.drawings.paths import apart
from service.web.drawings.shown import Shown

SEALED, WALKED = "sealed", "walked"
ASIDE = 250  # thousandths of a pixel: how far beside an edge it is asked whether that is still the zone

Faults = Mapping[str, tuple[str, ...]]


def installed_shown(view: ZoneView, shown: Shown) -> InstalledToDraw:
    """All that stands in the zone, and penetrations that reach in; nothing on a sketch with no scale."""
    scale = view.seen.sketch.scale
    if scale is None:
        return NOTHING
    per_px = nm_per_px(scale)
    here = penetrations_in_zone(view.site, view.zone, per_px)
    pipes = sorted((p for p in here if p.withdrawn is None), key=lambda p: (len(p.tag), p.tag))
    seams = [seam for seam in view.seams() if seam.withdrawn is None]
    edges = [edge for edge in view.terminations() if edge.withdrawn is None]
    if not (pipes or seams or edges):
        return NOTHING
    ring = shown.ring(view.zone.outline)
    faults = {**_pipe_faults(view, pipes), **_seam_faults(view, per_px), **_edge_faults(view)}
    return InstalledToDraw(
        tuple(_pipe(pipe, faults, shown) for pipe in pipes),
        tuple(_seam(seam, faults, shown) for seam in seams),
        tuple(_stretch(edge, faults, ring, shown) for edge in edges),
    )


def _faults(facts: Sequence[PenetrationFacts] | Sequence[SeamFacts] | Sequence[TerminationFacts]) -> Faults:
    return {fact.id: fact.faults for fact in facts}


def _pipe_faults(view: ZoneView, pipes: Sequence[Penetration]) -> Faults:
    """As the gate read them; where it does not ask for penetrations, judged here the same way."""
    facts = view.standing.facts
    return _faults(facts.penetrations or penetration_facts(view.site, pipes, facts.numbers))


def _seam_faults(view: ZoneView, per_px: float) -> Faults:
    facts = view.standing.facts
    if facts.seams:
        return _faults(facts.seams)
    marks = marks_in_zone(view.site, view.zone, per_px)
    return _faults(seam_facts(view.site, view.zone, per_px, facts.numbers, marks))


def _edge_faults(view: ZoneView) -> Faults:
    facts = view.standing.facts
    return _faults(facts.terminations or termination_facts(view.site, view.zone, facts.numbers))


def _pipe(pipe: Penetration, faults: Faults, shown: Shown) -> PenetrationToDraw:
    return PenetrationToDraw(
        pipe.tag,
        NOT_SEALED if faults[pipe.id] else SEALED,
        shown.point(pipe.at),
        shown.outline(pipe.outline),
        f"/penetrations/{pipe.id}",
    )


def _seam(seam: Seam, faults: Faults, shown: Shown) -> SeamToDraw:
    state = NOT_WALKED if seam.walk is None else AT_FAULT if faults[seam.id] else WALKED
    path = shown.ring(seam.path)
    at = [shown.point(station.at) for station in seam.walk.stations] if seam.walk else []
    return SeamToDraw(
        seam.tag, state, path, tuple((place, _turn(path, place)) for place in at), f"/seams/{seam.id}"
    )


def _turn(path: Sequence[Px], at: Px) -> int:
    """Which way the piece of the path nearest to a place runs, in whole degrees clockwise on the sketch."""
    a, b = min(pairwise(path), key=lambda piece: apart(at, *piece))
    return round(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])))


def _stretch(edge: Termination, faults: Faults, ring: Sequence[Px], shown: Shown) -> EdgeToDraw:
    path = shown.ring(edge.path)
    outside = path[::-1] if _zone_at_left(path, ring) else path
    return EdgeToDraw(NOT_SEALED if faults[edge.id] else SEALED, outside)


def _zone_at_left(path: Sequence[Px], ring: Sequence[Px]) -> bool:
    """Whether the zone lies at the left of the way the path runs (y down), asked beside its longest piece."""
    (ax, ay), (bx, by) = max(pairwise(path), key=lambda piece: math.dist(*piece))
    far = math.dist((ax, ay), (bx, by)) or 1.0
    beside = (
        round((ax + bx) / 2 + (by - ay) / far * ASIDE),
        round((ay + by) / 2 + (ax - bx) / far * ASIDE),
    )
    return inside(beside, ring)
