"""Strokes and words of a drawing on paper: paths, texts, a grid line with its bubble, the bar of a scale."""

from __future__ import annotations

from html import escape

from service.domain.nouns.site import GridLine
from service.domain.words.speech import tr
from service.papers.drawing.frame import PaperFrame, circle, line, number
from service.papers.drawing.scales import Bar, PaperScale
from service.papers.setting.letters import spelled

MARGIN = 9.5  # millimetres round what is drawn, for tags and bubbles
INK, BLUE, SOFT = "#12161b", "#0b4a8f", "#414952"
FACE = "'Atkinson Hyperlegible', 'DejaVu Sans', sans-serif"


def stroke(
    d: str,
    wide: float,
    stroke: str = INK,
    *,
    fill: str = "none",
    opacity: str = "",
    dashes: str = "",
    data: str = "",
) -> str:
    """A path; `data` names what it is."""
    more = f' fill-opacity="{opacity}"' if opacity else ""
    more += f' stroke-dasharray="{dashes}"' if dashes else ""
    more += f' data-is="{data}"' if data else ""
    return f'<path d="{d}" fill="{fill}" stroke="{stroke}" stroke-width="{wide:g}"{more}/>'


def text(words: str, x: float, y: float, size: float, anchor: str = "start", weight: int = 700) -> str:
    """Words at a place, in millimetres; a sign that cannot be drawn is told by its number."""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{size:g}" font-weight="{weight}" fill="{INK}" '
        f'text-anchor="{anchor}">{escape(spelled(words))}</text>'
    )


def grid_line(grid: GridLine, frame: PaperFrame, width: float, height: float) -> str:
    """The line run out to the drawing's edges, its bubble at the top or left end; nothing when it misses."""
    (x0, y0), (x1, y1) = frame.points((grid.a, grid.b))
    edge = 4.6
    if abs(x1 - x0) < abs(y1 - y0):
        slope = (x1 - x0) / (y1 - y0)
        ends = [(x0 + (y - y0) * slope, y) for y in (edge, height - 1)]
        outside = not all(edge <= x <= width - edge for x, _ in ends)
    else:
        slope = (y1 - y0) / (x1 - x0) if x1 != x0 else 0.0
        ends = [(x, y0 + (x - x0) * slope) for x in (edge, width - 1)]
        outside = not all(edge <= y <= height - edge for _, y in ends)
    if outside:
        return ""
    (x, y), drawn = ends[0], stroke(line(ends, closed=False), 0.15, SOFT, dashes="6 1.2 1.2 1.2")
    bubble = stroke(circle((x, y), 3.0), 0.2, fill="#fff")
    return drawn + bubble + text(grid.label, x, y + 0.95, 2.6, "middle", 400)


def bar_drawn(bar: Bar, scale: PaperScale, top: float) -> str:
    """Two halves, one filled, ticked and told below; the scale in words after it."""
    left, y, half = MARGIN, top + 1.5, bar.paper_mm / 2
    outer, inner = (
        line([(left, y), (left + long, y), (left + long, y + 2), (left, y + 2)]) for long in (2 * half, half)
    )
    told = [text(words, left + i * half, y + 5.2, 2.6, "middle", 400) for i, words in enumerate(bar.labels)]
    words = text(tr("Scale {scale}", scale=scale.words), left, y + 9.6, 3.0)
    return stroke(outer, 0.2, fill="#fff", data="bar") + stroke(inner, 0.2, fill=INK) + "".join(told) + words
