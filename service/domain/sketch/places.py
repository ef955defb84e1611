"""From the pixels people press to the base frame that marks are kept in, and back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from service.domain.nouns.site import Px, Sketch
from service.domain.shapes.outlines import Circle, Outline, Point, Polygon
from service.domain.sketch.alignment import Similarity, similarity
from service.domain.words.measures import turn
from service.domain.words.refusals import BadInput

MILLI = 1000


def shown(sketch: Sketch) -> Similarity:
    """The move from the base frame to the picture shown today; none for a first revision."""
    if sketch.alignment is None:
        return Similarity()
    at = sketch.alignment
    return similarity((at.base_a, at.base_b), (at.now_a, at.now_b))


def milli(point: Sequence[float], field: str = "at") -> Px:
    """A point in pixels as whole thousandths. BadInput where it is no pair of finite numbers."""
    if len(point) != 2 or not all(isinstance(v, int | float) and math.isfinite(v) for v in point):
        raise BadInput(
            "A place is two numbers: pixels from the left and from the top.", fields={field: "No place."}
        )
    if any(abs(v) > 1_000_000 for v in point):
        raise BadInput("That place is far off the sketch.", fields={field: "Off the sketch."})
    return round(point[0] * MILLI), round(point[1] * MILLI)


def to_base(sketch: Sketch, point: Sequence[float], field: str = "at") -> Px:
    """A point in pixels of today's picture, in the base frame. BadInput where it lies off the picture."""
    x, y = milli(point, field)
    if not (0 <= x <= sketch.width_px * MILLI and 0 <= y <= sketch.height_px * MILLI):
        raise BadInput("That place is off the sketch.", fields={field: "Off the sketch."})
    return shown(sketch).inverse().apply((x, y)) if sketch.alignment else (x, y)


def from_base(sketch: Sketch, point: Px) -> tuple[float, float]:
    """A point of the base frame in pixels of today's picture."""
    x, y = shown(sketch).apply(point) if sketch.alignment else point
    return x / MILLI, y / MILLI


def turned(outline: Outline, udeg: int) -> Outline:
    """The outline turned clockwise on the sketch about its centre."""
    if not udeg or isinstance(outline, Circle):
        return outline
    if isinstance(outline, Polygon):
        return Polygon(tuple(turned_point(point, udeg) for point in outline.points))
    return replace(outline, angle_udeg=(outline.angle_udeg + udeg) % 360_000_000)


def turned_point(point: Point, udeg: int) -> Point:
    """A point about the centre, turned clockwise on the sketch."""
    c, s = turn(udeg)
    x, y = point
    return round(x * c - y * s), round(x * s + y * c)


def turn_of(sketch: Sketch) -> int:
    """How far today's picture is turned clockwise from the base frame, in micro-degrees."""
    return shown(sketch).turn_udeg if sketch.alignment else 0
