"""What is kept in a sketch's base frame, as today's picture shows it: places, outlines, scale, rows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from service.domain.gate.zone_facts import nm_per_px
from service.domain.nouns.site import Px, Sketch, Wall
from service.domain.shapes.outlines import Outline, Point
from service.domain.sketch.alignment import Similarity
from service.domain.sketch.places import shown, turn_of, turned, turned_point
from service.domain.sketch.where import where_words
from service.domain.words.measures import NM_PER_M
from service.web.drawings.drawing import NOTHING, GridToDraw, InstalledToDraw, MarkToDraw, SketchDrawing
from service.web.drawings.sketch_drawing import sketch_rows

__all__ = ["Shown", "where_words"]


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
