"""How far one patch reaches past damage: closed forms, in whole numbers wherever the shapes allow it."""

from __future__ import annotations

import math
from collections.abc import Callable

from service.domain.measures import TOLERANCE_NM, turn
from service.domain.outlines import (
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
    if isinstance(damage, Circle):
        value = _half_down(patch.diameter_nm - damage.diameter_nm, 4 * (offset[0] ** 2 + offset[1] ** 2))
        r = damage.diameter_nm / 2
        return value, lambda: _along(offset, -offset[0], -offset[1], patch, r, bare=value < 0)
    square, far, exact = _farthest_corner(damage, offset)
    if exact:
        value = _half_down(patch.diameter_nm, int(square))
    else:
        value = settled((patch.diameter_nm - math.sqrt(square)) / 2, minimum_nm)
    if value < 0:
        return value, lambda: (round(far[0]), round(far[1]))
    return value, lambda: _along(offset, far[0] - offset[0], far[1] - offset[1], patch, 0.0, bare=False)


def _half_down(twice: int, square: int) -> int:
    """floor((twice - sqrt(square)) / 2) in whole numbers."""
    root = math.isqrt(square)
    return (twice - root - (root * root < square)) // 2


def _along(offset: Point, dx: float, dy: float, patch: Circle, r: float, *, bare: bool) -> Point:
    """The place on the patch's edge in this direction; with `bare`, the damage's own last place."""
    length = math.hypot(dx, dy)
    cos, sin = (dx / length, dy / length) if length else (1.0, 0.0)
    if bare:
        return round(r * cos), round(r * sin)
    radius = patch.diameter_nm / 2
    return round(offset[0] + radius * cos), round(offset[1] + radius * sin)


def _farthest_corner(
    damage: Rectangle | Slit | Polygon, offset: Point
) -> tuple[float, tuple[float, float], bool]:
    """(square of twice the distance, the corner, whether exact) for the corner farthest from the offset.

    The square is an int where exact: a turned rectangle's corners are no whole numbers, but its diagonal is.
    """
    ox, oy = offset
    if isinstance(damage, Polygon):
        twice = [(2 * (x - ox)) ** 2 + (2 * (y - oy)) ** 2 for x, y in damage.points]
        most = max(range(len(twice)), key=twice.__getitem__)
        return twice[most], corners(damage)[most], True
    length, width, angle = sides_and_angle(damage)
    exact = offset == (0, 0) or angle % RIGHT_ANGLE == 0
    c, s = turn(angle)
    ou, ov = ox * c + oy * s, oy * c - ox * s
    u: float = 2 * abs(ou) + length
    v: float = 2 * abs(ov) + width
    if exact:
        u, v = int(u), int(v)
    a, b = (-length / 2 if ou > 0 else length / 2), (-width / 2 if ov > 0 else width / 2)
    return u * u + v * v, (a * c - b * s, a * s + b * c), exact


def reach_of_box(damage: Outline, patch: Rectangle | Slit, offset: Point, minimum_nm: int) -> Reach:
    """A rectangular patch: in its own frame, the least of the four margins round the damage's extent."""
    length, width, angle = sides_and_angle(patch)
    c, s = turn(angle)
    ou, ov = offset[0] * c + offset[1] * s, offset[1] * c - offset[0] * s
    box = (ou - length / 2, ou + length / 2, ov - width / 2, ov + width / 2)
    u0, u1, v0, v1 = extent_nm(damage, angle)
    margins = (box[1] - u1, u0 - box[0], box[3] - v1, v0 - box[2])
    value = min(margins)
    exact = (offset == (0, 0) or angle % RIGHT_ANGLE == 0) and (
        isinstance(damage, Circle)
        or (not isinstance(damage, Polygon) and (damage.angle_udeg - angle) % RIGHT_ANGLE == 0)
        or (isinstance(damage, Polygon) and angle % RIGHT_ANGLE == 0)
    )
    if value < 0 and (exact or value < -TOLERANCE_NM):
        worst, at = _bare(damage, box, angle)
        return settled(-worst, minimum_nm), lambda: at
    # Halves of whole numbers are exact in a float, so where the frame is shared the margin itself decides.
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
