"""Grouped patches against brute force: all partitions, rectangles by a sweep of angles (oracle beside)."""

from __future__ import annotations

import random

import pytest

from service.domain.patches.patch_plan import Plan, PlanMark, plan
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle, Slit
from tests.outside.grouping_oracle import WITHIN, Mark, best_plans, box, least_film, narrowest

INCH = 25_400_000
NM_PER_PX = 1_000.0  # a thousandth of a pixel is a nanometre: places are exact
CASES, BATCH = 500, 50


def shape(rng: random.Random, x: float, y: float) -> tuple[Mark, Outline]:
    """A random outline about (x, y) twice: as the oracle reads it and as the service does."""
    kind = rng.choice(["circle", "rectangle", "slit", "polygon"])
    degrees = rng.choice([0, 0, 90, rng.uniform(-90, 90)])
    size, other = rng.uniform(0.3, 9), rng.uniform(0.2, 5)
    if kind == "circle":
        return Mark(((x, y),), size / 2), Circle(round(size * INCH))
    udeg = round(degrees * 1e6)
    if kind == "rectangle":
        return box(x, y, size, other, degrees), Rectangle(round(size * INCH), round(other * INCH), udeg)
    if kind == "slit":
        opening = rng.choice([0, 0.25])
        return box(x, y, size, opening, degrees), Slit(round(size * INCH), round(opening * INCH), udeg)
    corners = [(rng.uniform(-4, 4), rng.uniform(-4, 4)) for _ in range(rng.randint(3, 6))]
    theirs = Mark(tuple((x + a, y + b) for a, b in corners))
    return theirs, Polygon(tuple((round(a * INCH), round(b * INCH)) for a, b in corners))


def case(seed: int, most: int = 7) -> tuple[list[Mark], list[PlanMark], float]:
    """(the oracle's marks, the service's, the overlap in inches): so near that sharing is often worth it."""
    rng = random.Random(seed)
    count, spread = min(most, rng.choice([2, 3, 3, 4, 4, 5, 5, 6, 7])), rng.choice([10, 20, 30, 45])
    lined = rng.random() < 0.25  # a row, as stake holes are
    theirs, ours = [], []
    for k in range(count):
        x, y = (k * 9.0, 3.0) if lined else (rng.uniform(0, spread), rng.uniform(0, spread))
        mark, outline = shape(rng, x, y)
        theirs.append(mark)
        ours.append(PlanMark(f"m{k}", f"B-{k:02d}", outline, (round(x * INCH), round(y * INCH))))
    return theirs, ours, rng.choice([3.0, 6.0, 12.0])


def masks(found: Plan) -> list[int]:
    return sorted(sum(1 << int(mark[1:]) for mark in group.marks) for group in found.groups)


@pytest.mark.parametrize("batch", range(CASES // BATCH))
def test_five_hundred_small_groups_take_the_least_film_of_all_partitions(batch: int) -> None:
    shared = 0
    for seed in range(batch * BATCH, (batch + 1) * BATCH):
        theirs, ours, overlap = case(seed)
        found = plan(ours, nm_per_px=NM_PER_PX, overlap_nm=round(overlap * INCH))
        least, best = best_plans(theirs, overlap)
        assert found.exact
        assert abs(found.film_nm2 / INCH**2 - least) <= WITHIN * least, f"seed {seed}"
        assert masks(found) in [sorted(parts) for parts in best], f"seed {seed}: another choice of groups"
        shared += len(found.groups) < len(ours)
    assert shared > BATCH / 3, "sharing must be worth it in many of the cases"


def test_with_a_narrow_roll_every_patch_fits_it_and_takes_the_least_film_that_does() -> None:
    bound = 0
    for seed in range(60):
        theirs, ours, overlap = case(10_000 + seed, most=5)
        alone = max(least_film([mark], overlap) ** 0.5 for mark in theirs)
        roll = round(alone + random.Random(seed).uniform(0.5, 8), 3)
        found = plan(
            ours,
            nm_per_px=NM_PER_PX,
            overlap_nm=round(overlap * INCH),
            roll_widths_nm=(round(roll * INCH), INCH),
        )
        least, _ = best_plans(theirs, overlap, roll)
        free, _ = best_plans(theirs, overlap)
        assert all(group.width_nm <= round(roll * INCH) and not group.seamed for group in found.groups)
        assert abs(found.film_nm2 / INCH**2 - least) <= 1e-5 * least, f"seed {seed}"
        bound += least > free * 1.0001
    assert bound > 5, "the roll must bind in some of the cases"


def test_where_no_edge_may_lie_along_the_roll_the_least_patch_is_turned_until_it_just_fits() -> None:
    """The roll is a little narrower than the least patch, and wide enough for a longer one."""
    turned = 0
    for seed in range(80):
        rng = random.Random(seed)
        corners = [(rng.uniform(-40, 40), rng.uniform(-40, 40)) for _ in range(rng.randint(3, 5))]
        theirs = [Mark(tuple(corners))]
        whole = Polygon(tuple((round(x * INCH), round(y * INCH)) for x, y in corners))
        ours = [PlanMark("m0", "B-00", whole, (0, 0))]
        free = plan(ours, nm_per_px=NM_PER_PX, overlap_nm=3 * INCH).groups[0].width_nm
        roll = round(free / INCH * rng.uniform(0.95, 0.999), 3)
        if roll < narrowest(theirs, 3.0) + 0.01:
            continue
        widths = (round(roll * INCH),)
        (group,) = plan(ours, nm_per_px=NM_PER_PX, overlap_nm=3 * INCH, roll_widths_nm=widths).groups
        least = least_film(theirs, 3.0, roll)
        assert not group.seamed and group.width_nm <= widths[0]
        # A width within 0.0001 in of the roll's counts as the roll's: so much turning is free.
        assert abs(group.film_nm2 / INCH**2 - least) <= 5e-5 * least, f"seed {seed}"
        turned += group.width_nm > widths[0] - 1_000
    assert turned > 1, "in a few of the cases the roll's width must decide the angle"


def test_the_least_rectangle_lies_along_an_edge_of_the_hull_of_the_discs_or_bridges_two() -> None:
    """Two discs of unlike size: the least patch is along their common tangent, as the sweep finds too."""
    rng = random.Random(5)
    for _ in range(40):
        r, s, away = rng.uniform(0.5, 3), rng.uniform(3, 6), rng.uniform(4, 8)
        marks = [Mark(((0.0, 0.0),), r), Mark(((away, 1.0),), s)]
        ours = [
            PlanMark("m0", "B-00", Circle(round(2 * r * INCH)), (0, 0)),
            PlanMark("m1", "B-01", Circle(round(2 * s * INCH)), (round(away * INCH), INCH)),
        ]
        found = plan(ours, nm_per_px=NM_PER_PX, overlap_nm=6 * INCH)
        assert len(found.groups) == 1
        assert abs(found.film_nm2 / INCH**2 - least_film(marks, 6.0)) <= WITHIN * found.film_nm2 / INCH**2
