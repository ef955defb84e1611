"""The overlap of shapes sent, against values worked out by hand beside each."""

from __future__ import annotations

from typing import Any

import pytest

from service.actions.frame.desk import Desk
from tests.api.conftest import Programs
from tests.api.shape import assert_refused

TEAR = {"shape": "rectangle", "length": "4 in", "width": "2 in"}
INCH = 0.0254


def ask(programs: Programs, **given: Any) -> dict[str, Any]:
    answer = programs.inspector.post("/api/v1/overlap", json={"damage": TEAR, "minimum": "6 in", **given})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def patch(length: str, width: str, angle: float = 0, **more: Any) -> dict[str, Any]:
    return {"shape": "rectangle", "length": length, "width": width, "angle_deg": angle, **more}


@pytest.mark.parametrize("angle", [0, 17, 90, 145.5, 359])
def test_exactly_the_minimum_meets_it_and_a_sixteenth_less_does_not(angle: float, programs: Programs) -> None:
    """(a + 2 o) by (b + 2 o), ASTM E1643's 6 in on every side of 4 by 2 in: 16 by 14 in."""
    damage = {**TEAR, "angle_deg": angle}
    full = ask(programs, damage=damage, patches=[patch("16 in", "14 in", angle)])
    assert (full["meets"], full["overlap"]["text"], full["short_by"]["m"]) == (True, "6 in", 0)
    short = ask(programs, damage=damage, patches=[patch("15 7/8 in", "14 in", angle)])
    assert (short["meets"], short["overlap"]["text"], short["short_by"]["text"]) == (
        False,
        "5 15/16 in",
        "1/16 in",
    )
    assert short["overlap"]["m"] == pytest.approx(5.9375 * INCH, abs=1e-9)


def test_the_nearest_bare_place_is_told_in_metres_with_the_offset_along_the_sketch(
    programs: Programs,
) -> None:
    """16 by 14 moved 1 in right: its left edge is 8 - 1 = 7 in off the centre, 5 in past the damage."""
    found = ask(programs, patches=[patch("16 in", "14 in", offset=["1 in", "0 in"])])
    assert found["overlap"]["text"] == "5 in"
    assert found["nearest"][0] == pytest.approx(-7 * INCH, abs=1e-9)
    assert abs(found["nearest"][1]) <= 1 * INCH


def test_no_patch_has_no_overlap_and_is_short_by_all_of_it(programs: Programs) -> None:
    found = ask(programs, patches=[])
    assert (found["overlap"], found["nearest"], found["meets"]) == (None, None, False)
    assert found["short_by"]["text"] == "6 in"


def test_damage_that_shows_is_below_zero_and_just_touching_is_zero(programs: Programs) -> None:
    """A patch as long as the damage touches it; 1 in less leaves 1/2 in bare at each end."""
    assert ask(programs, patches=[patch("4 in", "14 in")])["overlap"]["m"] == 0
    assert ask(programs, patches=[patch("3 in", "14 in")])["overlap"]["m"] == pytest.approx(-0.5 * INCH)


def test_the_worked_patch_sizes_of_the_trade_come_out(programs: Programs) -> None:
    """(a + 2 o) by (b + 2 o) by hand: a 5/8 in stake hole, a 4 by 2 in tear, a 30 in slit open 1/4 in."""
    worked: list[tuple[dict[str, Any], str, float, float]] = [
        ({"shape": "circle", "diameter": "5/8 in"}, "6 in", 12.625, 12.625),
        (TEAR, "6 in", 16, 14),
        ({"shape": "slit", "length": "30 in", "opening": "1/4 in"}, "6 in", 42, 12.25),
        ({"shape": "circle", "diameter": "5/8 in"}, "12 in", 24.625, 24.625),
        (TEAR, "12 in", 28, 26),
        ({"shape": "slit", "length": "30 in", "opening": "1/4 in"}, "12 in", 54, 24.25),
    ]
    for damage, minimum, length, width in worked:
        cut = ask(programs, damage=damage, patches=[], minimum=minimum)["cut_size"]
        assert (cut["length"]["m"], cut["width"]["m"]) == pytest.approx(
            (length * INCH, width * INCH), abs=1e-9
        )


