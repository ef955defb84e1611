"""Overlap against integer polygon offsetting, an independent computation in the oracle beside this file."""

from __future__ import annotations

import random

import pytest

from service.domain.patches.overlap import Piece, judge
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit
from tests.outside.clipper_oracle import Placed, overlap

INCH = 25_400_000
WITHIN_IN = 0.01
CASES, BATCH = 1_000, 100


def star(rng: random.Random, low: float, high: float) -> list[tuple[float, float]]:
    """A ring of corners seen from its middle at growing angles: convex or not, never crossing itself."""
    import math

    turns = sorted(rng.uniform(0, 2 * math.pi) for _ in range(rng.randint(3, 9)))
    gaps = [b - a for a, b in zip(turns, [*turns[1:], turns[0] + 2 * math.pi], strict=True)]
    if max(gaps) > 3 or min(gaps) < 0.05:
        return star(rng, low, high)
    return [(r * math.cos(t), r * math.sin(t)) for t in turns for r in [rng.uniform(low, high)]]


def shape(rng: random.Random, low: float, high: float, kinds: str) -> tuple[tuple[object, ...], Outline]:
    """A random shape twice: as the oracle reads it and as the service does."""
    kind = rng.choice(kinds.split())
    size, other, degrees = rng.uniform(low, high), rng.uniform(low, high), rng.uniform(0, 360)
    if kind == "circle":
        return ("circle", size), Circle(round(size * INCH))
    if kind == "rectangle":
        if rng.random() < 0.3:
            degrees = rng.choice([0, 30, 90])
        return ("rectangle", size, other, degrees), Rectangle(
            round(size * INCH), round(other * INCH), round(degrees * 1e6)
        )
    if kind == "slit":
        opening = rng.choice([0, 0.25])
        return ("rectangle", size, opening, degrees), Slit(
            round(size * INCH), round(opening * INCH), round(degrees * 1e6)
        )
    ring = star(rng, low / 2, high / 2)
    return ("polygon", ring), Polygon(tuple((round(x * INCH), round(y * INCH)) for x, y in ring))


def case(seed: int) -> tuple[float, float | None]:
    """(the service's overlap, the oracle's) in inches for one random damage under one to three patches."""
    rng = random.Random(seed)
    damage, ours = shape(rng, 0.5, 6, "circle rectangle slit polygon")
    minimum = rng.choice([1, 2, 6])
    seen: list[Placed] = []
    pieces: list[Piece] = []
    for _ in range(rng.choice([1, 1, 2, 3])):
        theirs, outline = shape(rng, 5, 24, "circle rectangle polygon")
        spread = rng.choice([0, 1, 4, 9])
        at = (rng.uniform(-spread, spread), rng.uniform(-spread, spread))
        seen.append((theirs, at))
        pieces.append(Piece(outline, (round(at[0] * INCH), round(at[1] * INCH))))
    found = judge(ours, pieces, minimum * INCH).overlap_nm
    assert found is not None
    return found / INCH, overlap((damage, (0.0, 0.0)), seen, minimum)


@pytest.mark.parametrize("batch", range(CASES // BATCH))
def test_a_thousand_random_shapes_agree_with_polygon_offsetting_within_a_hundredth_of_an_inch(
    batch: int,
) -> None:
    told = 0
    for seed in range(batch * BATCH, (batch + 1) * BATCH):
        ours, theirs = case(seed)
        if theirs is not None:
            told += 1
            assert abs(ours - theirs) <= WITHIN_IN, f"seed {seed}: {ours} and {theirs}"
    assert told > BATCH * 0.95, "nearly every case must be one the oracle can tell"
