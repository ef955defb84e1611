"""A zone drawn as a draftsman would: outline, walls, grid, marks to scale on leaders with their tags."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from service.web.drawing import GridDrawing, GridToDraw, Leader, MarkDrawing, MarkToDraw, Px, ZoneDrawing
from service.web.leaders import Edge, Room, place_leader
from service.web.paths import Point, exit_nm, grown, line, reach, shape

WIDE, MARGIN = 340.0, 30.0
TALLEST = 520.0  # a long thin zone is drawn smaller rather than longer than a phone
LEAST_SHOWN = 2.6  # drawing units: a mark smaller than this is ringed
RING, QUIET = 6.0, 3.0  # round a mark that wants a tag, and round one that does not
MOST_TAGS = 60  # above this many marks only those still open are tagged
UNSETTLED = ("open", "not sealed")


@dataclass(frozen=True, slots=True)
class Frame:
    """How the sketch's pixels become drawing units."""

    left: float
    top: float
    units_per_px: float
    nm_per_px: float
    width: float
    height: float

    def point(self, at: Px) -> Point:
        """Drawing units of a point in thousandths of a pixel."""
        u = self.units_per_px / 1000
        return (at[0] - self.left) * u + MARGIN, (at[1] - self.top) * u + MARGIN

    @property
    def units_per_nm(self) -> float:
        """Drawing units per nanometre on the ground."""
        return self.units_per_px / self.nm_per_px

    def around(self, at: Px) -> Callable[[float, float], Point]:
        """The function that takes nanometres from a mark's centre to drawing units."""
        (x, y), k = self.point(at), self.units_per_nm
        return lambda dx, dy: (x + dx * k, y + dy * k)


def frame_of(ring: tuple[Px, ...], nm_per_px: float) -> Frame:
    """The frame that fits a ring (thousandths of a pixel) on a drawing as wide as a phone shows."""
    left, top = min(x for x, _ in ring), min(y for _, y in ring)
    across = max(max(x for x, _ in ring) - left, 1) / 1000
    down = max(max(y for _, y in ring) - top, 1) / 1000
    k = min((WIDE - 2 * MARGIN) / across, (TALLEST - 2 * MARGIN) / down)
    return Frame(left, top, k, nm_per_px, max(across * k + 2 * MARGIN, WIDE * 0.6), down * k + 2 * MARGIN)


@lru_cache(maxsize=512)
def draw_zone(
    ring: tuple[Px, ...],
    nm_per_px: float,
    marks: tuple[MarkToDraw, ...] = (),
    *,
    kind: str,
    label: str,
    walls: tuple[tuple[Px, Px], ...] = (),
    grid: tuple[GridToDraw, ...] = (),
    name: str = "zone",
) -> ZoneDrawing:
    """The drawing of a zone; kind is laying, held, clear, ready, placed or placed-without-release.

    Points are thousandths of a pixel, nm_per_px the sketch's scale. Open marks get their tags first; a tag
    that finds no room is left out and counted in `untagged` (the list beside the drawing names every mark).
    """
    frame = frame_of(ring, nm_per_px)
    room = Room(frame.width, frame.height)
    _keep_lines_clear(room, frame, ring, walls)
    shown = [mark for mark in marks if mark.state != "withdrawn"]
    drawn = _draw_marks(shown, frame, room)
    return ZoneDrawing(
        name=name,
        view=f"0 0 {frame.width:.0f} {frame.height:.0f}",
        width=round(frame.width),
        height=round(frame.height),
        kind=kind,
        label=label,
        outline=line([frame.point(p) for p in ring]),
        walls=tuple(line([frame.point(a), frame.point(b)], closed=False) for a, b in walls),
        marks=tuple(drawn),
        grid=tuple(g for g in (_draw_grid(g, frame) for g in grid) if g),
        untagged=sum(m.leader is None for m in drawn if len(shown) <= MOST_TAGS or m.state in UNSETTLED),
        key=_key(drawn, walls, kind),
    )


