"""The nouns of a sheet layout: what is asked of it, its sheets and seams, and why one cannot be made.

Positions and lengths are nanometres on the ground, x right and y down as on the sketch; areas square metres.
"""

from __future__ import annotations

from dataclasses import dataclass

from service.domain.words.measures import TOLERANCE_NM
from service.domain.words.speech import tr

Flat = tuple[float, float]
Ring = tuple[Flat, ...]

STARTS_LEFT, STARTS_RIGHT = "left", "right"
MOST_SHEETS = 5_000


class BadLayout(ValueError):
    """Sheets that cannot be laid out so: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class EdgeRun:
    """How far film runs past a stretch of the outline's edge: up a wall, over a footing, past a joint."""

    a: Flat
    b: Flat
    past_nm: int


@dataclass(frozen=True, slots=True)
class LayoutAsked:
    """What is to be covered, with which roll, which way.

    `outlines`: one zone, or all the zones of a slab; their union is covered, less the openings, with what
    runs past the edges. `direction_udeg`: the placing direction, clockwise on the sketch from "to the right",
    None where nobody said. `starts`: "left" or "right", the side, looking along the direction, where placing
    begins; those sheets lie on top. `offset_nm`: how far the first sheet's edge lies outside the area on that
    side, from 0 and under roll width less lap; None: the least film is sought. `grain_nm`: how exact the
    corners are; what is no thicker than this is rounding, not floor.
    """

    outlines: tuple[Ring, ...]
    openings: tuple[Ring, ...]
    edges: tuple[EdgeRun, ...]
    roll_width_nm: int
    roll_length_nm: int
    side_lap_nm: int
    end_lap_nm: int
    direction_udeg: int | None
    starts: str
    offset_nm: int | None
    grain_nm: int = TOLERANCE_NM

    @property
    def pitch_nm(self) -> int:
        """From one row's edge to the next."""
        return self.roll_width_nm - self.side_lap_nm


@dataclass(frozen=True, slots=True)
class Sheet:
    """One cut length of film: `number` in laying order from 1, `row` from 0, where placing begins.

    `corners`: the rectangle as laid, along the direction from corner 0 to 1. It is as wide as the roll.
    """

    number: int
    row: int
    corners: tuple[Flat, Flat, Flat, Flat]
    cut_length_nm: int
    width_nm: int


@dataclass(frozen=True, slots=True)
class LaidSeam:
    """Where sheet `over` lies on sheet `under`: the free edge of `over`, where there is floor to be covered.

    `kind`: `installed.SIDE_LAP` or `END_LAP`; `lap_nm`: how far they lap.
    """

    kind: str
    path: tuple[Flat, Flat]
    over: int
    under: int
    lap_nm: int


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """The sheets in laying order, their seams, and what they come to.

    `area_m2`: outline less openings; `to_cover_m2`: with what runs past the edges; `film_m2`: cut lengths by
    roll width; `bound_m2`: `sheets/bound.least_film`, which no layout by this rule comes below.
    """

    asked: LayoutAsked
    offset_nm: int
    sheets: tuple[Sheet, ...]
    seams: tuple[LaidSeam, ...]
    area_m2: float
    to_cover_m2: float
    film_m2: float
    seam_nm: int
    bound_m2: float


@dataclass(frozen=True, slots=True)
class Cost:
    """What one offset comes to."""

    offset_nm: int
    film_m2: float
    seam_nm: int
    sheets: int


def check_asked(asked: LayoutAsked) -> None:
    """Nothing when sheets can be laid out so; BadLayout with a plain sentence."""
    if asked.direction_udeg is None:
        told = tr("Say which way the concrete will be placed: the sheets lie along it.")
        raise BadLayout("direction-needed", told)
    if asked.starts not in (STARTS_LEFT, STARTS_RIGHT):
        told = tr("Say on which side placing begins, left or right, looking the way it goes.")
        raise BadLayout("start-needed", told)
    if min(asked.side_lap_nm, asked.end_lap_nm) < 0:
        raise BadLayout("bad-lap", tr("A lap cannot be less than nothing."))
    if asked.roll_width_nm <= max(0, 2 * asked.side_lap_nm):
        told = tr("The roll is no wider than twice the lap: both its edges would lie under one lap.")
        raise BadLayout("roll-too-narrow", told)
    if asked.roll_length_nm <= max(0, 2 * asked.end_lap_nm):
        told = tr("The roll is no longer than twice the end lap: nothing of it would be left to lay.")
        raise BadLayout("roll-too-short", told)
    if asked.offset_nm is not None and not 0 <= asked.offset_nm < asked.pitch_nm:
        told = tr("The first sheet's edge lies less than a roll's width less its lap outside the floor.")
        raise BadLayout("bad-offset", told)


def too_many_sheets() -> BadLayout:
    """Why a layout of more than `MOST_SHEETS` sheets is refused."""
    told = tr("That takes more than {n} sheets: check the scale and the roll.", n=f"{MOST_SHEETS:,}")
    return BadLayout("too-many-sheets", told)
