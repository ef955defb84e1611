"""What penetrations take: collars by size, the sheets under dams, tape round them, mastic and sealant."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from service.domain.installed.penetrations import collar_need, girth_nm, half_collar_nm
from service.domain.order.asked import GroupToDam, PipeToSeal, ZoneAsked
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import cut_size
from service.domain.words.measures import NM_PER_INCH, NM_PER_MM

# A bead of mastic 1/2 in high and wide; sealant in a dam 1 in deep, the dam 1 in off what stands in it
# (common practice, no source).
BEAD_NM, DEPTH_NM, DAM_OFF_NM = NM_PER_INCH // 2, NM_PER_INCH, NM_PER_INCH


@dataclass(frozen=True, slots=True)
class CollarSize:
    """Collars of one cut size: `width_nm` is their height up the pipe and out, `length_nm` goes round it."""

    width_nm: int
    length_nm: int
    count: int
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mastic:
    """Beads round small penetrations (how many, how long in all) and dams (how many, what area), and the
    volume of both: an estimate, common practice, no source."""

    beads: int = 0
    bead_nm: int = 0
    dams: int = 0
    dam_nm2: int = 0

    @property
    def volume_mm3(self) -> int:
        """All of it, rounded up to the cubic millimetre."""
        return -(-(self.bead_nm * BEAD_NM**2 + self.dam_nm2 * DEPTH_NM) // NM_PER_MM**3)


def with_collar(zone: ZoneAsked) -> Iterator[tuple[PipeToSeal, int, int]]:
    """The zone's penetrations that get a collar, with its width and length: all that are too large for mastic
    by the rule sheet."""
    for pipe in zone.pipes:
        need = collar_need(pipe.outline, zone.numbers)
        if not need.mastic_allowed:
            yield pipe, need.width_nm, need.length_nm


def collar_sizes(zones: Iterable[ZoneAsked]) -> tuple[CollarSize, ...]:
    """All their collars by size, the longest first."""
    by_size: dict[tuple[int, int], list[str]] = {}
    for zone in zones:
        for pipe, width, length in with_collar(zone):
            by_size.setdefault((length, width), []).append(pipe.tag)
    return tuple(
        CollarSize(width, length, len(tags), tuple(tags))
        for (length, width), tags in sorted(by_size.items(), reverse=True)
    )


def collar_tape_nm(pipe: PipeToSeal, numbers: Numbers) -> int:
    """Tape for a collar: round the pipe with a tape's width over its own end, down the collar's own lap, and
    round the square that its fingers reach (common practice, no source)."""
    length, width, _ = cut_size(pipe.outline, half_collar_nm(numbers))
    return girth_nm(pipe.outline) + numbers.tape_width_nm + numbers.collar_width_nm + 2 * (length + width)


def dam_tape_nm(group: GroupToDam) -> int:
    """Tape round the sheet under a dam."""
    return 2 * (group.length_nm + group.width_nm)


def mastic_of(zone: ZoneAsked) -> Mastic:
    """The zone's mastic: a bead round each penetration small enough for it, and the dams filled."""
    small = [pipe for pipe in zone.pipes if collar_need(pipe.outline, zone.numbers).mastic_allowed]
    less = 2 * (half_collar_nm(zone.numbers) - DAM_OFF_NM)
    inside = [
        max(group.length_nm - less, 2 * DAM_OFF_NM) * max(group.width_nm - less, 2 * DAM_OFF_NM)
        for group in zone.groups
    ]
    return Mastic(len(small), sum(girth_nm(pipe.outline) for pipe in small), len(inside), sum(inside))


def all_mastic(parts: Sequence[Mastic]) -> Mastic:
    """All of it together."""
    return Mastic(
        sum(part.beads for part in parts),
        sum(part.bead_nm for part in parts),
        sum(part.dams for part in parts),
        sum(part.dam_nm2 for part in parts),
    )
