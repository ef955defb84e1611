"""What lies near what on the sketch: which outlines stand within a length of each other, many at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from service.domain.shapes.outlines import Circle, Outline, corners
from service.domain.words.measures import TOLERANCE_NM

Px = tuple[int, int]
Floats = NDArray[np.float64]
Indexes = NDArray[np.intp]
MILLI = 1000  # positions are thousandths of a pixel


@dataclass(frozen=True, slots=True)
class Placed:
    """An outline with its id and its centre on the sketch (thousandths of a pixel)."""

    id: str
    outline: Outline
    at: Px

    def ground(self, nm_per_px: float) -> tuple[float, float]:
        """Its centre in float nanometres on the sketch."""
        return self.at[0] * nm_per_px / MILLI, self.at[1] * nm_per_px / MILLI


@dataclass(frozen=True, slots=True)
class Regions:
    """n outlines as ground in nanometres: shapely geometries (n,), and what each reaches past its own (n,).

    A round one is its centre with its true radius; all else is its corners, with nothing past them.
    """

    shapes: NDArray[np.object_]
    past: Floats

    def boxes(self, far_nm: float | Floats = 0.0) -> NDArray[np.object_]:
        """The box round each, grown by `far_nm`."""
        return grown_boxes(self.shapes, self.past + far_nm)


def regions(outlines: Iterable[tuple[Outline, float, float]]) -> Regions:
    """Regions of (outline, x, y), the place in float nanometres on the sketch."""
    asked = list(outlines)
    shapes = np.empty(len(asked), dtype=np.object_)
    past = np.zeros(len(asked))
    discs: list[int] = []
    rings: list[tuple[int, Sequence[tuple[float, float]]]] = []
    for i, (outline, _, _) in enumerate(asked):
        if isinstance(outline, Circle):
            discs.append(i)
            past[i] = outline.diameter_nm / 2
        else:
            rings.append((i, corners(outline)))
    if discs:
        shapes[discs] = shapely.points([asked[i][1:] for i in discs])
    if rings:
        counts = [len(ring) for _, ring in rings]
        centres = np.repeat([asked[i][1:] for i, _ in rings], counts, axis=0)
        flat = np.array([point for _, ring in rings for point in ring]) + centres
        index = np.repeat(np.arange(len(rings)), counts)
        shapes[[i for i, _ in rings]] = shapely.polygons(shapely.linearrings(flat, indices=index))
    return Regions(shapes, past)


def grown_boxes(shapes: NDArray[np.object_], far_nm: Floats) -> NDArray[np.object_]:
    """The upright box round each shape, grown on every side by its own length."""
    x0, y0, x1, y1 = shapely.bounds(shapes).T
    boxes: NDArray[np.object_] = shapely.box(x0 - far_nm, y0 - far_nm, x1 + far_nm, y1 + far_nm)
    return boxes


def near_pairs(marks: Regions, others: Regions, far_nm: float) -> tuple[Indexes, Indexes]:
    """(index in marks, index in others) of all pairs within `far_nm`; a doubt within the tolerance is within.

    Boxes in a tree find the few that may be near, so far-apart marks cost n log n; their distance decides.
    """
    if not len(marks.past) or not len(others.past):
        return np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp)
    a, b = shapely.STRtree(others.boxes()).query(marks.boxes(far_nm + TOLERANCE_NM))
    apart = shapely.distance(marks.shapes[a], others.shapes[b]) - marks.past[a] - others.past[b]
    near = apart <= far_nm + TOLERANCE_NM
    return a[near], b[near]


def within(
    marks: Sequence[Placed], others: Sequence[Placed], nm_per_px: float, far_nm: int
) -> dict[str, tuple[str, ...]]:
    """For each mark the ids of the others whose outline lies within `far_nm` of its, in the others' order.

    Distance is from outline to outline, discs by their true radius; exactly `far_nm` and any doubt within the
    tolerance counts. Nothing is near itself (the same id), and marks with nothing near are left out.
    """
    here, there = ([(one.outline, *one.ground(nm_per_px)) for one in some] for some in (marks, others))
    a, b = near_pairs(regions(here), regions(there), far_nm)
    found: dict[str, list[str]] = defaultdict(list)
    for i, j in sorted(zip(a.tolist(), b.tolist(), strict=True)):
        if marks[i].id != others[j].id:
            found[marks[i].id].append(others[j].id)
    return {mark: tuple(ids) for mark, ids in found.items()}


def reached_marks(
    mark: Placed, others: Sequence[Placed], nm_per_px: float, overlap_nm: int
) -> tuple[str, ...]:
    """The ids of the others that the mark's required outline, the overlap past its own, would reach."""
    return within([mark], others, nm_per_px, overlap_nm).get(mark.id, ())
