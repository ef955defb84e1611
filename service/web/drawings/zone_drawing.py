"""A zone drawn as a draftsman would: outline, walls, grid, marks to scale on leaders with their tags."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from service.web.drawings.drawing import (
    NOTHING,
    GridDrawing,
    GridToDraw,
    InstalledDrawing,
    InstalledToDraw,
    Leader,
    MarkDrawing,
    MarkToDraw,
    Px,
    ZoneDrawing,
)
from service.web.drawings.frame import LEAST_SHOWN, Frame, frame_of
from service.web.drawings.installed_drawing import draw_installed, keep_clear, place_tags
from service.web.drawings.leaders import Edge, Room, place_leader
from service.web.drawings.paths import exit_nm, grown, line, reach, shape

RING, QUIET = 6.0, 3.0  # round a mark that wants a tag, and round one that does not
MOST_TAGS = 60  # above this many marks only those still open are tagged
UNSETTLED = ("open", "not sealed")


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
    installed: InstalledToDraw = NOTHING,
    name: str = "zone",
) -> ZoneDrawing:
    """The drawing of a zone; kind is laying, held, clear, ready, placed or placed-without-release.

    Points are thousandths of a pixel, nm_per_px the sketch's scale. Open marks get their tags first,
    then penetrations not sealed, then seams; a tag that finds no room is left out and counted in `untagged`
    (the lists beside the drawing name everything).
    """
    frame = frame_of(ring, nm_per_px)
    room = Room(frame.width, frame.height)
    _keep_lines_clear(room, frame, ring, walls)
    keep_clear(room, frame, installed)
    shown = [mark for mark in marks if mark.state != "withdrawn"]
    few = len(shown) <= MOST_TAGS
    wanted = [mark for mark in shown if few or mark.state in UNSETTLED]
    _keep_off(wanted, frame, room)
    leaders = _leaders([mark for mark in wanted if mark.state in UNSETTLED], frame, room)
    tags = place_tags(installed, frame, room)
    leaders |= _leaders([mark for mark in wanted if mark.state not in UNSETTLED], frame, room)
    drawn = [_draw_mark(m, frame, leaders.get(id(m)), few or m.state in UNSETTLED) for m in shown]
    lines = draw_installed(installed, frame, room, tags)
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
        grid=grid_lines(grid, frame),
        installed=lines,
        untagged=list(leaders.values()).count(None) + lines.untagged,
        key=_key(drawn, walls, lines),
    )


def _keep_lines_clear(
    room: Room, frame: Frame, ring: tuple[Px, ...], walls: tuple[tuple[Px, Px], ...]
) -> None:
    for a, b in (*zip(ring, (*ring[1:], ring[0]), strict=True), *walls):
        room.mark_line(frame.point(a), frame.point(b), room.lines)


def _keep_off(marks: list[MarkToDraw], frame: Frame, room: Room) -> None:
    """No tag stands on a mark that has one of its own."""
    for mark in marks:
        x, y = frame.point(mark.at)
        box = room.cells(x - 4, y - 4, x + 4, y + 4)
        if box:
            room.take(box, room.marks)


def _leaders(marks: list[MarkToDraw], frame: Frame, room: Room) -> dict[int, Leader | None]:
    """Leaders by the identity of their marks, None where there is no room."""
    k = frame.units_per_nm
    return {id(m): place_leader(room, m.tag, frame.point(m.at), _edge(m, k)) for m in marks}


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


def grid_lines(grid: Iterable[GridToDraw], frame: Frame) -> tuple[GridDrawing, ...]:
    """Those of the grid's lines that cross the drawing."""
    return tuple(drawn for drawn in (_draw_grid(one, frame) for one in grid) if drawn)


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


def _key(
    drawn: list[MarkDrawing], walls: tuple[tuple[Px, Px], ...], lines: InstalledDrawing
) -> tuple[str, ...]:
    """What the legend under the drawing must explain: only what is on it."""
    asked = {
        "damage": any(m.state in UNSETTLED and not m.ring for m in drawn),
        "ring": any(m.ring for m in drawn),
        "sealed": any(m.state == "sealed" for m in drawn),
        "needed": any(m.needed for m in drawn),
        "patch": any(m.patch for m in drawn),
        "wall": bool(walls),
        "pipe": bool(lines.sealed),
        "pipe-open": bool(lines.unsealed),
        "seam": bool(lines.walked),
        "seam-not-walked": bool(lines.not_walked),
        "seam-at-fault": bool(lines.at_fault),
        "edge": bool(lines.edges),
        "edge-open": bool(lines.edges_open),
    }
    return tuple(part for part, there in asked.items() if there)
