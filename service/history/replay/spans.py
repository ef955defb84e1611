"""A zone's life, worked out from entries: its states from when to when, and how many marks were open.

Time goes by the entries' order. Nothing of it is stored.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from service.domain.nouns.site import Site
from service.history.facts import facts as f
from service.history.facts import film as h
from service.history.facts import installed as g
from service.history.facts import placing as p
from service.history.facts.entries import Entry
from service.history.facts.every_fact import Fact
from service.history.replay.following import Following, Stood
from service.history.replay.standing import READY
from service.history.replay.touching import step

MARKS, MENDING, TAKEN_BACK, LOOKS = "marks", "patches and repairs", "taken back", "looks"
INSTALLED, WALKS, HOLD_POINTS = "pipes, seams, edges, film", "punch walks", "hold points"
HOLDS, ZONE, RELEASE = "holds", "outline and numbers", "release and placing"
READINGS = "plans and readings"
# What an entry is told under, in the order of the work.
KINDS: dict[str, tuple[type[Fact], ...]] = {
    ZONE: (f.ZoneOutlined, f.ZoneChanged, f.ZoneWithdrawn, f.WallDrawn, f.WallWithdrawn, g.NumbersRaised),
    INSTALLED: (
        g.PenetrationsPlaced, g.SealLogged, g.SeamDrawn, g.SeamWalked, g.TerminationDescribed,
        g.TerminationSealed, g.NoneHereStated, h.LotLaid, p.SheetsLaid,
    ),
    MARKS: (f.DefectMarked,),
    MENDING: (f.PatchLogged, g.RepairLogged),
    TAKEN_BACK: (
        f.DefectWithdrawn, f.PatchWithdrawn, g.RepairWithdrawn, g.PenetrationWithdrawn, g.SealWithdrawn,
        g.SeamWithdrawn, g.EdgeSealWithdrawn, g.TerminationWithdrawn, h.LayingWithdrawn,
        p.SheetsLaidWithdrawn, p.ReadingsWithdrawn, p.ThicknessWithdrawn,
    ),
    LOOKS: (g.PatchLookedAt, g.RepairLookedAt),
    WALKS: (f.WalkFinished,),
    HOLD_POINTS: (h.HoldPointSigned,),
    HOLDS: (f.ZoneHeld, f.HoldLifted),
    RELEASE: (f.ZoneReleased, f.ReleasePulledBack, p.PlacingStarted, f.ZonePlaced),
    READINGS: (p.PlacingPlanned, p.ReadingsTaken, p.ThicknessMeasured),
}  # fmt: skip
_KIND_OF = {fact: kind for kind, facts in KINDS.items() for fact in facts}


@dataclass(frozen=True, slots=True)
class Span:
    """One state, from the entry that began it to the one that ended it; None where it still stands.

    `open` and `not_sealed`: the marks as the span ended, or as they are now.
    """

    state: str
    began: Entry
    ended: Entry | None
    open: int
    not_sealed: int


@dataclass(frozen=True, slots=True)
class Count:
    """How many marks held the zone from this entry on."""

    entry: Entry
    open: int
    not_sealed: int


@dataclass(frozen=True, slots=True)
class Tick:
    """One thing done, under the kind it is told as. `fell`: by it the release lost its force."""

    kind: str
    entry: Entry
    fell: bool = False


@dataclass(frozen=True, slots=True)
class Life:
    """Spans without a gap from the entry that outlined the zone; counts and ticks in the order of entries."""

    spans: tuple[Span, ...]
    counts: tuple[Count, ...]
    ticks: tuple[Tick, ...]
    head: int


@dataclass(slots=True)
class _Told:
    """What is known so far, with the state that stands and the entry that began it."""

    began: Entry
    stood: Stood
    spans: list[Span] = field(default_factory=list)
    counts: list[Count] = field(default_factory=list)
    ticks: list[Tick] = field(default_factory=list)

    def take(self, entry: Entry, now: Stood) -> None:
        if now.state != self.stood.state:
            self.spans.append(self._span(entry))
            self.began = entry
        if (now.open, now.not_sealed) != (self.stood.open, self.stood.not_sealed):
            self.counts.append(Count(entry, now.open, now.not_sealed))
        self.stood = now

    def _span(self, ended: Entry | None) -> Span:
        # The marks as they were before the entry that ended it.
        return Span(self.stood.state, self.began, ended, self.stood.open, self.stood.not_sealed)

    def life(self, head: int) -> Life:
        return Life((*self.spans, self._span(None)), tuple(self.counts), tuple(self.ticks), head)


def life_of(entries: Iterable[Entry], zone_id: str) -> Life | None:
    """The zone's life from all entries of its project, in order; None where it was never outlined."""
    site, head = Site(), 0
    zone: Following | None = None
    told: _Told | None = None
    for entry in entries:
        moves, head = step(site, entry), entry.seq
        if zone_id not in site.zones:
            continue
        if zone is None or told is None:
            zone = Following(site, zone_id)
            told = _Told(entry, zone.stood(), counts=[_count(entry, zone.stood())])
        elif zone.after(moves):
            was = told.stood.state
            told.take(entry, zone.stood())
            if was == READY and _fell(entry, told.stood):
                told.ticks.append(Tick(RELEASE, entry, fell=True))
        if kind := _kind(entry, zone_id, zone):
            told.ticks.append(Tick(kind, entry))
    return told.life(head) if told else None


def _count(entry: Entry, stood: Stood) -> Count:
    return Count(entry, stood.open, stood.not_sealed)


def _fell(entry: Entry, now: Stood) -> bool:
    """A release that somebody pulled back, or that concrete was placed under, did not fall by itself."""
    return now.state != READY and not isinstance(entry.fact, f.ReleasePulledBack | f.ZonePlaced)


def _kind(entry: Entry, zone_id: str, zone: Following) -> str:
    """What the entry is told as where it is about this zone or a mark in it; else nothing."""
    here = entry.zone == zone_id or zone.holds(getattr(entry.fact, "defect", ""))
    return _KIND_OF.get(type(entry.fact), "") if here else ""
