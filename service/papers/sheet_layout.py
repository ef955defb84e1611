"""A layout of sheets on paper: drawn true to scale with numbers and cut lengths, each sheet in a table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from html import escape

from service.domain.nouns.installed import SIDE_LAP
from service.domain.nouns.placing import PlannedSheet
from service.domain.nouns.site import Px, Sketch
from service.domain.sheets.nouns import STARTS_LEFT
from service.domain.sketch.places import turn_of
from service.domain.words.measures import Units, turn
from service.domain.words.speech import tr
from service.papers.drawing.frame import PaperFrame, Point, as_shown, ground_nm_per_milli, line, number
from service.papers.drawing.scale_drawing import FOOT, ScaleDrawing
from service.papers.drawing.scales import bar_for, scale_that_fits
from service.papers.drawing.strokes import FACE, INK, MARGIN, bar_drawn, grid_line, stroke, text
from service.papers.setting.letters import spelled
from service.papers.setting.typeset import compile_pdf

WIDE, TALL = 174.0, 178.0  # millimetres of paper for the drawing
TYPE, LEAST = 3.2, 2.4  # a sheet's words, and the narrowest sheet that holds them
LETTER = 0.58  # of the type size: how broad a letter is, about
ARROW, HEAD, ASIDE = 22.0, 2.6, 4.0


@dataclass(frozen=True, slots=True)
class SheetsToDraw:
    """What is drawn, in the base frame of a sketch with a scale. `outlines` by the zone's letter;
    `cut_words`: each sheet's cut length, by its number."""

    sketch: Sketch
    units: Units
    outlines: Sequence[tuple[str, tuple[Px, ...]]]
    sheets: Sequence[PlannedSheet]
    cut_words: dict[int, str]
    laps: Sequence[tuple[str, tuple[Px, Px]]]
    openings: Sequence[tuple[Px, ...]]
    direction_udeg: int
    starts: str


@dataclass(frozen=True, slots=True)
class LayoutSheet:
    """The paper's words. `facts`: name and words; `heads` and `rows` of the table of sheets."""

    title: str
    facts: tuple[tuple[str, str], ...]
    order: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    cautions: tuple[str, ...]
    heed: str


def layout_pdf(told: LayoutSheet, what: SheetsToDraw, project: str, at: datetime, lang: str = "en") -> bytes:
    """The layout as PDF: the same bytes for the same layout."""
    drawing = draw_sheets(what)
    data = asdict(told) | {
        "paper": "us-letter" if what.units == "us" else "a4",
        "running": f"{project}, {told.title}",
        "drawing": {
            "alt": drawing.label,
            "width_mm": drawing.width_mm,
            "height_mm": drawing.height_mm,
            "words": " ".join(filter(None, (drawing.key_words, drawing.bar.words))),
        },
    }
    return compile_pdf("sheet_layout", data, {"sheets.svg": drawing.svg}, told.title, at, lang)


def draw_sheets(what: SheetsToDraw, width_mm: float = WIDE, height_mm: float = TALL) -> ScaleDrawing:
    """The sheets as large as a usual scale lets them be on such a piece of paper, as today's picture lies."""
    sketch = what.sketch
    corners = [at for _, ring in what.outlines for at in ring] + [at for s in what.sheets for at in s.corners]
    seen = as_shown(sketch, corners)
    xs, ys = [x for x, _ in seen], [y for _, y in seen]
    per = ground_nm_per_milli(sketch)
    wide, tall = (max(xs) - min(xs)) * per, (max(ys) - min(ys)) * per
    scale = scale_that_fits(wide, tall, width_mm - 2 * MARGIN, height_mm - 2 * MARGIN - FOOT, what.units)
    frame = PaperFrame(sketch, scale, min(xs), min(ys), MARGIN)
    bar = bar_for(scale, what.units, min(60.0, width_mm / 3))
    width = max(scale.paper_mm(wide) + 2 * MARGIN, bar.paper_mm + 2 * MARGIN, 60.0)
    drawn = scale.paper_mm(tall) + 2 * MARGIN
    named, missing = _names(frame, what)
    body = [grid_line(one, frame, width, drawn) for one in sketch.grid]
    body += [_strokes(frame, what), named, _arrow(frame, what)]
    letters = ", ".join(letter for letter, _ in what.outlines)
    label = tr("{n} sheets over zone {letters}, drawn true to scale, {scale}.", n=len(what.sheets),
               letters=letters, scale=scale.words)  # fmt: skip
    w, h = number(width), number(drawn + FOOT)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}mm" height="{h}mm" '
        f'role="img" aria-label="{escape(spelled(label))}" font-family="{FACE}">{"".join(body)}'
        f"{bar_drawn(bar, scale, drawn)}</svg>"
    ).encode()
    return ScaleDrawing(svg, width, drawn + FOOT, scale, bar, label, _key(what), missing)


