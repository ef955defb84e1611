"""Where a place of a sketch is, as the site says it: by the grid that was laid on it."""

from __future__ import annotations

from functools import lru_cache

from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.site import GridLine, Px, Sketch
from service.domain.sketch.grid import Grid, place_words
from service.domain.sketch.grid import GridLine as Line
from service.domain.words.measures import Units


def where_words(sketch: Sketch, at: Px, units: Units) -> str:
    """`C/4, 3 ft east`: a place of the base frame as the site says it; empty where no grid tells it."""
    if sketch.scale is None or len(sketch.grid) < 2:
        return ""
    return place_words(at, _families(sketch.grid), nm_per_px(sketch.scale), units) or ""


@lru_cache(maxsize=64)
def _families(lines: tuple[GridLine, ...]) -> Grid:
    """The lines in their two families: those that run more along the first line, and those across it.

    The family named by letters is told first, whichever was laid first: a site says C/4, never 4/C.
    """
    (x, y) = lines[0].b[0] - lines[0].a[0], lines[0].b[1] - lines[0].a[1]
    first: list[Line] = []
    second: list[Line] = []
    for line in lines:
        dx, dy = line.b[0] - line.a[0], line.b[1] - line.a[1]
        along, across = abs(dx * x + dy * y), abs(dx * y - dy * x)
        (first if along >= across else second).append(Line(line.label, line.a, line.b))
    if second and second[0].label[:1].isalpha() and not first[0].label[:1].isalpha():
        first, second = second, first
    return Grid(tuple(first), tuple(second))
