"""How far one patch reaches past damage: closed forms, in whole numbers wherever the shapes allow it."""

from __future__ import annotations

import math
from collections.abc import Callable

from service.domain.shapes.outlines import (
    Circle,
    Outline,
    Point,
    Polygon,
    Rectangle,
    Sides,
    Slit,
    corners,
    extent_nm,
    sides_and_angle,
    sides_box,
)
from service.domain.words.measures import TOLERANCE_NM, turn

RIGHT_ANGLE = 90_000_000
# The overlap in nanometres (negative when damage shows), and how to find the uncovered place nearest the
# damage: a gate asks for a thousand overlaps and a drawing for one place, so the place waits to be asked for.
Reach = tuple[int, Callable[[], Point]]
Box = tuple[float, float, float, float]


def settled(value_nm: float, minimum_nm: int) -> int:
    """A float overlap as whole nanometres, rounded down; within the tolerance of the minimum, the minimum."""
    if abs(value_nm - minimum_nm) <= TOLERANCE_NM:
        return minimum_nm
    return math.floor(value_nm + 0.01)  # a hundredth of a nanometre is float noise, not film


def reach_of_sides(damage: Outline, sides: Sides) -> Reach:
    """The least reading, which is the overlap at any angle; ValueError when every side is a wall."""
    least, side = None, 0
    for i, nm in enumerate((sides.right_nm, sides.left_nm, sides.near_nm, sides.far_nm)):
        if nm is not None and (least is None or nm < least):
            least, side = nm, i
    if least is None:
        raise ValueError("a patch cannot be sealed to a wall on all four sides")
    return least, lambda: _beside(damage, sides, side)


def _beside(damage: Outline, sides: Sides, side: int) -> Point:
    u0, u1, v0, v1 = (0.0 if edge is None else edge for edge in sides_box(damage, sides))
    return _edge_point(damage, (u0, u1, v0, v1), side, sides.angle_udeg)


def reach_of_disc(damage: Outline, patch: Circle, offset: Point, minimum_nm: int) -> Reach:
    """A round patch: its radius less the distance from its centre to the damage's farthest point."""
    ox, oy = offset
    x, y, r = 0.0, 0.0, 0.0
    if isinstance(damage, Circle):
        r = damage.diameter_nm / 2
    else:
        x, y = max(corners(damage), key=lambda corner: math.hypot(corner[0] - ox, corner[1] - oy))
    if offset == (0, 0) and not isinstance(damage, Polygon):
        value = _centred(damage, patch)
    else:
        value = settled(patch.diameter_nm / 2 - r - math.hypot(x - ox, y - oy), minimum_nm)

    def place() -> Point:
        away = math.hypot(x - ox, y - oy)
        cos, sin = ((x - ox) / away, (y - oy) / away) if away else (1.0, 0.0)
        if value < 0:  # damage shows: its own last place
            return round(x + r * cos), round(y + r * sin)
        return round(ox + patch.diameter_nm / 2 * cos), round(oy + patch.diameter_nm / 2 * sin)

    return value, place


def _centred(damage: Circle | Rectangle | Slit, patch: Circle) -> int:
    """floor((patch's diameter - damage's diagonal) / 2) in whole numbers."""
    if isinstance(damage, Circle):
        return (patch.diameter_nm - damage.diameter_nm) // 2
    length, width, _ = sides_and_angle(damage)
    square = length * length + width * width
    root = math.isqrt(square)
    return (patch.diameter_nm - root - (root * root < square)) // 2


def reach_of_box(damage: Outline, patch: Rectangle | Slit, offset: Point, minimum_nm: int) -> Reach:
    """A rectangular patch: in its own frame, the least of the four margins round the damage's extent."""
    length, width, angle = sides_and_angle(patch)
    c, s = turn(angle)
    ou, ov = offset[0] * c + offset[1] * s, offset[1] * c - offset[0] * s
    box = (ou - length / 2, ou + length / 2, ov - width / 2, ov + width / 2)
    u0, u1, v0, v1 = extent_nm(damage, angle)
    margins = (box[1] - u1, u0 - box[0], box[3] - v1, v0 - box[2])
    value = min(margins)
    # In a shared frame about a shared centre halves of whole numbers decide, and floats hold them exactly.
    # Anything placed or turned was rounded to the nanometre on its way in, so there the tolerance decides.
    exact = offset == (0, 0) and (
        isinstance(damage, Circle)
        or (not isinstance(damage, Polygon) and (damage.angle_udeg - angle) % RIGHT_ANGLE == 0)
    )
    if value < 0 and (exact or value < -TOLERANCE_NM):
        worst, at = _bare(damage, box, angle)
        return settled(-worst, minimum_nm), lambda: at
    whole = math.floor(value) if exact else settled(value, minimum_nm)
    return whole, lambda: _edge_point(damage, box, margins.index(value), angle)


def _bare(damage: Outline, box: Box, angle_udeg: int) -> tuple[float, Point]:
    """(how far, where) the damage's place farthest from a box it is not inside of."""
    c, s = turn(angle_udeg)
    if isinstance(damage, Circle):
        r, inside = damage.diameter_nm / 2, min(-box[0], box[1], -box[2], box[3])
        u, v = -max(box[0], 0.0) - min(box[1], 0.0), -max(box[2], 0.0) - min(box[3], 0.0)
        worst = r + math.hypot(u, v) if inside < 0 else r - inside
        if inside >= 0:
            u, v = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))[
                (box[1], -box[0], box[3], -box[2]).index(inside)
            ]
        reach = r / (math.hypot(u, v) or 1.0)
        return worst, (round((u * c - v * s) * reach), round((u * s + v * c) * reach))
    worst, at = -1.0, (0.0, 0.0)
    for x, y in corners(damage):
        u, v = x * c + y * s, y * c - x * s
        far = math.hypot(max(0.0, u - box[1], box[0] - u), max(0.0, v - box[3], box[2] - v))
        if far > worst:
            worst, at = far, (x, y)
    return worst, (round(at[0]), round(at[1]))


def _edge_point(damage: Outline, box: Box, side: int, angle_udeg: int) -> Point:
    """Where on that edge of the box (right, left, near, far) the damage is nearest to it."""
    c, s = turn(angle_udeg)
    along_u, edge = side < 2, (box[1], box[0], box[3], box[2])[side]
    across = 0.0
    if isinstance(damage, Polygon) or (
        not isinstance(damage, Circle) and (damage.angle_udeg - angle_udeg) % RIGHT_ANGLE
    ):
        sign = -1 if side % 2 else 1
        turned = [(x * c + y * s, y * c - x * s) for x, y in corners(damage)]
        across = max((sign * u, v) if along_u else (sign * v, u) for u, v in turned)[1]
    u, v = (edge, across) if along_u else (across, edge)
    return round(u * c - v * s), round(u * s + v * c)
