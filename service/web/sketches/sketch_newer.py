"""How a sketch would lie on a picture that is coming: what is shown before a revision counts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.actions.frame.desk import Desk
from service.actions.frame.reading import SketchView
from service.actions.sketches import pictures
from service.actions.sketches.pictures import Taken
from service.domain.nouns.site import Alignment, Sketch
from service.domain.sketch.places import milli, to_base
from service.domain.words.speech import tr
from service.web.drawings.drawing import SketchDrawing
from service.web.drawings.shown import Shown
from service.web.forms.choosing import Point
from service.web.shared.plan_pictures import PlanPicture, draw_plan
from service.web.shared.reasons import kind_of

NEW_PLAN = "newer"


@dataclass(frozen=True, slots=True)
class Sure:
    """How the zones would lie on the new picture. outside: zones that would reach past its edge."""

    drawing: SketchDrawing
    plan: PlanPicture
    question: str
    moved: str
    outside: str
    warning: str


def newer_sketch(desk: Desk, sketch: Sketch, taken: Taken) -> Sketch:
    """The sketch with the picture that is coming, not aligned yet and so without scale and grid."""
    width, height, levels = pictures.sizes_of(desk, taken)
    return replace(
        sketch,
        sha256=taken.sha256,
        page=taken.page,
        width_px=width,
        height_px=height,
        levels=levels,
        scale=None,
        alignment=None,
        grid=(),
    )


def coming(drawing: SketchDrawing, sketch: Sketch, taken: Taken) -> SketchDrawing:
    """The drawing with the tiles of the picture that is coming."""
    return replace(drawing, tiles=f"/sketches/{sketch.id}/tiles/?coming={taken.name}")


def what_follows(
    desk: Desk, view: SketchView, taken: Taken, old: tuple[Point, ...], new: tuple[Point, ...]
) -> Sure:
    """How the zones would lie, from two points in pixels of today\'s picture and of the new one."""
    sketch = view.seen.sketch
    base = [to_base(sketch, point) for point in old]
    alignment = Alignment(base[0], base[1], milli(new[0]), milli(new[1]))
    newer = replace(
        newer_sketch(desk, sketch, taken), alignment=alignment, scale=sketch.scale, grid=sketch.grid
    )
    shown = Shown(newer)
    zones = [(s.zone.letter, kind_of(s.state), shown.ring(s.zone.outline)) for s in view.standings]
    edge = newer.width_px * 1000, newer.height_px * 1000
    outside = [
        letter
        for letter, _, ring in zones
        if not all(0 <= x <= edge[0] and 0 <= y <= edge[1] for x, y in ring)
    ]
    label = tr("The zones of {name} over the new picture", name=sketch.name)
    rings = [(s.zone.letter, s.zone.outline, kind_of(s.state)) for s in view.standings]
    drawing = shown.viewer(NEW_PLAN, label, zones=rings, walls=view.site.walls.values())
    letters = [letter for letter, _, _ in zones]
    return Sure(
        drawing=coming(drawing, sketch, taken),
        plan=draw_plan(
            f"/sketches/{sketch.id}/preview.webp?coming={taken.name}",
            newer.width_px,
            newer.height_px,
            label,
            zones,
            shown.walls(view.site.walls.values()),
            [(g.label, g.start, g.end) for g in shown.grid()],
        ),
        question=_question(letters),
        moved=_moved(Shown(sketch), shown),
        outside=tr("Reaching past the edge of the new picture: {letters}.", letters=_and(outside))
        if outside
        else "",
        warning=tr("A zone that is released needs a new release after this, because its facts were moved.")
        if any(s.release is not None for s in view.standings)
        else "",
    )


def _moved(before: Shown, after: Shown) -> str:
    """How the new picture lies against today's one, in words: two wrong points show up here at once."""
    was, now = before.move, after.move
    assert now is not None, "the new picture is aligned"
    grown = now.scale / (was.scale if was else 1.0)
    turned = (now.turn_udeg - (was.turn_udeg if was else 0)) / 1_000_000
    turned = (turned + 180) % 360 - 180
    if abs(turned) < 0.05:
        turn = tr("not turned")
    elif turned > 0:
        turn = tr("turned {angle}° clockwise", angle=f"{turned:.1f}")
    else:
        turn = tr("turned {angle}° anticlockwise", angle=f"{-turned:.1f}")
    if abs(grown - 1) < 0.0005:
        return tr("Against today's picture the new one is drawn as large as before, and {turn}.", turn=turn)
    return tr(
        "Against today's picture the new one is drawn {times} times as large as before, and {turn}.",
        times=f"{grown:.3f}",
        turn=turn,
    )


def _question(letters: list[str]) -> str:
    if not letters:
        return tr("Do the grid lines and walls lie where they should?")
    if len(letters) == 1:
        return tr("Does zone {letter} lie where it should?", letter=letters[0])
    return tr("Do zones {letters} lie where they should?", letters=_and(letters))


def _and(letters: list[str]) -> str:
    if len(letters) == 1:
        return letters[0]
    return tr("{list} and {last}", list=", ".join(letters[:-1]), last=letters[-1])
