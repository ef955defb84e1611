"""How everything installed in a zone stands: penetrations, seams, edges, film lots and hold points."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.gate.installed_facts import (
    laid_facts,
    penetration_facts,
    seam_facts,
    step_facts,
    termination_facts,
)
from service.domain.gate.zone_facts import marks_in_zone
from service.domain.nouns.installed import Penetration, Seam, Termination
from service.domain.nouns.site import Site, Zone
from service.domain.patches.repair import NOT_SEALED, OPEN, SEALED, WITHDRAWN, Numbers

PENETRATION, SEAM, TERMINATION, FILM_LOT, HOLD_POINT = (
    "penetration", "seam", "termination", "film lot", "hold point",
)  # fmt: skip
# The kind of thing that each demand of a gate is about.
KIND_OF = {
    "penetrations": PENETRATION,
    "seams": SEAM,
    "terminations": TERMINATION,
    "film": FILM_LOT,
    "hold points": HOLD_POINT,
}
LAID, BELOW_SHEET = "laid", "below the sheet"
SIGNED, REFUSED, NOT_SIGNED = "signed", "refused", "not signed"


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing installed in a zone, or one hold point. `name`: its tag, lot number or step.

    `detail`: what kind of pipe, seam or edge it is; a lot's material. `state`: as a mark's for what is sealed
    (open, not sealed, sealed, withdrawn), else a word of this module.
    `made`: the id of the seal, walk or laying that the state hangs on. `faults`: codes, as the gate has them.
    """

    kind: str
    id: str
    name: str
    detail: str
    state: str
    made: str
    faults: tuple[str, ...]


def things_in(site: Site, zone: Zone, per_px: float, numbers: Numbers) -> tuple[Thing, ...]:
    """The zone's own, withdrawn ones too, whether its gate asks for them or not, in the order of the work."""
    return (
        *_penetrations(site, zone, numbers),
        *_seams(site, zone, per_px, numbers),
        *_terminations(site, zone, numbers),
        *_laid(site, zone, numbers),
        *_steps(site, zone, numbers),
    )


def _state(made: str, faults: tuple[str, ...]) -> str:
    if not made:
        return OPEN
    return NOT_SEALED if faults else SEALED


def _withdrawn(kind: str, thing: Penetration | Seam | Termination) -> Thing:
    return Thing(kind, thing.id, thing.tag, thing.kind, WITHDRAWN, "", ())


def _penetrations(site: Site, zone: Zone, numbers: Numbers) -> Iterator[Thing]:
    own = [pipe for pipe in site.penetrations.values() if pipe.zone_id == zone.id]
    for told in penetration_facts(site, [pipe for pipe in own if pipe.withdrawn is None], numbers):
        state = _state(told.seal, told.faults)
        yield Thing(PENETRATION, told.id, told.tag, told.kind, state, told.seal, told.faults)
    yield from (_withdrawn(PENETRATION, pipe) for pipe in own if pipe.withdrawn is not None)


def _seams(site: Site, zone: Zone, per_px: float, numbers: Numbers) -> Iterator[Thing]:
    for told in seam_facts(site, zone, per_px, numbers, marks_in_zone(site, zone, per_px)):
        kind, state = site.seams[told.id].kind, _state(told.walk, told.faults)
        yield Thing(SEAM, told.id, told.tag, kind, state, told.walk, told.faults)
    own = (seam for seam in site.seams.values() if seam.zone_id == zone.id)
    yield from (_withdrawn(SEAM, seam) for seam in own if seam.withdrawn is not None)


def _terminations(site: Site, zone: Zone, numbers: Numbers) -> Iterator[Thing]:
    for told in termination_facts(site, zone, numbers):
        state = _state(told.seal, told.faults)
        yield Thing(TERMINATION, told.id, told.tag, told.kind, state, told.seal, told.faults)
    own = (stretch for stretch in site.terminations.values() if stretch.zone_id == zone.id)
    yield from (_withdrawn(TERMINATION, stretch) for stretch in own if stretch.withdrawn is not None)


def _laid(site: Site, zone: Zone, numbers: Numbers) -> Iterator[Thing]:
    for told in laid_facts(site, zone, numbers):
        state = BELOW_SHEET if told.faults else LAID
        name = site.materials[site.lots[told.lot].material_id].name
        yield Thing(FILM_LOT, told.id, told.number, name, state, told.id, told.faults)
    for laying in zone.laid:
        if laying.withdrawn is not None:
            lot = site.lots[laying.lot_id]
            name = site.materials[lot.material_id].name
            yield Thing(FILM_LOT, laying.id, lot.number, name, WITHDRAWN, "", ())


def _steps(site: Site, zone: Zone, numbers: Numbers) -> Iterator[Thing]:
    for told in step_facts(site, zone, numbers):
        state = REFUSED if told.refused else SIGNED if told.met else NOT_SIGNED
        yield Thing(HOLD_POINT, told.step, told.step, "", state, "", ())
