"""How the ground becomes paper: millimetres from a drawing's corner, and true shapes as SVG path strings."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.site import Px, Sketch
from service.domain.shapes.outlines import Circle, Outline, corners
from service.domain.sketch.places import shown, turn_of, turned, turned_point
from service.domain.words.measures import NM_PER_MM
from service.papers.drawing.scales import PaperScale

Point = tuple[float, float]
MOST_MITRE = 2.5  # how far a corner of an offset line may reach, in offsets


def as_shown(sketch: Sketch, points: Sequence[Px]) -> list[Px]:
    """Places of the base frame as the sketch's present picture shows them."""
    if sketch.alignment is None:
        return list(points)
    move = shown(sketch)
    return [move.apply(point) for point in points]


def ground_nm_per_milli(sketch: Sketch) -> float:
    """Nanometres of ground under a thousandth of a pixel of the present picture, which has a scale."""
    assert sketch.scale is not None, "a drawing to scale needs a scale"
    smaller = shown(sketch).scale if sketch.alignment else 1.0
    return nm_per_px(sketch.scale) / smaller / 1000


@dataclass(frozen=True, slots=True)
class PaperFrame:
    """`left`, `top`: where its corner lies on the picture; `margin`: millimetres of paper before that."""

    sketch: Sketch
    scale: PaperScale
    left: float
    top: float
    margin: float

    def point(self, at: Px) -> Point:
        """Millimetres of a place of the base frame."""
        [(x, y)] = as_shown(self.sketch, [at])
        k = self.mm_per_nm * ground_nm_per_milli(self.sketch)
        return (x - self.left) * k + self.margin, (y - self.top) * k + self.margin

    def points(self, path: Sequence[Px]) -> list[Point]:
        return [self.point(at) for at in path]

    @property
    def mm_per_nm(self) -> float:
        """Millimetres of paper that a nanometre of ground takes."""
        return 1 / (NM_PER_MM * float(self.scale.ratio))

    def shape(self, outline: Outline, at: Px, offset: tuple[int, int] = (0, 0)) -> str:
        """The path of a true-size outline round a place, moved by an offset in the sketch's axes (nm)."""
        udeg, k, (x, y) = turn_of(self.sketch), self.mm_per_nm, self.point(at)
        dx, dy = turned_point(offset, udeg) if udeg else offset
        now = turned(outline, udeg)
        if isinstance(now, Circle):
            return circle((x + dx * k, y + dy * k), now.diameter_nm / 2 * k)
        return line([(x + (a + dx) * k, y + (b + dy) * k) for a, b in corners(now)])

    def edge(self, outline: Outline) -> Callable[[float, float], float]:
        """How far the outline reaches from its middle along a direction of the paper, in millimetres."""
        now, k = turned(outline, turn_of(self.sketch)), self.mm_per_nm
        return lambda dx, dy: exit_nm(now, dx, dy) * k


def number(value: float) -> str:
    """Thousandths of a millimetre, no trailing zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def line(points: Sequence[Point], closed: bool = True) -> str:
    """Path through the points."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")


def circle(centre: Point, radius: float) -> str:
    """Path of a circle: two half arcs."""
    x, y, r = number(centre[0] - radius), number(centre[1]), number(radius)
    across = number(2 * radius)
    return f"M{x} {y}a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0 -{across} 0Z"


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


def left_of(points: Sequence[Point], far: float) -> list[Point]:
    """The points moved left of the way they run (y down), corners mitred; a closed path stays closed."""
    run = [point for i, point in enumerate(points) if not i or point != points[i - 1]]
    sides = [_normal(a, b) for a, b in pairwise(run)]
    if not sides:
        return run
    closed = run[0] == run[-1]
    before = [sides[-1] if closed else sides[0], *sides]
    after = [*sides, sides[0] if closed else sides[-1]]
    return [_mitred(at, u, v, far) for at, u, v in zip(run, before, after, strict=True)]


def _normal(a: Point, b: Point) -> Point:
    """One unit to the left of the way from a to b, with y down."""
    far = math.dist(a, b)
    return (b[1] - a[1]) / far, (a[0] - b[0]) / far


def _mitred(at: Point, u: Point, v: Point, far: float) -> Point:
    x, y = u[0] + v[0], u[1] + v[1]
    along = max((x * x + y * y) / 2, 2 / MOST_MITRE**2)
    return at[0] + x / along * far, at[1] + y / along * far
