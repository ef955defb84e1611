"""The floor sheets must cover: outlines less openings, with what runs past edges, in one frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from service.domain.sheets.nouns import STARTS_LEFT, BadLayout, Flat, LayoutAsked, Ring
from service.domain.sheets.past import strips_past
from service.domain.words.measures import TOLERANCE_NM, turn
from service.domain.words.speech import tr

Floats = NDArray[np.float64]
NM2_PER_M2 = 1e18


@dataclass(frozen=True, slots=True)
class Frame:
    """The direction's frame: u along it, v across, growing away from the side where placing begins."""

    c: float
    s: float
    side: float

    @classmethod
    def of(cls, asked: LayoutAsked) -> Frame:
        """The frame of what is asked; its direction must be known."""
        assert asked.direction_udeg is not None, "checked before"
        c, s = turn(asked.direction_udeg)
        return cls(c, s, 1.0 if asked.starts == STARTS_LEFT else -1.0)

    def seen(self, points: Floats) -> Floats:
        """(u, v) of sketch positions (n, 2)."""
        x, y = points[:, 0], points[:, 1]
        return np.column_stack((x * self.c + y * self.s, self.side * (y * self.c - x * self.s)))

    def back(self, u: float, v: float) -> Flat:
        """The sketch position of (u, v)."""
        across = self.side * v
        return u * self.c - across * self.s, u * self.s + across * self.c


@dataclass(frozen=True, slots=True)
class Floor:
    """What is to be covered, in the direction's frame. `edges`: (n, 4) u0 v0 u1 v1 with v0 <= v1.

    `tips`: (n, 2) the corners at which the edge turns back along u. `grain`: what is no thicker than this is
    rounding, not floor.
    """

    frame: Frame
    edges: Floats
    tips: Floats
    grain: float
    area_m2: float
    to_cover_m2: float

    @property
    def v0(self) -> float:
        """Where it begins across."""
        return float(self.edges[:, 1].min())

    @property
    def v1(self) -> float:
        """Where it ends across."""
        return float(self.edges[:, 3].max())


def floor_of(asked: LayoutAsked) -> Floor:
    """The floor of what is asked; BadLayout "no-area", "outline-crosses" or "opening-crosses"."""
    crossed = tr("The outline crosses itself: draw it again without the crossing.")
    outlines = shapely.union_all([_polygon(ring, "outline-crosses", crossed) for ring in asked.outlines])
    crossed = tr("An opening crosses itself: press its corners again, one after the other round it.")
    openings = shapely.union_all([_polygon(ring, "opening-crosses", crossed) for ring in asked.openings])
    area = shapely.difference(outlines, openings)
    if not area.area > 0:
        told = tr("There is nothing to cover: the outline less its openings has no area.")
        raise BadLayout("no-area", told)
    outer, inner = strips_past(asked)
    cover = shapely.union_all([shapely.difference(shapely.union_all([outlines, *outer]), openings), *inner])
    frame = Frame.of(asked)
    edges, tips = _edges_and_tips(cover, frame)
    return Floor(
        frame,
        edges,
        tips,
        float(max(asked.grain_nm, TOLERANCE_NM)),
        float(area.area) / NM2_PER_M2,
        float(cover.area) / NM2_PER_M2,
    )


def _polygon(ring: Ring, code: str, crossed: str) -> Any:
    """The ring as a polygon, an empty one for a ring of no area; BadLayout for one that crosses itself."""
    if len(set(ring)) < 3:
        return shapely.Polygon()
    polygon = shapely.Polygon(ring)
    if not polygon.is_valid and polygon.area > 0:
        raise BadLayout(code, crossed)
    return polygon if polygon.is_valid else shapely.Polygon()


def _edges_and_tips(area: Any, frame: Frame) -> tuple[Floats, Floats]:
    """The edges of all rings of the area in the frame, each from its lower v up, and their tips."""
    found, tips = [], []
    for polygon in shapely.get_parts(area):
        if polygon.geom_type != "Polygon":
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            seen = frame.seen(np.asarray(ring.coords))
            found.append(np.hstack((seen[:-1], seen[1:])))
            ahead = np.diff(seen[:, 0])
            tips.append(seen[:-1][ahead * np.roll(ahead, 1) <= 0])
    edges = np.vstack(found)
    up = edges[:, 1] <= edges[:, 3]
    return np.where(up[:, None], edges, edges[:, [2, 3, 0, 1]]), np.vstack(tips)
