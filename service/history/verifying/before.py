"""The site as it stood before each entry of a replay, with what judging asks of it over and over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from service.domain.gate.surroundings import Surroundings, surroundings
from service.domain.gate.zone_facts import BESIDE_NM, MILLI, nm_per_px
from service.domain.nouns.site import Patch, Site, Zone
from service.domain.patches.repair import Numbers
from service.domain.rule_sheet.effective import sheet_in
from service.domain.shapes.outlines import reach_nm
from service.domain.words.measures import Units
from service.history.facts import evidence as e
from service.history.facts import facts as f
from service.history.facts import installed as g
from service.history.facts import placing as p
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.history.replay.replay import apply
from service.history.replay.standing import PLACED, PLACED_WITHOUT_RELEASE, Standing, standing_of

# After these the numbers and the surroundings of every zone are what they were; after others they may not.
_KEEPS: tuple[type[Fact], ...] = (
    f.PersonInvited, f.InvitationWithdrawn, f.PersonJoined, f.PersonLeft, f.DefectMarked, f.DefectWithdrawn,
    f.PatchLogged, f.PatchWithdrawn, f.WalkFinished, f.ZoneHeld, f.HoldLifted, f.ZoneReleased,
    f.ReleasePulledBack, f.ZonePlaced, f.PhotoAdded, g.CauseTold, g.RepairLogged, g.RepairWithdrawn,
    g.PatchLookedAt, g.RepairLookedAt, g.PenetrationsPlaced, g.PenetrationWithdrawn, g.SealLogged,
    g.SealWithdrawn, g.SeamDrawn, g.SeamWalked, g.SeamWithdrawn, e.CheckpointGiven, e.RecordMade,
    e.KeyChanged, e.NameErased, e.PasswordLinkMade, e.PasswordLinkUsed, e.TimestampReceived,
    e.ReadyListOpened, e.ReadyListWithdrawn, p.LayoutKept, p.LayoutWithdrawn, p.SheetsLaid,
    p.SheetsLaidWithdrawn, p.OrderPlanned, p.PlacingPlanned, p.ReadingsTaken, p.ReadingsWithdrawn,
    p.ThicknessMeasured, p.ThicknessWithdrawn, p.PlacingStarted,
)  # fmt: skip


# After these every zone's facts are what they were.
_STILL: tuple[type[Fact], ...] = (
    f.PersonInvited, f.InvitationWithdrawn, f.PersonJoined, f.PersonLeft, f.ZoneReleased, f.ReleasePulledBack,
    f.ZonePlaced, f.PhotoAdded, e.CheckpointGiven, e.RecordMade, e.KeyChanged, e.NameErased,
    e.PasswordLinkMade, e.PasswordLinkUsed, e.TimestampReceived, e.ReadyListOpened, e.ReadyListWithdrawn,
    p.LayoutKept, p.LayoutWithdrawn, p.SheetsLaid, p.SheetsLaidWithdrawn, p.OrderPlanned, p.PlacingPlanned,
    p.ReadingsTaken, p.ReadingsWithdrawn, p.ThicknessMeasured, p.ThicknessWithdrawn,
)  # fmt: skip


class Before:
    """A site that is being replayed. `later`: a program after the first has written in this history."""

    def __init__(self) -> None:
        self.site = Site()
        self.later = False
        # By mark the patches ever laid on it; by sketch where each mark is and how far it reaches.
        self._patches: dict[str, list[str]] = defaultdict(list)
        self._places: dict[str, list[tuple[int, int, int, str]]] = defaultdict(list)
        self._numbers: dict[str, Numbers] = {}
        self._around: dict[str, Surroundings | None] = {}
        self._standing: dict[str, tuple[Site, Standing]] = {}

    @property
    def units(self) -> Units:
        assert self.site.project is not None, "a history starts with its project"
        return self.site.project.units

    def take(self, entry: Entry) -> None:
        """Go on to the site as it stands after this entry. KeyError when it names what never was."""
        fact = entry.fact
        apply(self.site, entry)
        if isinstance(fact, f.PatchLogged):
            for mark in (fact.defect, *fact.also):
                self._patches[mark].append(fact.patch)
        elif isinstance(fact, f.DefectMarked):
            self._places[fact.sketch].append((*fact.at, reach_nm(fact.outline), fact.defect))
        if not isinstance(fact, _KEEPS):
            self._numbers.clear()
            self._around.clear()
        if not isinstance(fact, _STILL):
            self._standing.clear()
        self.later = self.later or not _of_the_first(fact)

    def laid_on(self, mark_id: str) -> list[Patch]:
        """The patches that stand on a mark, in the order logged."""
        laid = (self.site.patches[patch] for patch in self._patches.get(mark_id, ()))
        return [patch for patch in laid if patch.withdrawn is None]

    def round(self, zone_id: str) -> Site:
        """The site with no other marks and patches than may decide about this zone: every answer about it is
        the same, and none waits for the rest."""
        zone, per_px = self.site.zones[zone_id], self.per_px(zone_id)
        if per_px is None:
            return self.site
        marks = dict.fromkeys(self._near(zone, per_px))
        patches = {id: self.site.patches[id] for mark in marks for id in self._patches.get(mark, ())}
        marks |= dict.fromkeys(patch.defect_id for patch in patches.values())
        return replace(self.site, defects={id: self.site.defects[id] for id in marks}, patches=patches)

    def _near(self, zone: Zone, per_px: float) -> Iterator[str]:
        """The zone's own marks, and those so near that their tape or their patches' may reach it: as
        `zone_facts.may_reach`, with a pixel or two to spare."""
        xs, ys = [x for x, _ in zone.outline], [y for _, y in zone.outline]
        left, right, top, bottom = min(xs), max(xs), min(ys), max(ys)
        defects, scale = self.site.defects, MILLI / per_px
        for x, y, reach, id in self._places[zone.sketch_id]:
            far = (reach + BESIDE_NM) * scale + 3 * MILLI
            near = left - far <= x <= right + far and top - far <= y <= bottom + far
            if near or defects[id].zone_id == zone.id:
                yield id

    def standing(self, zone_id: str) -> tuple[Site, Standing]:
        """How a zone stands, with the part of the site that decides it."""
        site, known = self._standing.get(zone_id) or (self.round(zone_id), None)
        # Zones and releases moved on meanwhile: they stand on shelves that both sites share.
        self._standing[zone_id] = site, standing_of(site, zone_id, known)
        return self._standing[zone_id]

    def states(self) -> dict[str, str]:
        """The state of every zone. That of a placed one hangs on nothing any more."""
        return {zone: self._state(zone) for zone in self.site.zones}

    def _state(self, zone_id: str) -> str:
        placement = self.site.zones[zone_id].placement
        if placement is not None:
            return PLACED_WITHOUT_RELEASE if placement.without_release else PLACED
        return self.standing(zone_id)[1].state

    def numbers(self, zone_id: str) -> Numbers:
        """The numbers as they hold in a zone."""
        if zone_id not in self._numbers:
            self._numbers[zone_id] = Numbers.of(sheet_in(self.site, self.site.zones[zone_id]))
        return self._numbers[zone_id]

    def around(self, zone_id: str) -> Surroundings | None:
        """What stands round the marks of a zone; None where its sketch has no scale."""
        if zone_id not in self._around:
            per_px = self.per_px(zone_id)
            zone = self.site.zones[zone_id]
            numbers = self.numbers(zone_id)
            self._around[zone_id] = None if per_px is None else surroundings(self.site, zone, per_px, numbers)
        return self._around[zone_id]

    def per_px(self, zone_id: str) -> float | None:
        """Nanometres under a pixel of the zone's sketch; None where it has no scale."""
        scale = self.site.sketches[self.site.zones[zone_id].sketch_id].scale
        return None if scale is None else nm_per_px(scale)


def _of_the_first(fact: Fact) -> bool:
    """Whether the first program could have told this."""
    match fact:
        case f.PersonJoined(name_sha256=sha256):
            return not sha256
        case f.ZoneReleased(version=version):
            return version == 1
    return type(fact).__module__ == f.__name__
