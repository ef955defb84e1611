"""From the laps of a sheet layout to seams that a crew walks: one line a lap, each piece within one zone.

Lengths and positions on the ground are nanometres; `Px` are thousandths of a pixel of the base frame.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import shapely

from service.domain.nouns.installed import SIDE_LAP
from service.domain.nouns.site import Px
from service.domain.sheets.nouns import Flat, LaidSeam
from service.domain.words.measures import SIXTEENTH_NM, TOLERANCE_NM

Line = tuple[str, tuple[Flat, Flat]]
MILLI = 1000


def lap_lines(seams: Sequence[LaidSeam]) -> tuple[Line, ...]:
    """(kind, path) of each lap, side laps first; pieces of one side lap that meet end to end are one line.

    End laps in the rows beside it cut a side lap into pieces; nobody who walks it sees where.
    """
    side = [seam.path for seam in seams if seam.kind == SIDE_LAP]
    ends = [(seam.kind, seam.path) for seam in seams if seam.kind != SIDE_LAP]
    return (*((SIDE_LAP, path) for path in _joined(side)), *ends)


def _joined(paths: Sequence[tuple[Flat, Flat]]) -> list[tuple[Flat, Flat]]:
    """Straight paths that all run one way: those on one line that touch made one, in order across it."""
    if not paths:
        return []
    (ax, ay), (bx, by) = max(paths, key=lambda path: math.dist(*path))
    far = math.dist((ax, ay), (bx, by))
    ux, uy = (bx - ax) / far, (by - ay) / far
    spans = sorted(
        (
            round((y * ux - x * uy) / SIXTEENTH_NM),
            *sorted((x * ux + y * uy, p * ux + q * uy)),
            y * ux - x * uy,
        )
        for (x, y), (p, q) in paths
    )
    found: list[list[float]] = []
    for _, low, high, off in spans:
        last = found[-1] if found else None
        if last and abs(last[2] - off) <= SIXTEENTH_NM and low <= last[1] + SIXTEENTH_NM:
            last[1] = max(last[1], high)
        else:
            found.append([low, high, off])
    return [
        ((low * ux - off * uy, low * uy + off * ux), (high * ux - off * uy, high * uy + off * ux))
        for low, high, off in found
    ]


def in_zones(path: tuple[Flat, Flat], rings: Sequence[Sequence[Flat]]) -> tuple[tuple[int, Flat, Flat], ...]:
    """(which ring, start, end) of each piece of a straight path; what lies in no ring, or is under 1/16 in,
    is left out. A path along a shared joint is the first ring's."""
    shapes = [shapely.Polygon(ring) for ring in rings]
    whole, (a, b) = shapely.LineString(path), path
    far = math.dist(a, b)
    if far < SIXTEENTH_NM:
        return ()
    cuts = {0.0, 1.0}
    for shape in shapes:
        met = shapely.intersection(whole, shape.boundary)
        cuts |= {math.dist(a, point) / far for point in shapely.get_coordinates(met).tolist()}
    places = sorted(cut for cut in cuts if 0 <= cut <= 1)
    found: list[list[float]] = []
    for low, high in pairwise(places):
        home = _home(_at(a, b, (low + high) / 2), shapes)
        if found and found[-1][0] == home:
            found[-1][2] = high
        else:
            found.append([home, low, high])
    return tuple(
        (int(home), _at(a, b, low), _at(a, b, high))
        for home, low, high in found
        if home >= 0 and (high - low) * far >= SIXTEENTH_NM
    )


def _home(at: Flat, shapes: Sequence[shapely.Polygon]) -> int:
    point = shapely.Point(at)
    return next((i for i, shape in enumerate(shapes) if shapely.dwithin(shape, point, TOLERANCE_NM)), -1)


def _at(a: Flat, b: Flat, part: float) -> Flat:
    return a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part


def to_px(at: Flat, nm_per_px: float) -> Px:
    """A place on the ground in thousandths of a pixel."""
    return round(at[0] * MILLI / nm_per_px), round(at[1] * MILLI / nm_per_px)


def to_ground(at: Px, nm_per_px: float) -> Flat:
    """A place of the sketch in nanometres on the ground."""
    return at[0] * nm_per_px / MILLI, at[1] * nm_per_px / MILLI
