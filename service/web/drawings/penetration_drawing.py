"""A penetration drawn true to scale: its outside, where its collar lies on the film, what stands close by."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.domain.installed.penetration_groups import GroupNeed
from service.domain.nouns.installed import Penetration
from service.domain.shapes.outlines import Outline, Rectangle, extent_nm
from service.web.drawings.drawing import Px
from service.web.drawings.paths import Point, grown, reach, shape
from service.web.drawings.shown import Shown

VIEW, MARGIN = 240.0, 14.0
LEAST_SHOWN = 4.0  # drawing units: less than this across is ringed too
RING = 9.0
MOST_NEAR = 40


@dataclass(frozen=True, slots=True)
class Near:
    """One that stands close by: its path, and its tag at (x, y)."""

    path: str
    tag: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class PenetrationDrawing:
    """240 by 240 units. `footprint`: all that fingers reach, or `sheet`: the film under one dam."""

    label: str
    told: str
    footprint: str
    outside: str
    ring: tuple[float, float, float] | None
    sheet: str
    near: tuple[Near, ...]


Put = Callable[[Px], Point]


def draw_penetration(
    pipe: Penetration,
    others: Sequence[Penetration],
    half_nm: int,
    shown: Shown,
    *,
    label: str,
    told: str,
    group: tuple[Sequence[Penetration], GroupNeed] | None = None,
    turn_udeg: int = 0,
) -> PenetrationDrawing:
    """`half_nm`: how far the fingers lie on the film. `group`: those it is to be sealed with, itself among
    them, and their sheet, whose angle is turned by `turn_udeg` as the picture is."""
    outside = shown.outline(pipe.outline)
    middle, far = shown.point(pipe.at), reach(outside) + half_nm
    if group is not None:
        middle = _middle([shown.point(one.at) for one in group[0]])
        # A long chain is not shrunk to a line of dots: the page is about this one.
        far = min(math.hypot(group[1].length_nm, group[1].width_nm) / 2, far * 4)
        middle = shown.point(pipe.at) if far == (reach(outside) + half_nm) * 4 else middle
    k = (VIEW / 2 - MARGIN) / far
    put = _putting(middle, k, shown.nm_per_px)
    return PenetrationDrawing(
        label=label,
        told=told,
        footprint=""
        if group is not None
        else grown(outside, half_nm, _around(put(shown.point(pipe.at)), k), k),
        outside=shape(outside, _around(put(shown.point(pipe.at)), k), k),
        ring=_ring(outside, put(shown.point(pipe.at)), k),
        sheet=_sheet(group[0], group[1], turn_udeg, shown, put, k) if group else "",
        near=tuple(_near(one, shown, put, k) for one in _seen(pipe, others, shown, put)),
    )


def _putting(middle: Px, k: float, nm_per_px: float) -> Put:
    per_milli = k * nm_per_px / 1000
    return lambda at: (VIEW / 2 + (at[0] - middle[0]) * per_milli, VIEW / 2 + (at[1] - middle[1]) * per_milli)


def _around(at: Point, k: float) -> Callable[[float, float], Point]:
    return lambda dx, dy: (at[0] + dx * k, at[1] + dy * k)


def _middle(points: Sequence[Px]) -> Px:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs) + max(xs)) // 2, (min(ys) + max(ys)) // 2


def _ring(outside: Outline, at: Point, k: float) -> tuple[float, float, float] | None:
    small = 2 * reach(outside) * k < LEAST_SHOWN
    return (round(at[0], 1), round(at[1], 1), RING) if small else None


def _seen(pipe: Penetration, others: Sequence[Penetration], shown: Shown, put: Put) -> list[Penetration]:
    """Those whose middle the drawing shows, the nearest first."""
    x, y = put(shown.point(pipe.at))
    found = []
    for one in others:
        p, q = put(shown.point(one.at))
        if one.id != pipe.id and 0 <= p <= VIEW and 0 <= q <= VIEW:
            found.append((math.hypot(p - x, q - y), one.tag, one))
    return [one for _, _, one in sorted(found, key=lambda row: row[:2])[:MOST_NEAR]]


def _near(one: Penetration, shown: Shown, put: Put, k: float) -> Near:
    at, outside = put(shown.point(one.at)), shown.outline(one.outline)
    below = at[1] + reach(outside) * k + 15
    y = below if below < VIEW - 2 else at[1] - reach(outside) * k - 5
    x = min(max(at[0], 24.0), VIEW - 24)
    return Near(shape(outside, _around(at, k), k), one.tag, round(x, 1), round(y, 1))


def _sheet(
    pipes: Sequence[Penetration], need: GroupNeed, turn_udeg: int, shown: Shown, put: Put, k: float
) -> str:
    """The sheet laid round them all: its box in the frame turned as it lies, middle on their middle."""
    udeg = need.angle_udeg + turn_udeg
    c, s = math.cos(math.radians(udeg / 1e6)), math.sin(math.radians(udeg / 1e6))
    us: list[float] = []
    vs: list[float] = []
    for pipe in pipes:
        x, y = put(shown.point(pipe.at))
        u0, u1, v0, v1 = (nm * k for nm in extent_nm(shown.outline(pipe.outline), udeg))
        u, v = x * c + y * s, y * c - x * s
        us, vs = [*us, u + u0, u + u1], [*vs, v + v0, v + v1]
    u, v = (min(us) + max(us)) / 2, (min(vs) + max(vs)) / 2
    middle = (u * c - v * s, u * s + v * c)
    sheet = Rectangle(need.length_nm, need.width_nm, udeg)
    return shape(sheet, _around(middle, k), k)
