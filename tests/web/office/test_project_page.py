"""Starting a project, and its page: all zones with their states and why, in one glance."""

from __future__ import annotations

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.office.projects import my_projects
from service.actions.sketches import zones
from tests.builders import NEXT_DOOR, SQUARE, a_mark, a_release, a_sketch, a_walk, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of


def office(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/office"


@pytest.mark.parametrize(
    ("who", "where"), [("lead", "crew"), ("manager", "office"), ("inspector", "history")]
)
def test_a_project_opens_on_the_page_of_ones_role(
    cast: Cast, page_of: ClientOf, who: str, where: str
) -> None:
    answer = page_of(getattr(cast, who)).get(f"/projects/{cast.project_id}")
    assert (answer.status_code, answer.headers["location"]) == (
        303, f"/projects/{cast.project_id}/{where}",
    )  # fmt: skip


def test_every_state_is_told_with_its_first_reasons(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast)
    held = a_zone(desk, cast, sketch, "B", SQUARE)
    ready = a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    fell = a_zone(desk, cast, sketch, "D", ((100, 800), (900, 800), (900, 1400), (100, 1400)))
    a_zone(desk, cast, sketch, "E", ((1000, 800), (1700, 800), (1700, 1400), (1000, 1400)))
    for number in range(5):
        a_mark(desk, cast, held, (200 + 100 * number, 300))
    for zone in (held, ready, fell):
        a_walk(desk, cast, zone)
    a_release(desk, cast, ready)
    a_release(desk, cast, fell)
    a_mark(desk, cast, fell, (300, 1000))
    page = page_of(cast.manager).get(office(cast)).text
    assert "2 held, 1 laying, 1 ready to place" in page
    for words in ("B-01 is open: tear", "B-03 is open: tear", "and 2 more reasons", "Its release fell away"):
        assert words in page, words
    assert "B-04 is open" not in page
    assert (
        'aria-label="Key plan of Slab: zone B held, zone C ready to place, zone D held, zone E laying"'
        in page
    )
    assert page.count('class="outline is-held"') == 2 and page.count('class="outline is-ready"') == 1
    for zone in (held, ready, fell):
        assert f'href="/zones/{zone.id}/release"' in page


def test_a_zone_taken_off_the_sketch_is_gone_from_the_page(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    zones.withdraw_zone(desk, cast.manager.id, zone.id, "poured with zone C")
    page = page_of(cast.manager).get(office(cast)).text
    assert "No zone is outlined yet" in page and zone.id not in page


def test_an_empty_project_tells_the_manager_its_first_steps(cast: Cast, page_of: ClientOf) -> None:
    page = page_of(cast.manager).get(office(cast)).text
    assert "First steps" in page and f'href="/projects/{cast.project_id}/sketches/new"' in page
    other = page_of(cast.lead).get(office(cast)).text
    assert "First steps" not in other and "/sketches/new" not in other and "No sketch yet" in other


def test_a_sketch_without_a_scale_leads_to_setting_it(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast, scaled=False)
    page = page_of(cast.manager).get(office(cast)).text
    assert f'href="/sketches/{sketch}/scale"' in page and "nothing on it has a size" in page


def test_who_is_not_on_the_project_finds_nothing(cast: Cast, page_of: ClientOf, client: httpx.Client) -> None:
    for where in (office(cast), f"/projects/{cast.project_id}"):
        assert page_of(cast.outsider).get(where).status_code == 404
        assert client.get(where).headers["location"] == f"/sign-in?next={where}"


def test_a_project_started_is_its_starters_to_manage(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    starter = page_of(cast.outsider)
    sent = form_of(starter.get("/projects/new").text, "/projects/new")
    sent |= {"name": "South dock", "units": "metric", "time_zone": "Europe/Oslo"}
    answers = [starter.post("/projects/new", data=sent) for _ in range(2)]
    assert {answer.status_code for answer in answers} == {303}
    [seen] = my_projects(desk, cast.outsider.id)
    assert (seen.project.name, seen.project.units, seen.role) == ("South dock", "metric", "project manager")
    page = starter.get(answers[0].headers["location"]).text
    assert "150 mm" in page and "First steps" in page


@pytest.mark.parametrize(
    ("field", "typed"),
    [("name", " "), ("name", "x" * 121), ("units", "cubits"), ("time_zone", ""), ("time_zone", "Mars/Base")],
)
def test_a_project_that_cannot_be_started_gives_back_what_was_typed(
    desk: Desk, cast: Cast, page_of: ClientOf, field: str, typed: str
) -> None:
    sent = {"name": "South dock", "units": "us", "time_zone": "America/Denver"} | {field: typed}
    answer = page_of(cast.outsider).post("/projects/new", data=sent)
    assert answer.status_code == 422 and f'href="#{field}"' in answer.text
    kept = form_of(answer.text, "/projects/new")
    assert all(kept[name] == value for name, value in sent.items() if name != field)
    assert my_projects(desk, cast.outsider.id) == []
