"""What can happen to film as installed: penetrations, seams, terminations, repairs, looks, lots, hold points.

Like `facts`: a published fact never changes its fields. Units as in `domain.installed`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from service.domain.nouns.installed import Px, Raised, SeamRun, Station, Work
from service.domain.shapes.outlines import Outline


@dataclass(frozen=True, slots=True)
class NumbersRaised:
    """All that the zone asks more of than the sheet, from now on; `changed` names what differs."""

    type: ClassVar[str] = "numbers-raised"
    zone: str
    letter: str
    raised: tuple[Raised, ...]
    changed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CauseTold:
    """What a mark likely came from."""

    type: ClassVar[str] = "cause-told"
    defect: str
    zone: str
    tag: str
    cause: str


@dataclass(frozen=True, slots=True)
class RepairLogged:
    """A repair that is no patch. `meets`: the judgement as told at the time. `late`: as of a patch."""

    type: ClassVar[str] = "repair-logged"
    repair: str
    defect: str
    zone: str
    tag: str
    method: str
    lap_nm: int | None
    taped: bool
    work: Work
    meets: bool
    late: bool = False


@dataclass(frozen=True, slots=True)
class RepairWithdrawn:
    type: ClassVar[str] = "repair-withdrawn"
    repair: str
    defect: str
    zone: str
    tag: str
    reason: str


@dataclass(frozen=True, slots=True)
class PatchLookedAt:
    """A second look at a patch: accepted or refused."""

    type: ClassVar[str] = "patch-looked-at"
    look: str
    patch: str
    defect: str
    zone: str
    tag: str
    accepted: bool
    note: str


@dataclass(frozen=True, slots=True)
class RepairLookedAt:
    """A second look at a repair that is no patch."""

    type: ClassVar[str] = "repair-looked-at"
    look: str
    repair: str
    defect: str
    zone: str
    tag: str
    accepted: bool
    note: str


@dataclass(frozen=True, slots=True)
class PlacedPenetration:
    """One penetration of those placed in one go."""

    penetration: str
    tag: str
    kind: str
    size: str
    outline: Outline
    at: Px


@dataclass(frozen=True, slots=True)
class PenetrationsPlaced:
    """One penetration, or a row of them. `tag` is the one tag, or the first and the last."""

    type: ClassVar[str] = "penetrations-placed"
    sketch: str
    zone: str
    tag: str
    placed: tuple[PlacedPenetration, ...]
    note: str


@dataclass(frozen=True, slots=True)
class PenetrationWithdrawn:
    type: ClassVar[str] = "penetration-withdrawn"
    penetration: str
    zone: str
    tag: str
    reason: str


@dataclass(frozen=True, slots=True)
class SealLogged:
    """A seal as built, over one penetration or several (`also`). `faults`: as told at the time."""

    type: ClassVar[str] = "seal-logged"
    seal: str
    penetration: str
    also: tuple[str, ...]
    zone: str
    tag: str
    method: str
    collar_width_nm: int
    collar_length_nm: int
    fingers: bool
    taped_to_pipe: bool
    taped_to_film: bool
    close_cut: bool
    work: Work
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SealWithdrawn:
    type: ClassVar[str] = "seal-withdrawn"
    seal: str
    penetration: str
    also: tuple[str, ...]
    zone: str
    tag: str
    reason: str


@dataclass(frozen=True, slots=True)
class SeamDrawn:
    type: ClassVar[str] = "seam-drawn"
    seam: str
    sketch: str
    zone: str
    tag: str
    kind: str
    path: tuple[Px, ...]
    note: str


@dataclass(frozen=True, slots=True)
class SeamWalked:
    """A seam walked with measured laps; each run at fault names the mark that was made for it."""

    type: ClassVar[str] = "seam-walked"
    walk: str
    seam: str
    zone: str
    tag: str
    stations: tuple[Station, ...]
    runs: tuple[SeamRun, ...]
    taped: bool
    bonded: bool
    work: Work


@dataclass(frozen=True, slots=True)
class SeamWithdrawn:
    type: ClassVar[str] = "seam-withdrawn"
    seam: str
    zone: str
    tag: str
    reason: str


@dataclass(frozen=True, slots=True)
class TerminationDescribed:
    """How the film ends, or is to end, along a stretch of the zone's edge."""

    type: ClassVar[str] = "termination-described"
    termination: str
    sketch: str
    zone: str
    tag: str
    kind: str
    path: tuple[Px, ...]
    authority: str
    what: str
    note: str


@dataclass(frozen=True, slots=True)
class TerminationSealed:
    """A stretch ended as described. `faults`: as told at the time."""

    type: ClassVar[str] = "termination-sealed"
    seal: str
    termination: str
    zone: str
    tag: str
    sealed: bool
    runs_past_nm: int | None
    protected: bool | None
    work: Work
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EdgeSealWithdrawn:
    """What was logged of a stretch's seal no longer counts; the stretch stays described."""

    type: ClassVar[str] = "edge-seal-withdrawn"
    seal: str
    termination: str
    zone: str
    tag: str
    reason: str


@dataclass(frozen=True, slots=True)
class TerminationWithdrawn:
    type: ClassVar[str] = "termination-withdrawn"
    termination: str
    zone: str
    tag: str
    reason: str


@dataclass(frozen=True, slots=True)
class NoneHereStated:
    """Somebody looked and states that the zone has no penetrations, or no seams."""

    type: ClassVar[str] = "none-here-stated"
    zone: str
    letter: str
    what: str
