"""True-size shapes of damage and patches: what they are, how they are stored, what covers them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import shapely

from service.domain.words.measures import turn

Point = tuple[int, int]
HALF_TURN = 180_000_000


@dataclass(frozen=True, slots=True)
class Circle:
    """A round hole: diameter in nanometres."""

    diameter_nm: int


@dataclass(frozen=True, slots=True)
class Rectangle:
    """Length along u, width along v, the whole turned clockwise on the sketch by the angle."""

    length_nm: int
    width_nm: int
    angle_udeg: int = 0


@dataclass(frozen=True, slots=True)
class Slit:
    """A cut: length along u, how far it stands open along v (0 when closed); judged as that rectangle."""

    length_nm: int
    opening_nm: int = 0
    angle_udeg: int = 0


@dataclass(frozen=True, slots=True)
class Polygon:
    """Corners in order, nanometres from the mark's centre, x right and y down on the sketch."""

    points: tuple[Point, ...]


Outline = Circle | Rectangle | Slit | Polygon


@dataclass(frozen=True, slots=True)
class Sides:
    """A patch as the tape measure reads it: nanometres past the damage, square to each edge of the patch.

    None where the patch is sealed to a wall. `right` points along the angle, `near` a quarter turn on.
    """

    left_nm: int | None
    right_nm: int | None
    near_nm: int | None
    far_nm: int | None
    angle_udeg: int = 0

    def readings(self) -> dict[str, int | None]:
        """The four readings by their word."""
        return {"left": self.left_nm, "right": self.right_nm, "near": self.near_nm, "far": self.far_nm}


def outline_to_json(outline: Outline) -> dict[str, Any]:
    """The stored form: whole nanometres and micro-degrees."""
    match outline:
        case Circle(diameter):
            return {"shape": "circle", "diameter_nm": diameter}
        case Rectangle(length, width, angle):
            return {"shape": "rectangle", "length_nm": length, "width_nm": width, "angle_udeg": angle}
        case Slit(length, opening, angle):
            return {"shape": "slit", "length_nm": length, "opening_nm": opening, "angle_udeg": angle}
        case Polygon(points):
            return {"shape": "polygon", "points_nm": [[x, y] for x, y in points]}


def outline_from_json(stored: Mapping[str, Any]) -> Outline:
    """The outline of a stored form; KeyError or ValueError when it is not one."""
    match stored["shape"]:
        case "circle":
            return Circle(int(stored["diameter_nm"]))
        case "rectangle":
            return Rectangle(int(stored["length_nm"]), int(stored["width_nm"]), int(stored["angle_udeg"]))
        case "slit":
            return Slit(int(stored["length_nm"]), int(stored["opening_nm"]), int(stored["angle_udeg"]))
        case "polygon":
            return Polygon(tuple((int(x), int(y)) for x, y in stored["points_nm"]))
    raise ValueError(f"no such shape: {stored['shape']!r}")


def sides_and_angle(outline: Rectangle | Slit) -> tuple[int, int, int]:
    """(length, width, angle) of a rectangle, or of the rectangle a slit is judged as."""
    if isinstance(outline, Slit):
        return outline.length_nm, outline.opening_nm, outline.angle_udeg
    return outline.length_nm, outline.width_nm, outline.angle_udeg


def into_half_turn(udeg: int) -> int:
    """The same line's direction brought into (-90, 90] degrees."""
    return HALF_TURN // 2 - (HALF_TURN // 2 - udeg) % HALF_TURN


def corners(outline: Rectangle | Slit | Polygon) -> tuple[tuple[float, float], ...]:
    """The corners in float nanometres from the centre; a closed slit is its line there and back."""
    if isinstance(outline, Polygon):
        return tuple((float(x), float(y)) for x, y in outline.points)
    length, width, angle = sides_and_angle(outline)
    c, s = turn(angle)
    u, v = length / 2, width / 2
    return tuple((a * c - b * s, a * s + b * c) for a, b in ((-u, -v), (u, -v), (u, v), (-u, v)))


def extent_nm(outline: Outline, angle_udeg: int) -> tuple[float, float, float, float]:
    """(least u, greatest u, least v, greatest v) of the outline in the frame turned by the angle."""
    if isinstance(outline, Circle):
        r = outline.diameter_nm / 2
        return -r, r, -r, r
    if isinstance(outline, Polygon):
        c, s = turn(angle_udeg)
        us = [x * c + y * s for x, y in outline.points]
        vs = [y * c - x * s for x, y in outline.points]
        return min(us), max(us), min(vs), max(vs)
    length, width, own = sides_and_angle(outline)
    if own == angle_udeg:  # in its own frame the box is the outline itself, to the nanometre
        return -length / 2, length / 2, -width / 2, width / 2
    c, s = turn(own - angle_udeg)
    u, v = (length * abs(c) + width * abs(s)) / 2, (length * abs(s) + width * abs(c)) / 2
    return -u, u, -v, v