def _strokes(frame: PaperFrame, what: SheetsToDraw) -> str:
    """Openings, sheets, laps and outlines, each kind one path."""
    sheets = "".join(line(frame.points(sheet.corners)) for sheet in what.sheets)
    side, end = (
        "".join(
            line(frame.points(path), closed=False)
            for kind, path in what.laps
            if (kind == SIDE_LAP) is is_side
        )
        for is_side in (True, False)
    )
    openings = "".join(line(frame.points(ring)) for ring in what.openings)
    outlines = "".join(line(frame.points(ring)) for _, ring in what.outlines)
    drawn = (
        stroke(openings, 0.3, dashes="1 1", data="opening") if openings else "",
        stroke(sheets, 0.15, data="sheets"),
        stroke(side, 0.5, data="side-lap") if side else "",
        stroke(end, 0.5, dashes="1.8 1", data="end-lap") if end else "",
        stroke(outlines, 0.7, data="outline"),
    )
    return "".join(drawn)


def _names(frame: PaperFrame, what: SheetsToDraw) -> tuple[str, int]:
    """Number and cut length along each sheet, else the number alone; how many have room for neither."""
    found, missing = [], 0
    for sheet in what.sheets:
        points = frame.points(sheet.corners)
        long, broad = math.dist(points[0], points[1]), math.dist(points[1], points[2])
        size = min(TYPE, broad * 0.7)
        words = [f"{sheet.number}: {what.cut_words[sheet.number]}", str(sheet.number)]
        fits = [one for one in words if broad >= LEAST and len(one) * size * LETTER <= long]
        if not fits:
            missing += 1
            continue
        x, y = (sum(point[axis] for point in points) / 4 for axis in (0, 1))
        angle = math.degrees(math.atan2(points[1][1] - points[0][1], points[1][0] - points[0][0]))
        angle = angle - 180 if angle > 90 else angle + 180 if angle <= -90 else angle
        drawn = text(fits[0], 0, size * 0.35, size, "middle")
        halo = drawn.replace("<text ", '<text paint-order="stroke" stroke="#fff" stroke-width=".7" ', 1)
        found.append(f'<g transform="translate({number(x)} {number(y)}) rotate({number(angle)})">{halo}</g>')
    return "".join(found), missing


def _arrow(frame: PaperFrame, what: SheetsToDraw) -> str:
    """Beside the sheets, on the side where placing begins, pointing the way the concrete goes."""
    c, s = turn((what.direction_udeg + turn_of(what.sketch)) % 360_000_000)
    side = 1.0 if what.starts == STARTS_LEFT else -1.0
    ax, ay = -s * side, c * side
    points = [at for sheet in what.sheets for at in frame.points(sheet.corners)]
    along = [x * c + y * s for x, y in points]
    off = min(x * ax + y * ay for x, y in points) - ASIDE
    middle, half = (min(along) + max(along)) / 2, min(ARROW, max(along) - min(along)) / 2

    def at(far: float, beside: float = 0.0) -> Point:
        u, v = middle + far, off + beside
        return u * c + v * ax, u * s + v * ay

    head = line([at(half - HEAD, -HEAD / 2), at(half), at(half - HEAD, HEAD / 2)], closed=False)
    return stroke(line([at(-half), at(half)], closed=False) + head, 0.5, INK, data="way")


def _key(what: SheetsToDraw) -> tuple[str, ...]:
    kinds = {kind == SIDE_LAP for kind, _ in what.laps}
    told = (
        (True, tr("a sheet by its number in laying order and its cut length")),
        (True in kinds, tr("a side lap heavy")),
        (False in kinds, tr("an end lap dashed")),
        (bool(what.openings), tr("an opening dotted")),
        (True, tr("the arrow: the way the concrete is placed")),
    )
    return tuple(words for there, words in told if there)
