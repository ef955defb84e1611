"""Choosing a place without scripts: pressed, closer in, pressed again; one press never settles a far look."""

from __future__ import annotations

import json
import math

import pytest

from service.web.forms.choosing import PAIR, POINT, RING, Chosen, choose
from service.web.forms.stills import Ground

# 9,500 by 6,714 dots at 188 dots to the metre, as large as a real plan.
PLAN = Ground("/window.webp?v=1", 9500, 6714, 7, 188.445)
MIDDLE = (144, 160)


def pressed(chosen: Chosen, x: int, y: int, ground: Ground = PLAN, mode: str = POINT) -> Chosen:
    names = {POINT: ("x", "y"), PAIR: ("x1", "y1", "x2", "y2"), RING: ("outline",)}[mode]  # type: ignore[index]
    sent = dict(zip(names, chosen.values, strict=True))
    sent |= {"look": chosen.still.look, "press.x": str(x), "press.y": str(y)}
    return choose(sent, ground, mode)  # type: ignore[arg-type]


def look(chosen: Chosen) -> tuple[int, int, int]:
    level, x, y, *_ = (int(part) for part in chosen.still.look.split(","))
    return level, x, y


def test_a_page_that_is_only_opened_was_not_pressed() -> None:
    chosen = choose({}, PLAN, POINT)
    assert (chosen.pressed, chosen.places, chosen.values) == (False, (None,), ("", ""))


def test_one_press_on_the_whole_plan_comes_closer_and_settles_nothing() -> None:
    first = choose({}, PLAN, POINT)
    closer = pressed(first, 100, 150)
    assert closer.pressed and closer.places == (None,)
    assert look(closer)[0] < look(first)[0]


def test_the_second_press_settles_the_place_within_two_inches_of_where_it_was_pressed() -> None:
    closer = pressed(choose({}, PLAN, POINT), 150, 170)
    settled = pressed(closer, *MIDDLE)
    assert settled.places[0] is not None
    level, x, y = look(closer)
    # The middle of the still picture shows the middle of the look: the place is that, give or take a dot.
    assert math.dist(settled.places[0], (x / 1000, y / 1000)) <= 2 * 2.0**level
    assert 2.0**level / PLAN.px_per_m <= 0.0508


@pytest.mark.parametrize("level", [-3, -1, 0, 2])
def test_a_dot_right_of_the_middle_is_a_dot_right_on_the_plan(level: int) -> None:
    at = f"{level},4000000,3000000,0,0"
    places = [
        choose({"look": at, "press.x": str(144 + n), "press.y": "160"}, PLAN, POINT).places[0] for n in (0, 8)
    ]
    assert places[0] is not None and places[1] is not None
    assert places[1][0] - places[0][0] == pytest.approx(8 * 2.0**level)
    assert places[1][1] == places[0][1]


def test_enter_on_the_picture_takes_its_middle() -> None:
    at = {"look": "1,4000000,3000000,0,0", "press.x": "0", "press.y": "0"}
    place = choose(at, PLAN, POINT).places[0]
    assert place is not None and math.dist(place, (4000, 3000)) <= 2


def test_two_points_are_settled_in_turn_and_the_view_goes_back_to_the_whole_between() -> None:
    chosen = pressed(pressed(choose({}, PLAN, PAIR), 120, 150, mode=PAIR), *MIDDLE, mode=PAIR)
    assert chosen.places[0] is not None and chosen.places[1] is None
    assert look(chosen)[0] == look(choose({}, PLAN, PAIR))[0]
    chosen = pressed(pressed(chosen, 170, 170, mode=PAIR), *MIDDLE, mode=PAIR)
    assert None not in chosen.places


def test_corners_are_added_one_by_one_and_the_last_can_be_undone() -> None:
    chosen = choose({}, PLAN, RING)
    for x, y in ((120, 150), (170, 150), (170, 170)):
        chosen = pressed(pressed(chosen, x, y, mode=RING), *MIDDLE, mode=RING)
    assert len(json.loads(chosen.values[0])) == 3
    sent = {"outline": chosen.values[0], "look": chosen.still.look, "do": "undo"}
    assert choose(sent, PLAN, RING).settled == chosen.settled[:2]


def test_a_place_is_moved_by_an_inch_of_ground() -> None:
    at = {"x": "4000", "y": "3000", "look": "2,4000000,3000000,0,0", "do": "move-right"}
    place = choose(at, PLAN, POINT).places[0]
    assert place is not None
    assert place[0] - 4000 == pytest.approx(0.0254 * 188.445, abs=0.001)


def test_a_press_past_the_edge_lands_on_the_edge() -> None:
    at = {"look": "0,0,0,0,0", "press.x": "2", "press.y": "3"}
    assert choose(at, PLAN, POINT).places == ((0.0, 0.0),)


@pytest.mark.parametrize(
    "sent",
    [
        {"look": "9,9", "x": "nan", "y": "inf"},
        {"look": "99,1e9,-4,7,7"},
        {"look": "1,999999999999999999999,0,0,0", "press.x": "7", "press.y": "-99999"},
        {"press.x": "a", "press.y": ""},
        {"outline": "[[1,2],[3", "do": "again-9"},
        {"outline": '{"a": 1}', "do": "see-nowhere"},
        {"outline": "[[1,2,3]]", "do": "move-right"},
        {"outline": "[" * 5000},
    ],
)
@pytest.mark.parametrize("mode", [POINT, PAIR, RING])
def test_garbage_in_the_fields_counts_as_nothing_chosen(sent: dict[str, str], mode: str) -> None:
    chosen = choose(sent, PLAN, mode)  # type: ignore[arg-type]
    for x, y in chosen.settled:
        assert 0 <= x <= PLAN.width_px and 0 <= y <= PLAN.height_px


def test_a_small_sketch_without_a_scale_is_settled_by_its_own_dots() -> None:
    small = Ground("/window.webp?v=1", 640, 480, 3)
    chosen = choose({}, small, POINT)
    for _ in range(3):
        chosen = pressed(chosen, *MIDDLE, small)
    assert chosen.places[0] is not None and math.dist(chosen.places[0], (320, 240)) <= 4
