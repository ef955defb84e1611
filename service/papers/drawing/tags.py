"""Where a paper's tags stand: beside their marks on leaders, never on one another. Millimetres of paper."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

Point = tuple[float, float]
Edge = Callable[[float, float], float]  # from a mark's middle to its edge along a direction

CELL = 0.8  # the room is kept as one row of bits per line of cells
TYPE = 2.6  # height of a tag's letters as set
LETTER, TALL = 0.64 * TYPE, 1.25 * TYPE  # a bold letter's room, and its line's
OVER_LINE = 6.0  # how much longer a leader may be so as not to cross a line of the drawing
CLEAR = 0.25  # between a mark's edge and its leader
# Steps tried in turn: up and to the right first, as a draftsman writes, then round, then further out.
AWAY = [
    (dx * reach, dy * reach)
    for reach in (2.6, 4.4, 7.0, 10.5, 15.0, 21.0)
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


@dataclass(frozen=True, slots=True)
class Tag:
    """A tag on its leader: from the mark's edge over the elbow along the shelf that the words stand on."""

    words: str
    start: Point
    elbow: Point
    end: Point

    @property
    def forward(self) -> bool:
        """Whether the words run on from the elbow; else they end there."""
        return self.end[0] > self.elbow[0]


class Room:
    """What is taken by tags and leaders, by marks (tags keep off them), and lines better left clear."""

    def __init__(self, width: float, height: float) -> None:
        self.columns, self.rows = int(width / CELL), int(height / CELL)
        self.taken = [0] * (self.rows + 1)
        self.marks = [0] * (self.rows + 1)
        self.lines = [0] * (self.rows + 1)

    def cells(self, left: float, top: float, right: float, bottom: float) -> tuple[int, int, int] | None:
        """(first row, last row, bits) of a box, None when it reaches off the drawing."""
        a, b = math.floor(left / CELL), math.ceil(right / CELL)
        first, last = math.floor(top / CELL), math.ceil(bottom / CELL) - 1
        if a < 0 or first < 0 or b > self.columns or last >= self.rows:
            return None
        return first, last, ((1 << max(b - a, 1)) - 1) << a

    def take(self, box: tuple[int, int, int] | None, layer: list[int]) -> None:
        """Take a box's cells."""
        if box is not None:
            first, last, bits = box
            for row in range(first, last + 1):
                layer[row] |= bits

    def meets(self, box: tuple[int, int, int], layer: list[int]) -> bool:
        """Whether a box shares a cell with the layer."""
        first, last, bits = box
        return any(row & bits for row in layer[first : last + 1])

    def draw(self, start: Point, end: Point, layer: list[int]) -> None:
        """Take the cells a line runs through."""
        for x, y in _stations(start, end):
            column, row = int(x / CELL), int(y / CELL)
            if 0 <= row <= self.rows and 0 <= column <= self.columns:
                layer[row] |= 1 << column

    def crosses(self, start: Point, end: Point, layer: list[int]) -> bool:
        """Whether a line inside the drawing runs through a cell of the layer."""
        return any(layer[int(y / CELL)] >> int(x / CELL) & 1 for x, y in _stations(start, end))


def _stations(start: Point, end: Point) -> list[Point]:
    """Points along a line, a cell apart or closer, both ends included."""
    count = max(1, math.ceil(math.dist(start, end) / (CELL * 0.7)))
    (x0, y0), (x1, y1) = start, end
    return [(x0 + (x1 - x0) * i / count, y0 + (y1 - y0) * i / count) for i in range(count + 1)]


def place_tag(room: Room, words: str, at: Point, edge: Edge) -> Tag | None:
    """The nearest free spot for a tag; one over a line of the drawing counts as further. None: no room."""
    wide = LETTER * len(words) + 1.0
    best: tuple[float, Tag, tuple[int, int, int]] | None = None
    for dx, dy in AWAY:
        far = math.hypot(dx, dy)
        if best is not None and far >= best[0]:
            continue
        found = _spot(room, words, wide, at, edge, (dx, dy))
        if found is not None:
            far += OVER_LINE * room.meets(found[1], room.lines)
            if best is None or far < best[0]:
                best = far, *found
    if best is None:
        return None
    _, tag, box = best
    room.take(box, room.taken)
    room.draw(tag.start, tag.elbow, room.taken)
    return tag


def _spot(
    room: Room, words: str, wide: float, at: Point, edge: Edge, step: Point
) -> tuple[Tag, tuple[int, int, int]] | None:
    (x, y), (dx, dy) = at, step
    clear = (edge(dx, dy) + CLEAR) / math.hypot(dx, dy)
    start = x + dx * clear, y + dy * clear
    elbow = start[0] + dx, start[1] + dy
    end = (elbow[0] + wide if dx > 0 else elbow[0] - wide, elbow[1])
    box = room.cells(
        min(elbow[0], end[0]) - 0.3, elbow[1] - TALL, max(elbow[0], end[0]) + 0.3, elbow[1] + 0.5
    )
    inside = box is not None and room.cells(*start, *start) is not None
    if box is None or not inside or room.meets(box, room.taken) or room.meets(box, room.marks):
        return None
    return None if room.crosses(start, elbow, room.taken) else (Tag(words, start, elbow, end), box)
