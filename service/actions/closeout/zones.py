"""Zones for the closeout: walked, held, signed, released and placed, by whom and when, with all in them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.actions.closeout.acts import Acts
from service.actions.closeout.film import laid_told
from service.actions.closeout.installed import bare_told, edges_told, penetrations_of, seams_of, stands_of
from service.actions.closeout.marks import Marks
from service.actions.closeout.placing import slab_told, weather_told
from service.domain.gate.installed_facts import step_facts
from service.domain.gate.installed_states import NOT_SIGNED, REFUSED, SIGNED, things_in
from service.domain.gate.told import found_in_placing
from service.domain.gate.wording import say_blocker
from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.site import Release, Site, Zone
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.effective import sheet_in
from service.domain.rule_sheet.floor_tests import Said, floor_area, say_floor
from service.domain.rule_sheet.rule_texts import TITLES, say_number
from service.domain.words.measures import NM_PER_M, Units
from service.domain.words.speech import later, tr
from service.history.closeout.told import (
    Ground,
    HoldTold,
    PlacedTold,
    ReleaseTold,
    StartedTold,
    Step,
    ZoneTold,
)
from service.history.closeout.told import Signed as SignedTold
from service.history.facts.facts import WalkFinished, ZoneReleased
from service.history.replay.standing import Standing

TAKEN_OFF = later("taken off the sketch")
STANDS, PULLED_BACK = later("stands"), later("pulled back")
REPLACED = later("a later release took its place")
PLACED_UNDER = later("the zone was placed under it")
FELL_AWAY = later("fell away: what it released changed")
FELL_BEFORE = later("fell away before the zone was placed")


@dataclass(frozen=True)
class Telling:
    """All that zones are told from."""

    site: Site
    acts: Acts
    marks: Marks
    laps: Mapping[tuple[str, str], int]


def zone_told(telling: Telling, standing: Standing) -> ZoneTold:
    """One zone with everything in it."""
    site, acts, zone = telling.site, telling.acts, standing.zone
    sketch = site.sketches[zone.sketch_id]
    per_px = nm_per_px(sketch.scale) if sketch.scale else 0.0
    numbers = Numbers.of(sheet_in(site, zone))
    stands = stands_of(things_in(site, zone, per_px, numbers) if per_px else ())
    walk = acts.begun.get(("walk", zone.id)) if zone.walked_at else None
    return ZoneTold(
        id=zone.id,
        letter=zone.letter,
        name=zone.name or tr("Zone {letter}", letter=zone.letter),
        sketch=sketch.name,
        state=TAKEN_OFF if zone.withdrawn is not None else standing.state,
        area=ground_of(site, zone, acts),
        outlined=acts.beginning("zone", zone.id),
        walked=acts.of(walk) if walk else None,
        walk_note=walk.fact.note if walk and isinstance(walk.fact, WalkFinished) else "",
        more_asked=_more_asked(zone, acts),
        none_here=zone.none_here,
        none_stated=tuple(acts.beginning(f"none of {what}", zone.id) for what in zone.none_here),
        laid=laid_told(site, zone, stands, acts),
        steps=_steps(site, zone, numbers),
        signed=_signed(site, zone, acts),
        holds=_holds(site, zone, acts),
        releases=releases_of(site, standing, acts),
        started=_started(zone, acts),
        placed=_placed(zone, acts),
        against=_against(standing, acts.units),
        marks=telling.marks.of(zone, standing.verdicts),
        reaching_in=_reaching_in(site, standing),
        penetrations=penetrations_of(site, zone, stands, acts) if per_px else (),
        seams=seams_of(site, zone, per_px, stands, acts, telling.laps) if per_px else (),
        edges=edges_told(site, zone, per_px, stands, acts) if per_px else (),
        bare=bare_told(site, zone, per_px, acts) if per_px else (),
        weather=weather_told(site, zone, acts.units),
        thickness=slab_told(site, zone, acts),
        undone=acts.undone("zone", zone.id, zone.withdrawn),
    )


def ground_of(site: Site, zone: Zone, acts: Acts) -> Ground | None:
    """The zone's area, None where its sketch has no scale."""
    scale = site.sketches[zone.sketch_id].scale
    if scale is None:
        return None
    area = floor_area(zone.outline, scale)
    return Ground(float(area / NM_PER_M**2), say_floor(area, acts.units))


