"""The least rectangle of film over several marks: where it can lie, and what each set of marks costs.

A mark's outline is its hull: corners, each a disc of the mark's radius (0 but for a circle). The patch over
a set of marks has sides a + 2m and b + 2m, where a and b are the marks' extents along and square to the
angle and m is the overlap and the allowance.

Why few angles are enough. While the same two discs bound an extent, it is |d| cos(t - t0) + r1 + r2 with
|d| cos(t - t0) not negative (each disc bounds its own side), so it is concave in the angle t. The logarithm
of the film is then the sum of the logarithms of two positive concave functions, so it is concave too, and
least at an end of that stretch of angles: where a side lies along an edge of the hull of the discs. An edge
of the hull of a set is an edge of one mark's hull or touches two (a bridge), so the edges and the bridges
of all pairs serve every set. Where no roll is wide enough for all angles, a concave extent is under the
roll's width only toward the ends of a stretch, so the least film that fits lies at such an edge or where an
extent is just the roll's width (a crossing).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from service.domain.shapes.hulls import Hull, Vector, bridges, hull_of, inner_depth
from service.domain.shapes.outlines import Outline, cut_size, extent_nm, into_half_turn
from service.domain.words.measures import TOLERANCE_NM, turn

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

QUARTER = 90_000_000
# Film is compared by 0.01 mm² and tape by 0.01 mm: under that a difference is rounding, and counts as none.
FILM_STEP_NM2, TAPE_STEP_NM = 1e10, 1e4
NEVER = 2**61
# Past so many discs crossings are too many to try; of more marks than so many those inside are left out.
MOST_CROSSED, MOST_BOUNDING = 100, 6
_CHUNK = 1 << 20


def _whole_angle(radians: float) -> int:
    """Micro-degrees within a quarter turn: a rectangle turned by a quarter is the same rectangle."""
    return round(math.degrees(radians) * 1_000_000) % QUARTER


@dataclass(frozen=True, slots=True)
class LeastRectangle:
    """A rectangle of film: sides in nanometres, angle in micro-degrees, middle in the field's nanometres."""

    length_nm: int
    width_nm: int
    angle_udeg: int
    middle: Vector

    @property
    def film_nm2(self) -> int:
        return self.length_nm * self.width_nm

    @property
    def tape_nm(self) -> int:
        return 2 * (self.length_nm + self.width_nm)


