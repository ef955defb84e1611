"""Film that no layout by the rule comes below, at whatever offset: across the rolls, and along them.

Across: look at one line across the direction. Its rolls lie whole pitches (width less lap) apart; where floor
runs on past one roll's edge, the next lies exactly a pitch on. Lay them instead as late as each may be: at
the first bare place, or a pitch on where the floor there began under the roll before. By induction every roll
then lies at least as far on as the same roll of any layout (a roll that must follow lies a pitch on in both,
one that need not lies no farther than the bare place), so there are as few as can be. Film is at least so
many roll widths, summed along the direction.

Along: on a line along the direction, a stretch longer than the roll takes an end lap for every roll after the
first. A row has at least the end laps of every line in it and is as wide as the roll, so the laps' film is at
least the lap by their number, summed across. The first sum counts each place along a row once: this comes on
top of it.

Both hold line by line, even if every line had its own best offset, so the bound may lie below every real
layout. What is thinner than a few grains counts for the bound.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np

from service.domain.sheets.area import NM2_PER_M2, Floats, Floor
from service.domain.sheets.nouns import LayoutAsked

# The rows leave uncovered what is thinner than a grain, on both sides of both limits.
GRAINS = 4


def least_film_m2(floor: Floor, asked: LayoutAsked) -> float:
    """The bound in square metres."""
    slack = GRAINS * floor.grain
    across = _Across(asked.roll_width_nm + slack, asked.pitch_nm, slack)
    along = _Along(asked.roll_length_nm + slack, asked.roll_length_nm - asked.end_lap_nm)
    widths = _summed(floor.edges, across)
    laps = _summed(floor.edges[:, [1, 0, 3, 2]], along)
    return (widths * asked.roll_width_nm + laps * asked.end_lap_nm) / NM2_PER_M2


class _Counting(Protocol):
    """What is counted on lines (rows) whose stretches of floor (columns) begin at p and end at q."""

    def changes(self, p: Floats, q: Floats) -> Floats:
        """Numbers the count can change at, where one of them passes a whole number."""

    def count(self, p: Floats, q: Floats) -> Floats:
        """The count on each line (row)."""


@dataclass(frozen=True, slots=True)
class _Across:
    """Roll widths on a line across."""

    width: float
    pitch: int
    slack: float

    def changes(self, p: Floats, q: Floats) -> Floats:
        ends = (q[:, None, :] - p[:, :, None] - self.width) / self.pitch
        starts = (p[:, None, :] - p[:, :, None] + self.slack) / self.pitch
        thin = (q - p - self.slack) / self.pitch
        lines = len(p)
        return np.hstack((ends.reshape(lines, -1), starts.reshape(lines, -1), thin))

    def count(self, p: Floats, q: Floats) -> Floats:
        at, found = np.full(len(p), -np.inf), np.zeros(len(p))
        for start, end in zip(p.T, q.T, strict=True):
            asks = (end > at + self.width) & (end - start > self.slack)
            fresh = asks & (start >= at + self.pitch - self.slack)
            at = np.where(fresh, start, at)
            more = np.where(asks, np.ceil((end - at - self.width) / self.pitch), 0.0)
            more = np.maximum(more, 0.0)
            at, found = at + more * self.pitch, found + fresh + more
        return found


@dataclass(frozen=True, slots=True)
class _Along:
    """End laps on a line along."""

    length: float
    step: int

    def changes(self, p: Floats, q: Floats) -> Floats:
        return (q - p - self.length) / self.step

    def count(self, p: Floats, q: Floats) -> Floats:
        laps: Floats = np.maximum(0.0, np.ceil((q - p - self.length) / self.step)).sum(axis=1)
        return laps


def _summed(edges: Floats, counting: _Counting) -> float:
    """The count on each line (at one u, along v), summed over u.

    Between two corners' u the stretches begin and end on straight edges, so the numbers a count changes at
    move evenly there, and where they are whole is found exactly.
    """
    ahead = edges[:, 0] <= edges[:, 2]
    u0, v0, u1, v1 = np.where(ahead[:, None], edges, edges[:, [2, 3, 0, 1]]).T
    total = 0.0
    us = np.unique(np.concatenate((u0, u1)))
    for start, end in pairwise(us.tolist()):
        here = (u0 <= start) & (u1 >= end) & (u0 < u1)
        part = (np.array([[start], [end]]) - u0[here]) / (u1[here] - u0[here])
        v = v0[here] + part * (v1[here] - v0[here])
        v = v[:, np.argsort(v.sum(axis=0))]
        total += (end - start) * _mean_count(v[:, ::2], v[:, 1::2], counting)
    return total


def _mean_count(p: Floats, q: Floats, counting: _Counting) -> float:
    """The count's mean between two lines (rows of p and q) between which all stretches change evenly."""
    first, last = counting.changes(p, q)
    cuts = [np.array([0.0, 1.0])]
    for a, b in zip(first.tolist(), last.tolist(), strict=True):
        whole = np.arange(np.ceil(min(a, b)), np.floor(max(a, b)) + 1)
        if whole.size and abs(b - a) > 1e-12:
            cuts.append((whole - a) / (b - a))
    at = np.unique(np.clip(np.concatenate(cuts), 0.0, 1.0))
    middle = ((at[1:] + at[:-1]) / 2)[:, None]
    counted = counting.count(p[0] + middle * (p[1] - p[0]), q[0] + middle * (q[1] - q[0]))
    return float(np.sum(counted * np.diff(at)))
