"""What damage came from, in the office: a plain ruled table, the worst first."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.actions.marks import causes
from tests.builders import a_mark, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf


def test_the_worst_cause_stands_first_with_zone_and_week(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    for x, cause in ((300, "wind"), (350, "steel"), (400, "steel"), (450, "")):
        mark = a_mark(desk, cast, zone, (x, 300))
        if cause:
            causes.tell_cause(desk, cast.lead.id, mark.id, cause)
    page = page_of(cast.manager).get(f"/projects/{cast.project_id}/causes").text
    assert "4 marks that stand, mended or not. Most came likely from steel: stop that first." in page
    assert page.index(">Steel<") < page.index(">Wind<") < page.index(">Nothing said<")
    assert "Mon 23 Nov 2026" in page
    assert page_of(cast.outsider).get(f"/projects/{cast.project_id}/causes").status_code == 404
    office = page_of(cast.manager).get(f"/projects/{cast.project_id}/office").text
    assert f'href="/projects/{cast.project_id}/causes"' in office


def test_of_two_as_bad_both_are_named_and_what_nobody_knows_is_not(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    for x, cause in ((300, "wind"), (350, "steel"), (400, "not known"), (450, "not known")):
        causes.tell_cause(desk, cast.lead.id, a_mark(desk, cast, zone, (x, 300)).id, cause)
    page = page_of(cast.manager).get(f"/projects/{cast.project_id}/causes").text
    assert "Most came likely from steel and wind: stop that first." in page


def test_a_project_without_a_mark_says_so(cast: Cast, page_of: ClientOf) -> None:
    page = page_of(cast.inspector).get(f"/projects/{cast.project_id}/causes").text
    assert "No mark stands on this project, so there is nothing to count." in page


def test_what_it_came_from_is_said_on_the_marks_page(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    mark, client = a_mark(desk, cast, a_zone(desk, cast)), page_of(cast.lead)
    path = f"/defects/{mark.id}/cause"
    blank = client.post(path, data={})
    assert blank.status_code == 422 and 'id="cause-wrong"' in blank.text
    sent = client.post(path, data={"cause": "stored material"})
    assert sent.headers["location"] == f"/defects/{mark.id}?said=cause"
    page = client.get(sent.headers["location"]).text
    assert "<dt>Likely cause</dt><dd>stored material</dd>" in page
    assert page_of(cast.outsider).post(path, data={"cause": "steel"}).status_code == 404
