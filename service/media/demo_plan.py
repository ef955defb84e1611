"""Draws the invented slab plan of the demo: 200 by 120 ft at 20 px to the foot, with grid and walls."""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

PX_PER_FT = 20
MARGIN_FT = 20
LONG_FT, WIDE_FT = 200, 120
LETTERS, NUMBERS = "ABCDE", "123456"  # grid lines along the slab every 30 ft, across it every 40 ft
INK, FAINT, HATCH = (18, 22, 27), (150, 150, 145), (205, 203, 196)


def at(x_ft: float, y_ft: float) -> tuple[float, float]:
    """Pixels of a place given in feet from the slab's north-west corner."""
    return (MARGIN_FT + x_ft) * PX_PER_FT, (MARGIN_FT + y_ft) * PX_PER_FT


def grid_lines() -> list[tuple[str, tuple[float, float], tuple[float, float]]]:
    """Label and two ends, in pixels, of every grid line."""
    across = [(n, at(i * 40, -12), at(i * 40, WIDE_FT + 12)) for i, n in enumerate(NUMBERS)]
    along = [(letter, at(-12, i * 30), at(LONG_FT + 12, i * 30)) for i, letter in enumerate(LETTERS)]
    return across + along


def draw_plan(path: Path) -> None:
    """Write the plan as a PNG of 4,800 by 3,200 pixels."""
    size = ((LONG_FT + 2 * MARGIN_FT) * PX_PER_FT, (WIDE_FT + 2 * MARGIN_FT) * PX_PER_FT)
    picture = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(picture)
    _grid(pen)
    _slab(pen)
    _pipes(pen)
    _words(pen)
    picture.save(path)


def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)


def _grid(pen: ImageDraw.ImageDraw) -> None:
    for label, a, b in grid_lines():
        steps = 60
        for i in range(0, steps, 2):
            start = [p + (q - p) * i / steps for p, q in zip(a, b, strict=True)]
            end = [p + (q - p) * (i + 1) / steps for p, q in zip(a, b, strict=True)]
            pen.line([*start, *end], fill=FAINT, width=3)
        x, y = a
        pen.ellipse([x - 44, y - 44, x + 44, y + 44], outline=INK, width=4, fill="white")
        pen.text((x, y), label, font=_font(52), fill=INK, anchor="mm")


def _slab(pen: ImageDraw.ImageDraw) -> None:
    pen.rectangle([*at(0, 0), *at(LONG_FT, WIDE_FT)], outline=INK, width=10)
    pen.rectangle([*at(-1.5, -1.5), *at(LONG_FT + 1.5, WIDE_FT + 1.5)], outline=INK, width=3)
    for x in range(0, LONG_FT + 1, 40):
        for y in range(0, WIDE_FT + 1, 30):
            pen.rectangle([*at(x - 2, y - 2), *at(x + 2, y + 2)], outline=FAINT, width=3)
            pen.rectangle([*at(x - 0.5, y - 0.5), *at(x + 0.5, y + 0.5)], fill=INK)
    for x in range(40, LONG_FT, 40):  # construction joints
        pen.line([*at(x, 0), *at(x, WIDE_FT)], fill=HATCH, width=5)
    pen.line([*at(0, 60), *at(LONG_FT, 60)], fill=HATCH, width=5)


def _pipes(pen: ImageDraw.ImageDraw) -> None:
    waste = ((22, 14), (27, 14), (32, 14), (112, 96), (118, 96), (168, 36), (52, 80))
    small = [(14, 92), *((160 + 0.6 * i, 33) for i in range(3)), *((118 + i, 6) for i in range(6))]
    for places, far, width in ((waste, 9, 4), (small, 4, 2)):
        for x, y in places:
            cx, cy = at(x, y)
            pen.ellipse([cx - far, cy - far, cx + far, cy + far], outline=INK, width=width)


def _words(pen: ImageDraw.ImageDraw) -> None:
    pen.text(
        at(0, WIDE_FT + 15), "SLAB ON GROUND PLAN, 6 IN SLAB ON FILM", font=_font(72), fill=INK, anchor="lm"
    )
    for x in range(0, LONG_FT, 40):
        pen.text(at(x + 20, -6), "40'-0\"", font=_font(40), fill=INK, anchor="mm")
    for y in range(0, WIDE_FT, 30):
        pen.text(at(-6, y + 15), "30'-0\"", font=_font(40), fill=INK, anchor="mm")
