"""A sketch's own page."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from tests.builders import a_sketch, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf


def test_it_shows_the_picture_how_far_it_reaches_and_its_zones(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    shown = page_of(cast.manager).get(f"/sketches/{zone.sketch_id}").text
    # 3,000 by 2,000 px at 10 px to the foot; the zone is 80 by 60 ft.
    assert "the picture is 300 ft wide and 200 ft high" in shown
    assert "4,800 sq ft" in shown and f'href="/zones/{zone.id}"' in shown
    assert f'data-tiles="/sketches/{zone.sketch_id}/tiles/?v=1"' in shown


def test_without_a_scale_it_says_what_comes_first(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast, scaled=False)
    shown = page_of(cast.manager).get(f"/sketches/{sketch}").text
    assert "No scale yet" in shown and "Outline a zone" not in shown
    assert f'href="/sketches/{sketch}/scale"' in shown


@pytest.mark.parametrize("who", ["lead", "inspector"])
def test_who_may_only_read_sees_no_way_to_change_it(
    desk: Desk, cast: Cast, page_of: ClientOf, who: str
) -> None:
    sketch = a_sketch(desk, cast)
    answer = page_of(getattr(cast, who)).get(f"/sketches/{sketch}")
    assert answer.status_code == 200 and f"/sketches/{sketch}/scale" not in answer.text


@pytest.mark.parametrize("who", ["outsider", "other_manager"])
def test_nobody_elses_sketch_is_there(desk: Desk, cast: Cast, page_of: ClientOf, who: str) -> None:
    assert page_of(getattr(cast, who)).get(f"/sketches/{a_sketch(desk, cast)}").status_code == 404


def test_without_scripts_the_plan_is_one_small_picture_with_its_zones(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    shown = page_of(cast.lead).get(f"/sketches/{zone.sketch_id}").text
    still = shown.split("<noscript>")[1].split("</noscript>")[0]
    assert "preview.webp?v=1" in still and ">B</text>" in still
