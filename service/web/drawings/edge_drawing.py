"""A zone's edge drawn: its sides by number, every stretch beside the outline, told by line as by word."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.domain.patches.repair import SEALED
from service.web.drawings.drawing import LineName, Px
from service.web.drawings.frame import Frame, frame_of
from service.web.drawings.installed_drawing import NAME_LETTER, OFF, left_of
from service.web.drawings.paths import Point, line

NUMBER_OFF, TAG_OFF = 20.0, 13.0  # drawing units from the outline to a side's number, and to a tag inside
LEAST_NUMBERED = 16.0  # a side drawn shorter than this has no room for its number


@dataclass(frozen=True, slots=True)
class StretchToDraw:
    """A described stretch in outline order. `named`: its tag is written along it."""

    tag: str
    state: str
    path: tuple[Px, ...]
    named: bool = True


@dataclass(frozen=True, slots=True)
class SideNumber:
    """The number of a side, outside its middle."""

    number: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class EdgeDrawing:
    """`templates/parts/edges.html`. sealed, open: one path each beside the outline; key: what is on it."""

    view: str
    width: int
    height: int
    label: str
    outline: str
    sealed: str
    open: str
    numbers: tuple[SideNumber, ...]
    names: tuple[LineName, ...]
    key: tuple[str, ...]


def draw_edges(
    ring: tuple[Px, ...], nm_per_px: float, stretches: Sequence[StretchToDraw], label: str
) -> EdgeDrawing:
    """Ring and stretches in thousandths of a pixel; both run the same way round."""
    frame, way = frame_of(ring, nm_per_px), 1 if _clockwise(ring) else -1
    sealed = "".join(_beside(s, frame, way) for s in stretches if s.state == SEALED)
    opened = "".join(_beside(s, frame, way) for s in stretches if s.state != SEALED)
    return EdgeDrawing(
        view=f"0 0 {frame.width:.0f} {frame.height:.0f}",
        width=round(frame.width),
        height=round(frame.height),
        label=label,
        outline=line([frame.point(at) for at in ring]),
        sealed=sealed,
        open=opened,
        numbers=tuple(_numbers(ring, frame, way)),
        names=tuple(name for s in stretches if s.named and (name := _name(s, frame, way))),
        key=tuple(part for part, there in (("edge", sealed), ("edge-open", opened)) if there),
    )


def _clockwise(ring: Sequence[Px]) -> bool:
    """Whether the ring runs clockwise as seen, so that the outside is at its left (y down)."""
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairwise((*ring, ring[0]))) > 0


def _beside(stretch: StretchToDraw, frame: Frame, way: int) -> str:
    points = [frame.point(at) for at in stretch.path[::way]]
    return line(left_of(points, OFF), closed=False)


def _numbers(ring: Sequence[Px], frame: Frame, way: int) -> list[SideNumber]:
    sides = [(a, b) for a, b in pairwise((*ring, ring[0])) if a != b]
    found = []
    for number, (a, b) in enumerate(sides, 1):
        start, end = frame.point(a), frame.point(b)
        if math.dist(start, end) >= LEAST_NUMBERED:
            x, y = _off(start, end, NUMBER_OFF * way)
            found.append(SideNumber(number, round(x, 1), round(y + 5, 1)))
    return found


def _off(a: Point, b: Point, far: float) -> Point:
    """So far to the left of the middle of the way from a to b; to its right where `far` is below 0."""
    long = math.dist(a, b)
    return (a[0] + b[0]) / 2 + (b[1] - a[1]) / long * far, (a[1] + b[1]) / 2 + (a[0] - b[0]) / long * far


def _name(stretch: StretchToDraw, frame: Frame, way: int) -> LineName | None:
    """The tag along the longest piece, inside the zone; None where that is too short for it."""
    a, b = max(pairwise(map(frame.point, stretch.path)), key=lambda piece: math.dist(*piece))
    if math.dist(a, b) < NAME_LETTER * len(stretch.tag) + 4:
        return None
    turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    upright = turn - 180 if turn > 89.5 else turn + 180 if turn < -90 else turn
    x, y = _off(a, b, -TAG_OFF * way)
    return LineName(stretch.tag, round(x, 1), round(y, 1), round(upright))