def test_a_polygons_cut_size_is_its_least_rectangle_with_its_angle(programs: Programs) -> None:
    """A 10 by 4 in rectangle given by its corners turned 30 degrees: 22 by 16 in at 30 degrees."""
    points = [
        ["-3.3301 in", "-4.2320 in"],
        ["5.3301 in", "0.7680 in"],
        ["3.3301 in", "4.2320 in"],
        ["-5.3301 in", "-0.7680 in"],
    ]
    cut = ask(programs, damage={"shape": "polygon", "points": points}, patches=[])["cut_size"]
    assert cut["length"]["m"] == pytest.approx(22 * INCH, abs=1e-4)
    assert cut["width"]["m"] == pytest.approx(16 * INCH, abs=1e-4)
    assert cut["angle_deg"] == pytest.approx(30, abs=0.01)


def test_texts_come_in_the_units_of_the_minimum_and_never_flatter(programs: Programs) -> None:
    """150.9 mm of overlap reads 150 mm; 149.1 mm is short by 0.9 mm and reads 1 mm."""
    damage = {"shape": "circle", "diameter": "10 mm"}
    more = ask(
        programs, damage=damage, minimum="150 mm", patches=[{"shape": "circle", "diameter": "311.8 mm"}]
    )
    assert (more["overlap"]["text"], more["meets"]) == ("150 mm", True)
    less = ask(
        programs, damage=damage, minimum="150 mm", patches=[{"shape": "circle", "diameter": "308.2 mm"}]
    )
    assert (less["overlap"]["text"], less["short_by"]["text"], less["meets"]) == ("149 mm", "1 mm", False)


def test_two_patches_count_as_one_only_where_they_lap_by_the_minimum(programs: Programs) -> None:
    """Halves of 14 by 14 in set 4 in left and right of the centre lap 6 in and reach 11 - 2 = 9 in past the
    ends and 6 in past the sides; set 5 in out they lap 4 in and each is judged alone."""
    left, right = (patch("14 in", "14 in", offset=[x, "0 in"]) for x in ("-4 in", "4 in"))
    assert ask(programs, patches=[left, right])["overlap"]["text"] == "6 in"
    left, right = (patch("14 in", "14 in", offset=[x, "0 in"]) for x in ("-5 in", "5 in"))
    assert ask(programs, patches=[left, right])["meets"] is False


def test_more_corners_than_one_call_should_cost_are_refused(programs: Programs) -> None:
    ring = [[f"{i} mm", "0 mm"] for i in range(450)] + [[f"{450 - i} mm", "200 mm"] for i in range(50)]
    shape = {"shape": "polygon", "points": ring}
    body = {"damage": TEAR, "minimum": "6 in"}
    few = programs.lead.post("/api/v1/overlap", json={**body, "patches": [shape] * 5})
    assert few.status_code == 200
    many = programs.lead.post("/api/v1/overlap", json={**body, "patches": [shape] * 6})
    assert_refused(many, 422, "too-many-points", "patches")


def test_an_overlap_is_told_to_people_signed_in_only_and_stores_nothing(
    programs: Programs, client: Any, desk: Desk
) -> None:
    body = {"damage": TEAR, "patches": [], "minimum": "6 in"}
    assert_refused(client.post("/api/v1/overlap", json=body), 401)

    def rows() -> dict[str, int]:
        with desk.database.reading() as session:
            run = session.connection().exec_driver_sql
            names = [name for (name,) in run("SELECT name FROM sqlite_master WHERE type = 'table'")]
            return {name: run(f'SELECT count(*) FROM "{name}"').scalar_one() for name in names}

    before = rows()
    ask(programs, patches=[])
    assert rows() == before
