"""Seeded slabs for the sheet layout: stepped outlines, wedges and stars, with openings.

Lengths are nanometres; every slab is its outline (a ring) and its openings, before any turning. Nothing of
service/ is used.
"""

from __future__ import annotations

import math
from random import Random

import shapely

FT = 304_800_000
IN = 25_400_000

Point = tuple[float, float]
Ring = tuple[Point, ...]


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Ring:
    """Its four corners."""
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def stepped(random: Random, long: float, wide: float) -> Ring:
    """A rectilinear outline: a rectangle with bites out of its corners and sides."""
    shape = shapely.box(0, 0, long, wide)
    for _ in range(random.randrange(1, 5)):
        w, h = random.uniform(0.05, 0.35) * long, random.uniform(0.05, 0.45) * wide
        x = random.choice((0.0, long - w, random.uniform(0, long - w)))
        y = random.choice((0.0, wide - h))
        left = shape.difference(shapely.box(*(round(v / IN) * IN for v in (x, y, x + w, y + h))))
        if left.geom_type == "Polygon" and not left.interiors:
            shape = left
    return tuple(shape.exterior.coords[:-1])


def star(random: Random, long: float, wide: float) -> Ring:
    """An outline with slanted sides and corners that go in."""
    count = random.randrange(5, 14)
    angles = sorted(random.uniform(0, 2 * math.pi) for _ in range(count))
    reach = [random.uniform(0.35, 1.0) / 2 for _ in angles]
    ring = tuple(
        (long / 2 + long * r * math.cos(t), wide / 2 + wide * r * math.sin(t))
        for t, r in zip(angles, reach, strict=True)
    )
    return ring if shapely.Polygon(ring).is_valid else rectangle(0, 0, long, wide)


def openings_in(random: Random, outline: Ring, most: int) -> tuple[Ring, ...]:
    """Rectangles well inside the outline, some as wide as a roll and more."""
    shape = shapely.Polygon(outline)
    x0, y0, x1, y1 = shape.bounds
    found: list[Ring] = []
    for _ in range(random.randrange(0, most + 1)):
        w, h = random.uniform(1, 25) * FT, random.uniform(1, 40) * FT
        x, y = random.uniform(x0, x1), random.uniform(y0, y1)
        box = shapely.box(x, y, x + w, y + h)
        if shape.contains(box):
            found.append(rectangle(x, y, x + w, y + h))
    return tuple(found)


def slab(seed: int) -> tuple[Ring, tuple[Ring, ...]]:
    """(outline, openings) of one seeded slab, 20 to 300 ft long and 8 to 150 ft wide."""
    random = Random(seed)
    long, wide = random.uniform(20, 300) * FT, random.uniform(8, 150) * FT
    outline = (stepped if random.random() < 0.6 else star)(random, long, wide)
    return outline, openings_in(random, outline, 6)


def turned(ring: Ring, degrees: float, about: Point = (0.0, 0.0)) -> Ring:
    """The ring turned clockwise as seen with y down."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return tuple(
        (
            about[0] + (x - about[0]) * c - (y - about[1]) * s,
            about[1] + (x - about[0]) * s + (y - about[1]) * c,
        )
        for x, y in ring
    )
