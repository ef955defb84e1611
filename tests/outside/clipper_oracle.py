"""Overlap worked out another way: integer polygon offsetting, with nothing taken from the service.

Shapes are in inches: ("circle", diameter), ("rectangle", length, width, degrees) or
("polygon", [(x, y), ...]), each with the (x, y) of its centre. The patches reach t past the damage
as long as the damage grown by t lies inside them; damage shows by d as long as the patches must grow
by d to cover it. Both are found by halving.
"""

from __future__ import annotations

import math
from typing import Any

import pyclipper

UNIT = 100_000  # steps to the inch
STEPS_ROUND = 360
Placed = tuple[tuple[Any, ...], tuple[float, float]]
Paths = list[list[tuple[int, int]]]


def paths(placed: Placed) -> Paths:
    """The shape's corners in whole steps."""
    shape, (x, y) = placed
    if shape[0] == "circle":
        # Corners a little outside the circle, so that the many-cornered shape has the circle's mean radius.
        r = shape[1] / 2 * (1 + (math.pi / STEPS_ROUND) ** 2 / 6)
        turns = [2 * math.pi * i / STEPS_ROUND for i in range(STEPS_ROUND)]
        ring = [(r * math.cos(t), r * math.sin(t)) for t in turns]
    elif shape[0] == "rectangle":
        _, length, width, degrees = shape
        half_u, half_v = length / 2, max(width, 0.001) / 2
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        box = ((-half_u, -half_v), (half_u, -half_v), (half_u, half_v), (-half_u, half_v))
        ring = [(u * c - v * s, u * s + v * c) for u, v in box]
    else:
        ring = shape[1]
    whole = [(round((px + x) * UNIT), round((py + y) * UNIT)) for px, py in ring]
    return [whole if pyclipper.Orientation(whole) else whole[::-1]]


def grown(of: Paths, inches: float) -> Paths:
    """The shape grown (or, below 0, shrunk) by this much all round, corners rounded."""
    offset = pyclipper.PyclipperOffset(2.0, 0.0003 * UNIT)
    offset.AddPaths(of, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    result: Paths = offset.Execute(inches * UNIT)
    return result


def combined(how: int, one: Paths, other: Paths) -> Paths:
    """Union, difference or intersection."""
    if not one or (how == pyclipper.CT_INTERSECTION and not other):
        return []
    clip = pyclipper.Pyclipper()
    clip.AddPaths(one, pyclipper.PT_SUBJECT, True)
    if other:
        clip.AddPaths(other, pyclipper.PT_CLIP, True)
    result: Paths = clip.Execute(how, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return result


def covers(patch: Paths, damage: Paths) -> bool:
    """Whether nothing of the damage but slivers thinner than a ten-thousandth of an inch is left bare."""
    bare = combined(pyclipper.CT_DIFFERENCE, damage, patch)
    return not grown(bare, -0.00005) if bare else True


def lap(one: Placed, other: Placed, minimum: float) -> bool:
    """Whether a circle as broad as the minimum fits where both pieces lie."""
    half = minimum / 2
    shrunk = (grown(paths(one), -half), grown(paths(other), -half))
    return bool(combined(pyclipper.CT_INTERSECTION, *shrunk))


def groups(pieces: list[Placed], minimum: float) -> list[list[Placed]] | None:
    """Pieces that count together; None where a lap is too near the minimum to tell."""
    of = list(range(len(pieces)))
    for i in range(len(pieces)):
        for j in range(i):
            sure, maybe = (lap(pieces[i], pieces[j], minimum + slack) for slack in (0.003, -0.003))
            if sure != maybe:
                return None
            if sure:
                of = [of[j] if g == of[i] else g for g in of]
    return [[p for p, g in zip(pieces, of, strict=True) if g == name] for name in set(of)]


def halved(low: float, high: float, holds: Any) -> float:
    """Where `holds` stops holding between low (holds) and high (does not), to two thousandths of an inch."""
    while high - low > 0.002:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return (low + high) / 2


def union_overlap(damage: Placed, pieces: list[Placed]) -> float:
    """Inches the pieces, counted as one, reach past the damage; below 0 when damage shows."""
    hole = paths(damage)
    patch = paths(pieces[0])
    for piece in pieces[1:]:
        patch = combined(pyclipper.CT_UNION, patch, paths(piece))
    if covers(patch, hole):
        return halved(0.0, 64.0, lambda t: covers(patch, grown(hole, t)))
    return -halved(0.0, 256.0, lambda d: not covers(grown(patch, d), hole))


def overlap(damage: Placed, pieces: list[Placed], minimum: float) -> float | None:
    """The best of the groups that count together; None where a lap is too near the minimum to tell."""
    found = groups(pieces, minimum)
    return None if found is None else max(union_overlap(damage, group) for group in found)
