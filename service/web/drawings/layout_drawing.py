"""Sheets drawn where they lie: numbered, laps by line, what is laid filled thin, the way of the placing.

One path a kind, however many sheets there are, in a frame that stays while the first sheet's edge is moved.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.domain.nouns.installed import SIDE_LAP
from service.domain.nouns.placing import PlannedSheet
from service.domain.nouns.site import Px, Zone
from service.domain.sheets.layout import LaidSeam
from service.domain.sheets.nouns import STARTS_LEFT
from service.domain.sheets.seam_pieces import to_px
from service.domain.words.measures import turn
from service.domain.words.speech import later, tr
from service.web.drawings.drawing import GridDrawing
from service.web.drawings.frame import Frame, frame_of
from service.web.drawings.paths import Point, line
from service.web.drawings.shown import Shown
from service.web.drawings.zone_drawing import grid_lines

MILLI = 1000
LETTER, TALL = 7.4, 14.0  # a figure of a number (13 units type), and its line
ARROW, HEAD, ASIDE = 64.0, 8.0, 13.0  # the arrow's length, its head, and how far it stands off the floor
KEY = (
    ("sheets", later("a sheet, by its number in laying order")),
    ("side-lap", later("a side lap")),
    ("end-lap", later("an end lap")),
    ("laid", later("a sheet that is laid")),
    ("opening", later("an opening: no film")),
    ("way", later("the way the concrete is placed")),
)


@dataclass(frozen=True, slots=True)
class SheetNumber:
    """A sheet's number, at the middle of what is seen of it."""

    text: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class LayoutDrawing:
    """`templates/parts/layout.html`. `paths`: (how the style sheet names it, path), in drawing order. `key`:
    (name, words) of what is drawn; `unnumbered`: how many numbers found no room. `across`: how the drawing
    moves, in its own units, for a metre more of the first sheet's edge outside."""

    view: str
    width: int
    height: int
    label: str
    outline: str
    paths: tuple[tuple[str, str], ...]
    numbers: tuple[SheetNumber, ...]
    grid: tuple[GridDrawing, ...]
    key: tuple[tuple[str, str], ...]
    unnumbered: int
    across: Point


@dataclass(frozen=True, slots=True)
class ToDraw:
    """Sheets and laps in the base frame. `laid`: the numbers of the sheets that are laid."""

    sheets: Sequence[PlannedSheet]
    laps: Sequence[tuple[str, tuple[Px, Px]]]
    laid: frozenset[int]
    openings: Sequence[Sequence[Px]]
    direction_udeg: int
    starts: str
    pitch_nm: int


def laps_of(seams: Iterable[LaidSeam], per_px: float) -> tuple[tuple[str, tuple[Px, Px]], ...]:
    """Kind and path of each lap, in the base frame."""
    return tuple((s.kind, (to_px(s.path[0], per_px), to_px(s.path[1], per_px))) for s in seams)


def draw_layout(shown: Shown, zones: Sequence[Zone], what: ToDraw, label: str) -> LayoutDrawing:
    """The drawing as today's picture shows it. The sketch has a scale."""
    rings = [shown.ring(zone.outline) for zone in zones]
    across = _across(shown, what)
    frame = _frame(shown, rings, across, what.pitch_nm)
    paths = _paths(shown, frame, what)
    numbers, unnumbered = _numbers(shown, frame, rings, what.sheets)
    arrow = _arrow(frame, rings, what.starts, across)
    drawn = (*paths, ("way", arrow))
    named = {name for name, path in drawn if path}
    unit = 1_000_000_000 * frame.units_per_nm
    return LayoutDrawing(
        view=f"0 0 {frame.width:.0f} {frame.height:.0f}",
        width=round(frame.width),
        height=round(frame.height),
        label=label,
        outline="".join(line([frame.point(at) for at in ring]) for ring in rings),
        paths=tuple((name, path) for name, path in drawn if path),
        numbers=numbers,
        grid=grid_lines(shown.grid(), frame),
        key=tuple((name, tr(words)) for name, words in KEY if name in named),
        unnumbered=unnumbered,
        across=(round(-across[0] * unit, 3), round(-across[1] * unit, 3)),
    )


def _across(shown: Shown, what: ToDraw) -> Point:
    """One unit across the placing direction on today's picture, away from the side where placing begins."""
    c, s = turn(what.direction_udeg)
    side = 1.0 if what.starts == STARTS_LEFT else -1.0
    far = 1_000_000
    (ax, ay), (bx, by) = shown.point((0, 0)), shown.point((round(-s * side * far), round(c * side * far)))
    long = math.hypot(bx - ax, by - ay)
    return (bx - ax) / long, (by - ay) / long


