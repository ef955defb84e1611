"""The walk order over the wire: from a place, round walls, with the bound that no order comes below.

10 px are 1 ft on this sketch: 0.3048 m.
"""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.sketches import zones
from tests.builders import a_mark, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.crew.test_walk_order_page import a_zone_without_scale

FOOT_M = 0.3048


def test_marks_are_told_in_order_with_legs_and_distances(
    desk: Desk, cast: Cast, program_of: ClientOf
) -> None:
    zone = a_zone(desk, cast, letter="K")
    marks = [a_mark(desk, cast, zone, (x, 300)) for x in (300, 700, 500)]
    told = program_of(cast.lead).get(f"/api/v1/zones/{zone.id}/walk-order?from=900,300").json()
    assert told["start"] == [900.0, 300.0]
    assert [visit["id"] for visit in told["order"]] == [marks[k].id for k in (1, 2, 0)]
    assert [visit["leg"]["text"] for visit in told["order"]] == ["20 ft"] * 3
    assert [visit["distance"]["m"] for visit in told["order"]] == pytest.approx(
        [20 * FOOT_M * n for n in (1, 2, 3)]
    )
    assert told["length"] == told["bound"] and told["exact"] and told["closed_off"] == []
    free = program_of(cast.lead).get(f"/api/v1/zones/{zone.id}/walk-order").json()
    assert free["start"] is None and free["length"]["m"] == pytest.approx(40 * FOOT_M)
    assert [visit["tag"] for visit in free["order"]] == ["K-01", "K-03", "K-02"]


def test_a_wall_makes_the_leg_longer_than_the_straight_line(
    desk: Desk, cast: Cast, program_of: ClientOf
) -> None:
    """3-4-5: 30 ft to each side of the middle of a wall 80 ft long is 50 ft to its end and 50 ft back."""
    zone = a_zone(desk, cast, letter="K")
    a_mark(desk, cast, zone, (800, 500))
    zones.draw_wall(desk, cast.manager.id, zone.id, (500, 100), (500, 900))
    told = program_of(cast.lead).get(f"/api/v1/zones/{zone.id}/walk-order?from=200,500").json()
    assert told["length"]["m"] == pytest.approx(100 * FOOT_M, abs=0.02)


@pytest.mark.parametrize("place", ["1", "a,b", "1,2,3", "nan,1", "inf,1", "-1,5", "900000,1", "1e400,2"])
def test_what_is_no_place_on_the_sketch_is_refused(
    desk: Desk, cast: Cast, program_of: ClientOf, place: str
) -> None:
    zone = a_zone(desk, cast, letter="K")
    refused = program_of(cast.lead).get(f"/api/v1/zones/{zone.id}/walk-order", params={"from": place})
    assert refused.status_code == 422
    assert refused.json()["error"]["fields"].keys() == {"from"}


def test_without_scale_it_is_refused_and_an_outsider_finds_nothing(
    desk: Desk, cast: Cast, program_of: ClientOf
) -> None:
    path = f"/api/v1/zones/{a_zone_without_scale(desk, cast, 'K')}/walk-order"
    assert program_of(cast.lead).get(path).json()["error"]["code"] == "no-scale"
    assert program_of(cast.outsider).get(path).status_code == 404
