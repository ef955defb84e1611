"""A release's certificate as told facts: what was released as it stood then, its proof, and what came since.

Texts are what people typed or words of ours in the project's units. What stood then is told from the entries
up to the release; what came since from those after it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.domain.rule_sheet.floor_tests import Said
from service.domain.words.measures import Units
from service.history.closeout.told import Act, MarkTold, PlacedTold, StartedTold, Undone, ZoneTold
from service.history.proofs.checkpoints import Checkpoint
from service.history.proofs.tlog_proof import EntryProof

# What became of a release. The first of these that is true of it is its word.
PULLED_BACK, FELL_AWAY = "pulled back", "fell away"
PLACED_UNDER, STANDS = "placed under it", "stands"


@dataclass(frozen=True, slots=True)
class Proven:
    """A release's entry in the signed tree. `proof` carries the entry's bytes as its extra; its note is the
    kept checkpoint word for word, read as `checkpoint`. `with_release`: that checkpoint left in the release's
    own transaction. `key`: the one that signed it, 32 bytes."""

    proof: EntryProof
    checkpoint: Checkpoint
    with_release: bool
    key: bytes


@dataclass(frozen=True, slots=True)
class Happened:
    """An entry as a sentence, and when it came."""

    words: str
    at: datetime
    seq: int


@dataclass(frozen=True, slots=True)
class Since:
    """What came after a release, up to entry `up_to` of `at`. `fell`: the first entry by which the facts it
    released were no longer those; `later`: the next release of the zone; `started`: placing began under it,
    `found` the marks made while it went on, as they stood when it ended, or stand now; `placed`: concrete
    in, `under` whether this release still stood then."""

    up_to: int
    at: datetime
    pulled_back: Undone | None = None
    fell: Happened | None = None
    later: Act | None = None
    started: StartedTold | None = None
    found: tuple[MarkTold, ...] = ()
    placed: PlacedTold | None = None
    under: bool = False

    @property
    def word(self) -> str:
        """What became of the release, in one word of this module."""
        if self.pulled_back is not None:
            return PULLED_BACK
        if self.fell is not None:
            return FELL_AWAY
        return PLACED_UNDER if self.under else STANDS


@dataclass(frozen=True, slots=True)
class Certificate:
    """One release. `zone`, and `reaching_in`, its neighbours' marks that reach into it: as they stood at the
    release, judged by the gate of `version`. `withdrawn`: what had been taken back in the zone, as the
    release listed it. `entry`: the release's entry exactly as it was hashed; `leaf`: that hash in hex.
    `proof`: None where no checkpoint that covers the entry has left yet."""

    release: str
    project: str
    project_name: str
    units: Units
    time_zone: str
    act: Act
    statement: str
    version: int
    digest: str
    numbers: tuple[Said, ...]
    not_asked: tuple[str, ...]
    withdrawn: tuple[str, ...]
    zone: ZoneTold
    reaching_in: tuple[MarkTold, ...]
    entry: str
    leaf: str
    proof: Proven | None
    since: Since

    @property
    def seq(self) -> int:
        """The number of the release's entry."""
        return self.act.seq

    @property
    def name(self) -> str:
        """What its files are called: the zone's letter and the entry's number."""
        letter = "".join(sign for sign in self.zone.letter if sign.isascii() and sign.isalnum()) or "zone"
        return f"{letter}-{self.seq}"
