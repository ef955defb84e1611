"""A patch over its damage, drawn upright in the crew's frame, with the four overlaps as dimension lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial

from service.domain.shapes.outlines import Circle, Outline, Ring, corners, extent_nm, rings
from service.domain.shapes.sides import Sides
from service.web.drawings.drawing import Dimension, PatchDrawing
from service.web.drawings.paths import Point, arrowhead, circle, grown, line

VIEW = 240.0
MARGIN = 12.0
LEAST_SHOWN = 3.0
RING = 7.0
Box = tuple[float, float, float, float]  # least u, greatest u, least v, greatest v
SIDES = ("left", "right", "far", "near")
LOOKS = {"left": math.pi, "right": 0.0, "far": -math.pi / 2, "near": math.pi / 2}


def draw_patch(
    damage: Outline,
    minimum_nm: int,
    sides: Sides | None = None,
    pieces: Sequence[tuple[Outline, tuple[int, int]]] = (),
    *,
    label: str,
    angle_udeg: int = 0,
    low: Sequence[str] = (),
    words: Mapping[str, str] | None = None,
    name: str = "patch",
    live: Mapping[str, object] | None = None,
) -> PatchDrawing:
    """One damage with its patch by readings (`sides`), or patches by outline and offset (`pieces`).

    minimum_nm grows the damage to the dashed least patch. low: the sides drawn heavy, as the verdict names
    them. words: dimension texts by side ("right": "5 3/4 in"), none where the readings stand round the
    drawing. It is turned so that `right` runs level: by the sides' angle, else angle_udeg. live: what
    `live_rows` gave.
    """
    turned = sides.angle_udeg if sides else angle_udeg
    own = extent_nm(damage, turned)
    patch = _sides_box(own, sides, minimum_nm) if sides else None
    shapes = [ring for outline, offset in pieces for ring in rings(outline, offset)]
    to_units, k = _fit(own, patch, shapes, minimum_nm, turned)
    unturned = partial(_turn, turned)
    pose = lambda x, y: to_units(*unturned(x, y))  # noqa: E731 - one frame after the other, named once
    small = max(own[1] - own[0], own[3] - own[2]) * k < LEAST_SHOWN
    centre = to_units(0, 0)
    return PatchDrawing(
        name=name,
        view=f"0 0 {VIEW:.0f} {VIEW:.0f}",
        label=label,
        damage=_ring_path(rings(damage)[0], pose, k),
        ring=(round(centre[0], 1), round(centre[1], 1), RING) if small else None,
        needed=grown(damage, minimum_nm, pose, k),
        patches=tuple(
            ([_box_path(patch, to_units)] if patch else []) + [_ring_path(s, pose, k) for s in shapes]
        ),
        walls=_walls(patch, sides, to_units) if patch and sides else (),
        dimensions=_dimensions(damage, own, patch, sides, turned, to_units, low, words or {})
        if patch and sides
        else (),
        clip=_clip(patch, sides, to_units),
        live={**live, "frame": [k, *to_units(0, 0)]} if live else None,
    )


def live_rows(damage: Outline, minimum_nm: int, angle_udeg: int, units: str) -> dict[str, object]:
    """What patch.js needs to draw and judge while typing; lengths in nanometres in the crew's frame.

    {"units", "minimum", "box": {side: nm}, "tips": {side: [u, v]}}; draw_patch adds "frame": [k, x, y], which
    takes nanometres to drawing units: x + k u, y + k v.
    """
    u0, u1, v0, v1 = extent_nm(damage, angle_udeg)
    return {
        "units": units,
        "minimum": minimum_nm,
        "box": {"left": u0, "right": u1, "far": v0, "near": v1},
        "tips": {side: list(_tip(damage, side, angle_udeg)) for side in SIDES},
    }


def _turn(angle_udeg: int, x: float, y: float) -> Point:
    a = math.radians(angle_udeg / 1e6)
    return x * math.cos(a) + y * math.sin(a), y * math.cos(a) - x * math.sin(a)


def _sides_box(own: Box, sides: Sides, minimum_nm: int) -> Box:
    """The patch's box; at a wall it ends short of the least patch, where the wall is drawn."""
    at_wall = minimum_nm * 0.6
    grow = {side: at_wall if nm is None else float(nm) for side, nm in sides.readings().items()}
    return own[0] - grow["left"], own[1] + grow["right"], own[2] - grow["far"], own[3] + grow["near"]


