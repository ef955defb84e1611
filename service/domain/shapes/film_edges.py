"""Where several pieces together end: the edges of their union, straight ones and arcs of true circles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.domain.shapes.film import Cornered, Disc, Floats, Laid

# An edge is the union's where the film this far past it is bare: above float noise, below the tolerance.
JUST_PAST_NM = 1.0


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, from one angle on to a greater one (radians)."""

    x: float
    y: float
    r: float
    start: float
    end: float

    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Its two end points; one point twice for a whole circle."""
        return self.point(self.start), self.point(self.end)

    def point(self, angle: float) -> tuple[float, float]:
        """The place on the circle in this direction."""
        return self.x + self.r * math.cos(angle), self.y + self.r * math.sin(angle)


def film_edges(pieces: Sequence[Laid]) -> tuple[Floats, list[Arc]]:
    """(segments as (n, 4) x0 y0 x1 y1, arcs): the edges of the pieces' union, round holes in it too."""
    segments: list[Floats] = []
    arcs: list[Arc] = []
    for i, piece in enumerate(pieces):
        others = [*pieces[:i], *pieces[i + 1 :]]
        if isinstance(piece, Disc):
            arcs += _open_arcs(piece, others)
        else:
            segments.append(_open_segments(piece, others))
    return (np.vstack(segments) if segments else np.empty((0, 4))), arcs


def _bare(points: Floats, others: Sequence[Laid]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which points no other piece covers."""
    bare = np.ones(len(points), dtype=np.bool_)
    for other in others:
        bare &= ~other.holds(points)
    return bare


def _open_segments(piece: Cornered, others: Sequence[Laid]) -> Floats:
    """The piece's edges, cut where another piece's edge meets them, less the parts other pieces cover."""
    starts, ends, outward = piece.edges()
    if not others:
        return np.hstack((starts, ends))
    parts, outs = [], []
    for a, b, out in zip(starts, ends, outward, strict=True):
        cuts = np.unique(np.concatenate([[0.0, 1.0], *(_cuts(a, b, other) for other in others)]))
        at = a + cuts[:, None] * (b - a)
        parts.append(np.hstack((at[:-1], at[1:])))
        outs.append(np.repeat(out[None, :], len(cuts) - 1, axis=0))
    cut = np.vstack(parts)
    middles = (cut[:, :2] + cut[:, 2:]) / 2 + JUST_PAST_NM * np.vstack(outs)
    return cut[_bare(middles, others)]


def _cuts(a: Floats, b: Floats, other: Laid) -> Floats:
    """Where along a to b (0 to 1) another piece's edge crosses or touches it."""
    found = _cuts_by_disc(a, b, other) if isinstance(other, Disc) else _cuts_by_edges(a, b, other)
    return found[(found > 0) & (found < 1)]


def _cuts_by_disc(a: Floats, b: Floats, disc: Disc) -> Floats:
    (dx, dy), fx, fy = b - a, a[0] - disc.x, a[1] - disc.y
    length = math.hypot(dx, dy)
    middle, apart = -(fx * dx + fy * dy) / length, abs(fx * dy - fy * dx) / length
    if apart > disc.r:
        return np.empty(0)
    half = math.sqrt((disc.r - apart) * (disc.r + apart))
    return np.array([(middle - half) / length, (middle + half) / length])


def _cuts_by_edges(a: Floats, b: Floats, other: Cornered) -> Floats:
    """Crossings with each edge, and the other's corners on the line (edges that run along each other)."""
    c, d = other.points, np.roll(other.points, -1, axis=0)
    along, across, gap = b - a, d - c, c - a
    length = math.hypot(*along)
    cross = along[0] * across[:, 1] - along[1] * across[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (gap[:, 0] * across[:, 1] - gap[:, 1] * across[:, 0]) / cross
        w = (gap[:, 0] * along[1] - gap[:, 1] * along[0]) / cross
    on_line = np.abs(gap[:, 0] * along[1] - gap[:, 1] * along[0]) / length <= JUST_PAST_NM
    corners = (gap @ along)[on_line] / length**2
    return np.concatenate((t[np.isfinite(t) & (w >= 0) & (w <= 1)], corners))


def _open_arcs(disc: Disc, others: Sequence[Laid]) -> list[Arc]:
    """The circle, cut where another piece's edge meets it, less the parts other pieces cover."""
    cuts = sorted({angle % (2 * math.pi) for other in others for angle in _cut_angles(disc, other)}) or [0.0]
    arcs = [
        Arc(disc.x, disc.y, disc.r, start, end)
        for start, end in zip(cuts, [*cuts[1:], cuts[0] + 2 * math.pi], strict=True)
    ]
    past = Disc(disc.x, disc.y, disc.r + JUST_PAST_NM)
    middles = np.array([Arc(past.x, past.y, past.r, 0, 0).point((arc.start + arc.end) / 2) for arc in arcs])
    return [arc for arc, bare in zip(arcs, _bare(middles, others), strict=True) if bare]


def _cut_angles(disc: Disc, other: Laid) -> list[float]:
    """Directions from the disc's centre in which its circle meets the other's edge."""
    if isinstance(other, Disc):
        dx, dy = other.x - disc.x, other.y - disc.y
        d = math.hypot(dx, dy)
        if d == 0 or d > disc.r + other.r or d < abs(disc.r - other.r):
            return []
        half = math.acos(max(-1.0, min(1.0, (d * d + disc.r**2 - other.r**2) / (2 * d * disc.r))))
        toward = math.atan2(dy, dx)
        return [toward - half, toward + half]
    found: list[float] = []
    for a, b in zip(other.points, np.roll(other.points, -1, axis=0), strict=True):
        for t in _cuts_by_disc(a, b, disc):
            if 0 <= t <= 1:
                x, y = a + t * (b - a)
                found.append(math.atan2(y - disc.y, x - disc.x))
    return found
