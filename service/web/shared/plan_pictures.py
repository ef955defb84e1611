"""The whole sketch as one still drawing, for where no script runs: the small picture with lines over it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.actions.frame.reading import SketchView
from service.domain.nouns.site import Px
from service.domain.words.speech import tr
from service.web.drawings.drawing import GridDrawing
from service.web.drawings.paths import line
from service.web.drawings.shown import Shown
from service.web.shared.reasons import kind_of


@dataclass(frozen=True, slots=True)
class ZoneOnPlan:
    """A zone's outline as a path, and its letter in the middle."""

    letter: str
    kind: str
    path: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class PlanPicture:
    """In units of which the longer side of the picture has 1,000."""

    src: str
    width: int
    height: int
    label: str
    zones: tuple[ZoneOnPlan, ...]
    walls: tuple[str, ...]
    grid: tuple[GridDrawing, ...]


def plan_picture(view: SketchView) -> PlanPicture:
    """The sketch as it is today with its zones, walls and grid lines."""
    sketch, shown = view.seen.sketch, Shown(view.seen.sketch)
    zones = [(s.zone.letter, kind_of(s.state), shown.ring(s.zone.outline)) for s in view.standings]
    return draw_plan(
        f"/sketches/{sketch.id}/preview.webp?v={sketch.revision}",
        sketch.width_px,
        sketch.height_px,
        tr("{sketch}, with its zones", sketch=sketch.name),
        zones,
        shown.walls(view.site.walls.values()),
        [(g.label, g.start, g.end) for g in shown.grid()],
    )


def draw_plan(
    src: str,
    width_px: int,
    height_px: int,
    label: str,
    zones: Iterable[tuple[str, str, Sequence[Px]]],
    walls: Iterable[tuple[Px, Px]] = (),
    grid: Iterable[tuple[str, Px, Px]] = (),
) -> PlanPicture:
    """Draw zones (letter, kind, ring), walls and grid lines (label, ends) over a small picture.

    Points are thousandths of a pixel of the full-size picture.
    """
    k = 1 / max(width_px, height_px)  # thousandths of a pixel to units

    def at(point: Px) -> tuple[float, float]:
        return point[0] * k, point[1] * k

    return PlanPicture(
        src=src,
        width=round(width_px * k * 1000),
        height=round(height_px * k * 1000),
        label=label,
        zones=tuple(_zone(letter, kind, [at(p) for p in ring]) for letter, kind, ring in zones),
        walls=tuple(line([at(a), at(b)], closed=False) for a, b in walls),
        grid=tuple(
            GridDrawing(text, line([at(a), at(b)], closed=False), round(at(a)[0], 1), round(at(a)[1], 1))
            for text, a, b in grid
        ),
    )


def _zone(letter: str, kind: str, ring: Sequence[tuple[float, float]]) -> ZoneOnPlan:
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    middle = round((min(xs) + max(xs)) / 2, 1), round((min(ys) + max(ys)) / 2, 1)
    return ZoneOnPlan(letter, kind, line(ring), *middle)