def _more_asked(zone: Zone, acts: Acts) -> tuple[Said, ...]:
    """The numbers that this zone asks more of than the rule sheet."""
    return tuple(
        Said(tr(TITLES[raised.name]), say_number(raised.name, raised.value, acts.units), tr(raised.source))
        for raised in zone.raised
    )


def _steps(site: Site, zone: Zone, numbers: Numbers) -> tuple[Step, ...]:
    return tuple(
        Step(step.step, REFUSED if step.refused else SIGNED if step.met else NOT_SIGNED)
        for step in step_facts(site, zone, numbers)
    )


def _signed(site: Site, zone: Zone, acts: Acts) -> tuple[SignedTold, ...]:
    """Every signature ever given, in order."""
    now = (zone.outline_revision, site.sketches[zone.sketch_id].scale_revision)
    return tuple(
        SignedTold(
            signature.step,
            signature.accepted,
            signature.note,
            (signature.outline_revision, signature.scale_revision) == now,
            acts.signed(signature.signed),
        )
        for signature in zone.signatures
    )


def _holds(site: Site, zone: Zone, acts: Acts) -> tuple[HoldTold, ...]:
    own = sorted((hold for hold in site.holds.values() if hold.zone_id == zone.id), key=lambda hold: hold.at)
    return tuple(
        HoldTold(
            hold.cause,
            hold.reason,
            acts.beginning("hold", hold.id),
            acts.undone("hold", hold.id, hold.lifted),
        )
        for hold in own
    )


def _against(standing: Standing, units: Units) -> tuple[str, ...]:
    """What the gate finds, but for what is kept with the zone as found while it was placed."""
    placed = standing.zone.placement
    kept = set(placed.blockers) if placed is not None and not placed.without_release else set()
    told = zip(found_in_placing(standing.blockers, units), standing.blockers, strict=True)
    return tuple(say_blocker(blocker, units) for english, blocker in told if english not in kept)


def _started(zone: Zone, acts: Acts) -> StartedTold | None:
    if zone.placing is None:
        return None
    return StartedTold(zone.placing.started_at, acts.beginning("start of placing", zone.id))


def _placed(zone: Zone, acts: Acts) -> PlacedTold | None:
    placed = zone.placement
    if placed is None:
        return None
    act = acts.beginning("placing", zone.id)
    return PlacedTold(placed.at, placed.volume, placed.without_release, placed.blockers, act)


def _reaching_in(site: Site, standing: Standing) -> tuple[str, ...]:
    marks = (site.defects[facts.id] for facts in standing.facts.defects)
    return tuple(sorted(mark.tag for mark in marks if mark.zone_id != standing.zone.id))


def releases_of(site: Site, standing: Standing, acts: Acts) -> tuple[ReleaseTold, ...]:
    """Every release of the zone, oldest first, with what became of it."""
    own = sorted(
        (release for release in site.releases.values() if release.zone_id == standing.zone.id),
        key=lambda release: release.seq,
    )
    return tuple(_release(release, own, standing, acts) for release in own)


def _release(release: Release, own: Sequence[Release], standing: Standing, acts: Acts) -> ReleaseTold:
    fact = acts.fact("release", release.id)
    assert isinstance(fact, ZoneReleased), "a release begins with its own fact"
    return ReleaseTold(
        id=release.id,
        letter=standing.zone.letter,
        statement=release.statement,
        not_asked=release.not_asked_for,
        withdrawn=fact.withdrawn,
        digest=release.digest,
        act=acts.beginning("release", release.id),
        force=_force(release, own, standing),
        pulled_back=acts.undone("release", release.id, release.pulled_back),
    )


def _force(release: Release, own: Sequence[Release], standing: Standing) -> str:
    if release.pulled_back is not None:
        return PULLED_BACK
    if release != own[-1]:
        return REPLACED
    if standing.zone.placement is not None:
        return FELL_BEFORE if standing.zone.placement.without_release else PLACED_UNDER
    return FELL_AWAY if standing.fallen else STANDS
