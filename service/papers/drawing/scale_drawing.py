"""A zone drawn true to scale: an SVG in millimetres of paper, its scale in words, a bar that proves it.

Damage is solid, a patch thin and tinted, a wall heavy, and what is not sealed heavier than what is. Colour
only repeats the line. What is too small to see keeps its true outline and is found by its leader and tag.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from service.domain.nouns.installed import Penetration, Seam
from service.domain.nouns.site import Px, Site, Zone
from service.domain.shapes.outlines import Outline
from service.domain.words.speech import tr, trn
from service.papers.drawing.frame import (
    PaperFrame,
    Point,
    as_shown,
    ground_nm_per_milli,
    left_of,
    line,
    number,
)
from service.papers.drawing.scales import Bar, PaperScale, bar_for, scale_that_fits
from service.papers.drawing.strokes import BLUE, FACE, INK, MARGIN, bar_drawn, grid_line, stroke, text
from service.papers.drawing.tags import TYPE, Room, Tag, place_tag
from service.papers.drawing.zone_parts import AT_FAULT, NOT_WALKED, ZoneParts, parts_of
from service.papers.setting.letters import spelled

FOOT = 12.5  # millimetres below the zone for the bar
BESIDE = 1.6  # from the outline to the thin line of a described edge
CROSS = 1.2  # how far the cross through a penetration reaches past its outside
NEAR = 9.0  # penetrations in a row closer than this are told by one tag
TICK = 0.8  # half of the short line across a seam where its lap was read


@dataclass(frozen=True, slots=True)
class ScaleDrawing:
    """`svg`, set `width_mm` by `height_mm`, is drawn at exactly `scale`.

    `label`: what a person who does not see it is told; `key`: how its lines are to be read; `untagged`: how
    many tags found no room.
    """

    svg: bytes
    width_mm: float
    height_mm: float
    scale: PaperScale
    bar: Bar
    label: str
    key: tuple[str, ...]
    untagged: int

    @property
    def key_words(self) -> str:
        """How the lines are to be read, and how many tags are missing, in sentences."""
        key = "; ".join(self.key)
        told = [f"{key[:1].upper()}{key[1:]}."] if key else []
        if self.untagged:
            told.append(tr("Tags without room: {n}; the lists name everything.", n=f"{self.untagged:,}"))
        return " ".join(told)


def draw_to_scale(
    site: Site, zone_id: str, width_mm: float = 174.0, height_mm: float = 150.0
) -> ScaleDrawing | None:
    """The zone as large as a usual scale lets it be on such a piece of paper; None on a sketch with no scale.

    Drawn as the sketch's present picture shows it. KeyError when the site does not hold the zone.
    """
    zone = site.zones[zone_id]
    sketch = site.sketches[zone.sketch_id]
    if sketch.scale is None:
        return None
    assert site.project is not None, "a zone without its project"
    units = site.project.units
    ring = as_shown(sketch, zone.outline)
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    per = ground_nm_per_milli(sketch)
    wide, tall = (max(xs) - min(xs)) * per, (max(ys) - min(ys)) * per
    scale = scale_that_fits(wide, tall, width_mm - 2 * MARGIN, height_mm - 2 * MARGIN - FOOT, units)
    frame = PaperFrame(sketch, scale, min(xs), min(ys), MARGIN)
    bar = bar_for(scale, units, min(60.0, width_mm / 3))
    width = max(scale.paper_mm(wide) + 2 * MARGIN, bar.paper_mm + 2 * MARGIN, 60.0)
    drawn = scale.paper_mm(tall) + 2 * MARGIN
    parts = parts_of(site, zone)
    body, untagged = _body(frame, zone, parts, width, drawn)
    label = _label(zone.letter, scale, parts)
    svg = _svg(width, drawn + FOOT, label, body + bar_drawn(bar, scale, drawn))
    return ScaleDrawing(svg, width, drawn + FOOT, scale, bar, label, _key(parts), untagged)


def _svg(width: float, height: float, label: str, body: str) -> bytes:
    w, h = number(width), number(height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}mm" height="{h}mm" '
        f'role="img" aria-label="{escape(spelled(label))}" font-family="{FACE}">{body}</svg>'
    ).encode()


def _body(frame: PaperFrame, zone: Zone, parts: ZoneParts, width: float, height: float) -> tuple[str, int]:
    """Everything inside the drawing's frame, clipped to it, and how many tags found no room."""
    points = frame.points(zone.outline)
    room = Room(width, height)
    paths = [[*points, points[0]], *(frame.points(seam.path) for seam, _ in parts.seams)]
    paths += [frame.points((grid.a, grid.b)) for grid in frame.sketch.grid]
    for a, b in (piece for path in paths for piece in pairwise(path)):
        room.draw(a, b, room.lines)
    tags, untagged = _tags(frame, parts, room)
    drawn = [grid_line(one, frame, width, height) for one in frame.sketch.grid]
    drawn += [_seam(seam, state, frame) for seam, state in parts.seams]
    drawn += [_edge(path, edge.id in parts.unsealed, frame) for edge, path in parts.edges]
    drawn += [stroke(line(points), 0.6, data="outline")]
    drawn += [stroke(line(frame.points((w.a, w.b)), closed=False), 1.1, data="wall") for w in parts.walls]
    drawn += [_patch(frame.shape(shape, patch.at, offset)) for patch, shape, offset in parts.patches]
    drawn += [stroke(frame.shape(m.outline, m.at), 0.1, fill=INK, data="mark") for m in parts.marks]
    drawn += [_pipe(pipe.outline, pipe.at, pipe.id in parts.unsealed, frame) for pipe in parts.pipes]
    drawn += [_tag(tag) for tag in tags]
    name = f"drawn-{escape(zone.id)}"
    clip = f'<clipPath id="{name}"><path d="M0 0H{number(width)}V{number(height)}H0Z"/></clipPath>'
    return f'<defs>{clip}</defs><g clip-path="url(#{name})">{"".join(drawn)}</g>', untagged


