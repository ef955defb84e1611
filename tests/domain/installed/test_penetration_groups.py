"""Penetrations too close for a collar each: who stands with whom, and the sheet under the dam round them."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from service.domain.installed.penetration_groups import GroupNeed, Placed, group_need, groups_too_close
from service.domain.nouns.rules import ready_made
from service.domain.patches.repair import Numbers
from service.domain.shapes.outlines import Circle, Outline, Polygon, Rectangle

INCH = 25_400_000
US = Numbers.of(ready_made("us"))
# One pixel is an inch; positions are thousandths of a pixel.
PER_PX = float(INCH)
PIPE = Circle(9 * INCH // 2)


def at(name: str, x: float, y: float, outline: Outline = PIPE) -> Placed:
    return name, outline, (round(x * 1000), round(y * 1000))


def test_two_pipes_whose_fingers_would_meet_are_a_group() -> None:
    """Collar 12 in, fingers 6 in: faces 6 in apart leave each its fingers, 1/16 in less does not."""
    clear = [at("a", 0, 0), at("b", 10.5, 0)]
    assert groups_too_close(clear, PER_PX, US) == ()
    near = [at("a", 0, 0), at("b", 10.4375, 0)]
    assert groups_too_close(near, PER_PX, US) == (("a", "b"),)


@pytest.mark.parametrize("degrees", range(0, 360, 7))
def test_faces_exactly_a_finger_apart_are_clear_in_every_direction(degrees: int) -> None:
    """A pixel is 1/500 in here: at an inch to the pixel its thousandths are too coarse for a slant."""
    turn = math.radians(degrees)
    for apart, want in ((10.5, ()), (10.5 - 1 / 1024, (("a", "b"),))):
        x, y = 500 * apart * math.cos(turn), 500 * apart * math.sin(turn)
        assert groups_too_close([at("a", 0, 0), at("b", x, y)], PER_PX / 500, US) == want


def test_a_wider_collar_makes_a_group_of_what_was_clear() -> None:
    places = [at("a", 0, 0), at("b", 10.5, 0)]
    assert groups_too_close(places, PER_PX, replace(US, collar_width_nm=13 * INCH)) == (("a", "b"),)


def test_a_chain_is_one_group_and_what_stands_alone_is_none() -> None:
    places = [
        at("d", 20, 0),
        at("lone", 0, 60),
        at("a", 0, 0),
        at("c", 10, 0),
        at("z", 90, 90),
        at("y", 99, 90),
    ]
    assert groups_too_close(places, PER_PX, US) == (("a", "c", "d"), ("y", "z"))


def test_square_blockouts_are_measured_from_their_faces_and_corners() -> None:
    square = Rectangle(10 * INCH, 10 * INCH)
    corner_on = Rectangle(10 * INCH, 10 * INCH, 45_000_000)
    assert groups_too_close([at("a", 0, 0, square), at("b", 16.01, 0, square)], PER_PX, US) == ()
    assert groups_too_close([at("a", 0, 0, square), at("b", 15.99, 0, square)], PER_PX, US) == (("a", "b"),)
    # Turned corner on, the face comes 5 (root 2 - 1) in, about 2.07 in, nearer.
    assert groups_too_close([at("a", 0, 0, square), at("b", 18.06, 0, corner_on)], PER_PX, US) == (
        ("a", "b"),
    )
    assert groups_too_close([at("a", 0, 0, square), at("b", 18.08, 0, corner_on)], PER_PX, US) == ()


def test_a_pipe_inside_a_blockout_stands_too_close() -> None:
    places = [
        at("a", 0, 0, Rectangle(60 * INCH, 60 * INCH)),
        at("b", 3, 3),
        at("c", 70, 0, Circle(90 * INCH)),
    ]
    assert groups_too_close(places, PER_PX, US) == (("a", "b", "c"),)


def test_fewer_than_two_are_no_group() -> None:
    assert groups_too_close([], PER_PX, US) == ()
    assert groups_too_close([at("a", 0, 0)], PER_PX, US) == ()


def crowd(rng: random.Random, count: int, side: float) -> list[Placed]:
    def one() -> Outline:
        if rng.random() < 0.6:
            return Circle(round(rng.choice([0.5, 1, 4.5, 30]) * INCH))
        return Rectangle(
            round(rng.uniform(1, 20) * INCH), round(rng.uniform(1, 9) * INCH), rng.randrange(360) * 10**6
        )

    return [at(f"{i:04}", rng.uniform(0, side), rng.uniform(0, side), one()) for i in range(count)]


@pytest.mark.parametrize("seed", range(20))
def test_groups_are_those_found_by_asking_every_pair(seed: int) -> None:
    """Every pair asked one by one, circles drawn with 720 corners; no pair stands that near the limit."""
    places = crowd(random.Random(seed), 60, 260)
    shapes = [drawn(place) for place in places]
    leader = list(range(len(places)))

    def led_by(i: int) -> int:
        return i if leader[i] == i else led_by(leader[i])

    for i, one in enumerate(shapes):
        for j, other in enumerate(shapes[:i]):
            # Nothing here reaches further than 15 in from its place.
            far = math.dist(places[i][2], places[j][2]) > 40_000
            if not far and one.distance(other) < 6 - 0.0005:
                leader[led_by(i)] = led_by(j)
    found: dict[int, list[str]] = {}
    for i, (name, _, _) in enumerate(places):
        found.setdefault(led_by(i), []).append(name)
    want = sorted(tuple(sorted(group)) for group in found.values() if len(group) > 1)
    assert list(groups_too_close(places, PER_PX, US)) == want


def drawn(place: Placed) -> shapely.Geometry:
    """The place in inches; a circle as a ring of 720 corners on it."""
    _, outline, (x, y) = place
    if isinstance(outline, Circle):
        r = outline.diameter_nm / 2 / INCH
        turns = [math.tau * i / 720 for i in range(720)]
        return shapely.Polygon([(x / 1000 + r * math.cos(t), y / 1000 + r * math.sin(t)) for t in turns])
    assert isinstance(outline, Rectangle)
    half_l, half_w = outline.length_nm / 2 / INCH, outline.width_nm / 2 / INCH
    t = math.radians(outline.angle_udeg / 1e6)
    ring = [(-half_l, -half_w), (half_l, -half_w), (half_l, half_w), (-half_l, half_w)]
    return shapely.Polygon(
        [
            (x / 1000 + u * math.cos(t) - v * math.sin(t), y / 1000 + u * math.sin(t) + v * math.cos(t))
            for u, v in ring
        ]
    )


@given(st.integers(0, 10**6), st.integers(2, 25), st.integers(0, 24))
def test_one_more_penetration_never_sets_one_free(seed: int, count: int, least: int) -> None:
    places = crowd(random.Random(seed), count, 120)
    some = places[: max(least % count, 1)]
    grouped = {name for group in groups_too_close(some, PER_PX, US) for name in group}
    assert grouped <= {name for group in groups_too_close(places, PER_PX, US) for name in group}


def test_a_thousand_are_grouped_as_the_few_they_are() -> None:
    """A great duct among them makes a group of what is near it and of nothing else."""
    grid = [at(f"{i:04}", 40 * (i % 40), 40 * (i // 40)) for i in range(1000)]
    duct = at("duct", 800, 1100, Circle(1000 * INCH))
    assert groups_too_close(grid, PER_PX, US) == ()
    (group,) = groups_too_close([*grid, duct], PER_PX, US)
    near = {
        name
        for name, _, (x, y) in grid
        if math.dist((x, y), (800_000, 1_100_000)) < 1000 * (500 + 2.25 + 6 - 0.0001)
    }
    assert set(group) == near | {"duct"} and 0 < len(near) < 500


# The sheet under a dam.


def test_the_sheet_under_a_row_of_pipes_reaches_half_a_collar_past_them() -> None:
    row = [at("a", 0, 0), at("b", 8, 0), at("c", 16, 0)]
    assert group_need(row, PER_PX, US) == GroupNeed(int(16 + 4.5 + 12) * INCH + INCH // 2, 33 * INCH // 2, 0)


def test_the_sheet_lies_along_a_slanted_row() -> None:
    row = [at("a", 0, 0), at("b", 6, 8), at("c", 12, 16)]
    need = group_need(row, PER_PX, US)
    assert need.angle_udeg == pytest.approx(math.degrees(math.atan2(4, 3)) * 1e6, abs=1)
    assert need.length_nm == pytest.approx((20 + 4.5 + 12) * INCH, abs=10)
    assert need.width_nm == pytest.approx((4.5 + 12) * INCH, abs=10)


def test_the_sheet_round_one_square_is_the_square_in_its_own_frame() -> None:
    need = group_need([at("a", 3, 4, Rectangle(20 * INCH, 10 * INCH, 30_000_000))], PER_PX, US)
    assert need == GroupNeed(32 * INCH, 22 * INCH, 30_000_000)
    assert group_need([at("a", 3, 4)], PER_PX, US) == GroupNeed(33 * INCH // 2, 33 * INCH // 2, 0)


def test_an_upright_pair_wants_its_sheet_upright() -> None:
    need = group_need([at("a", 0, 0), at("b", 0, 9)], PER_PX, US)
    assert (need.length_nm, need.width_nm) == (51 * INCH // 2, 33 * INCH // 2)
    assert abs(need.angle_udeg) == 90_000_000


@pytest.mark.parametrize("seed", range(15))
def test_the_sheet_is_as_small_as_any_found_by_trying_every_twentieth_of_a_degree(seed: int) -> None:
    rng = random.Random(seed)
    places = crowd(rng, rng.randint(2, 9), 40)
    need = group_need(places, PER_PX, US)
    spots = [spot for place in places for spot in edges_of(place)]
    sides = [(side - 12 * INCH) / INCH for side in (need.length_nm, need.width_nm)]
    assert sides == pytest.approx(box(spots, need.angle_udeg / 1e6), abs=1e-6)
    least = min(math.prod(box(spots, step / 20)) for step in range(90 * 20))
    assert math.prod(sides) <= least * (1 + 1e-6)


def edges_of(place: Placed) -> list[tuple[float, float, float]]:
    """(x, y, how far it reaches round that) in inches: a circle's centre, a rectangle's corners."""
    _, outline, (x, y) = place
    if isinstance(outline, Circle):
        return [(x / 1000, y / 1000, outline.diameter_nm / 2 / INCH)]
    return [(p, q, 0.0) for p, q in shapely.get_coordinates(drawn(place)).tolist()]


def box(spots: list[tuple[float, float, float]], degrees: float) -> list[float]:
    """Sides in inches, along the angle and across it, of the box round them all."""
    t = math.radians(degrees)
    sides = []
    for c, s in ((math.cos(t), math.sin(t)), (-math.sin(t), math.cos(t))):
        most = max(x * c + y * s + reach for x, y, reach in spots)
        sides.append(most - min(x * c + y * s - reach for x, y, reach in spots))
    return sides


def test_the_sheet_lies_round_a_shape_of_many_corners() -> None:
    ring = [
        (round(math.cos(math.tau * i / 500) * 5 * INCH), round(math.sin(math.tau * i / 500) * 2 * INCH))
        for i in range(500)
    ]
    need = group_need([at("a", 0, 0, Polygon(tuple(ring))), at("b", 0, 0, Circle(INCH))], PER_PX, US)
    assert (need.length_nm, need.width_nm) == pytest.approx((22 * INCH, 16 * INCH), rel=1e-4)
    assert need.angle_udeg == pytest.approx(0, abs=250_000)
