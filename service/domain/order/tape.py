"""Tape by what it is for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from service.domain.installed.terminations import ENDS_AT
from service.domain.nouns.installed import END_LAP, SIDE_LAP
from service.domain.order.asked import NOT_DESCRIBED, RepairsExpected, ZoneAsked
from service.domain.order.collars import collar_tape_nm, dam_tape_nm, with_collar
from service.domain.order.counts import ToOrder
from service.domain.words.speech import later

SIDE_LAPS, END_LAPS = later("side laps"), later("end laps")
ENDS, EDGES_UNKNOWN = later("edges where film ends"), later("edges nobody has described yet")
COLLARS, DAMS, REPAIRS = later("collars"), later("sheets under dams"), later("expected repairs")
USES = (SIDE_LAPS, END_LAPS, ENDS, EDGES_UNKNOWN, COLLARS, DAMS, REPAIRS)


@dataclass(frozen=True, slots=True)
class TapeUse:
    """How much tape for one of USES, nanometres."""

    use: str
    nm: int


@dataclass(frozen=True, slots=True)
class TapeOrder:
    """Tape by use, together, what the allowance adds to that length, and the rolls."""

    uses: tuple[TapeUse, ...]
    total_nm: int
    allowance_nm: int
    counts: ToOrder


def tape_of(zone: ZoneAsked, repairs: int, expected: RepairsExpected) -> tuple[TapeUse, ...]:
    """The zone's tape, every use of USES in order: one run along each lap and each edge where film ends at
    something that stands, round each collar and sheet under a dam, and round each patch that is expected.

    An edge that nobody has described counts as one that is taped, so that there is not too little.
    """
    patch = 2 * (expected.length_nm + expected.width_nm)
    found = {
        SIDE_LAPS: sum(seam.length_nm for seam in zone.seams if seam.kind == SIDE_LAP),
        END_LAPS: sum(seam.length_nm for seam in zone.seams if seam.kind == END_LAP),
        ENDS: sum(edge.length_nm for edge in zone.edges if edge.kind in ENDS_AT),
        EDGES_UNKNOWN: sum(edge.length_nm for edge in zone.edges if edge.kind == NOT_DESCRIBED),
        COLLARS: sum(collar_tape_nm(pipe, zone.numbers) for pipe, _, _ in with_collar(zone)),
        DAMS: sum(dam_tape_nm(group) for group in zone.groups),
        REPAIRS: repairs * patch,
    }
    return tuple(TapeUse(use, found[use]) for use in USES)


def all_tape(parts: Iterable[tuple[TapeUse, ...]]) -> tuple[TapeUse, ...]:
    """All of it together, by use."""
    whole = dict.fromkeys(USES, 0)
    for uses in parts:
        for each in uses:
            whole[each.use] += each.nm
    return tuple(TapeUse(use, nm) for use, nm in whole.items())


def length_of(uses: Iterable[TapeUse]) -> int:
    """All uses in one length, nanometres."""
    return sum(each.nm for each in uses)
