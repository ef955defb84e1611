"""Outlining a zone by pressing or typing, changing one, and taking one off the sketch."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import sketch_view, zone_view
from service.actions.sketches import sketches
from service.domain.nouns.site import Zone
from tests.builders import HOLE, a_mark, a_sketch, a_walk, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of
from tests.web.sketches.plans import a_plan, button, plan_png, press

SQUARE = "[[100,100],[900,100],[900,700],[100,700]]"
TYPED = {"letter": "c", "name": "West bay", "place_at": "2026-11-26T06:30", "sides": "", "outline": SQUARE}


def zones_of(desk: Desk, cast: Cast, sketch: str) -> list[Zone]:
    return [standing.zone for standing in sketch_view(desk, cast.manager.id, sketch).standings]


@pytest.fixture
def sketch(desk: Desk, cast: Cast) -> str:
    return a_sketch(desk, cast)


def test_a_zone_is_outlined_once_with_its_letter_and_planned_time(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str
) -> None:
    manager, path = page_of(cast.manager), f"/sketches/{sketch}/zones/new"
    sent = form_of(manager.get(path).text, path) | TYPED
    answers = [manager.post(path, data=sent) for _ in range(2)]
    assert {answer.headers["location"] for answer in answers} == {f"/sketches/{sketch}?said=zone"}
    (zone,) = zones_of(desk, cast, sketch)
    assert (zone.letter, zone.name) == ("C", "West bay")
    assert zone.place_at == datetime(2026, 11, 26, 12, 30, tzinfo=UTC)  # half past six in Chicago
    assert "4,800 sq ft" in manager.get(f"/sketches/{sketch}").text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"outline": "[[100,100],[900,700],[900,100],[100,700]]"}, "crosses or touches itself"),
        ({"outline": "[[100,100],[900,100],[900,9000]]"}, "off the sketch"),
        ({"outline": "[[100,100],[500,100],[900,100]]"}, "has no area"),
        ({"outline": "[[100,100],[900,100]]"}, "three at the least"),
        ({"outline": "garbage"}, "three at the least"),
        ({"letter": ""}, "Give the zone its letter."),
        ({"letter": "B3"}, "one or two letters"),
        ({"place_at": "tomorrow"}, "Write the day and time"),
    ],
)
def test_what_is_no_zone_is_refused_with_the_reason_and_everything_typed_comes_back(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str, typed: dict[str, str], sentence: str
) -> None:
    path = f"/sketches/{sketch}/zones/new"
    sent = TYPED | typed
    answer = page_of(cast.manager).post(path, data=sent)
    assert answer.status_code == 422 and sentence.lower() in answer.text.lower()
    back = form_of(answer.text, path)
    assert {name: back[name] for name in ("letter", "name", "place_at")} == {
        name: sent[name] for name in ("letter", "name", "place_at")
    }
    if sent["outline"] != "garbage":
        assert json.loads(back["outline"]) == json.loads(sent["outline"])
    assert zones_of(desk, cast, sketch) == []


def test_a_letter_is_never_used_twice_and_a_free_one_is_offered(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str
) -> None:
    a_zone(desk, cast, sketch, "A")
    manager, path = page_of(cast.manager), f"/sketches/{sketch}/zones/new"
    assert form_of(manager.get(path).text, path)["letter"] == "B"
    answer = manager.post(path, data=TYPED | {"letter": "A", "outline": "[[1000,800],[1500,800],[1500,900]]"})
    assert answer.status_code == 422 and "Letter A is used on this project" in answer.text


def test_sides_typed_off_the_plan_become_corners_to_look_at_first(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str
) -> None:
    manager, path = page_of(cast.manager), f"/sketches/{sketch}/zones/new"
    sides = "right 20 ft\ndown 12'-6\"\nleft 20 ft\nup 12 ft 6 in"
    sent = TYPED | {"outline": "[[100,100]]", "sides": sides, "work": "yes"}
    answer = manager.post(path, data=sent)
    assert answer.status_code == 200
    assert "comes back to the first corner exactly" in answer.text and "250 sq ft, 65 ft round" in answer.text
    # 10 px are a foot.
    back = form_of(answer.text, path)
    assert json.loads(back["outline"]) == [[100, 100], [300, 100], [300, 225], [100, 225]]
    assert back["sides"] == sides and zones_of(desk, cast, sketch) == []


@pytest.mark.parametrize(
    ("sides", "told"),
    [
        ("right 20 ft\ndown 12 ft\nleft 20 ft", "straight up, 12 ft long"),
        ("right 20 ft\ndown 12 ft\nleft 17 ft\nup 12 ft", "straight left, 3 ft long"),
        ("right 20 ft\ndown 12 ft\nleft 18 ft\nup 9 ft", "on a slant"),
        ("right 20 ft\ndown 12 ft\nleft 20 ft\nup 11 ft 11 1/2 in", "first corner, 1/2 in off"),
    ],
)
def test_the_misfit_of_the_last_side_is_told(
    cast: Cast, page_of: ClientOf, sketch: str, sides: str, told: str
) -> None:
    sent = TYPED | {"outline": "[[100,100]]", "sides": sides, "work": "yes"}
    assert told in page_of(cast.manager).post(f"/sketches/{sketch}/zones/new", data=sent).text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"sides": "right 20\ndown 3 ft"}, "20 of what?"),
        ({"sides": "20 ft"}, "which way does it go?"),
        (
            {"sides": "right 20 ft\ndown 3 ft", "outline": "[]"},
            "Press the corner that the first side starts from.",
        ),
    ],
)
def test_sides_that_cannot_be_read_are_told_and_kept(
    cast: Cast, page_of: ClientOf, sketch: str, typed: dict[str, str], sentence: str
) -> None:
    path = f"/sketches/{sketch}/zones/new"
    sent = TYPED | {"outline": "[[100,100]]", "work": "yes"} | typed
    answer = page_of(cast.manager).post(path, data=sent)
    assert answer.status_code == 422 and sentence in answer.text
    back = form_of(answer.text, path)
    assert back["sides"] == sent["sides"] and json.loads(back["outline"]) == json.loads(sent["outline"])


def test_without_scripts_the_corners_are_pressed_and_the_letter_typed_is_kept(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str
) -> None:
    manager, path = page_of(cast.manager), f"/sketches/{sketch}/zones/new"
    answer = manager.get(path)
    for corner in ((60, 100), (200, 100), (200, 180), (60, 180), (80, 80)):
        for spot in (corner, (144, 160)):
            answer = press(manager, answer, path, *spot, typed={"letter": "M"})
    answer = button(manager, answer, path, "undo")
    assert "4 corners so far" in answer.text and " sq ft" in answer.text
    assert manager.post(path, data=form_of(answer.text, path)).status_code == 303
    (zone,) = zones_of(desk, cast, sketch)
    assert (zone.letter, len(zone.outline)) == ("M", 4)


def test_without_a_scale_no_zone_is_outlined(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    path = f"/sketches/{a_sketch(desk, cast, scaled=False)}/zones/new"
    manager = page_of(cast.manager)
    for answer in (manager.get(path), manager.post(path, data=TYPED)):
        assert answer.status_code == 409 and "Set the sketch&#39;s scale first" in answer.text


def test_a_new_name_keeps_the_walk_and_a_moved_corner_voids_it(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str
) -> None:
    zone = a_zone(desk, cast, sketch)
    a_walk(desk, cast, zone)
    manager, path = page_of(cast.manager), f"/zones/{zone.id}/edit"
    shown = manager.get(path).text
    assert "voids the zone&#39;s punch walk" in shown
    sent = form_of(shown, path)
    assert manager.post(path, data=sent | {"name": "East bay"}).status_code == 303
    now = zone_view(desk, cast.manager.id, zone.id).zone
    assert now.name == "East bay" and now.walked_at is not None and now.outline == zone.outline
    moved = sent | {"outline": SQUARE.replace("700", "710"), "request_key": "another"}
    assert manager.post(path, data=moved).status_code == 303
    assert zone_view(desk, cast.manager.id, zone.id).zone.walked_at is None


def test_a_new_name_on_a_turned_picture_moves_no_corner(
    desk: Desk, cast: Cast, page_of: ClientOf, tmp_path: Path
) -> None:
    """Corners shown to the thousandth of a pixel of a turned picture are not exactly those that are kept."""
    plan = a_plan(desk, cast, tmp_path)
    zone = a_zone(
        desk, cast, plan.id, outline=[(200, 200), (801.234, 200), (800, 607.891), (333.333, 444.444)]
    )
    newer = tmp_path / "newer.png"
    newer.write_bytes(plan_png(700, 700))
    ends = ((100, 100), (1100, 900)), ((97.3, 61.7), (561.9, 600.1))
    sketches.revise_sketch(desk, cast.manager.id, plan.id, newer, *ends)
    a_walk(desk, cast, zone)
    manager, path = page_of(cast.manager), f"/zones/{zone.id}/edit"
    sent = form_of(manager.get(path).text, path) | {"name": "East bay"}
    assert manager.post(path, data=sent).status_code == 303
    now = zone_view(desk, cast.manager.id, zone.id).zone
    assert (now.name, now.outline) == ("East bay", zone.outline)
    assert now.walked_at is not None


def test_a_zone_is_taken_off_with_a_reason_and_then_told_as_gone(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str
) -> None:
    zone = a_zone(desk, cast, sketch)
    a_mark(desk, cast, zone, outline=HOLE)
    manager, path = page_of(cast.manager), f"/zones/{zone.id}/withdraw"
    shown = manager.get(path).text
    assert "1 mark" in shown
    assert manager.post(path, data={"reason": " "}).status_code == 422
    sent = form_of(shown, path) | {"reason": "Drawn on the wrong level."}
    assert [manager.post(path, data=sent).status_code for _ in range(2)] == [303, 303]
    assert zones_of(desk, cast, sketch) == []
    late = manager.post(f"/zones/{zone.id}/edit", data=TYPED)
    assert late.status_code == 409 and "Drawn on the wrong level." in late.text


@pytest.mark.parametrize(("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404)])
def test_only_a_project_manager_outlines_changes_and_withdraws(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str, who: str, status: int
) -> None:
    zone = a_zone(desk, cast, sketch)
    other = page_of(getattr(cast, who))
    for path in (f"/sketches/{sketch}/zones/new", f"/zones/{zone.id}/edit", f"/zones/{zone.id}/withdraw"):
        assert other.get(path).status_code == status
        assert other.post(path, data=TYPED | {"reason": "Mine."}).status_code == status
    assert zones_of(desk, cast, sketch) == [zone]
