"""How a zone stands, worked out from facts: its state, its blockers, its digest. Nothing of it is stored."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields, replace
from functools import cached_property, lru_cache
from typing import Any

from service.domain.earlier import gate_1, repair_1, zone_facts_1
from service.domain.gate import during, gate, zone_facts
from service.domain.gate.gate import Blocker, ZoneFacts
from service.domain.gate.site_parts import SiteParts
from service.domain.nouns.placing import Placing
from service.domain.nouns.site import Release, Site, Zone
from service.domain.patches.repair import DefectFacts, PatchFacts, Verdict
from service.domain.words.speech import tr
from service.history.facts.encoding import canonical, canonical_of, to_json
from service.history.proofs.checkpoints import in_fours

LAYING, HELD, CLEAR, READY = "laying", "held", "clear", "ready to place"
PLACED, PLACED_WITHOUT_RELEASE = "placed", "placed without release"

Facts = ZoneFacts | gate_1.ZoneFacts


@dataclass(frozen=True)
class Gate:
    """A gate of one version: how its facts are gathered, and how it decides."""

    gather: Callable[[Site, str], Facts]
    decide: Callable[[Any], tuple[tuple[Blocker, ...], dict[str, Verdict]]]


# A release is asked again under the gate that judged it, so that a new program never unreleases a zone.
GATES: dict[int, Gate] = {
    1: Gate(zone_facts_1.zone_facts, gate_1.decide),
    2: Gate(zone_facts.zone_facts, gate.decide),
}


@dataclass(frozen=True)
class Standing:
    """`release` is the latest not pulled back; `fallen`: the facts have moved away from under it.

    `placing`: concrete is being placed under it (`domain.during`); `found`: of the `blockers`, what was found
    since that began and is not mended. Without it nothing is.
    """

    zone: Zone
    state: str
    facts: ZoneFacts
    blockers: tuple[Blocker, ...]
    verdicts: dict[str, Verdict]
    release: Release | None
    fallen: bool
    placing: Placing | None = None
    found: tuple[Blocker, ...] = ()

    @cached_property
    def digest(self) -> str:
        """Names these facts; worked out when asked for, because most pages only read the state."""
        return digest_of(self.facts)

    @cached_property
    def _defects(self) -> dict[str, DefectFacts]:
        return {defect.id: defect for defect in self.facts.defects}

    def defect_facts(self, defect_id: str) -> DefectFacts | None:
        """What the gate read about a mark; None for one that is withdrawn or does not reach in."""
        return self._defects.get(defect_id)

    def patch_facts(self, defect_id: str, patch_id: str) -> PatchFacts | None:
        """A standing patch as the gate saw it from one mark."""
        mark = self._defects.get(defect_id)
        return next((p for p in mark.patches if p.id == patch_id), None) if mark else None


def digest_of(facts: Facts, version: int = gate.VERSION) -> str:
    """SHA-256 over the canonical JSON of exactly the gate's inputs, headed by the version of the facts.

    Each mark stands in it by the SHA-256 of its own canonical JSON, so one more mark costs one hash.
    """
    plain = {f.name: to_json(getattr(facts, f.name)) for f in fields(facts) if f.name != "defects"}
    plain["defects"] = [_defect_digest(defect) for defect in facts.defects]
    return f"{version}:{hashlib.sha256(canonical(plain)).hexdigest()}"


@lru_cache(maxsize=20_000)
def _defect_digest(defect: DefectFacts | repair_1.DefectFacts) -> str:
    return hashlib.sha256(canonical_of(defect)).hexdigest()


def standing_of(site: Site, zone_id: str, known: Standing | None = None) -> Standing:
    """The zone as it stands on these facts. KeyError when the site does not hold it.

    `known`: as it stood before, where nothing moved its facts since: they are not gathered and asked anew.
    """
    zone = site.zones[zone_id]
    if known is None:
        known = _asked(site, zone_id)
    release = latest_release(site, zone_id)
    placing = during.placing_under(zone, release)
    if placing is None:
        began, ready = known, release is not None and _stands(release, site, known)
    else:
        began, ready = _began(site, zone, placing, release)
    state = _state(zone, ready, known.blockers)
    fallen = release is not None and not ready
    standing = Standing(zone, state, known.facts, known.blockers, known.verdicts, release, fallen)
    if ready and placing is not None:
        found = tuple(blocker for blocker in known.blockers if blocker not in began.blockers)
        standing = replace(standing, placing=placing, found=found)
    if "digest" in vars(known):
        vars(standing)["digest"] = known.digest
    return standing


def standings_of(site: Site, zone_ids: Iterable[str] | None = None) -> dict[str, Standing]:
    """Many zones as they stand, by id; all of the site where none are named. Each is asked of the part that
    decides about it, so that a project of ten times the zones takes ten times as long and not a hundred."""
    parts = SiteParts(site)
    return {id: standing_of(parts.of(id), id) for id in (site.zones if zone_ids is None else zone_ids)}


def _began(site: Site, zone: Zone, placing: Placing, release: Release | None) -> tuple[Standing, bool]:
    """The zone as it was when placing began, as far as damage found since goes; whether the release stands
    on that still."""
    then = during.as_it_began(site, placing.seq)
    began = _asked(then, zone.id)
    stands = release is not None and _stands(release, then, began)
    return began, stands and not during.refused_since(site, zone, placing.seq)


def _asked(site: Site, zone_id: str) -> Standing:
    """What the gate reads and says of the zone; how it stands is not told yet."""
    facts = zone_facts.zone_facts(site, zone_id)
    blockers, verdicts = gate.decide(facts)
    return Standing(site.zones[zone_id], "", facts, blockers, verdicts, None, fallen=False)


def latest_release(site: Site, zone_id: str) -> Release | None:
    """The newest release of the zone, unless it was pulled back."""
    releases = [release for release in site.releases.values() if release.zone_id == zone_id]
    newest = max(releases, key=lambda release: release.seq, default=None)
    return None if newest is None or newest.pulled_back is not None else newest


def release_mark(seq: int, digest: str) -> str:
    """Tells one release from every other, short enough to compare by eye: its entry, and the first signs of
    the digest of what it released. `entry 57, 1f3c 9a07`"""
    return tr("entry {seq}, {mark}", seq=seq, mark=in_fours(digest.rpartition(":")[2][:8]))


def _stands(release: Release, site: Site, now: Standing) -> bool:
    if release.version == gate.VERSION:
        return release.digest == now.digest and not now.blockers
    asked = GATES.get(release.version)
    if asked is None or _unheard(site, release):
        return False
    then = asked.gather(site, release.zone_id)
    return release.digest == digest_of(then, release.version) and not asked.decide(then)[0]


def _unheard(site: Site, release: Release) -> bool:
    """Whether something was said against the zone since that an earlier gate has no ears for."""
    if site.zones[release.zone_id].raised_revision:
        return True
    looks = [look for p in site.patches.values() if p.zone_id == release.zone_id for look in p.looks]
    return any(not look.accepted for look in looks)


def _state(zone: Zone, ready: bool, blockers: tuple[Blocker, ...]) -> str:
    if zone.placement is not None:
        return PLACED_WITHOUT_RELEASE if zone.placement.without_release else PLACED
    if ready:
        return READY
    if zone.walked_at is None:
        return LAYING
    return HELD if blockers else CLEAR
