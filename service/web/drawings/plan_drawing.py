"""A zone's open marks with the patches planned over them, true to scale, each patch by its number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.domain.shapes.outlines import Outline, Rectangle
from service.web.drawings.drawing import GridToDraw, InstalledToDraw, Leader, MarkDrawing, Px, ZoneDrawing
from service.web.drawings.frame import LEAST_SHOWN, Frame, frame_of
from service.web.drawings.leaders import Room, place_leader
from service.web.drawings.paths import exit_nm, reach, shape
from service.web.drawings.zone_drawing import draw_zone

RING = 4.0
# Shown beside the plan so that a patch is found on the film; their tags stand on the zone's own drawing.
QUIET = ("pipe", "pipe-open", "seam", "seam-not-walked", "seam-at-fault", "edge", "edge-open", "wall")


@dataclass(frozen=True, slots=True)
class PatchToDraw:
    """A planned patch round its middle, with the damage of its marks where it lies."""

    number: int
    patch: Rectangle
    middle: Px
    marks: tuple[tuple[Outline, Px], ...]


def draw_plan(
    ring: tuple[Px, ...],
    nm_per_px: float,
    patches: Sequence[PatchToDraw],
    *,
    kind: str,
    label: str,
    walls: tuple[tuple[Px, Px], ...],
    grid: tuple[GridToDraw, ...],
    installed: InstalledToDraw,
) -> ZoneDrawing:
    """Points are thousandths of a pixel as shown, nm_per_px the scale of that picture.

    Patches over several marks get their numbers first; one that finds no room is counted in `untagged`.
    """
    zone = draw_zone(
        ring, nm_per_px, (), kind=kind, label=label, walls=walls, grid=grid, installed=installed, name="plan"
    )
    frame = frame_of(ring, nm_per_px)
    leaders = _leaders(ring, frame, patches)
    drawn = [mark for patch in patches for mark in _drawn(patch, frame, leaders[patch.number])]
    there = {
        "damage": any(not mark.ring for mark in drawn),
        "ring": any(mark.ring for mark in drawn),
        "planned": bool(drawn),
    }
    return replace(
        zone,
        marks=tuple(drawn),
        installed=replace(zone.installed, tags=(), names=()),
        untagged=sum(leader is None for leader in leaders.values()),
        key=(*(part for part, shown in there.items() if shown), *(k for k in zone.key if k in QUIET)),
    )


def _leaders(ring: tuple[Px, ...], frame: Frame, patches: Sequence[PatchToDraw]) -> dict[int, Leader | None]:
    """A leader from each patch's edge to its number, by number; None where there is no room."""
    room = Room(frame.width, frame.height)
    for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
        room.mark_line(frame.point(a), frame.point(b), room.lines)
    for patch in patches:
        x, y = frame.point(patch.middle)
        half = reach(patch.patch) * frame.units_per_nm
        box = room.cells(x - half, y - half, x + half, y + half)
        if box:
            room.take(box, room.marks)
    order = sorted(patches, key=lambda patch: (-len(patch.marks), patch.number))
    return {patch.number: _leader(patch, frame, room) for patch in order}


def _leader(patch: PatchToDraw, frame: Frame, room: Room) -> Leader | None:
    def edge(dx: float, dy: float) -> float:
        return exit_nm(patch.patch, dx, dy) * frame.units_per_nm

    return place_leader(room, str(patch.number), frame.point(patch.middle), edge)


def _drawn(patch: PatchToDraw, frame: Frame, leader: Leader | None) -> list[MarkDrawing]:
    """Its damage, the first with the patch's dashed edge and number."""
    edge = shape(patch.patch, frame.around(patch.middle), frame.units_per_nm)
    found = []
    for place, (outline, at) in enumerate(patch.marks):
        x, y = frame.point(at)
        small = 2 * reach(outline) * frame.units_per_nm < LEAST_SHOWN
        found.append(
            MarkDrawing(
                tag=str(patch.number),
                state="open",
                shape=shape(outline, frame.around(at), frame.units_per_nm),
                ring=(round(x, 1), round(y, 1), RING) if small else None,
                needed="" if place else edge,
                patch="",
                leader=None if place else leader,
            )
        )
    return found
