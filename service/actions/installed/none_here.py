"""State that a zone has no penetrations, or no seams: somebody looked, and says so under their name."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, zone_to_change
from service.domain.gate.installed_facts import seams_in_zone
from service.domain.gate.zone_facts import nm_per_px, penetrations_in_zone
from service.domain.nouns.site import Site, Zone
from service.domain.words.refusals import BadInput, Conflict
from service.domain.words.speech import later, tr
from service.history.facts.installed import NoneHereStated

PENETRATIONS, SEAMS = "penetrations", "seams"
NONE_OF = (PENETRATIONS, SEAMS)
_STATED = {
    PENETRATIONS: later("It is stated already that zone {letter} has no penetrations."),
    SEAMS: later("It is stated already that zone {letter} has no seams."),
}


def state_none(desk: Desk, by: str, zone_id: str, what: str) -> Zone:
    """Record that the zone has none of `what`. Conflict while one stands in it, or once it was stated."""
    if what not in NONE_OF:
        told = tr("It can be stated that a zone has no penetrations or no seams.")
        raise BadInput(told, fields={"what": told})
    with desk.writing() as session:
        seen, site = zone_to_change(session, by, zone_id, "state that there are none")
        there = standing_there(site, seen.zone, what)
        if there:
            told = tr(
                "{tag} stands in zone {letter}: it cannot be stated that there are none.",
                tag=there[0],
                letter=seen.zone.letter,
            )
            raise Conflict(told, code="some-here")
        if what in seen.zone.none_here:
            raise Conflict(
                tr(_STATED[what], letter=seen.zone.letter),
                code="stated-already",
            )
        record(desk, session, site, by, seen.role, NoneHereStated(zone_id, seen.zone.letter, what))
    return site.zones[zone_id]


def standing_there(site: Site, zone: Zone, what: str) -> list[str]:
    """Tags of what stands in the zone or reaches into it."""
    scale = site.sketches[zone.sketch_id].scale
    if what == SEAMS:
        there = seams_in_zone(site, zone, nm_per_px(scale)) if scale is not None else []
        return sorted(seam.tag for seam in there)
    pipes = [p for p in site.penetrations.values() if p.zone_id == zone.id]
    if scale is not None:
        pipes = penetrations_in_zone(site, zone, nm_per_px(scale))
    return sorted(pipe.tag for pipe in pipes if pipe.withdrawn is None)
