"""The key plan: letters stand inside their zones, whatever the shape."""

from __future__ import annotations

import pytest
import shapely

from service.actions.frame.desk import Desk
from service.actions.frame.reading import sketch_view
from service.web.shared.key_plan import KeyPlan, draw_key_plan
from tests.builders import a_sketch, a_zone
from tests.cast import Cast

SHAPES = {
    "a square": ((100, 100), (900, 100), (900, 900), (100, 900)),
    "an angle": ((100, 100), (1500, 100), (1500, 300), (300, 300), (300, 1500), (100, 1500)),
    "a horseshoe": (
        (100, 100), (1500, 100), (1500, 1500), (1300, 1500), (1300, 300), (300, 300),
        (300, 1500), (100, 1500),
    ),
    "a sliver": ((100, 100), (2900, 100), (2900, 130), (100, 130)),
    "a slanting strip": ((100, 100), (200, 100), (1600, 1500), (1500, 1500)),
}  # fmt: skip


def plan_of(desk: Desk, cast: Cast, sketch: str) -> KeyPlan:
    view = sketch_view(desk, cast.manager.id, sketch)
    return draw_key_plan(view.seen.sketch, view.standings, "plan")


@pytest.mark.parametrize("shape", SHAPES)
def test_a_letter_stands_inside_its_zone(desk: Desk, cast: Cast, shape: str) -> None:
    """Judged by shapely, which the plan does not use."""
    sketch = a_sketch(desk, cast)
    a_zone(desk, cast, sketch, "B", SHAPES[shape])
    [zone] = plan_of(desk, cast, sketch).zones
    corners = [tuple(map(float, pair.split())) for pair in zone.path.strip("MZ").split("L")]
    assert shapely.Polygon(corners).contains(shapely.Point(zone.x, zone.y - zone.size * 0.36))


def test_every_zone_lies_on_the_plan_in_its_true_place(desk: Desk, cast: Cast) -> None:
    sketch = a_sketch(desk, cast)
    a_zone(desk, cast, sketch, "B", ((0, 0), (1000, 0), (1000, 500), (0, 500)))
    a_zone(desk, cast, sketch, "C", ((1000, 0), (3000, 0), (3000, 2000), (1000, 2000)))
    plan = plan_of(desk, cast, sketch)
    first, second = (
        shapely.Polygon([tuple(map(float, pair.split())) for pair in zone.path.strip("MZ").split("L")])
        for zone in plan.zones
    )
    assert second.area / first.area == pytest.approx(8, rel=0.01)
    for ring in (first, second):
        left, top, right, bottom = ring.bounds
        assert 0 < left < right < plan.width and 0 < top < bottom < plan.height
