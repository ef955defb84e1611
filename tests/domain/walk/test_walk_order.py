"""The walk order: every open mark once, round walls and not through, and what is equal told the same way."""

from __future__ import annotations

import random

import pytest
import shapely

from service.domain.walk.order import Px, WalkOrder, least_to_walk, walk_order
from tests.domain.walk.walk_zones import NM_PER_PX, Wall, random_zone, stops_at

FOOT = 50_000  # thousandths of a pixel, at 50 pixels a foot
FOOT_NM = 304_800_000
# A way turns an eighth of an inch off the end of a wall, and is told in whole nanometres.
TURNS_NM = 4 * 3_175_000


def tags(found: WalkOrder) -> list[str]:
    return [visit.stop.tag for visit in found.visits]


def walked(places: list[Px], start: Px | None, walls: list[Wall] | None = None) -> WalkOrder:
    return walk_order(stops_at(*places), start, walls or [], NM_PER_PX)


def test_marks_in_a_row_are_walked_from_the_near_end() -> None:
    found = walked([(9 * FOOT, 0), (3 * FOOT, 0), (6 * FOOT, 0)], (0, 0))
    assert tags(found) == ["B-02", "B-03", "B-01"]
    assert [visit.leg_nm for visit in found.visits] == [3 * FOOT_NM] * 3
    assert found.length_nm == 9 * FOOT_NM
    assert found.exact


def test_the_walk_need_not_come_back_so_the_lone_far_mark_is_last() -> None:
    # One foot left, ten feet right: left first is 1 + 11, right first is 10 + 11.
    found = walked([(10 * FOOT, 0), (-FOOT, 0)], (0, 0))
    assert tags(found) == ["B-02", "B-01"]
    assert found.length_nm == 12 * FOOT_NM


def test_with_nobody_saying_where_they_stand_it_begins_at_an_end() -> None:
    found = walked([(6 * FOOT, 0), (0, 0), (3 * FOOT, 0)], None)
    assert tags(found) == ["B-01", "B-03", "B-02"], "of the two ends the lower tag"
    assert found.visits[0].way == ()
    assert found.length_nm == 6 * FOOT_NM


def test_a_wall_between_is_walked_round() -> None:
    # 3 ft to each side of a wall 8 ft long, at its middle: 5 ft to its end and 5 ft back, by 3-4-5.
    wall: Wall = ((0, -4 * FOOT), (0, 4 * FOOT))
    found = walked([(3 * FOOT, 0)], (-3 * FOOT, 0), [wall])
    assert 10 * FOOT_NM < found.length_nm < 10 * FOOT_NM + TURNS_NM
    assert len(found.visits[0].way) > 2


