"""How far it is on foot from place to place with walls in between: straight, or round the ends of walls.

Places and walls are in nanometres of ground, y down; distances are whole nanometres, rounded up. One may walk
on any open ground, outside the zone too, and through no wall. Walls are lines without thickness.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from service.domain.shapes.ground import JOINT_NM
from service.domain.words.measures import NM_PER_INCH

Flat = tuple[float, float]
Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Wholes = npt.NDArray[np.int64]

# Nobody squeezes through an opening narrower than this with film and tape: common practice, no source. Ends
# that a finger set less far apart than this stand for walls that meet.
OPENING_NM = 12 * NM_PER_INCH
# A place this near a wall is on it, and is reached from the side that is less to walk.
ON_WALL_NM = float(JOINT_NM)
NO_WAY = np.iinfo(np.int64).max // 4


@dataclass(frozen=True, slots=True)
class Legs:
    """The shortest legs as they were found. `between`: places and places, `straight`: in one line.

    `first`: places to corners in one line, `to`: by the shortest way. `over`: corners and corners, `after`:
    the corner that comes next on that way.
    """

    between: Floats
    straight: Flags
    first: Floats
    to: Floats
    over: Floats
    after: Wholes


@dataclass(frozen=True, slots=True)
class Ways:
    """Distances between the places (nm, whole, rounded up), `NO_WAY` where walls close every way."""

    far: Wholes
    places: Floats
    corners: Floats
    legs: Legs

    def way(self, i: int, j: int) -> tuple[Flat, ...]:
        """The way from place i to place j with every turn, both ends included."""
        ends, legs = (self.places[i], self.places[j]), self.legs
        turns: list[int] = []
        if not legs.straight[i, j]:
            last = int(np.argmin(legs.to[i] + legs.first[j]))
            turns.append(int(np.argmin(legs.first[i] + legs.over[:, last])))
            while turns[-1] != last:
                turns.append(int(legs.after[turns[-1], last]))
        return tuple((float(x), float(y)) for x, y in (ends[0], *self.corners[turns], ends[1]))


def ways_between(places: Sequence[Flat], walls: Sequence[tuple[Flat, Flat]]) -> Ways:
    """The shortest ways between all places. The first place is where the walk is looked at from."""
    lines = _shut(walls)
    spots = np.array(places, dtype=np.float64).reshape(-1, 2)
    corners = _corners(lines)
    if lines:
        spots = _beside_walls(spots, corners, lines)
    legs = _shortest(spots, corners, lines)
    whole = np.full(legs.between.shape, NO_WAY, dtype=np.int64)
    there = np.isfinite(legs.between)
    whole[there] = np.ceil(legs.between[there] - 1e-3).astype(np.int64)
    return Ways(np.minimum(whole, whole.T), spots, corners, legs)


def _shut(walls: Sequence[tuple[Flat, Flat]]) -> list[tuple[Flat, Flat]]:
    """The walls, and where an end stands within an opening's width of another wall, a line across."""
    lines = [wall for wall in walls if wall[0] != wall[1]]
    drawn = np.array([shapely.LineString(line) for line in lines], dtype=object)
    across: list[tuple[Flat, Flat]] = []
    for n, line in enumerate(lines):
        for end in line:
            for k in np.flatnonzero(shapely.dwithin(drawn, shapely.Point(end), OPENING_NM)):
                if k == n:
                    continue
                near = shapely.shortest_line(drawn[k], shapely.Point(end)).coords[0]
                if near != end:
                    across.append((end, (near[0], near[1])))
    return lines + across


def _corners(lines: Sequence[tuple[Flat, Flat]]) -> Floats:
    """The places just off the ends of walls, where a way may turn: past each end, on either side of it.

    Those that lie on another wall are none. Where walls cross or meet, a shortest way never turns inside.
    """
    if not lines:
        return np.empty((0, 2))
    ends = np.array(lines)
    along = ends[:, 1] - ends[:, 0]
    along *= ON_WALL_NM / np.hypot(along[:, 0], along[:, 1])[:, None]
    aside = np.stack([-along[:, 1], along[:, 0]], 1)
    found = np.vstack(
        [
            end + past + side
            for end, past in ((ends[:, 0], -along), (ends[:, 1], along))
            for side in (aside, -aside)
        ]
    )
    drawn = shapely.MultiLineString([list(line) for line in lines])
    shapely.prepare(drawn)
    # A hair less: beside a wall that goes straight on, a corner lies at exactly this distance.
    on = shapely.dwithin(shapely.points(found), drawn, ON_WALL_NM * 0.99)
    return np.unique(found[~on].round(), axis=0)


