"""A newer picture for a sketch: two common points, the zones over it, then in place."""

from __future__ import annotations

from pathlib import Path

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import sketch_view
from service.actions.sketches import zones
from service.domain.nouns.site import Sketch
from service.domain.sketch.places import from_base
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of
from tests.web.sketches.plans import a_plan, plan_png, press

# The new picture is drawn twice as large: (x, y) of the old one is (2x, 2y) of it.
POINTS = {
    "old_x1": "100", "old_y1": "100", "old_x2": "1000", "old_y2": "700",
    "new_x1": "200", "new_y1": "200", "new_x2": "2000", "new_y2": "1400",
}  # fmt: skip


@pytest.fixture
def plan(desk: Desk, cast: Cast, tmp_path: Path) -> Sketch:
    plan = a_plan(desk, cast, tmp_path)
    zones.outline_zone(desk, cast.manager.id, plan.id, "B", "", [(200, 200), (800, 200), (800, 600)])
    return plan


def upload(manager: httpx.Client, plan: Sketch) -> str:
    """The address of the page that asks for the two points."""
    path = f"/sketches/{plan.id}/revise"
    sent = form_of(manager.get(path).text, path)
    sent.pop("file", None)
    answer = manager.post(path, data=sent, files={"file": ("newer.png", plan_png(2400, 1800))})
    assert answer.status_code == 303
    return answer.headers["location"]


def shown_of(desk: Desk, cast: Cast, plan: Sketch) -> Sketch:
    return sketch_view(desk, cast.manager.id, plan.id).seen.sketch


def test_zones_keep_their_place_on_a_picture_drawn_twice_as_large(
    desk: Desk, cast: Cast, page_of: ClientOf, plan: Sketch
) -> None:
    manager = page_of(cast.manager)
    align = upload(manager, plan)
    assert shown_of(desk, cast, plan).revision == 1
    asked = manager.post(align, data=form_of(manager.get(align).text, align) | POINTS)
    assert "Does zone B lie where it should?" in asked.text and "2.000 times as large" in asked.text
    assert shown_of(desk, cast, plan).revision == 1
    sure = form_of(asked.text, align) | {"confirm": "yes"}
    answers = [manager.post(align, data=sure) for _ in range(2)]
    assert {answer.headers.get("location") for answer in answers} == {f"/sketches/{plan.id}?said=revised"}
    now = shown_of(desk, cast, plan)
    assert (now.revision, now.width_px) == (2, 2400)
    zone = sketch_view(desk, cast.manager.id, plan.id).standings[0].zone
    assert from_base(now, zone.outline[2]) == pytest.approx((1600, 1200))
    # 1,200 px were 120 ft; twice the picture still reaches 240 ft over 2,400 px at 20 px to the foot.
    assert "the picture is 120 ft wide" in manager.get(f"/sketches/{plan.id}").text


def test_a_zone_that_would_reach_off_the_new_picture_is_named(
    cast: Cast, page_of: ClientOf, plan: Sketch
) -> None:
    manager = page_of(cast.manager)
    align = upload(manager, plan)
    far = POINTS | {"new_x1": "2000", "new_y1": "1400", "new_x2": "2300", "new_y2": "1600"}
    turned = far | {"old_x1": "1000", "old_y1": "700", "old_x2": "700", "old_y2": "500"}
    asked = manager.post(align, data=turned)
    assert "Reaching past the edge of the new picture: B." in asked.text


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        ({}, "Press both points on the old picture."),
        (POINTS | {"new_x2": "", "new_y2": ""}, "Press both points on the new picture."),
        (
            POINTS | {"old_x2": "101", "old_y2": "100"},
            "The points on the old picture are too close together.",
        ),
    ],
)
def test_two_points_apart_are_needed_on_both(
    desk: Desk, cast: Cast, page_of: ClientOf, plan: Sketch, points: dict[str, str], sentence: str
) -> None:
    manager = page_of(cast.manager)
    answer = manager.post(upload(manager, plan), data=points | {"confirm": "yes"})
    assert answer.status_code == 422 and sentence in answer.text
    assert shown_of(desk, cast, plan).revision == 1


def test_a_picture_somebody_put_in_meanwhile_is_not_replaced_unseen(
    desk: Desk, cast: Cast, page_of: ClientOf, plan: Sketch
) -> None:
    manager = page_of(cast.manager)
    align = upload(manager, plan)
    sure = form_of(manager.post(align, data=POINTS).text, align) | {"confirm": "yes", "request_key": "one"}
    assert manager.post(align, data=sure).status_code == 303
    late = manager.post(align, data=sure | {"request_key": "another"})
    assert late.status_code == 409 and "Somebody put another picture in meanwhile." in late.text
    assert shown_of(desk, cast, plan).revision == 2


def test_without_scripts_both_pictures_are_pressed(cast: Cast, page_of: ClientOf, plan: Sketch) -> None:
    manager = page_of(cast.manager)
    align = upload(manager, plan)
    answer = manager.get(align)
    for prefix in ("old_", "new_"):
        for spot in ((80, 120), (144, 160), (200, 220), (144, 160)):
            answer = press(manager, answer, align, *spot, prefix=prefix)
            assert answer.status_code == 200
    asked = manager.post(align, data=form_of(answer.text, align))
    assert "Does zone B lie where it should?" in asked.text


def test_an_upload_that_cannot_be_taken_changes_nothing(
    desk: Desk, cast: Cast, page_of: ClientOf, plan: Sketch
) -> None:
    path = f"/sketches/{plan.id}/revise"
    answer = page_of(cast.manager).post(
        path, data={"request_key": "k"}, files={"file": ("newer.png", b"<html>")}
    )
    assert answer.status_code == 422 and "not a PNG, JPEG or WebP picture" in answer.text
    assert shown_of(desk, cast, plan).revision == 1


@pytest.mark.parametrize(("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404)])
def test_only_a_project_manager_puts_a_picture_in(
    cast: Cast, page_of: ClientOf, plan: Sketch, who: str, status: int
) -> None:
    other = page_of(getattr(cast, who))
    for path in (f"/sketches/{plan.id}/revise", f"/sketches/{plan.id}/revise?picture={plan.sha256}"):
        assert other.get(path).status_code == status
        assert other.post(path, data=POINTS | {"confirm": "yes"}).status_code == status
