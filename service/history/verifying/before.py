"""The site as it stood before each entry of a replay, with what judging asks of it over and over."""

from __future__ import annotations

from collections import defaultdict

from service.domain.effective import sheet_in
from service.domain.measures import Units
from service.domain.repair import Numbers
from service.domain.site import Patch, Site
from service.domain.surroundings import Surroundings, surroundings
from service.domain.zone_facts import nm_per_px
from service.history import facts as f
from service.history import facts_evidence as e
from service.history import facts_installed as g
from service.history.entries import Entry
from service.history.every_fact import Fact
from service.history.replay import apply

# After these the numbers and the surroundings of every zone are what they were; after others they may not.
_KEEPS: tuple[type[Fact], ...] = (
    f.PersonInvited, f.InvitationWithdrawn, f.PersonJoined, f.PersonLeft, f.DefectMarked, f.DefectWithdrawn,
    f.PatchLogged, f.PatchWithdrawn, f.WalkFinished, f.ZoneHeld, f.HoldLifted, f.ZoneReleased,
    f.ReleasePulledBack, f.ZonePlaced, f.PhotoAdded, g.CauseTold, g.RepairLogged, g.RepairWithdrawn,
    g.PatchLookedAt, g.RepairLookedAt, g.PenetrationsPlaced, g.PenetrationWithdrawn, g.SealLogged,
    g.SealWithdrawn, g.SeamDrawn, g.SeamWalked, g.SeamWithdrawn, e.CheckpointGiven, e.RecordMade,
    e.KeyChanged, e.NameErased, e.TimestampReceived, e.ReadyListOpened, e.ReadyListWithdrawn,
)  # fmt: skip


class Before:
    """A site that is being replayed. `later`: a program after the first has written in this history."""

    def __init__(self) -> None:
        self.site = Site()
        self.later = False
        self._laid: dict[str, dict[str, None]] = defaultdict(dict)
        self._numbers: dict[str, Numbers] = {}
        self._around: dict[str, Surroundings | None] = {}

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
                self._laid[mark][fact.patch] = None
        elif isinstance(fact, f.PatchWithdrawn):
            for mark in self._under(fact.patch):
                self._laid[mark].pop(fact.patch, None)
        if not isinstance(fact, _KEEPS):
            self._numbers.clear()
            self._around.clear()
        self.later = self.later or not _of_the_first(fact)

    def _under(self, patch_id: str) -> tuple[str, ...]:
        patch = self.site.patches[patch_id]
        return patch.defect_id, *patch.also

    def laid_on(self, mark_id: str) -> list[Patch]:
        """The patches that stand on a mark, in the order logged."""
        return [self.site.patches[patch] for patch in self._laid.get(mark_id, ())]

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