def _frame(shown: Shown, rings: Sequence[Sequence[Px]], across: Point, pitch_nm: int) -> Frame:
    """All of the floor, with half a row beside it on either side for what sheets lie past it."""
    room = pitch_nm / 2 / shown.nm_per_px * MILLI
    corners = tuple(
        (round(x + way * across[0] * room), round(y + way * across[1] * room))
        for ring in rings
        for x, y in ring
        for way in (-1, 1)
    )
    return frame_of(corners, shown.nm_per_px)


def _paths(shown: Shown, frame: Frame, what: ToDraw) -> tuple[tuple[str, str], ...]:
    def ring(points: Iterable[Px]) -> str:
        return line([frame.point(shown.point(at)) for at in points])

    def laps(side: bool) -> str:
        drawn = (path for kind, path in what.laps if (kind == SIDE_LAP) is side)
        return "".join(line([frame.point(shown.point(at)) for at in path], closed=False) for path in drawn)

    return (
        ("laid", "".join(ring(sheet.corners) for sheet in what.sheets if sheet.number in what.laid)),
        ("opening", "".join(ring(opening) for opening in what.openings)),
        ("sheets", "".join(ring(sheet.corners) for sheet in what.sheets)),
        ("side-lap", laps(True)),
        ("end-lap", laps(False)),
    )


def _numbers(
    shown: Shown, frame: Frame, rings: Sequence[Sequence[Px]], sheets: Sequence[PlannedSheet]
) -> tuple[tuple[SheetNumber, ...], int]:
    """A number in the middle of each sheet as far as it lies over the floor's box, else of all that is drawn
    of it; and how many sheets are too narrow for one."""
    floor = _box([frame.point(at) for ring in rings for at in ring])
    whole = (0.0, 0.0, frame.width, frame.height)
    found, missing = [], 0
    for sheet in sheets:
        points = [frame.point(shown.point(at)) for at in sheet.corners]
        text, seen = str(sheet.number), _box(points)
        parts = [_shared(seen, box) for box in (floor, whole)]
        middle = next((at for at in (_room(part, text) for part in parts) if at), None)
        if middle is None or _narrowest(points) < TALL:
            missing += 1
            continue
        found.append(SheetNumber(text, round(middle[0], 1), round(middle[1] + 4.5, 1)))
    return tuple(found), missing


Box = tuple[float, float, float, float]


def _box(points: Sequence[Point]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _shared(a: Box, b: Box) -> Box:
    return max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3])


def _room(box: Box, text: str) -> Point | None:
    """The middle of a box that holds the text."""
    x0, y0, x1, y1 = box
    if x1 - x0 < LETTER * len(text) or y1 - y0 < TALL * 0.7:
        return None
    return (x0 + x1) / 2, (y0 + y1) / 2


def _narrowest(points: Sequence[Point]) -> float:
    return min(math.dist(points[0], points[1]), math.dist(points[1], points[2]))


def _arrow(frame: Frame, rings: Sequence[Sequence[Px]], starts: str, across: Point) -> str:
    """Beside the floor, on the side where placing begins, pointing the way the concrete goes."""
    side = 1.0 if starts == STARTS_LEFT else -1.0
    ux, uy = across[1] * side, -across[0] * side
    floor = [frame.point(at) for ring in rings for at in ring]
    along = [x * ux + y * uy for x, y in floor]
    off = min(x * across[0] + y * across[1] for x, y in floor) - ASIDE
    middle, half = (min(along) + max(along)) / 2, min(ARROW, max(along) - min(along)) / 2
    x, y = middle * ux + off * across[0], middle * uy + off * across[1]
    room = half + HEAD / 2  # moved into the drawing whole, never bent
    x = min(max(x, abs(ux) * room + 3), frame.width - abs(ux) * room - 3)
    y = min(max(y, abs(uy) * room + 3), frame.height - abs(uy) * room - 3)

    def at(far: float, beside: float = 0.0) -> Point:
        return x + far * ux + beside * across[0], y + far * uy + beside * across[1]

    shaft = line([at(-half), at(half)], closed=False)
    return shaft + line([at(half - HEAD, -HEAD * 0.6), at(half), at(half - HEAD, HEAD * 0.6)], closed=False)