# --- the lines ----------------------------------------------------------------------------------------------


def _patch(d: str) -> str:
    return stroke(d, 0.2, BLUE, fill=BLUE, opacity=".12", data="patch")


def _seam(seam: Seam, state: str, frame: PaperFrame) -> str:
    wide, dashes = {NOT_WALKED: (0.3, "3 1 .6 1"), AT_FAULT: (0.7, "")}.get(state, (0.25, ""))
    drawn = stroke(line(frame.points(seam.path), closed=False), wide, dashes=dashes, data="seam")
    return drawn + (_ticks(seam.path, [s.at for s in seam.walk.stations], frame) if seam.walk else "")


def _ticks(path: Sequence[Px], places: Sequence[Px], frame: PaperFrame) -> str:
    """A short line across the seam at every place where its lap was read."""
    pieces, found = list(pairwise(frame.points(path))), []
    for at in frame.points(places):
        (ax, ay), (bx, by) = _nearest(at, pieces)
        far = math.dist((ax, ay), (bx, by)) or 1.0
        dx, dy = (ay - by) / far * TICK, (bx - ax) / far * TICK
        found.append(line([(at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy)], closed=False))
    return stroke("".join(found), 0.25) if found else ""


def _nearest(at: Point, pieces: Sequence[tuple[Point, Point]]) -> tuple[Point, Point]:
    return min(pieces, key=lambda piece: _apart(at, *piece))


