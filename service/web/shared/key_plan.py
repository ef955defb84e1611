"""The key plan: every zone of a sketch drawn small, its letter inside, its state told by its line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.nouns.site import Px, Sketch
from service.domain.words.names import zone_state
from service.domain.words.speech import tr
from service.history.replay.standing import Standing
from service.web.drawings.paths import Point, apart, line
from service.web.shared.reasons import kind_of

WIDE, TALLEST, MARGIN = 400.0, 420.0, 26.0
LETTER, LEAST_LETTER = 30.0, 11.0
LOOKS = 24  # how many places across are tried for a letter


@dataclass(frozen=True, slots=True)
class ZoneToPlan:
    """A zone as a plan is to show it: `kind` is its line, `href` where a press leads."""

    letter: str
    outline: tuple[Px, ...]
    state: str
    kind: str
    href: str


@dataclass(frozen=True, slots=True)
class ZoneOnPlan:
    """One zone: its path, where its letter stands and how large, its page."""

    letter: str
    state: str
    kind: str
    path: str
    x: float
    y: float
    size: float
    href: str


@dataclass(frozen=True, slots=True)
class GridOnPlan:
    label: str
    path: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class KeyPlan:
    """A sketch's zones ready to be set as SVG. `name` keeps ids apart; label: for who does not see it."""

    name: str
    title: str
    view: str
    width: int
    height: int
    label: str
    zones: tuple[ZoneOnPlan, ...]
    grid: tuple[GridOnPlan, ...]


def draw_key_plan(sketch: Sketch, standings: Sequence[Standing], name: str) -> KeyPlan:
    """The plan of one sketch; `standings`: its zones, at least one."""
    return draw_plan(sketch, [_as_it_stands(standing) for standing in standings], name)


def _as_it_stands(standing: Standing) -> ZoneToPlan:
    zone, state = standing.zone, standing.state
    return ZoneToPlan(zone.letter, zone.outline, state, kind_of(state), f"/zones/{zone.id}/release")


def draw_plan(sketch: Sketch, zones: Sequence[ZoneToPlan], name: str) -> KeyPlan:
    """The plan of one sketch with these zones, at least one."""
    points = [point for zone in zones for point in zone.outline]
    left, top = min(x for x, _ in points), min(y for _, y in points)
    across = max(max(x for x, _ in points) - left, 1)
    down = max(max(y for _, y in points) - top, 1)
    k = min((WIDE - 2 * MARGIN) / across, (TALLEST - 2 * MARGIN) / down)
    width, height = across * k + 2 * MARGIN, down * k + 2 * MARGIN

    def at(point: Px) -> Point:
        return (point[0] - left) * k + MARGIN, (point[1] - top) * k + MARGIN

    drawn = tuple(_zone(zone, [at(point) for point in zone.outline]) for zone in zones)
    lines = [_grid(each.label, at(each.a), at(each.b), width, height) for each in sketch.grid]
    told = ", ".join(
        tr("zone {letter} {state}", letter=zone.letter, state=zone_state(zone.state)) for zone in zones
    )
    return KeyPlan(
        name,
        sketch.name,
        f"0 0 {width:.0f} {height:.0f}",
        round(width),
        round(height),
        tr("Key plan of {sketch}: {zones}", sketch=sketch.name, zones=told),
        drawn,
        tuple(found for found in lines if found),
    )


def _zone(zone: ZoneToPlan, ring: list[Point]) -> ZoneOnPlan:
    (x, y), room = _roomiest(ring)
    size = max(LEAST_LETTER, min(LETTER, room * (1.5 if len(zone.letter) == 1 else 1.0)))
    return ZoneOnPlan(
        zone.letter,
        zone_state(zone.state),
        zone.kind,
        line(ring),
        round(x, 1),
        round(y + size * 0.36, 1),
        round(size, 1),
        zone.href,
    )


def _roomiest(ring: list[Point]) -> tuple[Point, float]:
    """The place inside the ring farthest from its sides, of a raster of tries, and how far that is.

    Of places as good as each other the one nearest the middle, so that a long zone's letter stands midway.
    """
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    tries = [
        (min(xs) + (max(xs) - min(xs)) * i / LOOKS, min(ys) + (max(ys) - min(ys)) * j / LOOKS)
        for i in range(1, LOOKS)
        for j in range(1, LOOKS)
    ]
    found = [
        (min(apart(at, a, b) for a, b in _sides(ring)), -math.dist(at, middle), at)
        for at in tries
        if _inside(at, ring)
    ]
    far, _, best = max(((round(far, 1), near, at) for far, near, at in found), default=(0.0, 0.0, middle))
    return best, far


def _sides(ring: list[Point]) -> list[tuple[Point, Point]]:
    return list(zip(ring, (*ring[1:], ring[0]), strict=True))


def _inside(at: Point, ring: list[Point]) -> bool:
    x, y = at
    crossings = [
        (ay > y) != (by > y) and x < ax + (bx - ax) * (y - ay) / (by - ay)
        for (ax, ay), (bx, by) in _sides(ring)
        if ay != by
    ]
    return sum(crossings) % 2 == 1


def _grid(label: str, a: Point, b: Point, width: float, height: float) -> GridOnPlan | None:
    """A grid line run across the plan, its bubble at the top or left end; None when it misses."""
    edge = 11.0
    upright = abs(b[0] - a[0]) < abs(b[1] - a[1])
    if upright:
        slope = (b[0] - a[0]) / (b[1] - a[1])
        ends = [(a[0] + (y - a[1]) * slope, y) for y in (edge, height - 3)]
        misses = not all(edge <= x <= width - edge for x, _ in ends)
    elif b[0] != a[0]:
        slope = (b[1] - a[1]) / (b[0] - a[0])
        ends = [(x, a[1] + (x - a[0]) * slope) for x in (edge, width - 3)]
        misses = not all(edge <= y <= height - edge for _, y in ends)
    else:
        return None
    if misses:
        return None
    return GridOnPlan(label, line(ends, closed=False), round(ends[0][0], 1), round(ends[0][1], 1))
