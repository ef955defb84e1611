"""Tiles, preview and still windows: only for who may see the sketch, kept where the revision is named."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from service.actions.frame.desk import Desk
from service.domain.nouns.site import Sketch
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.sketches.plans import a_plan, plan_png

PIECES = ("tiles/0/2_1.webp?v=1", "preview.webp?v=1", "window.webp?level=0&x=600000&y=450000&w=288&h=320&v=1")


@pytest.fixture
def plan(desk: Desk, cast: Cast, tmp_path: Path) -> Sketch:
    return a_plan(desk, cast, tmp_path)


@pytest.mark.parametrize("piece", PIECES)
@pytest.mark.parametrize(("who", "status"), [("lead", 200), ("inspector", 200), ("outsider", 404)])
def test_a_piece_is_sent_to_the_projects_people_alone(
    cast: Cast, page_of: ClientOf, plan: Sketch, piece: str, who: str, status: int
) -> None:
    answer = page_of(getattr(cast, who)).get(f"/sketches/{plan.id}/{piece}")
    assert answer.status_code == status
    assert (answer.headers["content-type"] == "image/webp") == (status == 200)


@pytest.mark.parametrize("piece", PIECES)
def test_a_browser_keeps_a_piece_for_ever_and_may_ask_whether_it_changed(
    cast: Cast, page_of: ClientOf, plan: Sketch, piece: str
) -> None:
    lead = page_of(cast.lead)
    answer = lead.get(f"/sketches/{plan.id}/{piece}")
    assert "immutable" in answer.headers["cache-control"] and "private" in answer.headers["cache-control"]
    again = lead.get(f"/sketches/{plan.id}/{piece}", headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    other = lead.get(f"/sketches/{plan.id}/{piece.replace('v=1', 'v=7')}")
    assert other.headers["cache-control"] == "private, no-cache"


def test_a_tile_and_a_window_show_the_picture_where_it_is(
    cast: Cast, page_of: ClientOf, plan: Sketch
) -> None:
    lead, whole = page_of(cast.lead), Image.open(io.BytesIO(plan_png())).convert("RGB")
    tile = lead.get(f"/sketches/{plan.id}/tiles/0/2_1.webp?v=1").content
    shown = Image.open(io.BytesIO(tile)).convert("RGB")
    assert shown.tobytes() == whole.crop((512, 256, 768, 512)).tobytes()
    window = lead.get(f"/sketches/{plan.id}/{PIECES[2]}").content
    assert Image.open(io.BytesIO(window)).size == (288, 320)
    middle = Image.open(io.BytesIO(window)).convert("RGB").getpixel((144, 160))
    assert isinstance(middle, tuple) and middle[0] > 180 and middle[1] < 90  # the red cross of the plan


@pytest.mark.parametrize(
    "piece",
    [
        "tiles/9/0_0.webp",
        "tiles/0/99_0.webp",
        "tiles/0/-1_0.webp",
        "tiles/x/0_0.webp",
        "window.webp?level=0&x=0&y=0&w=9000&h=9000",
        "window.webp?level=77&x=0&y=0&w=288&h=320",
        "window.webp?level=0&x=99999999999999999999&y=0&w=288&h=320",
        "window.webp",
        "tiles/0/0_0.webp?coming=../../etc",
    ],
)
def test_a_piece_that_there_is_none_of_is_not_found(
    cast: Cast, page_of: ClientOf, plan: Sketch, piece: str
) -> None:
    assert page_of(cast.manager).get(f"/sketches/{plan.id}/{piece}").status_code == 404


def test_a_picture_that_is_coming_is_not_shown_to_who_may_not_put_it_in(
    cast: Cast, page_of: ClientOf, plan: Sketch
) -> None:
    path = f"/sketches/{plan.id}/preview.webp?coming={plan.sha256}"
    assert page_of(cast.manager).get(path).status_code == 200
    assert page_of(cast.lead).get(path).status_code == 403
