"""Which marks and patches of a zone decide about which: a change is judged anew only where it can tell.

What the gate reads of a mark hangs on the patches on it, on the damage that their tape comes near, and on all
the film laid near that damage, wherever it was logged: on nothing farther off.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from service.domain.nouns.rules import INCH_NM
from service.domain.nouns.site import Defect, Px
from service.domain.patches.bands import PatchOnSketch, reach_of_patch
from service.domain.shapes.nearby import Floats
from service.domain.shapes.outlines import reach_nm
from service.domain.words.measures import TOLERANCE_NM

MILLI = 1000  # positions are thousandths of a pixel
Box = tuple[float, float, float, float]
Names = set[str]


class Deciding:
    """Told mark by mark and patch by patch as they come. What lay near once counts as near for ever: a patch
    that was withdrawn costs time, and never an answer."""

    def __init__(self, per_px: float, minimum_nm: int) -> None:
        """`per_px`: nanometres of ground under one pixel; `minimum_nm`: the patch overlap asked here."""
        self._per_px, self._minimum = per_px, minimum_nm
        # Pipes and walls are looked for within the overlap, what lies right beneath a mark within an inch.
        self._room = max(minimum_nm, INCH_NM) + 2 * TOLERANCE_NM
        self._marks, self._patches = _Boxes(), _Boxes()
        self._on: dict[str, list[str]] = defaultdict(list)  # the patches on a mark
        self._under: dict[str, list[str]] = {}  # the marks under a patch
        self._film: dict[str, Names] = {}  # the patches near a mark
        self._damage: dict[str, Names] = {}  # the marks near a patch

    def add_mark(self, mark: Defect) -> None:
        # Twice its reach: a wall is looked for in a frame turned by any angle.
        box = self._box([mark.at], 2 * reach_nm(mark.outline) + self._room)
        self._marks.add(mark.id, box)
        self._film[mark.id] = set(self._patches.meeting(box))
        for patch in self._film[mark.id]:
            self._damage[patch].add(mark.id)

    def add_patch(self, patch: PatchOnSketch, under: Iterable[str]) -> None:
        """`under`: the marks it lies on, of those that were added; where that is none it decides nothing."""
        marks = [mark for mark in under if mark in self._film]
        if not marks:
            return
        box = self._box([patch.on.at], reach_of_patch(patch, self._minimum) + self._room)
        self._patches.add(patch.id, box)
        self._under[patch.id] = marks
        self._damage[patch.id] = {*marks, *self._marks.meeting(box)}
        for mark in marks:
            self._on[mark].append(patch.id)
        for mark in self._damage[patch.id]:
            self._film[mark].add(patch.id)

    def moved_by(self, marks: Iterable[str], patches: Iterable[str]) -> Names:
        """The marks of which something else may be told once these marks and patches are not as before."""
        changed = {mark for mark in marks if mark in self._film}
        laid = {patch for patch in patches if patch in self._under} | _all(self._on, changed)
        bare = changed | _all(self._damage, laid)
        return changed | _all(self._under, _all(self._film, bare))

    def told_by(self, marks: Names) -> Names:
        """All the marks that must be there for these to be told as they are among all others."""
        bare = marks | _all(self._damage, _all(self._on, marks))
        return bare | _all(self._under, _all(self._film, bare))

    def near(self, points: Sequence[Px], reach: int = 0) -> tuple[list[str], list[str]]:
        """The marks and the patches that a thing through these points, and so far past them, comes near."""
        box = self._box(points, reach)
        return self._marks.meeting(box), self._patches.meeting(box)

    def _box(self, points: Sequence[Px], far: float) -> Box:
        """On the ground in nanometres, with a pixel to spare."""
        xs, ys = ([point[axis] * self._per_px / MILLI for point in points] for axis in (0, 1))
        far += self._per_px
        return min(xs) - far, min(ys) - far, max(xs) + far, max(ys) + far


def _all(of: Mapping[str, Iterable[str]], names: Iterable[str]) -> Names:
    return set().union(*(of[name] for name in names if name in of))


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
