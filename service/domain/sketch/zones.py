"""Zone outlines on the sketch: which rings can stand as zones, and how big they are."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from service.domain.words.speech import tr, trn

Px = tuple[int, int]
MOST_CORNERS = 2_000
# A zone of less than this many square pixels is a slip of the finger, not ground.
LEAST_AREA_PX2 = 1.0


class BadZone(ValueError):
    """A zone outline that cannot stand: `code` for programs, the sentence (str) for people."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


def check_zone_outline(points_px: Sequence[Px], width_px: int, height_px: int) -> None:
    """Nothing when the ring (thousandths of a pixel) can be a zone of such a sketch; else BadZone."""
    if len(points_px) > MOST_CORNERS:
        told = trn("A zone has at most {n} corner.", "A zone has at most {n} corners.", MOST_CORNERS)
        raise BadZone("too-many-corners", told)
    if len(set(points_px)) < 3:
        raise BadZone("too-few-corners", tr("A zone needs at least three different corners."))
    if not all(0 <= x <= width_px * 1000 and 0 <= y <= height_px * 1000 for x, y in points_px):
        raise BadZone("outside-sketch", tr("The zone reaches outside the sketch."))
    ring = shapely.Polygon(points_px)
    least = LEAST_AREA_PX2 * 1e6
    if ring.convex_hull.area >= least and not ring.is_valid:
        raise BadZone("crosses-itself", tr("The zone's outline crosses or touches itself."))
    if ring.area < least:
        raise BadZone("no-area", tr("The zone has no area: its corners lie on one line or on one spot."))


def area_m2(ring_px: Sequence[Px], nm_per_px: float) -> float:
    """Square metres inside a ring of thousandths of a pixel; the sum is exact until it meets the scale."""
    twice = sum(
        x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring_px, (*ring_px[1:], ring_px[0]), strict=True)
    )
    return abs(twice) / 2 * (nm_per_px * 1e-12) ** 2


def perimeter_nm(ring_px: Sequence[Px], nm_per_px: float) -> int:
    """Nanometres round a ring of thousandths of a pixel."""
    total = sum(math.dist(a, b) for a, b in zip(ring_px, (*ring_px[1:], ring_px[0]), strict=True))
    return round(total * nm_per_px / 1000)