def sees(places: Floats, others: Floats, lines: Sequence[tuple[Flat, Flat]]) -> Flags:
    """Whether no wall touches the straight line from each place to each other: (places, others).

    A wall counts a little past its ends, so that no line slips through where two ends meet.
    """
    free = np.ones((len(places), len(others)), dtype=np.bool_)
    for first, last in lines:
        a, b = np.array(first), np.array(last)
        along = (b - a) / math.hypot(*(b - a)) * (ON_WALL_NM / 2)
        a, b = a - along, b + along
        here = _cross(b - a, places - a)
        there = _cross(b - a, others - a)
        i, j = np.nonzero(free & ((here[:, None] > 0) != (there[None, :] > 0)))
        # On the line itself: neither side. Where both ends are, the boxes of the two decide.
        on_i, on_j = np.nonzero(free & ((here[:, None] == 0) | (there[None, :] == 0)))
        i, j = np.concatenate([i, on_i]), np.concatenate([j, on_j])
        p, q = places[i], others[j]
        met = _cross(q - p, a - p) * _cross(q - p, b - p) <= 0
        met &= (np.minimum(p, q) <= np.maximum(a, b)).all(1) & (np.maximum(p, q) >= np.minimum(a, b)).all(1)
        free[i[met], j[met]] = False
    return free


def _cross(u: Floats, v: Floats) -> Any:
    return u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]


def _beside_walls(spots: Floats, corners: Floats, lines: Sequence[tuple[Flat, Flat]]) -> Floats:
    """The places with those on a wall put beside it: on the side that is least to walk from the first place.

    Where the first place is itself on a wall, it goes to the side from which most others are reached.
    """
    drawn = shapely.MultiLineString([list(line) for line in lines])
    shapely.prepare(drawn)
    on = np.flatnonzero(shapely.dwithin(shapely.points(spots), drawn, ON_WALL_NM)).tolist()
    if not on:
        return spots
    moved, offered = spots.copy(), {k: _round_about(spots[k], drawn) for k in on}
    if on[0] == 0 and len(offered[0]):
        choices, others = offered[0], np.delete(spots, on, 0)
        far = _shortest(np.vstack([choices, others]), corners, lines).between
        moved[0] = choices[int(np.argmax(np.isfinite(far[: len(choices)]).sum(1)))]
    beside = [k for k in on if k and len(offered[k])]
    far = _shortest(np.vstack([moved[:1], *(offered[k] for k in beside)]), corners, lines).between
    row = 1
    for k in beside:
        moved[k] = offered[k][int(np.argmin(far[0, row : row + len(offered[k])]))]
        row += len(offered[k])
    return moved


def _round_about(spot: Floats, drawn: shapely.MultiLineString) -> Floats:
    """Places round a spot on a wall that are on none."""
    turns = np.arange(16) * (math.pi / 8) + math.pi / 16
    ring = np.stack([np.cos(turns), np.sin(turns)], 1)
    round_it = np.vstack([spot + ring * (ON_WALL_NM * 2), spot + ring * (ON_WALL_NM * 8)])
    free: Floats = round_it[~shapely.dwithin(shapely.points(round_it), drawn, ON_WALL_NM)]
    return free


def _shortest(places: Floats, corners: Floats, lines: Sequence[tuple[Flat, Flat]]) -> Legs:
    """All shortest legs, each straight or from corner to corner. Ways lead through corners alone: one walks
    past a mark on either side of it, but not through a wall because a mark lies on it."""
    between, first, over = (
        np.where(sees(a, b, lines), _straight(a, b), np.inf)
        for a, b in ((places, places), (places, corners), (corners, corners))
    )
    np.fill_diagonal(between, 0.0)
    np.fill_diagonal(over, 0.0)
    straight, after = np.isfinite(between), np.tile(np.arange(len(corners)), (len(corners), 1))
    for k in range(len(corners)):
        through = over[:, k, None] + over[None, k, :]
        shorter = through < over
        over[shorter] = through[shorter]
        after[shorter] = np.broadcast_to(after[:, k, None], after.shape)[shorter]
    to = first.copy()
    for k in range(len(corners)):
        np.minimum(to, first[:, k, None] + over[None, k, :], out=to)
    for k in range(len(corners)):
        np.minimum(between, to[:, k, None] + first[None, :, k], out=between)
    return Legs(between, straight, first, to, over, after)


def _straight(a: Floats, b: Floats) -> Any:
    return np.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1])
