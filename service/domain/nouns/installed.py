"""The nouns of film as installed, besides damage: penetrations, seams, terminations, film by lot, signatures.

Units as in `domain.site`: lengths nanometres, positions thousandths of a pixel of the base frame,
temperatures thousandths of a degree Fahrenheit, permeance millionths of a US perm. What is logged later on a
thing (its seal, its walk, a look) stands nested in it; the history keeps all that went before.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.domain.shapes.outlines import Outline
from service.domain.words.speech import later

Px = tuple[int, int]

COLLAR, MASTIC, DAM = later("collar"), later("mastic"), later("sealant in a dam")
SEAL_METHODS = (COLLAR, MASTIC, DAM)

SIDE_LAP, END_LAP = later("side lap"), later("end lap")
SEAM_KINDS = (SIDE_LAP, END_LAP)

OVER_FOOTING = later("over the footing and against the wall")
TO_WALL = later("sealed to the wall or grade beam")
SHORT_OF_FOOTING = later("stopped short of the footing")
JOINT = later("construction joint")
FREE_EDGE = later("free edge")
IMPEDIMENT = later("impediment")
SLAB_TOP = later("sealed to the slab at its top")
TERMINATION_KINDS = (OVER_FOOTING, TO_WALL, SHORT_OF_FOOTING, JOINT, FREE_EDGE, IMPEDIMENT, SLAB_TOP)

TAPE_THE_SEAM, LAP_AGAIN, CLEAN, REPLACE_SHEET = (
    later("tape the seam"),
    later("lap again"),
    later("clean the film"),
    later("replace the sheet"),
)
REPAIRS = (TAPE_THE_SEAM, LAP_AGAIN, CLEAN, REPLACE_SHEET)

FILM, TAPE, SEALANT = later("film"), later("tape"), "mastic"
MATERIAL_KINDS = (FILM, TAPE, SEALANT)

CAUSES = (
    later("steel"), later("plumbing"), later("forming"), later("wind"), later("our own work"),
    later("stored material"), later("not known"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Work:
    """How a piece of sealing was done: what every seal, walk and repair is asked alike.

    `tape_width_nm` 0 where no tape was used; `film_mf` None where nobody measured.
    """

    cleaned: bool
    dry: bool
    tape_width_nm: int
    film_mf: int | None
    lot: str
    note: str


@dataclass(frozen=True, slots=True)
class Signed:
    """Who logged it, in which role, when, and at which place of the history."""

    by: str
    role: str
    at: datetime
    seq: int


@dataclass(frozen=True, slots=True)
class Look:
    """Another person's second look at a patch or a repair on site: accepted, or refused."""

    id: str
    accepted: bool
    note: str
    by: str
    role: str
    at: datetime
    seq: int


@dataclass(frozen=True, slots=True)
class Seal:
    """The seal of a penetration as built. `together`: the ids of all the penetrations sealed as one.

    A collar has its width (height up the pipe and out) and length; `fingers`: cut half the width. Mastic or
    sealant has `close_cut`: the hole in the film just big enough.
    """

    id: str
    method: str
    together: tuple[str, ...]
    collar_width_nm: int
    collar_length_nm: int
    fingers: bool
    taped_to_pipe: bool
    taped_to_film: bool
    close_cut: bool
    work: Work
    signed: Signed


@dataclass(frozen=True, slots=True)
class Penetration:
    """What passes through the film. `kind` and `size` as in `domain.trade_sizes`; `outline` its outside.

    `seal` is the newest that was not withdrawn; `replaced`: those it had before, of a placing that goes on
    (`domain.during`). So of a seam's walks and a stretch's seals.
    """

    id: str
    sketch_id: str
    zone_id: str
    tag: str
    kind: str
    size: str
    outline: Outline
    at: Px
    note: str
    signed: Signed
    seal: Seal | None
    withdrawn: str | None
    replaced: tuple[Seal, ...] = ()


@dataclass(frozen=True, slots=True)
class Station:
    """A place on a seam and the lap measured there."""

    at: Px
    lap_nm: int