@pytest.mark.parametrize("miss", [0, FOOT // 100, FOOT // 2, FOOT - 100])
def test_wall_ends_that_meet_or_nearly_meet_let_nobody_through(miss: int) -> None:
    walls: list[Wall] = [((0, -4 * FOOT), (0, 0)), ((0, miss), (0, 4 * FOOT))]
    found = walked([(3 * FOOT, 0)], (-3 * FOOT, 0), walls)
    assert found.length_nm > 10 * FOOT_NM


def test_an_opening_of_three_feet_is_a_way_through() -> None:
    walls: list[Wall] = [((0, -9 * FOOT), (0, -FOOT)), ((0, 2 * FOOT), (0, 9 * FOOT))]
    assert walked([(3 * FOOT, 0)], (-3 * FOOT, 0), walls).length_nm == 6 * FOOT_NM


def test_a_mark_that_walls_enclose_comes_last_and_is_told() -> None:
    corners = [(FOOT, -FOOT), (4 * FOOT, -FOOT), (4 * FOOT, 3 * FOOT), (FOOT, 3 * FOOT)]
    walls: list[Wall] = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    found = walked([(2 * FOOT, 0), (9 * FOOT, 0), (-FOOT, 0)], (0, 0), walls)
    assert tags(found) == ["B-03", "B-02"]
    assert [stop.tag for stop in found.beyond] == ["B-01"]


def test_somebody_inside_the_walls_is_told_what_lies_outside() -> None:
    corners = [(FOOT, -FOOT), (4 * FOOT, -FOOT), (4 * FOOT, 3 * FOOT), (FOOT, 3 * FOOT)]
    walls: list[Wall] = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    found = walked([(2 * FOOT, 0), (9 * FOOT, 0)], (3 * FOOT, 0), walls)
    assert tags(found) == ["B-01"]
    assert [stop.tag for stop in found.beyond] == ["B-02"]


def test_a_mark_on_a_wall_is_walked_to_on_the_side_one_stands_and_opens_no_way_through() -> None:
    wall: Wall = ((0, -4 * FOOT), (0, 4 * FOOT))
    found = walked([(0, 0), (FOOT // 2, 0)], (-3 * FOOT, 0), [wall])
    assert found.visits[0].stop.tag == "B-01"
    assert abs(found.visits[0].leg_nm - 3 * FOOT_NM) < TURNS_NM
    assert found.visits[1].leg_nm > 8 * FOOT_NM, "round the end, though they lie half a foot apart"


def test_marks_at_one_place_and_a_start_on_a_mark_are_no_walk() -> None:
    found = walked([(FOOT, 0), (FOOT, 0), (FOOT, 0)], (FOOT, 0))
    assert tags(found) == ["B-01", "B-02", "B-03"]
    assert found.length_nm == 0


def test_no_mark_is_no_walk() -> None:
    assert walked([], (0, 0)) == WalkOrder((0, 0), (), (), 0, exact=True)
    assert walked([], None).visits == ()


@pytest.mark.parametrize(("seed", "marks", "walls"), [(1, 9, 12), (2, 13, 20), (3, 30, 25), (4, 60, 40)])
def test_every_mark_is_visited_once_and_no_wall_is_crossed(seed: int, marks: int, walls: int) -> None:
    stops, start, drawn = random_zone(seed, marks, walls)
    found = walk_order(stops, start, drawn, NM_PER_PX)
    there = [visit.stop for visit in found.visits]
    assert sorted([*there, *found.beyond], key=lambda stop: stop.tag) == stops
    on_paper = shapely.MultiLineString(drawn)
    length = 0.0
    for begun, visit in zip([start, *(v.stop.at for v in found.visits)], found.visits, strict=False):
        assert (visit.way[0], visit.way[-1]) == (begun, visit.stop.at)
        leg = shapely.LineString(visit.way)
        assert not shapely.intersects(leg, on_paper), f"to {visit.stop.tag} through a wall"
        assert abs(leg.length * NM_PER_PX / 1000 - visit.leg_nm) < 20_000, "as long as it is told to be"
        length += visit.leg_nm
        assert visit.along_nm == length
    assert found.length_nm == length


@pytest.mark.parametrize(("seed", "marks"), [(5, 10), (6, 40)])
def test_the_order_marks_and_walls_are_handed_in_changes_nothing(seed: int, marks: int) -> None:
    stops, start, drawn = random_zone(seed, marks, 15)
    found = walk_order(stops, start, drawn, NM_PER_PX)
    for turn in range(3):
        mixed, walls = stops.copy(), drawn.copy()
        random.Random(turn).shuffle(mixed)
        random.Random(turn).shuffle(walls)
        assert walk_order(mixed, start, walls, NM_PER_PX) == found


def test_on_a_grid_of_equal_steps_the_same_way_is_always_told_and_no_step_is_wasted() -> None:
    places = [(x * FOOT, y * FOOT) for x in range(6) for y in range(6)]
    found = walked(places, (0, 0))
    assert found.length_nm == 35 * FOOT_NM
    assert least_to_walk(stops_at(*places), (0, 0), [], NM_PER_PX) <= 35 * FOOT_NM


def test_of_many_equally_short_walks_the_same_is_told_however_the_marks_are_handed_in() -> None:
    stops = stops_at(*[(x * FOOT, y * FOOT) for x in range(4) for y in range(3)])
    for start in ((0, 0), None):
        found = walk_order(stops, start, [], NM_PER_PX)
        assert found.visits[0].stop.tag == "B-01"
        for turn in range(4):
            mixed = stops.copy()
            random.Random(turn).shuffle(mixed)
            assert walk_order(mixed, start, [], NM_PER_PX) == found


@pytest.mark.parametrize("seed", range(6))
def test_a_long_row_is_begun_at_the_end_with_the_lower_tag(seed: int) -> None:
    spots = list(range(20))
    random.Random(seed).shuffle(spots)
    found = walked([(spot * FOOT, 0) for spot in spots], None)
    assert found.length_nm == 19 * FOOT_NM
    assert tags(found)[0] == min(tags(found)[0], tags(found)[-1])


def test_no_line_of_sight_slips_through_where_two_slanting_walls_meet() -> None:
    draw = random.Random(7)
    for _ in range(150):
        x, y = draw.randrange(400_000), draw.randrange(400_000)
        up, over = draw.randrange(200_000, 500_000), draw.randrange(1_000, 90_000)
        walls: list[Wall] = [((x, y), (x - over, y - up)), ((x, y), (x + over // 3, y + up))]
        across, down = draw.randrange(90_000, 150_000), draw.randrange(-20_000, 20_000)
        found = walked([(x + across, y + down)], (x - across, y - down), walls)
        assert len(found.visits[0].way) > 2


def test_the_bound_of_an_exact_walk_is_its_length_and_of_others_no_more() -> None:
    for marks in (8, 13, 14, 30):
        stops, start, drawn = random_zone(marks, marks, 10)
        found = walk_order(stops, start, drawn, NM_PER_PX)
        bound = least_to_walk(stops, start, drawn, NM_PER_PX)
        assert found.exact == (marks <= 13)
        assert bound == found.length_nm if found.exact else 0.9 * found.length_nm < bound <= found.length_nm
