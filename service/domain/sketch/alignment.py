"""Scale and alignment of a sketch: nanometres per pixel, and the move from one revision to another."""

from __future__ import annotations

import math
from dataclasses import dataclass

Px = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Similarity:
    """Turn, scale and shift: (x, y) goes to (a x - b y + c, b x + a y + d); pixels in, pixels out."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 0.0

    @property
    def scale(self) -> float:
        """How many pixels out one pixel in becomes."""
        return math.hypot(self.a, self.b)

    @property
    def turn_udeg(self) -> int:
        """Clockwise turn on the sketch in micro-degrees."""
        return round(math.degrees(math.atan2(self.b, self.a)) * 1_000_000)

    def apply(self, point: Px) -> Px:
        """The moved point, in whole thousandths of a pixel."""
        x, y = point
        return (
            round(self.a * x - self.b * y + self.c * 1000),
            round(self.b * x + self.a * y + self.d * 1000),
        )

    def inverse(self) -> Similarity:
        """The move back."""
        square = self.a**2 + self.b**2
        a, b = self.a / square, -self.b / square
        return Similarity(a, b, -(a * self.c - b * self.d), -(b * self.c + a * self.d))


def similarity(from_pair: tuple[Px, Px], to_pair: tuple[Px, Px]) -> Similarity:
    """The similarity that takes one pair of points to another; ValueError when a pair is one spot."""
    (x0, y0), (x1, y1) = from_pair
    (p0, q0), (p1, q1) = to_pair
    dx, dy, dp, dq = x1 - x0, y1 - y0, p1 - p0, q1 - q0
    square = dx * dx + dy * dy
    if not square or not (dp or dq):
        raise ValueError("the two points must lie apart")
    a, b = (dx * dp + dy * dq) / square, (dx * dq - dy * dp) / square
    return Similarity(a, b, (p0 - a * x0 + b * y0) / 1000, (q0 - b * x0 - a * y0) / 1000)


def scale_nm_per_px(from_px: Px, to_px: Px, distance_nm: int) -> float:
    """Nanometres per pixel from two points (thousandths of a pixel) and the distance between them."""
    apart = math.dist(from_px, to_px)
    if apart == 0:
        raise ValueError("the two points must lie apart")
    return distance_nm * 1000 / apart