@dataclass(frozen=True, slots=True)
class SeamRun:
    """A run of a seam found at fault on a walk, between two places of it; `fault` as in `domain.seams`.

    `mark`: the id of the defect that was marked for it.
    """

    fault: str
    a: Px
    b: Px
    mark: str


@dataclass(frozen=True, slots=True)
class SeamWalk:
    """A seam walked from end to end. `taped` and `bonded` speak of all of it but the runs at fault."""

    id: str
    stations: tuple[Station, ...]
    runs: tuple[SeamRun, ...]
    taped: bool
    bonded: bool
    work: Work
    signed: Signed


@dataclass(frozen=True, slots=True)
class Seam:
    """A taped line where two sheets overlap, as drawn; `walk` is the newest."""

    id: str
    sketch_id: str
    zone_id: str
    tag: str
    kind: str
    path: tuple[Px, ...]
    note: str
    signed: Signed
    walk: SeamWalk | None
    withdrawn: str | None
    replaced: tuple[SeamWalk, ...] = ()


@dataclass(frozen=True, slots=True)
class EdgeSeal:
    """How a stretch of edge was ended. `runs_past_nm` and `protected` are a construction joint's.

    `sealed`: sealed all along by tape or mastic; at a joint, that the film runs on whole.
    """

    id: str
    sealed: bool
    runs_past_nm: int | None
    protected: bool | None
    work: Work
    signed: Signed


@dataclass(frozen=True, slots=True)
class Termination:
    """A stretch of a zone's edge and how the film ends there.

    `path` lies along the zone's outline. `authority`: the engineer's or the local code's word, for a footing;
    `what`: the impediment.
    """

    id: str
    sketch_id: str
    zone_id: str
    tag: str
    kind: str
    path: tuple[Px, ...]
    authority: str
    what: str
    note: str
    signed: Signed
    seal: EdgeSeal | None
    withdrawn: str | None
    replaced: tuple[EdgeSeal, ...] = ()


@dataclass(frozen=True, slots=True)
class Repair:
    """A repair that is no patch: a seam taped, a lap laid again, film cleaned, a sheet replaced.

    `lap_nm`: the least lap measured after it, None where no lap was made. `late`: as of a patch.
    """

    id: str
    method: str
    lap_nm: int | None
    taped: bool
    work: Work
    looks: tuple[Look, ...]
    signed: Signed
    withdrawn: str | None
    late: bool = False


@dataclass(frozen=True, slots=True)
class Material:
    """A material as submitted for this project, judged against the sheet. None: not stated by its maker.

    `kind`: film, tape or mastic. `claimed_class`: A, B, C or empty. Film has a roll; tape a roll width. The
    least numbers are the maker's own: they can only raise the sheet's.
    """

    id: str
    kind: str
    name: str
    claimed_class: str
    permeance_up: int | None
    thickness_nm: int | None
    tensile_mlbf_in: int | None
    puncture_g: int | None
    roll_width_nm: int | None
    roll_length_nm: int | None
    least_lap_nm: int | None
    least_patch_overlap_nm: int | None
    least_mf: int | None
    note: str
    signed: Signed
    withdrawn: str | None


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot received on site: `number` as printed on the roll."""

    id: str
    material_id: str
    number: str
    rolls: int
    note: str
    signed: Signed
    withdrawn: str | None


@dataclass(frozen=True, slots=True)
class Laying:
    """Which lot went where: film of this lot was laid in the zone."""

    id: str
    lot_id: str
    note: str
    signed: Signed
    withdrawn: str | None


@dataclass(frozen=True, slots=True)
class Signature:
    """A hold point signed, or refused. It counts while the zone's outline and the sketch's scale stay."""

    id: str
    step: str
    accepted: bool
    note: str
    outline_revision: int
    scale_revision: int
    signed: Signed


@dataclass(frozen=True, slots=True)
class Raised:
    """A number that this zone asks more of than the rule sheet: its name there; nm or thousandths."""

    name: str
    value: int
    source: str
