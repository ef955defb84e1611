"""Which lines of a sketch come near a shape laid on it: walls and edges beside damage, or under a patch."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import shapely

from service.domain.shapes.film import damage_radius, damage_region
from service.domain.shapes.outlines import Outline
from service.domain.words.measures import TOLERANCE_NM

Px = tuple[int, int]
MILLI = 1000  # positions are thousandths of a pixel


def lines_within(
    outline: Outline, at: Px, lines: Sequence[Sequence[Px]], nm_per_px: float, far_nm: int
) -> tuple[int, ...]:
    """Indexes of the lines that come within `far_nm` of the outline laid at its place; 0: that touch it.

    A circle by its true radius; exactly `far_nm`, and any doubt within the tolerance, counts as near.
    """
    scale = MILLI / nm_per_px
    region = shapely.transform(damage_region(outline), lambda points: points * scale + at)
    far = (damage_radius(outline) + far_nm + TOLERANCE_NM) * scale
    met = _tree(tuple(tuple(line) for line in lines)).query(region, predicate="dwithin", distance=far)
    return tuple(sorted(met.tolist()))


@lru_cache(maxsize=64)
def _tree(lines: tuple[tuple[Px, ...], ...]) -> shapely.STRtree:
    """The lines of a sketch, to be asked about one shape after another."""
    return shapely.STRtree([shapely.LineString(line) for line in lines])
