"""Laying the building's grid, line by line and a family at a time."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import sketch_view
from service.domain.nouns.site import GridLine
from tests.builders import a_sketch
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of

LINE = {"x1": "300", "y1": "50", "x2": "300", "y2": "1900"}


def grid_of(desk: Desk, cast: Cast, sketch: str) -> tuple[GridLine, ...]:
    return sketch_view(desk, cast.manager.id, sketch).seen.sketch.grid


@pytest.fixture
def sketch(desk: Desk, cast: Cast) -> str:
    return a_sketch(desk, cast)


def test_a_family_is_laid_from_its_first_line(desk: Desk, cast: Cast, page_of: ClientOf, sketch: str) -> None:
    manager, path = page_of(cast.manager), f"/sketches/{sketch}/grid"
    sent = form_of(manager.get(path).text, path) | LINE
    sent |= {"label": "G", "more": "3", "spacing": "25", "spacing_unit": "ft", "toward": "right"}
    answers = [manager.post(path, data=sent) for _ in range(2)]
    assert {answer.headers["location"] for answer in answers} == {f"{path}?said=laid"}
    # 25 ft are 250 px. I is left out of grids, because it is read as a 1 (common practice, no source).
    assert [(line.label, line.a[0] / 1000) for line in grid_of(desk, cast, sketch)] == [
        ("G", 300), ("H", 550), ("J", 800), ("K", 1050)
    ]  # fmt: skip
    assert 'value="L"' in manager.get(path).text


def test_lines_are_taken_away_and_the_others_stay(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str
) -> None:
    manager, path = page_of(cast.manager), f"/sketches/{sketch}/grid"
    manager.post(path, data=LINE | {"label": "1", "more": "2", "spacing": "10 ft", "toward": "left"})
    kept = grid_of(desk, cast, sketch)[0]
    assert manager.post(f"{path}/drop", data={"drop": ["2", "3"]}).status_code == 303
    assert grid_of(desk, cast, sketch) == (kept,)
    gone = manager.post(f"{path}/drop", data={"drop": ["2"]})
    assert gone.status_code == 409 and "Somebody changed the grid meanwhile" in gone.text
    assert manager.post(f"{path}/drop", data={}).status_code == 422


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"label": ""}, "Say what the line is called"),
        ({"label": "NORTHWALL"}, "Keep it to 8 characters"),
        ({"label": "A", "x1": "", "y1": ""}, "Press two points on the line first."),
        ({"label": "A", "more": "40", "spacing": "20 ft", "toward": "right"}, "would lie off the picture"),
        ({"label": "A", "more": "2", "spacing": "20", "toward": "right"}, "20 of what?"),
        ({"label": "A", "more": "2", "spacing": "20 ft", "toward": "up"}, "The line itself runs that way"),
        ({"label": "A", "more": "2", "spacing": "20 ft"}, "Say on which side"),
        ({"label": "A", "more": "some"}, "Write a whole number."),
        ({"label": "%", "more": "2", "spacing": "20 ft", "toward": "right"}, "No label follows %."),
    ],
)
def test_what_cannot_be_laid_is_told_and_given_back(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str, typed: dict[str, str], sentence: str
) -> None:
    path = f"/sketches/{sketch}/grid"
    answer = page_of(cast.manager).post(path, data=LINE | typed)
    assert answer.status_code == 422 and sentence in answer.text
    assert form_of(answer.text, path)["label"] == typed["label"]
    assert grid_of(desk, cast, sketch) == ()


def test_no_label_is_laid_twice(desk: Desk, cast: Cast, page_of: ClientOf, sketch: str) -> None:
    manager, path = page_of(cast.manager), f"/sketches/{sketch}/grid"
    manager.post(path, data=LINE | {"label": "A"})
    answer = manager.post(path, data=LINE | {"label": "A", "x1": "700", "x2": "700"})
    assert answer.status_code == 422 and "There is a line A already." in answer.text
    assert len(grid_of(desk, cast, sketch)) == 1


@pytest.mark.parametrize(("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404)])
def test_only_a_project_manager_lays_it(
    desk: Desk, cast: Cast, page_of: ClientOf, sketch: str, who: str, status: int
) -> None:
    other, path = page_of(getattr(cast, who)), f"/sketches/{sketch}/grid"
    assert other.get(path).status_code == status
    assert other.post(path, data=LINE | {"label": "A"}).status_code == status
    assert grid_of(desk, cast, sketch) == ()
