"""Where a drawing's tags stand: beside their marks on leaders, never on one another."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from service.web.drawings.drawing import Leader
from service.web.drawings.paths import line

Edge = Callable[[float, float], float]  # from a mark's middle to its edge along a direction, drawing units

CELL = 6.0  # drawing units; the room is kept as one row of bits per line of cells
LETTER, TALL = 9.6, 20.0  # a bold letter of the tag's 16-unit type, and its line
OVER_LINE, OVER_SMALL = 24.0, 44.0  # how much longer a leader may be so as not to cross or hide them
# Steps tried in turn: up and to the right first, as a draftsman writes, then round, then further out.
AWAY = [
    (dx * reach, dy * reach)
    for reach in (15.0, 26.0, 40.0, 58.0, 80.0)
    for dx, dy in (
        (0.8, -1),
        (-0.8, -1),
        (0.8, 1),
        (-0.8, 1),
        (1.3, -0.35),
        (-1.3, -0.35),
        (1.3, 0.6),
        (-1.3, 0.6),
    )
]


class Room:
    """What is taken: by tags and leaders, by marks (tags keep off them); and what is better left clear: small
    things that a tag would hide, and lines."""

    def __init__(self, width: float, height: float) -> None:
        self.columns, self.rows = int(width / CELL), int(height / CELL)
        self.taken = [0] * (self.rows + 1)
        self.marks = [0] * (self.rows + 1)
        self.small = [0] * (self.rows + 1)
        self.lines = [0] * (self.rows + 1)

    def cells(self, left: float, top: float, right: float, bottom: float) -> tuple[int, int, int] | None:
        """(first row, last row, bits) of a box, None when it reaches off the drawing."""
        a, b = math.floor(left / CELL), math.ceil(right / CELL)
        first, last = math.floor(top / CELL), math.ceil(bottom / CELL) - 1
        if a < 0 or first < 0 or b > self.columns or last >= self.rows:
            return None
        return first, last, ((1 << max(b - a, 1)) - 1) << a

    def mark_line(self, start: tuple[float, float], end: tuple[float, float], layer: list[int]) -> None:
        """Take the cells a line runs through."""
        for x, y in stations(start, end):
            column, row = int(x / CELL), int(y / CELL)
            if 0 <= row <= self.rows and 0 <= column <= self.columns:
                layer[row] |= 1 << column

    def line_meets(self, start: tuple[float, float], end: tuple[float, float], layer: list[int]) -> bool:
        """Whether a line runs through a cell of the layer."""
        return any(layer[int(y / CELL)] >> int(x / CELL) & 1 for x, y in stations(start, end) if x >= 0 <= y)

    def box_meets(self, box: tuple[int, int, int], layer: list[int]) -> bool:
        """Whether a box shares a cell with the layer."""
        first, last, bits = box
        return any(row & bits for row in layer[first : last + 1])

    def take(self, box: tuple[int, int, int], layer: list[int]) -> None:
        """Take a box's cells."""
        first, last, bits = box
        for row in range(first, last + 1):
            layer[row] |= bits


def stations(start: tuple[float, float], end: tuple[float, float]) -> list[tuple[float, float]]:
    """Points along a line, a cell apart or closer, both ends included."""
    count = max(1, math.ceil(math.dist(start, end) / (CELL * 0.7)))
    (x0, y0), (x1, y1) = start, end
    return [(x0 + (x1 - x0) * i / count, y0 + (y1 - y0) * i / count) for i in range(count + 1)]


@dataclass(frozen=True, slots=True)
class Spot:
    """One way to stand a tag: where its leader starts and turns, which way its shelf runs, its room."""

    start: tuple[float, float]
    elbow: tuple[float, float]
    forward: bool
    box: tuple[int, int, int]


def place_leader(room: Room, tag: str, at: tuple[float, float], edge: Edge) -> Leader | None:
    """A leader from a mark's edge to its tag, None when there is no room; `edge` says how far that is.

    Of the spots with room the nearest is taken; one that crosses a line of the drawing or hides some small
    thing counts as that much further away.
    """
    wide = LETTER * len(tag) + 5
    least, best = math.inf, None
    for step in AWAY:
        far = math.hypot(*step)
        if far >= least:
            continue
        spot = _spot(room, wide, at, edge, step)
        if spot is None:
            continue
        far += OVER_LINE * room.box_meets(spot.box, room.lines)
        far += OVER_SMALL * room.box_meets(spot.box, room.small)
        if far < least:
            least, best = far, spot
    return _take(room, best, wide) if best else None


def _spot(
    room: Room, wide: float, at: tuple[float, float], edge: Edge, step: tuple[float, float]
) -> Spot | None:
    (x, y), (dx, dy) = at, step
    clear = (edge(dx, dy) + 1.5) / math.hypot(dx, dy)
    start = x + dx * clear, y + dy * clear
    elbow = start[0] + dx, start[1] + dy
    left = elbow[0] if dx > 0 else elbow[0] - wide
    box = room.cells(left - 1, elbow[1] - TALL, left + wide + 1, elbow[1] + 3)
    if box is None or room.box_meets(box, room.taken) or room.box_meets(box, room.marks):
        return None
    return None if room.line_meets(start, elbow, room.taken) else Spot(start, elbow, dx > 0, box)


def _take(room: Room, spot: Spot, wide: float) -> Leader:
    room.take(spot.box, room.taken)
    room.mark_line(spot.start, spot.elbow, room.taken)
    return Leader(
        path=line([spot.start, spot.elbow], closed=False),
        x=round(spot.elbow[0], 1),
        y=round(spot.elbow[1], 1),
        shelf=round(wide if spot.forward else -wide, 1),
        anchor="start" if spot.forward else "end",
        text_x=3.0 if spot.forward else -3.0,
    )