def sides_box(damage: Outline, sides: Sides) -> tuple[float | None, float | None, float | None, float | None]:
    """(least u, greatest u, least v, greatest v) of the patch in the sides' frame; None at a wall."""
    u0, u1, v0, v1 = extent_nm(damage, sides.angle_udeg)
    return (
        None if sides.left_nm is None else u0 - sides.left_nm,
        None if sides.right_nm is None else u1 + sides.right_nm,
        None if sides.far_nm is None else v0 - sides.far_nm,
        None if sides.near_nm is None else v1 + sides.near_nm,
    )


def sides_as_rectangle(damage: Outline, sides: Sides) -> tuple[Rectangle, Point]:
    """The same patch as a rectangle and its offset from the damage's centre; ValueError at a wall."""
    u0, u1, v0, v1 = sides_box(damage, sides)
    if u0 is None or u1 is None or v0 is None or v1 is None:
        raise ValueError("a patch sealed to a wall is no rectangle")
    c, s = turn(sides.angle_udeg)
    u, v = (u0 + u1) / 2, (v0 + v1) / 2
    rectangle = Rectangle(round(u1 - u0), round(v1 - v0), sides.angle_udeg)
    return rectangle, (round(u * c - v * s), round(u * s + v * c))


@lru_cache(maxsize=8192)
def least_rectangle(outline: Outline) -> tuple[int, int, int]:
    """(length, width, angle) of the least-area rectangle round the outline, sides rounded up.

    A circle, rectangle or slit keeps its own frame; a polygon's lies along one of its hull's edges.
    """
    if isinstance(outline, Circle):
        return outline.diameter_nm, outline.diameter_nm, 0
    if not isinstance(outline, Polygon):
        return sides_and_angle(outline)
    hull = np.array(shapely.MultiPoint(outline.points).convex_hull.exterior.coords)
    best: tuple[float, int, int, int] | None = None
    for dx, dy in np.diff(hull, axis=0):
        angle = into_half_turn(round(math.degrees(math.atan2(dy, dx)) * 1_000_000))
        u0, u1, v0, v1 = extent_nm(outline, angle)
        length, width = math.ceil(u1 - u0 - 1e-3), math.ceil(v1 - v0 - 1e-3)
        if length < width:
            length, width, angle = width, length, into_half_turn(angle + HALF_TURN // 2)
        found = (float(length * width), length, width, angle)
        best = found if best is None or found < best else best
    assert best is not None
    return best[1], best[2], best[3]


def cut_size(outline: Outline, overlap_nm: int, allowance_nm: int = 0) -> tuple[int, int, int]:
    """(length, width, angle) to cut a patch to: a + 2o by b + 2o, plus the allowance a side."""
    length, width, angle = least_rectangle(outline)
    more = 2 * (overlap_nm + allowance_nm)
    return length + more, width + more, angle


@lru_cache(maxsize=8192)
def reach_nm(outline: Outline) -> int:
    """How far the outline reaches from its centre, rounded up to the nanometre."""
    if isinstance(outline, Circle):
        return -(-outline.diameter_nm // 2)
    if isinstance(outline, Polygon):
        return max(_root_up(x * x + y * y) for x, y in outline.points)
    length, width, _ = sides_and_angle(outline)
    return -(-_root_up(length * length + width * width) // 2)


def _root_up(square: int) -> int:
    root = math.isqrt(square)
    return root if root * root == square else root + 1


@dataclass(frozen=True, slots=True)
class Ring:
    """What to draw: a closed path of float nanometre points, or a circle round its one point."""

    points: tuple[tuple[float, float], ...]
    radius_nm: float | None = None


def rings(outline: Outline, offset: Point = (0, 0)) -> tuple[Ring, ...]:
    """The outline as drawing primitives, moved by the offset (sketch axes); circles stay circles."""
    dx, dy = offset
    if isinstance(outline, Circle):
        return (Ring(((float(dx), float(dy)),), outline.diameter_nm / 2),)
    return (Ring(tuple((x + dx, y + dy) for x, y in corners(outline))),)
