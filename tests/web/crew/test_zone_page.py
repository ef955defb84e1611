"""One zone's page: why it is held, its marks, the walk."""

from __future__ import annotations

import gzip
from typing import Any

import httpx
import pytest
import sqlalchemy
from fastapi import FastAPI

from service.actions.frame.desk import Desk
from service.actions.frame.doing import project_to_change, record, zone_to_change
from service.actions.marks import defects
from service.actions.office import projects
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from service.domain.shapes.outlines import Circle
from service.history.facts.facts import DefectMarked, ZoneOutlined
from service.storage.history import books
from tests.builders import NEXT_DOOR, a_mark, a_patch, a_release, a_sketch, a_walk, a_zone, sides, state_of
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import actions_of, form_of


def test_it_tells_what_to_mend_and_how_large_to_cut(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    """4 by 2 in with 6 in overlap is 16 by 14 in (TRADE.md 2.5, calculated); 1 in a side is common practice,
    no source."""
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone)
    short = a_mark(desk, cast, zone, (500, 300))
    a_patch(desk, cast, short, sides(right="5 3/4 in"))
    page = page_of(cast.lead).get(f"/zones/{zone.id}").text
    assert "Cut 18 by 16 in (least 16 by 14 in)" in page
    assert "Not sealed: short by 1/4 in on the right" in page
    assert "1 mark open, 1 not sealed, not walked yet" in page