def _fit(
    own: Box, patch: Box | None, shapes: Sequence[Ring], minimum_nm: int, turned: int
) -> tuple[Callable[[float, float], Point], float]:
    """To drawing units, and their scale: damage, least patch and patches all inside the margin."""
    us, vs = [own[0] - minimum_nm, own[1] + minimum_nm], [own[2] - minimum_nm, own[3] + minimum_nm]
    if patch:
        us, vs = [*us, *patch[:2]], [*vs, *patch[2:]]
    for ring in shapes:
        r = ring.radius_nm or 0.0
        for u, v in (_turn(turned, *p) for p in ring.points):
            us, vs = [*us, u - r, u + r], [*vs, v - r, v + r]
    k = (VIEW - 2 * MARGIN) / max(max(us) - min(us), max(vs) - min(vs), 1.0)
    middle_u, middle_v = (max(us) + min(us)) / 2, (max(vs) + min(vs)) / 2
    return lambda u, v: (VIEW / 2 + (u - middle_u) * k, VIEW / 2 + (v - middle_v) * k), k


def _ring_path(ring: Ring, pose: Callable[[float, float], Point], k: float) -> str:
    if ring.radius_nm is not None:
        return circle(pose(*ring.points[0]), ring.radius_nm * k)
    return line([pose(*p) for p in ring.points])


def _box_path(box: Box, to_units: Callable[[float, float], Point]) -> str:
    u0, u1, v0, v1 = box
    return line([to_units(*p) for p in ((u0, v0), (u1, v0), (u1, v1), (u0, v1))])


def _walls(patch: Box, sides: Sides, to_units: Callable[[float, float], Point]) -> tuple[str, ...]:
    u0, u1, v0, v1 = patch
    edges = {
        "left": ((u0, v0), (u0, v1)),
        "right": ((u1, v0), (u1, v1)),
        "far": ((u0, v0), (u1, v0)),
        "near": ((u0, v1), (u1, v1)),
    }
    return tuple(
        line([to_units(*a), to_units(*b)], closed=False)
        for side, (a, b) in edges.items()
        if sides.readings()[side] is None
    )


def _clip(patch: Box | None, sides: Sides | None, to_units: Callable[[float, float], Point]) -> str:
    """All the drawing, but for what lies past a wall the patch is sealed to."""
    if not patch or not sides:
        return line([(0, 0), (VIEW, 0), (VIEW, VIEW), (0, VIEW)])
    (x0, y0), (x1, y1) = to_units(patch[0], patch[2]), to_units(patch[1], patch[3])
    left, right = 0 if sides.left_nm is not None else x0, VIEW if sides.right_nm is not None else x1
    top, bottom = 0 if sides.far_nm is not None else y0, VIEW if sides.near_nm is not None else y1
    return line([(left, top), (right, top), (right, bottom), (left, bottom)])


def _tip(damage: Outline, side: str, angle_udeg: int) -> Point:
    """The damage's outermost point on a side, in the frame: where the tape measure's reading starts."""
    u0, u1, v0, v1 = extent_nm(damage, angle_udeg)
    edge = {"left": u0, "right": u1, "far": v0, "near": v1}[side]
    level = side in ("left", "right")
    if isinstance(damage, Circle):
        return (edge, 0.0) if level else (0.0, edge)
    turned = [_turn(angle_udeg, *p) for p in corners(damage)]
    near = [p for p in turned if abs((p[0] if level else p[1]) - edge) < 1000]
    across = sum(p[1] if level else p[0] for p in near) / max(len(near), 1)
    return (edge, across) if level else (across, edge)


def _dimensions(
    damage: Outline,
    own: Box,
    patch: Box,
    sides: Sides,
    turned: int,
    to_units: Callable[[float, float], Point],
    low: Sequence[str],
    words: Mapping[str, str],
) -> tuple[Dimension, ...]:
    found = []
    for side, reading in sides.readings().items():
        if reading is None:
            continue
        u, v = _tip(damage, side, turned)
        ends = {"left": (patch[0], v), "right": (patch[1], v), "far": (u, patch[2]), "near": (u, patch[3])}
        found.append(
            _dimension(side, to_units(u, v), to_units(*ends[side]), side in low, words.get(side, ""))
        )
    return tuple(found)


def _dimension(side: str, start: Point, end: Point, low: bool, words: str) -> Dimension:
    look = LOOKS[side]
    size = min(11.0, math.dist(start, end) / 2.2)
    (x0, y0), (x1, y1) = start, end
    level = side in ("left", "right")
    x, y = ((x0 + x1) / 2, (y0 + y1) / 2 - 6) if level else ((x0 + x1) / 2 + 6, (y0 + y1) / 2 + 5)
    return Dimension(
        side=side,
        path=line([start, end], closed=False),
        heads=arrowhead(end, look, size) + arrowhead(start, look + math.pi, size),
        low=low,
        words=words,
        x=round(x, 1),
        y=round(y, 1),
        anchor="middle" if level else "start",
    )