def _apart(at: Point, a: Point, b: Point) -> float:
    """From a point to the straight piece from a to b."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    t = min(1.0, max(0.0, ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / long)) if long else 0.0
    return math.hypot(at[0] - a[0] - t * dx, at[1] - a[1] - t * dy)


def _edge(path: Sequence[Px], is_open: bool, frame: PaperFrame) -> str:
    beside = line(left_of(frame.points(path), BESIDE), closed=False)
    return stroke(beside, 0.3, dashes="2 1.4", data="edge") if is_open else stroke(beside, 0.25, data="edge")


def _pipe(outline: Outline, at: Px, is_open: bool, frame: PaperFrame) -> str:
    """Its true outside, and a cross through its middle that shows where it is however small that outside."""
    (x, y), reach = frame.point(at), frame.edge(outline)
    across = [(x - reach(-1, 0) - CROSS, y), (x + reach(1, 0) + CROSS, y)]
    down = [(x, y - reach(0, -1) - CROSS), (x, y + reach(0, 1) + CROSS)]
    cross = line(across, closed=False) + line(down, closed=False)
    wide = 0.45 if is_open else 0.15
    return stroke(frame.shape(outline, at), wide, fill="#fff", data="pipe") + stroke(cross, wide)


# --- tags, bar, words ---------------------------------------------------------------------------------------


def _tags(frame: PaperFrame, parts: ZoneParts, room: Room) -> tuple[list[Tag], int]:
    """A tag for every mark, what is not sealed first; then for penetrations, then for seams."""
    for x, y in frame.points([mark.at for mark in parts.marks] + [pipe.at for pipe in parts.pipes]):
        room.take(room.cells(x - 0.7, y - 0.7, x + 0.7, y + 0.7), room.marks)
    wanted: list[tuple[str, Px, Outline | None]] = []
    by_need = sorted(parts.marks, key=lambda mark: mark.id not in parts.unsealed)
    wanted += [(mark.tag, mark.at, mark.outline) for mark in by_need]
    rows = sorted(_rows(parts.pipes, frame), key=lambda row: not any(p.id in parts.unsealed for p in row))
    wanted += [(_row_words(row), row[0].at, row[0].outline) for row in rows]
    wanted += [(seam.tag, _middle(seam.path), None) for seam, _ in parts.seams]
    found = [
        place_tag(room, tag, frame.point(at), frame.edge(outline) if outline else lambda dx, dy: 0.0)
        for tag, at, outline in wanted
    ]
    return [tag for tag in found if tag], found.count(None)


def _rows(pipes: Sequence[Penetration], frame: PaperFrame) -> list[list[Penetration]]:
    """In tag order; those whose numbers follow on each other close by are one row, told by one tag."""
    rows: list[list[Penetration]] = []
    for pipe in pipes:
        last = rows[-1][-1] if rows else None
        if (
            last
            and _number(pipe.tag) == _number(last.tag) + 1
            and math.dist(frame.point(last.at), frame.point(pipe.at)) <= NEAR
        ):
            rows[-1].append(pipe)
        else:
            rows.append([pipe])
    return rows


def _row_words(row: Sequence[Penetration]) -> str:
    return row[0].tag if len(row) == 1 else f"{row[0].tag} to {row[-1].tag.rpartition('-')[2]}"


def _number(tag: str) -> int:
    """7 of B-P07; -1 for a tag that ends in no number, which follows nothing."""
    digits = tag[len(tag.rstrip("0123456789")) :]
    return int(digits) if digits else -1


def _middle(path: Sequence[Px]) -> Px:
    """The place halfway along a line."""
    rest = sum(math.dist(a, b) for a, b in pairwise(path)) / 2
    for (ax, ay), (bx, by) in pairwise(path):
        far = math.dist((ax, ay), (bx, by))
        if far and rest <= far:
            return round(ax + (bx - ax) * rest / far), round(ay + (by - ay) * rest / far)
        rest -= far
    return path[-1]


def _tag(tag: Tag) -> str:
    leader = stroke(line([tag.start, tag.elbow, tag.end], closed=False), 0.15)
    x = tag.elbow[0] + (0.5 if tag.forward else -0.5)
    anchor = "start" if tag.forward else "end"
    words = text(tag.words, x, tag.elbow[1] - 0.6, TYPE, anchor)
    # White round the letters, so that a line behind them cannot be read as a part of them.
    return leader + words.replace("<text ", '<text paint-order="stroke" stroke="#fff" stroke-width=".7" ', 1)


def _label(letter: str, scale: PaperScale, parts: ZoneParts) -> str:
    counted = (
        (parts.marks, trn("{n} mark", "{n} marks", len(parts.marks))),
        (parts.patches, trn("{n} patch", "{n} patches", len(parts.patches))),
        (parts.pipes, trn("{n} penetration", "{n} penetrations", len(parts.pipes))),
        (parts.seams, trn("{n} seam", "{n} seams", len(parts.seams))),
        (parts.edges, trn("{n} stretch of edge", "{n} stretches of edge", len(parts.edges))),
        (parts.walls, trn("{n} wall", "{n} walls", len(parts.walls))),
    )
    told = ", ".join(words for there, words in counted if there) or tr("its outline alone")
    said = {"letter": letter, "scale": scale.words, "things": told}
    return tr("Zone {letter} drawn true to scale, {scale}: {things}.", **said)


def _key(parts: ZoneParts) -> tuple[str, ...]:
    """How the lines on this drawing are to be read: only what is on it."""
    told = (
        (bool(parts.marks), tr("damage solid, by its true outline")),
        (bool(parts.patches), tr("a patch thin and tinted")),
        (bool(parts.walls), tr("a wall heavy")),
        (bool(parts.pipes), tr("a penetration its true outside with a cross, heavy while it is not sealed")),
        (bool(parts.seams), tr("a seam a thin line, ticked where its lap was read")),
        (any(state == NOT_WALKED for _, state in parts.seams), tr("dash and dot: a seam not walked")),
        (any(state == AT_FAULT for _, state in parts.seams), tr("heavy: a seam at fault")),
        (bool(parts.edges), tr("a described edge a second line outside, dashed while it is not sealed")),
    )
    return tuple(words for there, words in told if there)
