"""SVG path strings from true-size outlines: shapes, shapes grown, arrowheads. Drawn only, never judged."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from service.domain.shapes.outlines import Circle, Outline, Polygon, corners, sides_and_angle

Point = tuple[float, float]
ToUnits = Callable[[float, float], Point]  # nanometres from the mark's centre to drawing units


def number(value: float) -> str:
    """One decimal, no trailing zero: a tenth of a drawing unit is less than a printed hair."""
    return f"{value:.1f}".removesuffix(".0").replace("-0.0", "0") if value else "0"


def line(points: Sequence[Point], closed: bool = True) -> str:
    """Path through the points."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")


def circle(centre: Point, radius: float) -> str:
    """Path of a circle: two half arcs."""
    x, y, r = number(centre[0] - radius), number(centre[1]), number(radius)
    return f"M{x} {y}a{r} {r} 0 1 0 {number(2 * radius)} 0a{r} {r} 0 1 0 {number(-2 * radius)} 0Z"


def shape(outline: Outline, to_units: ToUnits, scale: float, offset: Point = (0, 0)) -> str:
    """Path of an outline moved by the offset (nanometres); a closed slit is a line that its stroke shows."""
    dx, dy = offset
    if isinstance(outline, Circle):
        return circle(to_units(dx, dy), outline.diameter_nm / 2 * scale)
    return line([to_units(x + dx, y + dy) for x, y in corners(outline)])


def grown(outline: Outline, by_nm: float, to_units: ToUnits, scale: float) -> str:
    """Path of all within `by_nm` of the outline: round at corners; round the hull where it is hollow."""
    if isinstance(outline, Circle):
        return circle(to_units(0, 0), (outline.diameter_nm / 2 + by_nm) * scale)
    points = hull(corners(outline))
    if len(points) < 2:
        return circle(to_units(*points[0]), by_nm * scale)
    r = number(by_nm * scale)
    steps: list[str] = []
    for a, b in zip(points, (*points[1:], points[0]), strict=True):
        across = math.atan2(b[1] - a[1], b[0] - a[0]) - math.pi / 2
        dx, dy = by_nm * math.cos(across), by_nm * math.sin(across)
        start, end = to_units(a[0] + dx, a[1] + dy), to_units(b[0] + dx, b[1] + dy)
        steps += [f"{number(start[0])} {number(start[1])}L{number(end[0])} {number(end[1])}"]
    return "M" + f"A{r} {r} 0 0 1 ".join((*steps, steps[0].split("L", 1)[0])) + "Z"


def hull(points: Sequence[Point]) -> list[Point]:
    """Convex hull, clockwise as seen with y down, without repeats."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return list(ordered)

    def half(run: Sequence[Point]) -> list[Point]:
        kept: list[Point] = []
        for p in run:
            while len(kept) > 1 and _cross(kept[-2], kept[-1], p) <= 0:
                kept.pop()
            kept.append(p)
        return kept

    return half(ordered)[:-1] + half(ordered[::-1])[:-1]


def _cross(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def apart(at: Point, a: Point, b: Point) -> float:
    """From a point to the straight piece from a to b."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    t = min(1.0, max(0.0, ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / long)) if long else 0.0
    return math.hypot(at[0] - a[0] - t * dx, at[1] - a[1] - t * dy)


def arrowhead(tip: Point, towards: float, size: float = 9.0) -> str:
    """Path of a slim drafting arrowhead whose tip lies at a point and looks along an angle (radians)."""
    x, y = tip
    back = [
        (x - size * math.cos(towards + turn), y - size * math.sin(towards + turn)) for turn in (-0.26, 0.26)
    ]
    return line([tip, *back])


def reach(outline: Outline) -> float:
    """Greatest extent from the centre in float nanometres, for choosing a scale."""
    if isinstance(outline, Circle):
        return outline.diameter_nm / 2
    if isinstance(outline, Polygon):
        return max(math.hypot(x, y) for x, y in outline.points)
    length, width, _ = sides_and_angle(outline)
    return math.hypot(length, width) / 2


def exit_nm(outline: Outline, dx: float, dy: float) -> float:
    """How far from its centre a ray along (dx, dy) last leaves the outline; 0 when it never meets it."""
    if isinstance(outline, Circle):
        return outline.diameter_nm / 2
    far, long = 0.0, math.hypot(dx, dy)
    points = corners(outline)
    for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True):
        ex, ey = bx - ax, by - ay
        across = dx * ey - dy * ex
        if across:
            along = (ax * ey - ay * ex) / across
            where = (ax * dy - ay * dx) / across
            if 0 <= where <= 1:
                far = max(far, along * long)
    return far
