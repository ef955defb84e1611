"""What is kept in a sketch's base frame, as today's picture shows it: places, outlines, scale, rows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from service.domain.alignment import Similarity
from service.domain.grid import Grid, place_words
from service.domain.grid import GridLine as Line
from service.domain.measures import NM_PER_M, Units
from service.domain.outlines import Outline, Point
from service.domain.places import shown, turn_of, turned, turned_point
from service.domain.site import GridLine, Px, Sketch, Wall
from service.domain.zone_facts import nm_per_px
from service.web.drawing import NOTHING, GridToDraw, InstalledToDraw, MarkToDraw, SketchDrawing
from service.web.sketch_drawing import sketch_rows


@dataclass(frozen=True)
class Shown:
    """One sketch as its present picture shows it. Points are thousandths of a pixel of that picture."""

    sketch: Sketch

    @cached_property
    def move(self) -> Similarity | None:
        return None if self.sketch.alignment is None else shown(self.sketch)

    @cached_property
    def nm_per_px(self) -> float:
        """Nanometres of ground under a pixel of today's picture; 0 with no scale."""
        if self.sketch.scale is None:
            return 0.0
        return nm_per_px(self.sketch.scale) / (self.move.scale if self.move else 1.0)

    @property
    def px_per_m(self) -> float:
        return NM_PER_M / self.nm_per_px if self.nm_per_px else 0.0

    def point(self, at: Px) -> Px:
        return self.move.apply(at) if self.move else at

    def ring(self, ring: Sequence[Px]) -> tuple[Px, ...]:
        return tuple(map(self.point, ring))

    def outline(self, outline: Outline) -> Outline:
        """The outline turned as the picture is turned."""
        return turned(outline, turn_of(self.sketch))

    def offset(self, offset: Point) -> Point:
        return turned_point(offset, turn_of(self.sketch)) if self.move else offset

    def grid(self) -> tuple[GridToDraw, ...]:
        return tuple(
            GridToDraw(line.label, self.point(line.a), self.point(line.b)) for line in self.sketch.grid
        )

    def walls(self, walls: Iterable[Wall]) -> tuple[tuple[Px, Px], ...]:
        """The walls of this sketch that stand."""
        return tuple(
            (self.point(wall.a), self.point(wall.b))
            for wall in walls
            if wall.sketch_id == self.sketch.id and wall.withdrawn is None
        )

    def viewer(
        self,
        name: str,
        label: str,
        *,
        ring: Sequence[Px] = (),
        zones: Iterable[tuple[str, Sequence[Px], str]] = (),
        walls: Iterable[Wall] = (),
        marks: Iterable[tuple[MarkToDraw, str]] = (),
        marks_href: str = "",
        installed: InstalledToDraw = NOTHING,
    ) -> SketchDrawing:
        """The pan-and-zoom sketch; `ring` is what it opens on. Rings and walls are given in the base frame,
        marks and what is installed as already shown (`marks_shown`, `installed_shown`)."""
        rows = sketch_rows(
            self.nm_per_px,
            zones=[(letter, self.ring(points), kind) for letter, points, kind in zones],
            walls=self.walls(walls),
            grid=self.grid(),
            marks=marks,
            installed=installed,
        )
        return SketchDrawing(
            name=name,
            label=label,
            tiles=f"/sketches/{self.sketch.id}/tiles/?v={self.sketch.revision}",
            width_px=self.sketch.width_px,
            height_px=self.sketch.height_px,
            levels=self.sketch.levels,
            px_per_m=self.px_per_m,
            zone=tuple((x / 1000, y / 1000) for x, y in self.ring(ring)),
            rows=rows,
            marks_href=marks_href,
        )


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