def _keep_lines_clear(
    room: Room, frame: Frame, ring: tuple[Px, ...], walls: tuple[tuple[Px, Px], ...]
) -> None:
    for a, b in (*zip(ring, (*ring[1:], ring[0]), strict=True), *walls):
        room.mark_line(frame.point(a), frame.point(b), room.lines)


def _draw_marks(marks: list[MarkToDraw], frame: Frame, room: Room) -> list[MarkDrawing]:
    """Each mark's pieces in the given order; tags are placed for unsettled marks first."""
    few = len(marks) <= MOST_TAGS
    for mark in (m for m in marks if few or m.state in UNSETTLED):
        x, y = frame.point(mark.at)
        box = room.cells(x - 4, y - 4, x + 4, y + 4)
        if box:
            room.take(box, room.marks)
    by_need = sorted(marks, key=lambda m: m.state not in UNSETTLED)
    leaders = {
        id(m): place_leader(room, m.tag, frame.point(m.at), _edge(m, frame.units_per_nm))
        for m in by_need
        if few or m.state in UNSETTLED
    }
    return [_draw_mark(m, frame, leaders.get(id(m)), few or m.state in UNSETTLED) for m in marks]


def _edge(mark: MarkToDraw, units_per_nm: float) -> Edge:
    if 2 * reach(mark.outline) * units_per_nm < LEAST_SHOWN:
        return lambda dx, dy: RING
    return lambda dx, dy: exit_nm(mark.outline, dx, dy) * units_per_nm


def _draw_mark(mark: MarkToDraw, frame: Frame, leader: Leader | None, tagged: bool) -> MarkDrawing:
    around, k = frame.around(mark.at), frame.units_per_nm
    small = 2 * reach(mark.outline) * k < LEAST_SHOWN
    needed_shows = mark.needed_nm * k >= LEAST_SHOWN and mark.state in UNSETTLED
    x, y = frame.point(mark.at)
    return MarkDrawing(
        tag=mark.tag,
        state=mark.state,
        shape=shape(mark.outline, around, k),
        ring=(round(x, 1), round(y, 1), RING if tagged else QUIET) if small else None,
        needed=grown(mark.outline, mark.needed_nm, around, k) if needed_shows else "",
        patch=shape(mark.patch, around, k, mark.patch_offset) if mark.patch else "",
        leader=leader,
    )


def _draw_grid(grid: GridToDraw, frame: Frame) -> GridDrawing | None:
    """The line run out to the drawing's edges, its bubble at the top or left end; None when it misses."""
    (x0, y0), (x1, y1) = frame.point(grid.start), frame.point(grid.end)
    edge = 11.0
    if abs(x1 - x0) < abs(y1 - y0):
        slope = (x1 - x0) / (y1 - y0)
        ends = [(x0 + (y - y0) * slope, y) for y in (edge, frame.height - 3)]
        outside = not all(edge <= x <= frame.width - edge for x, _ in ends)
    else:
        slope = (y1 - y0) / (x1 - x0) if x1 != x0 else 0.0
        ends = [(x, y0 + (x - x0) * slope) for x in (edge, frame.width - 3)]
        outside = not all(edge <= y <= frame.height - edge for _, y in ends)
    if outside:
        return None
    return GridDrawing(grid.label, line(ends, closed=False), round(ends[0][0], 1), round(ends[0][1], 1))


def _key(drawn: list[MarkDrawing], walls: tuple[tuple[Px, Px], ...], kind: str) -> tuple[str, ...]:
    """What the legend under the drawing must explain: only what is on it."""
    asked = {
        "damage": any(m.state in UNSETTLED and not m.ring for m in drawn),
        "ring": any(m.ring for m in drawn),
        "sealed": any(m.state == "sealed" for m in drawn),
        "needed": any(m.needed for m in drawn),
        "patch": any(m.patch for m in drawn),
        "wall": bool(walls),
    }
    return tuple(part for part, there in asked.items() if there)
