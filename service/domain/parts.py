"""Which marks decide about which: the marks of a zone in parts that no film, tape or line of another reaches.

Whatever is told of a mark by its patches, by their tape over other damage and by the film over that damage
stays within its part. So a part is judged by itself exactly as it is among all the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from service.domain.bands import PatchOnSketch, reach_of_patch
from service.domain.measures import TOLERANCE_NM
from service.domain.nearby import Floats
from service.domain.outlines import reach_nm
from service.domain.rules import INCH_NM
from service.domain.site import Defect, Px

MILLI = 1000  # positions are thousandths of a pixel
Box = tuple[float, float, float, float]


class Parts:
    """The parts, told mark by mark and patch by patch as they come.

    A part only ever grows: where a patch that was withdrawn once lay, time is lost and never an answer.
    """

    def __init__(self, per_px: float, minimum_nm: int) -> None:
        """`per_px`: nanometres of ground under one pixel; `minimum_nm`: the patch overlap asked here."""
        self._per_px, self._minimum = per_px, minimum_nm
        # Pipes and walls are looked for within the overlap, what lies right beneath a mark within an inch.
        self._room = max(minimum_nm, INCH_NM) + 2 * TOLERANCE_NM
        self._marks, self._patches = _Boxes(), _Boxes()
        self._on: dict[str, str] = {}
        self._part: dict[str, set[str]] = {}

    def add_mark(self, mark: Defect) -> None:
        # Twice its reach: a wall is looked for in a frame turned by any angle.
        box = self._box([mark.at], 2 * reach_nm(mark.outline) + self._room)
        self._marks.add(mark.id, box)
        self._part[mark.id] = {mark.id}
        for patch in self._patches.meeting(box):
            self._join(mark.id, self._on[patch])

    def add_patch(self, patch: PatchOnSketch, under: Iterable[str]) -> None:
        """`under`: the marks it lies on, of those that were added; nothing is done where that is none."""
        under = [mark for mark in under if mark in self._part]
        if not under:
            return
        far = reach_of_patch(patch, self._minimum) + self._room
        box = self._box([patch.on.at], far)
        self._patches.add(patch.id, box)
        self._on[patch.id] = under[0]
        for mark in (*under, *self._marks.meeting(box)):
            self._join(under[0], mark)

    def of(self, marks: Iterable[str]) -> set[str]:
        """Every mark of the parts that these marks are in."""
        return set().union(*(self._part[mark] for mark in marks if mark in self._part))

    def near(self, points: Sequence[Px], reach: int = 0) -> set[str]:
        """Every mark of the parts that a thing through these points, and so far past them, comes near."""
        box = self._box(points, reach)
        return self.of([*self._marks.meeting(box), *(self._on[p] for p in self._patches.meeting(box))])

    def _box(self, points: Sequence[Px], far: float) -> Box:
        """On the ground in nanometres, with a pixel to spare."""
        xs, ys = ([point[axis] * self._per_px / MILLI for point in points] for axis in (0, 1))
        far += self._per_px
        return min(xs) - far, min(ys) - far, max(xs) + far, max(ys) + far

    def _join(self, one: str, other: str) -> None:
        small, large = sorted((self._part[one], self._part[other]), key=len)
        if small is not large:
            large |= small
            self._part |= dict.fromkeys(small, large)


class _Boxes:
    """Upright boxes by id, of which those that meet another are asked for."""

    def __init__(self) -> None:
        self._ids: list[str] = []
        self._sides: Floats = np.empty((64, 4))

    def add(self, name: str, box: Box) -> None:
        if len(self._ids) == len(self._sides):
            self._sides = np.concatenate((self._sides, np.empty_like(self._sides)))
        self._sides[len(self._ids)] = box
        self._ids.append(name)

    def meeting(self, box: Box) -> list[str]:
        x0, y0, x1, y1 = self._sides[: len(self._ids)].T
        meets = (x0 <= box[2]) & (x1 >= box[0]) & (y0 <= box[3]) & (y1 >= box[1])
        return [self._ids[i] for i in np.flatnonzero(meets)]
