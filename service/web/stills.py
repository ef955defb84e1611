"""The still picture that is pressed where no script runs: its address, and what is drawn over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from service.actions.pictures import Window
from service.domain.site import Sketch

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Ground:
    """The picture that places are chosen on. Every point is in pixels of the full-size picture.

    src: address of its still windows, up to where `&level=` follows. px_per_m: 0 when no scale is set.
    home: what the first look shows whole; nothing: the whole picture. rings and lines are drawn over it,
    words set beside points.
    """

    src: str
    width_px: int
    height_px: int
    levels: int
    px_per_m: float = 0.0
    home: tuple[Point, ...] = ()
    rings: tuple[tuple[Point, ...], ...] = ()
    lines: tuple[tuple[Point, Point], ...] = ()
    words: tuple[tuple[str, Point], ...] = ()

    @property
    def sizes(self) -> tuple[int, int, int]:
        return self.width_px, self.height_px, self.levels


@dataclass(frozen=True, slots=True)
class Still:
    """For `choosing.still`: the picture to press, the sentence over it, and the buttons that make sense now.

    name: prefix of every field sent. look: where the picture stands, sent back hidden. ways: pairs (value,
    words) of the buttons that move the picture, moves: of those that move the place.
    """

    name: str
    src: str
    width: int
    height: int
    overlay: Markup
    told: str
    look: str
    ways: tuple[tuple[str, str], ...]
    moves: tuple[tuple[str, str], ...]


def milli(point: Point) -> tuple[int, int]:
    """A point in pixels as whole thousandths."""
    return round(point[0] * 1000), round(point[1] * 1000)


def overlay(view: Window, ground: Ground, places: Sequence[Point | None], *, closed: bool) -> Markup:
    """SVG over the still picture: what stands on the ground, the line through the places, and each place."""

    def at(point: Point) -> tuple[int, int]:
        return view.shows_at(milli(point))

    parts = [_path([at(p) for p in ring], "thin", close=True) for ring in ground.rings]
    parts += [_path([at(a), at(b)], "wall") for a, b in ground.lines]
    parts += [_words(words, at(point)) for words, point in ground.words]
    settled = [(n, at(p)) for n, p in enumerate(places, 1) if p is not None]
    if len(settled) > 1:
        parts.append(_path([spot for _, spot in settled], "run", close=closed and len(settled) > 2))
    if closed:
        parts += [_corner(spot) for _, spot in settled]
    else:
        parts += [_cross(spot, str(n) if len(places) > 1 else "") for n, spot in settled]
    x, y = view.width // 2, view.height // 2
    parts.append(f'<path class="middle" d="M{x - 9} {y}H{x + 9}M{x} {y - 9}V{y + 9}"/>')
    return Markup("".join(parts))  # noqa: S704  # whole numbers, and words escaped in _words


def _path(spots: Sequence[tuple[int, int]], kind: str, *, close: bool = False) -> str:
    drawn = "L".join(f"{x} {y}" for x, y in spots)
    return f'<path class="{kind}" fill="none" d="M{drawn}{"Z" if close else ""}"/>'


def _words(words: str, spot: tuple[int, int]) -> str:
    safe = Markup.escape(words)
    return f'<text class="halo" x="{spot[0]}" y="{spot[1]}" font-size="16" text-anchor="middle">{safe}</text>'


def _corner(spot: tuple[int, int]) -> str:
    return f'<path class="corner-of" d="M{spot[0] - 5} {spot[1] - 5}h10v10h-10z"/>'


def _cross(spot: tuple[int, int], number: str) -> str:
    x, y = spot
    d = f"M{x - 22} {y}H{x - 4}M{x + 4} {y}H{x + 22}M{x} {y - 22}V{y - 4}M{x} {y + 4}V{y + 22}"
    named = f'<text class="halo" x="{x + 10}" y="{y - 10}" font-size="16">{number}</text>' if number else ""
    return f'<path class="under" d="{d}"/><path class="over" d="{d}"/>{named}'


def window_src(sketch: Sketch, coming: str = "") -> str:
    """Address of a sketch's still windows for `Ground.src`; coming: name of a picture not yet its own."""
    which = f"coming={coming}" if coming else f"v={sketch.revision}"
    return f"/sketches/{sketch.id}/window.webp?{which}"
