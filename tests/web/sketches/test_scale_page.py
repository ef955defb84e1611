"""Setting a sketch's scale by two points and a distance."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import sketch_view, zone_view
from service.domain.nouns.site import Scale
from tests.builders import a_sketch, a_walk, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of
from tests.web.sketches.plans import press

POINTS = {"x1": "100", "y1": "100", "x2": "1100", "y2": "100"}


def scale_of(desk: Desk, cast: Cast, sketch: str) -> Scale | None:
    return sketch_view(desk, cast.manager.id, sketch).seen.sketch.scale


def test_the_reach_of_the_picture_is_shown_before_the_scale_counts(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    manager, sketch = page_of(cast.manager), a_sketch(desk, cast, scaled=False)
    path = f"/sketches/{sketch}/scale"
    form = form_of(manager.get(path).text, path)
    asked = manager.post(path, data=form | POINTS | {"distance": "80 ft"})
    # 3,000 by 2,000 px where 1,000 px are 80 ft.
    assert asked.status_code == 200 and "The picture is then 240 ft wide and 160 ft high." in asked.text
    assert scale_of(desk, cast, sketch) is None
    sure = form_of(asked.text, path) | {"confirm": "yes"}
    answers = [manager.post(path, data=sure) for _ in range(2)]
    assert {answer.headers["location"] for answer in answers} == {f"/sketches/{sketch}?said=scale"}
    assert scale_of(desk, cast, sketch) == Scale((100_000, 100_000), (1_100_000, 100_000), 80 * 304_800_000)


@pytest.mark.parametrize(
    ("distance", "sentence"),
    [
        ("6", "6 of what?"),
        ("six", "Write the number in figures"),
        ("-3 in", "no plus or minus sign"),
        ("0", "0 of what?"),
        ("0 ft", "more than nothing"),
        ("1e9 ft", "without e"),
        ("5'13\"", "inches stay under 12"),
        ("", "Write a length with its unit"),
    ],
)
def test_a_distance_that_is_none_is_refused_and_the_points_are_kept(
    desk: Desk, cast: Cast, page_of: ClientOf, distance: str, sentence: str
) -> None:
    sketch = a_sketch(desk, cast, scaled=False)
    path = f"/sketches/{sketch}/scale"
    answer = page_of(cast.manager).post(path, data=POINTS | {"distance": distance})
    assert answer.status_code == 422 and sentence in answer.text
    assert form_of(answer.text, path).items() >= POINTS.items()
    assert scale_of(desk, cast, sketch) is None


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        ({}, "Press the two points on the sketch first."),
        (POINTS | {"x2": "103"}, "too close together"),
    ],
)
def test_two_points_apart_are_needed(
    desk: Desk, cast: Cast, page_of: ClientOf, points: dict[str, str], sentence: str
) -> None:
    sketch = a_sketch(desk, cast, scaled=False)
    answer = page_of(cast.manager).post(f"/sketches/{sketch}/scale", data=points | {"distance": "20 ft"})
    assert answer.status_code == 422 and sentence in answer.text and 'value="20 ft"' in answer.text


def test_a_new_scale_warns_of_the_walks_it_voids_and_voids_them(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    manager, path = page_of(cast.manager), f"/sketches/{zone.sketch_id}/scale"
    asked = manager.post(path, data=POINTS | {"distance": "50 ft"})
    assert "punch walk finished so far is void" in asked.text
    assert "then 1,200 sq ft" in asked.text  # 800 by 600 px where 20 px are a foot
    manager.post(path, data=form_of(asked.text, path) | {"confirm": "yes"})
    assert zone_view(desk, cast.manager.id, zone.id).zone.walked_at is None


def test_without_scripts_the_points_are_pressed(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager, sketch = page_of(cast.manager), a_sketch(desk, cast, scaled=False)
    path = f"/sketches/{sketch}/scale"
    answer = manager.get(path)
    for spot in ((40, 150), (144, 160), (240, 150), (144, 160)):
        answer = press(manager, answer, path, *spot, typed={"distance": "200 ft"})
        assert answer.status_code == 200
    assert "Both points are placed." in answer.text
    asked = manager.post(path, data=form_of(answer.text, path))
    assert "The picture is then" in asked.text
    assert manager.post(path, data=form_of(asked.text, path) | {"confirm": "yes"}).status_code == 303
    assert scale_of(desk, cast, sketch) is not None


@pytest.mark.parametrize(("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404)])
def test_only_a_project_manager_sets_it(
    desk: Desk, cast: Cast, page_of: ClientOf, who: str, status: int
) -> None:
    sketch = a_sketch(desk, cast)
    other, path = page_of(getattr(cast, who)), f"/sketches/{sketch}/scale"
    before = scale_of(desk, cast, sketch)
    assert other.get(path).status_code == status
    sent = POINTS | {"distance": "5 ft", "confirm": "yes"}
    assert other.post(path, data=sent).status_code == status
    assert scale_of(desk, cast, sketch) == before
