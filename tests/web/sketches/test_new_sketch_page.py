"""Uploading a sketch: a picture, a page of a PDF, and what is refused, each with its sentence."""

from __future__ import annotations

from collections.abc import Mapping

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import project_view
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of
from tests.web.sketches.plans import plan_pdf, plan_png


def path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/sketches/new"


def names(desk: Desk, cast: Cast) -> list[str]:
    return [
        sketch.name for sketch in project_view(desk, cast.manager.id, cast.project_id).site.sketches.values()
    ]


def upload(
    client: httpx.Client, cast: Cast, content: bytes, typed: Mapping[str, str] | None = None
) -> httpx.Response:
    sent = form_of(client.get(path(cast)).text, path(cast)) | dict(typed or {})
    sent.pop("file", None)
    return client.post(path(cast), data=sent, files={"file": ("plan.png", content)})


def test_a_picture_becomes_a_sketch_and_the_scale_is_named_as_next(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    manager = page_of(cast.manager)
    answer = upload(manager, cast, plan_png(), {"name": "Level 1"})
    assert answer.status_code == 303
    shown = manager.get(answer.headers["location"]).text
    assert "Set its scale next" in shown and "1,200 by 900 dots" in shown
    assert names(desk, cast) == ["Level 1"]


def test_the_same_form_sent_twice_makes_one_sketch(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager = page_of(cast.manager)
    sent = form_of(manager.get(path(cast)).text, path(cast))
    sent.pop("file", None)
    answers = [
        manager.post(path(cast), data=sent, files={"file": ("plan.png", plan_png())}) for _ in range(2)
    ]
    assert answers[0].headers["location"] == answers[1].headers["location"]
    assert names(desk, cast) == ["Slab"]


def test_the_name_offered_is_in_the_language_of_the_page(cast: Cast, page_of: ClientOf) -> None:
    page = page_of(cast.manager).get(path(cast), headers={"Accept-Language": "es"}).text
    assert form_of(page, path(cast))["name"] == "Losa"


def test_a_pdf_of_several_pages_asks_which_and_takes_the_one_pressed(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    manager = page_of(cast.manager)
    asked = upload(manager, cast, plan_pdf(3), {"name": "Pit"})
    chooser = manager.get(asked.headers["location"]).text
    assert "This PDF has 3 pages" in chooser and chooser.count("data:image/webp;base64,") == 3
    assert names(desk, cast) == []
    sent = form_of(chooser, path(cast))
    bad = manager.post(path(cast), data=sent | {"page": "9"})
    assert bad.status_code == 422 and "there is no page 9" in bad.text
    answer = manager.post(path(cast), data=sent | {"take": "2"})
    assert "page 2 of a PDF" in manager.get(answer.headers["location"]).text
    assert names(desk, cast) == ["Pit"]


def test_a_pdf_of_one_page_is_taken_at_once(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    assert "/sketches/" in upload(page_of(cast.manager), cast, plan_pdf(1)).headers["location"]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a PNG, JPEG or WebP picture, nor a PDF"),
        (b"", "empty"),
        (plan_png()[:3000], "cut short"),
        (b"%PDF-1.7\nnothing of the kind", "damaged"),
    ],
)
def test_what_cannot_be_taken_is_refused_with_its_sentence_and_the_name_given_back(
    desk: Desk, cast: Cast, page_of: ClientOf, content: bytes, sentence: str
) -> None:
    answer = upload(page_of(cast.manager), cast, content, {"name": "Level 7"})
    assert answer.status_code == 422
    assert sentence in answer.text and 'value="Level 7"' in answer.text
    assert names(desk, cast) == []


def test_sending_no_file_says_so(cast: Cast, page_of: ClientOf) -> None:
    manager = page_of(cast.manager)
    answer = manager.post(path(cast), data=form_of(manager.get(path(cast)).text, path(cast)))
    assert answer.status_code == 422 and "Choose a file first." in answer.text


@pytest.mark.parametrize(("who", "status"), [("lead", 403), ("inspector", 403), ("outsider", 404)])
def test_only_a_project_manager_adds_a_sketch(cast: Cast, page_of: ClientOf, who: str, status: int) -> None:
    other = page_of(getattr(cast, who))
    assert other.get(path(cast)).status_code == status
    answer = other.post(path(cast), data={"request_key": "k"}, files={"file": ("a.png", plan_png())})
    assert answer.status_code == status
