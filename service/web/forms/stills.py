"""The still picture that is pressed where no script runs: its address, and what is drawn over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.actions.sketches.pictures import Window
from service.domain.nouns.site import Sketch

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
class Stroke:
    """A line over the still picture: kind is thin, wall, run, under, over, corner-of or middle."""

    kind: str
    path: str


@dataclass(frozen=True, slots=True)
class Word:
    """A word over the still picture, its middle at (x, y)."""

    text: str
    x: int
    y: int


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
    strokes: tuple[Stroke, ...]
    texts: tuple[Word, ...]
    told: str
    look: str
    ways: tuple[tuple[str, str], ...]
    moves: tuple[tuple[str, str], ...]


def milli(point: Point) -> tuple[int, int]:
    """A point in pixels as whole thousandths."""
    return round(point[0] * 1000), round(point[1] * 1000)


def drawn_over(
    view: Window, ground: Ground, places: Sequence[Point | None], *, closed: bool
) -> tuple[tuple[Stroke, ...], tuple[Word, ...]]:
    """What stands on the ground, the line through the places, and each place, in dots of the still picture.

    closed: the places are the corners of a ring, drawn small and without their numbers.
    """

    def at(point: Point) -> tuple[int, int]:
        return view.shows_at(milli(point))

    strokes = [Stroke("thin", _path([at(p) for p in ring], close=True)) for ring in ground.rings]
    strokes += [Stroke("wall", _path([at(a), at(b)])) for a, b in ground.lines]
    texts = [Word(words, *at(point)) for words, point in ground.words]
    settled = [(n, at(p)) for n, p in enumerate(places, 1) if p is not None]
    if len(settled) > 1:
        strokes.append(Stroke("run", _path([spot for _, spot in settled], close=closed and len(settled) > 2)))
    for n, (x, y) in settled:
        if closed:
            strokes.append(Stroke("corner-of", f"M{x - 5} {y - 5}h10v10h-10z"))
            continue
        strokes += [Stroke(kind, _cross(x, y)) for kind in ("under", "over")]
        if len(places) > 1:
            texts.append(Word(str(n), x + 16, y - 10))
    x, y = view.width // 2, view.height // 2
    strokes.append(Stroke("middle", f"M{x - 9} {y}H{x + 9}M{x} {y - 9}V{y + 9}"))
    return tuple(strokes), tuple(texts)


def _path(spots: Sequence[tuple[int, int]], *, close: bool = False) -> str:
    return "M" + "L".join(f"{x} {y}" for x, y in spots) + ("Z" if close else "")


def _cross(x: int, y: int) -> str:
    return f"M{x - 22} {y}H{x - 4}M{x + 4} {y}H{x + 22}M{x} {y - 22}V{y - 4}M{x} {y + 4}V{y + 22}"


def window_src(sketch: Sketch, coming: str = "") -> str:
    """Address of a sketch's still windows for `Ground.src`; coming: name of a picture not yet its own."""
    which = f"coming={coming}" if coming else f"v={sketch.revision}"
    return f"/sketches/{sketch.id}/window.webp?{which}"