@dataclass(frozen=True, slots=True)
class Field:
    """Marks where they lie, to be asked what film any set of them costs.

    `at` in float nanometres; `overlap_nm` and `allowance_nm` a side; `widest_nm`: the widest roll, None where
    none was told and any width goes. Sets are given by the marks' places in `outlines`.
    """

    outlines: tuple[Outline, ...]
    at: tuple[Vector, ...]
    overlap_nm: int
    allowance_nm: int
    widest_nm: int | None
    hulls: tuple[Hull, ...]
    _bridges: dict[tuple[int, int], frozenset[int]] = field(default_factory=dict, repr=False)
    _costs: dict[tuple[int, ...], tuple[int, int]] = field(default_factory=dict, repr=False)
    _middles: dict[tuple[int, ...], Vector] = field(default_factory=dict, repr=False)

    @classmethod
    def of(
        cls,
        outlines: Sequence[Outline],
        at: Sequence[Vector],
        overlap_nm: int,
        allowance_nm: int,
        widest_nm: int | None,
    ) -> Field:
        hulls = tuple(hull_of(outline, place) for outline, place in zip(outlines, at, strict=True))
        return cls(tuple(outlines), tuple(at), overlap_nm, allowance_nm, widest_nm, hulls)

    @property
    def margin_nm(self) -> int:
        return self.overlap_nm + self.allowance_nm

    def without_roll(self) -> Field:
        """The same marks where any width goes."""
        return replace(self, widest_nm=None, _costs={})

    def looked_everywhere(self, marks: Sequence[int]) -> bool:
        """False where crossings were left out for too many corners, and one of them might take less film."""
        if self.widest_nm is None or sum(len(self.hulls[mark].corners) for mark in marks) <= MOST_CROSSED:
            return True
        alone = sum(self.cost((mark,))[0] for mark in marks)
        return alone * FILM_STEP_NM2 <= float(self.widest_nm) ** 2

    def apart(self, one: tuple[int, ...], other: tuple[int, ...]) -> float:
        """How far the middles of two groups are apart, nanometres."""
        (ax, ay), (bx, by) = self._middle(one), self._middle(other)
        return math.hypot(ax - bx, ay - by)

    def _middle(self, marks: tuple[int, ...]) -> Vector:
        if marks not in self._middles:
            xs, ys = zip(*(self.at[mark] for mark in marks), strict=True)
            self._middles[marks] = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        return self._middles[marks]

    def outer(self, marks: Sequence[int]) -> Sequence[int]:
        """Of many marks those that can bound a patch over them all: the rest lie inside the others' hull."""
        if len(marks) <= MOST_BOUNDING:
            return marks
        deep = inner_depth([self.hulls[mark] for mark in marks])
        return [mark for mark, depth in zip(marks, deep, strict=True) if depth <= TOLERANCE_NM]

    def angles(self, marks: Sequence[int]) -> list[int]:
        """Every angle (micro-degrees in a quarter turn) at which a patch over some of these can be least."""
        found = {_whole_angle(normal) for mark in marks for normal in self.hulls[mark].normals}
        for pair in combinations(sorted(marks), 2):
            if pair not in self._bridges:
                both = bridges(self.hulls[pair[0]], self.hulls[pair[1]])
                self._bridges[pair] = frozenset(map(_whole_angle, both))
            found |= self._bridges[pair]
        return sorted(found) or [0]

    def crossings(self, marks: Sequence[int]) -> list[int]:
        """The angles at which two discs are as far apart as the widest roll is wide; none of too many."""
        p, r = self._discs(marks)[:2]
        if self.widest_nm is None or len(p) > MOST_CROSSED:
            return []
        d = p[:, None, :] - p[None, :, :]
        away = np.hypot(d[..., 0], d[..., 1])
        share = np.divide(
            self.widest_nm - 2 * self.margin_nm - r[:, None] - r[None, :],
            away,
            out=np.full_like(away, 2.0),
            where=away > 0,
        )
        fit = np.abs(share) <= 1
        middle, half = np.arctan2(d[..., 1], d[..., 0])[fit], np.arccos(share[fit])
        return sorted({_whole_angle(float(v)) for v in np.concatenate((middle - half, middle + half))})

    def _discs(self, marks: Sequence[int]) -> tuple[Floats, Floats, Whole]:
        """(corners (d, 2), radii (d,), where each mark's corners start)."""
        hulls = [self.hulls[mark] for mark in marks]
        counts = [len(hull.corners) for hull in hulls]
        places = np.array([corner for hull in hulls for corner in hull.corners], dtype=np.float64)
        radii = np.repeat([hull.radius for hull in hulls], counts)
        return places, radii, np.concatenate(([0], np.cumsum(counts)[:-1])).astype(np.int64)

    def supports(self, marks: Sequence[int], radians: Floats) -> Floats:
        """(4, n, k) nanometres: how far each mark reaches along the angle, square to it, and against both."""
        p, r, starts = self._discs(marks)
        c, s = np.cos(radians), np.sin(radians)
        u, v = np.outer(p[:, 0], c) + np.outer(p[:, 1], s), np.outer(p[:, 1], c) - np.outer(p[:, 0], s)
        reach: Floats = np.maximum.reduceat(np.stack((u, v, -u, -v)) + r[:, None], starts, axis=1)
        return reach

    def fits(self, least_side_nm: float) -> bool:
        """True where a piece this wide at the least can be cut from the widest roll."""
        return self.widest_nm is None or least_side_nm <= self.widest_nm + TOLERANCE_NM

    def cost(self, marks: tuple[int, ...]) -> tuple[int, int]:
        """(film, tape) in whole steps of one patch over these marks; film is NEVER where none fits a roll."""
        if marks not in self._costs:
            outer = self.outer(marks)
            reach = self.supports(outer, _radians(self.angles(outer))).max(axis=1)
            sides = reach[:2] + reach[2:] + 2 * self.margin_nm
            film, tape = self._least(sides[0], sides[1])
            self._costs[marks] = _steps(float(film), float(tape))
        return self._costs[marks]

    def _least(self, a: Floats, b: Floats) -> tuple[Floats, Floats]:
        """(film, tape) least over the angles, the last axis, film first; infinite where nothing fits."""
        area = a * b
        if self.widest_nm is not None:
            area[np.minimum(a, b) > self.widest_nm + TOLERANCE_NM] = np.inf
        film = area.min(axis=-1)
        near = area <= film[..., None] * (1 + 1e-12)
        return film, 2 * np.where(near, a + b, np.inf).min(axis=-1)

    def costs(self, marks: Sequence[int]) -> tuple[Whole, Whole]:
        """(film, tape) in whole steps of one patch over every set of these marks, by bit mask.

        For 12 marks or so. The empty set costs nothing; where no patch fits a roll film is NEVER.
        """
        angles = self.angles(marks)
        film, tape = self._over(marks, angles)
        if self._crossings_pay(film):
            film, tape = self._over(marks, sorted({*angles, *self.crossings(marks)}))
        film[0] = tape[0] = 0
        never = np.isinf(film)
        film[never], tape[never] = NEVER * FILM_STEP_NM2, 0
        return _rounded(film, FILM_STEP_NM2), _rounded(tape, TAPE_STEP_NM)

    def _crossings_pay(self, film: Floats) -> bool:
        """A patch at a crossing is the widest roll's width or more both ways: worth it for much film only."""
        alone = film[1 << np.arange(len(film).bit_length() - 1)].sum()
        return self.widest_nm is not None and bool(alone > float(self.widest_nm) ** 2)

    def _over(self, marks: Sequence[int], angles: list[int]) -> tuple[Floats, Floats]:
        """(film, tape) of every set over these angles, some at a time so that little memory is asked."""
        step = max(1, _CHUNK >> len(marks))
        film = tape = np.full(1 << len(marks), np.inf)
        for begin in range(0, len(angles), step):
            reach = self.supports(marks, _radians(angles[begin : begin + step]))
            a, b = (_sides_of_sets(reach[k], reach[k + 2]) + 2 * self.margin_nm for k in (0, 1))
            less, taped = self._least(a, b)
            better = (less < film) | ((less == film) & (taped < tape))
            film, tape = np.where(better, less, film), np.where(better, taped, tape)
        return film, tape

    def rectangle(self, marks: Sequence[int]) -> LeastRectangle | None:
        """The patch over these marks with the least film, then the least tape, then the least angle.

        One mark keeps the cut size it is told alone, unless another angle takes less. None where none fits.
        """
        marks = self.outer(marks)
        found = self._fitting(marks, self.angles(marks))
        if len(marks) == 1:
            length, width, angle = cut_size(self.outlines[marks[0]], self.overlap_nm, self.allowance_nm)
            own = self._at(marks, angle % QUARTER)
            if own is not None and own.film_nm2 == length * width:
                found.insert(0, LeastRectangle(length, width, into_half_turn(angle), own.middle))
        best = min(found, key=_film_then_tape, default=None)
        if self.widest_nm is None or (best is not None and best.film_nm2 <= self.widest_nm**2):
            return best
        return min([*found, *self._fitting(marks, self.crossings(marks))], key=_film_then_tape, default=None)

    def _fitting(self, marks: Sequence[int], angles: Sequence[int]) -> list[LeastRectangle]:
        return [found for angle in angles if (found := self._at(marks, angle)) is not None]

    def _at(self, marks: Sequence[int], angle: int) -> LeastRectangle | None:
        """The patch over these marks at this angle, sides rounded up; None where it fits no roll."""
        c, s = turn(angle)
        us: list[float] = []
        vs: list[float] = []
        for mark in marks:
            (x, y), (u0, u1, v0, v1) = self.at[mark], extent_nm(self.outlines[mark], angle)
            u, v = x * c + y * s, y * c - x * s
            us += (u + u0, u + u1)
            vs += (v + v0, v + v1)
        u0, u1, v0, v1 = min(us), max(us), min(vs), max(vs)
        a, b = (math.ceil(side - 1e-3) + 2 * self.margin_nm for side in (u1 - u0, v1 - v0))
        if not self.fits(min(a, b)):
            return None
        u, v = (u0 + u1) / 2, (v0 + v1) / 2
        return self._laid(a, b, angle, (u * c - v * s, u * s + v * c))

    def _laid(self, a: int, b: int, angle: int, middle: Vector) -> LeastRectangle:
        """Its longer side along the angle; a side within the tolerance of the roll is the roll's width."""
        if self.widest_nm is not None and self.widest_nm < min(a, b):
            a, b = (self.widest_nm, b) if a <= b else (a, self.widest_nm)
        if a >= b:
            return LeastRectangle(a, b, into_half_turn(angle), middle)
        return LeastRectangle(b, a, into_half_turn(angle + QUARTER), middle)


def _film_then_tape(fit: LeastRectangle) -> tuple[int, int]:
    return fit.film_nm2, fit.tape_nm


def _steps(film: float, tape: float) -> tuple[int, int]:
    if not math.isfinite(film):
        return NEVER, 0
    return round(film / FILM_STEP_NM2), round(tape / TAPE_STEP_NM)


def _rounded(values: Floats, step: float) -> Whole:
    return np.rint(values / step).astype(np.int64)


def _radians(angles: Sequence[int]) -> Floats:
    return np.radians(np.asarray(angles, dtype=np.float64) / 1_000_000)


def _sides_of_sets(along: Floats, against: Floats) -> Floats:
    """(2^n, k) extents of every set of n marks, from each one's reach both ways; infinite for no marks."""
    marks, count = along.shape
    both = np.empty((2, 1 << marks, count))
    both[:, 0] = -np.inf
    for mark in range(marks):
        have = 1 << mark
        np.maximum(both[0, :have], along[mark], out=both[0, have : 2 * have])
        np.maximum(both[1, :have], against[mark], out=both[1, have : 2 * have])
    sides: Floats = both[0] + both[1]
    sides[0] = np.inf
    return sides