def test_a_sealed_mark_that_nobody_looked_at_says_that_it_still_holds_the_zone(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    asked = {"second_look": {"value": True, "source": "Quality plan 4.2"}}
    projects.change_rule_sheet(desk, cast.manager.id, cast.project_id, asked)
    page = page_of(cast.lead).get(f"/zones/{zone.id}").text
    assert "1 second look to take" in page and "not released yet" not in page
    assert "waits for a second look" in page


def test_a_mark_on_the_joint_stands_on_both_zones_pages(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch = a_sketch(desk, cast)
    zone, other = a_zone(desk, cast, sketch), a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    mark = a_mark(desk, cast, zone, (899, 300), "hole", {"shape": "circle", "diameter": "6 in"})
    page = page_of(cast.lead).get(f"/zones/{other.id}").text
    assert "Reaching in from a neighbour" in page and f'href="/defects/{mark.id}"' in page


def test_a_walk_is_recorded_only_by_saying_all_was_looked_at(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    form = form_of(client.get(f"/zones/{zone.id}").text, f"/zones/{zone.id}/walks")
    assert "looked" not in form, "nothing is ticked beforehand"
    refused = client.post(f"/zones/{zone.id}/walks", data={**form, "walk_note": "from the north"})
    assert refused.status_code == 422
    assert "from the north" in refused.text
    assert state_of(desk, cast, zone) == "laying"
    done = client.post(f"/zones/{zone.id}/walks", data={**form, "looked": "yes"})
    assert (done.status_code, done.headers["location"]) == (303, f"/zones/{zone.id}?said=walk")
    assert "The punch walk is recorded." in client.get(done.headers["location"]).text
    assert state_of(desk, cast, zone) == "clear"


def test_a_walk_sent_twice_lands_once(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    form = form_of(client.get(f"/zones/{zone.id}").text, f"/zones/{zone.id}/walks") | {"looked": "yes"}
    answers = [client.post(f"/zones/{zone.id}/walks", data=form) for _ in range(2)]
    assert [a.status_code for a in answers] == [303, 303]
    page = client.get(f"/projects/{cast.project_id}/crew").text
    assert page.count("Last walk:") == 1
    with desk.reading() as session:
        types = [entry.type for entry in books.entries(session, cast.project_id)]
    assert types.count("walk-finished") == 1


def test_an_inspector_is_offered_no_walk_and_cannot_send_one(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.inspector)
    assert f"/zones/{zone.id}/walks" not in actions_of(client.get(f"/zones/{zone.id}").text)
    assert client.post(f"/zones/{zone.id}/walks", data={"looked": "yes"}).status_code == 403
    assert state_of(desk, cast, zone) == "laying"


def test_an_outsider_finds_nothing_and_a_stranger_is_shown_the_way_in(
    desk: Desk, cast: Cast, page_of: ClientOf, client: httpx.Client
) -> None:
    zone = a_zone(desk, cast)
    for path in (f"/zones/{zone.id}", f"/zones/{zone.id}/marks.json", f"/zones/{zone.id}/mark"):
        assert page_of(cast.outsider).get(path).status_code == 404
        assert client.get(path).status_code == 303


def test_a_fallen_release_says_that_a_new_one_is_needed(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    assert "Ready to place" in page_of(cast.lead).get(f"/zones/{zone.id}").text
    a_mark(desk, cast, zone)
    page = page_of(cast.lead).get(f"/zones/{zone.id}").text
    assert "It needs a new release" in page and "Held" in page


def test_a_zone_taken_off_the_sketch_says_so_and_offers_nothing(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    zones.withdraw_zone(desk, cast.manager.id, zone.id, "joined with C")
    page = page_of(cast.lead).get(f"/zones/{zone.id}").text
    assert "joined with C" in page and f'/zones/{zone.id}/mark"' not in page
    assert page_of(cast.lead).get(f"/zones/{zone.id}/mark").status_code == 409


def test_a_sketch_without_scale_offers_no_mark(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    sketch, zone_id = a_sketch(desk, cast, scaled=False), desk.new_id()
    with desk.writing() as session:
        seen, site = project_to_change(session, cast.manager.id, cast.project_id, "outline a zone")
        corners = ((0, 0), (900_000, 0), (900_000, 900_000))
        fact = ZoneOutlined(zone_id, sketch, "B", "North bay", corners, None)
        record(desk, session, site, cast.manager.id, seen.role, fact)
    page = page_of(cast.lead).get(f"/zones/{zone_id}").text
    assert "The sketch has no scale yet" in page
    assert page_of(cast.lead).get(f"/zones/{zone_id}/mark").status_code == 409


def test_the_viewer_reads_the_same_marks_as_the_list(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    mark = a_mark(desk, cast, zone)
    gone = a_mark(desk, cast, zone, (500, 500))
    defects.withdraw_defect(desk, cast.lead.id, gone.id, "a shadow")
    rows = page_of(cast.lead).get(f"/zones/{zone.id}/marks.json").json()["marks"]
    assert [(row["tag"], row["state"], row["at"], row["href"]) for row in rows] == [
        ("B-01", "open", [300.0, 300.0], f"/defects/{mark.id}")
    ]
    xs, ys = [x for x, _ in rows[0]["ring"]], [y for _, y in rows[0]["ring"]]
    # 10 px to the foot: 4 in is 3.333 px, 2 in is 1.667 px.
    assert max(xs) - min(xs) == pytest.approx(10 / 3, abs=0.002)
    assert max(ys) - min(ys) == pytest.approx(10 / 6, abs=0.002)


def many_marks(desk: Desk, cast: Cast, zone: Zone, many: int) -> None:
    """Holes in a lattice, all in one transaction."""
    with desk.writing() as session:
        seen, site = zone_to_change(session, cast.lead.id, zone.id, "mark a defect")
        first = seen.zone.marks + 1
        for n in range(first, first + many):
            at = (110_000 + n % 20 * 38_000, 110_000 + n // 20 * 50_000)
            hole = Circle(25_400_000)
            fact = DefectMarked(desk.new_id(), seen.sketch.id, zone.id, f"B-{n:02d}", "hole", at, hole, "")
            record(desk, session, site, cast.lead.id, seen.role, fact)


def test_two_hundred_marks_cost_six_statements_and_stay_small(
    desk: Desk, cast: Cast, app: FastAPI, page_of: ClientOf
) -> None:
    """The figures held: at most 6 statements whatever the number of rows; a first view of at most 100 KB, of
    which style, scripts and type take about 60 KB."""
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    said: list[str] = []

    def hear(*given: Any) -> None:
        said.append(given[2])

    engine = app.state.desk.database.engine
    for many in (2, 198):
        many_marks(desk, cast, zone, many)
        said.clear()
        sqlalchemy.event.listen(engine, "before_cursor_execute", hear)
        page = client.get(f"/zones/{zone.id}")
        sqlalchemy.event.remove(engine, "before_cursor_execute", hear)
        assert 1 <= sum(statement.lstrip().startswith(("SELECT", "WITH")) for statement in said) <= 6, said
    assert page.text.count('class="tag"') >= 200
    assert len(gzip.compress(page.content)) < 40_000
