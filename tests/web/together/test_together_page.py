"""Which repairs together: what the plan's page says, and that what it fills in seals what it names.

The cut sizes are arithmetic on "beyond the damage on every side" (a by b asks for a + 2o by b + 2o): 6 in of
overlap and 1 in to place it (both common practice, no source) make a hole of 1/2 in a patch of 14 1/2 in.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import unescape

import httpx
import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.doing import record, sketch_to_change
from service.actions.frame.reading import zone_view
from service.actions.installed.penetrations import place_penetrations
from service.actions.marks import together
from service.actions.office.projects import change_rule_sheet
from service.domain.nouns.site import Alignment, Defect, Zone
from service.domain.patches.repair import SEALED
from service.history.facts.facts import SketchRevised
from tests.bench.filling import mark_many
from tests.builders import (
    HOLE,
    NEXT_DOOR,
    a_laying,
    a_lot,
    a_mark,
    a_material,
    a_patch,
    a_seam,
    a_sketch,
    a_zone,
    an_edge,
)  # fmt: skip
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of

MADE = {"cleaned": "yes", "dry": "yes", "edges_taped": "yes", "tape_width": "4"}


def words(page: str) -> str:
    """The page as it reads: tags out, spaces single."""
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))


def links(page: str, starts: str = "/defects/") -> list[str]:
    return [unescape(href) for href in re.findall(r'href="([^"]+)"', page) if href.startswith(starts)]


def path(zone: Zone) -> str:
    return f"/zones/{zone.id}/together"


def two_holes(desk: Desk, cast: Cast, zone: Zone, x: float = 307, y: float = 300) -> list[Defect]:
    """1 px is 1.2 in: two holes of 1/2 in, 8.4 in from middle to middle unless told otherwise."""
    return [a_mark(desk, cast, zone, at=at, kind="hole", outline=HOLE) for at in ((300, 300), (x, y))]


def log(client: httpx.Client, href: str) -> httpx.Response:
    """Follow a plan's link, answer for the work and send what is filled in, the ticks too."""
    page = client.get(href).text
    where = href.partition("?")[0]
    also = re.findall(r'name="also" value="([^"]+)" checked', page)
    return client.post(where, data={**form_of(page, where), **MADE, "also": also})


def states(desk: Desk, cast: Cast, zone: Zone, marks: Sequence[Defect]) -> list[str]:
    view = zone_view(desk, cast.lead.id, zone.id)
    return [view.verdict(mark).state for mark in marks]


def turn_the_picture(desk: Desk, cast: Cast, sketch: str) -> None:
    """A revised picture, turned a quarter clockwise: what was at the top left is at the top right."""
    quarter = Alignment((0, 0), (1_000_000, 0), (2_000_000, 0), (2_000_000, 1_000_000))
    with desk.writing() as session:
        seen, site = sketch_to_change(session, cast.manager.id, sketch, "add a sketch")
        fact = SketchRevised(sketch, "1" * 64, None, 2000, 3000, 5, quarter)
        record(desk, session, site, cast.manager.id, seen.role, fact)


def test_it_says_what_to_cut_and_what_is_saved_against_a_patch_each(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """22.9 by 14 1/2 in is 332.05 sq in where two of 14 1/2 in take 420.5: 88.45 sq in are 0.61 sq ft. Tape:
    74.8 in where two take 116, 41.2 in less."""
    zone = a_zone(desk, cast)
    two_holes(desk, cast, zone)
    page = words(page_of(cast.lead).get(path(zone)).text)
    assert "1 patch for 2 open marks 0.6 sq ft less film than a patch each." in page
    assert "B-01 and B-02 Cut 22 15/16 by 14 1/2 in Its length level on the sketch" in page
    assert "0.6 sq ft of film, 1 patch, 3 ft 5 in of tape" in page
    assert "Film 2.4 sq ft" in page, "2.306 sq ft, rounded so that what is fetched is enough"
    assert "Every way of grouping these marks was weighed" in page


def test_marks_far_apart_get_a_patch_each_and_nothing_is_said_to_be_saved(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    two_holes(desk, cast, zone, x=600)
    page = words(page_of(cast.lead).get(path(zone)).text)
    assert "2 open marks, a patch each" in page and "Saved" not in page


@pytest.mark.parametrize("allowance", ["0 in", "1 in"])
@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("to", [(307, 300), (304, 305), (300, 293)])
def test_what_a_row_fills_in_seals_every_mark_it_names(
    desk: Desk, cast: Cast, page_of: ClientOf, to: tuple[float, float], turned: bool, allowance: str
) -> None:
    change_rule_sheet(desk, cast.manager.id, cast.project_id, {"cut_allowance": allowance})
    sketch = a_sketch(desk, cast)
    zone = a_zone(desk, cast, sketch)
    marks = two_holes(desk, cast, zone, *to)
    if turned:
        turn_the_picture(desk, cast, sketch)
    client = page_of(cast.lead)
    (href,) = (href for href in links(client.get(path(zone)).text) if "by=size" in href)
    sent = log(client, href)
    assert sent.status_code == 303, words(sent.text)
    assert states(desk, cast, zone, marks) == [SEALED, SEALED]


def test_the_form_says_that_it_is_filled_in_and_leaves_the_work_to_be_answered(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    marks = two_holes(desk, cast, zone)
    client = page_of(cast.lead)
    (href,) = (href for href in links(client.get(path(zone)).text) if "by=size" in href)
    page, where = client.get(href).text, f"/defects/{marks[0].id}/patch"
    assert "filled in as planned" in page and "Holds: least overlap 7 in" in words(page)
    form = form_of(page, where)
    assert "cleaned" not in form and "dry" not in form and "edges_taped" not in form
    assert client.post(where, data=form).status_code == 422
    assert states(desk, cast, zone, marks) == ["open", "open"]


def test_an_address_that_no_plan_made_fills_in_nothing_it_cannot_read(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    mark = a_mark(desk, cast, a_zone(desk, cast))
    query = "?by=size&length=%3Cscript%3E&width=" + "9" * 300 + "&angle_deg=nan&offset_x=x&also=nobody"
    page = page_of(cast.lead).get(f"/defects/{mark.id}/patch{query}")
    assert page.status_code == 200 and "<script>&" not in page.text and "9" * 300 not in page.text
    assert 'value="&lt;script&gt;"' in page.text and "Holds" not in page.text


def test_marks_under_one_patch_are_logged_on_one_of_this_zone(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """The neighbour's mark comes first by its tag, and its form would not show the other to tick."""
    sketch = a_sketch(desk, cast)
    a_zone(desk, cast, sketch, "B")
    zone = a_zone(desk, cast, sketch, "C", NEXT_DOOR)
    joint = a_mark(desk, cast, zone_view(desk, cast.lead.id, zone.id).zone, at=(905, 300), kind="hole",
                   outline=HOLE)  # fmt: skip
    across = a_mark(desk, cast, _zone_b(desk, cast, zone), at=(899.9, 300), kind="hole", outline=HOLE)
    client = page_of(cast.lead)
    (href,) = (href for href in links(client.get(path(zone)).text) if "by=size" in href)
    assert href.startswith(f"/defects/{joint.id}/patch")
    log(client, href)
    assert states(desk, cast, zone, [joint, across]) == [SEALED, SEALED]


def _zone_b(desk: Desk, cast: Cast, neighbour: Zone) -> Zone:
    site = zone_view(desk, cast.lead.id, neighbour.id).site
    return next(zone for zone in site.zones.values() if zone.letter == "B")


def test_a_plan_that_was_not_weighed_in_full_says_so(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    for k in range(14):
        a_mark(desk, cast, zone, (300 + 7 * k, 300 + 5 * (k % 2)), "hole", HOLE)
    found = together.plan_of(zone_view(desk, cast.lead.id, zone.id))
    page = words(page_of(cast.lead).get(path(zone)).text)
    assert found is not None and not found.plan.exact
    assert "not every way of grouping them was weighed" in page and "Every way" not in page


def test_who_logs_no_patch_reads_the_plan_without_the_ways_to_log(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    two_holes(desk, cast, zone)
    page = page_of(cast.inspector).get(path(zone)).text
    assert "22 15/16 by 14 1/2 in" in page and not links(page)


def test_the_roll_is_that_of_the_film_laid_and_else_one_to_choose(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    two_holes(desk, cast, zone)
    client = page_of(cast.lead)
    page = client.get(path(zone)).text
    assert "a usual width (common practice, no source)" in page and "Roll at hand" in page
    narrow = client.get(path(zone), params={"roll": str(8 * 304_800_000)}).text
    assert "Off a roll 8 ft wide" in narrow and "Off a roll 15 ft wide" in page
    film = a_material(desk, cast, roll_width="12 ft")
    a_laying(desk, cast, zone, a_lot(desk, cast, film))
    laid = client.get(path(zone), params={"roll": "1"}).text
    assert "Off a roll 12 ft wide, as laid in this zone" in laid and "Roll at hand" not in laid


def test_a_pipe_and_a_sealed_edge_under_a_patch_are_told_beside_it(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    """The pipe stands 6.6 in to the right and 6.6 in below: 9.3 in off, past the 6 in asked, and under the
    corner of a patch that reaches 7 1/4 in each way."""
    zone = a_zone(desk, cast)
    corner, edge = (
        a_mark(desk, cast, zone, at=at, kind="hole", outline=HOLE) for at in ((300, 300), (600, 104))
    )
    tube = {"kind": "copper tube", "size": "1/2"}
    place_penetrations(desk, cast.lead.id, zone.id, {**tube, "at": [305.5, 305.5]})
    an_edge(desk, cast, zone)
    page = page_of(cast.lead).get(path(zone)).text
    assert "Lies over B-P01: cut it to fit there and collar it" in page and "is at B-P01" not in page
    assert page.count("Reaches past a wall or a sealed edge") == 1
    hrefs = {href.partition("?")[0]: href for href in links(page)}
    assert "by=size" in hrefs[f"/defects/{corner.id}/patch"]
    assert "by=size" not in hrefs[f"/defects/{edge.id}/patch"], "that side is logged as sealed to the edge"


def test_a_mark_at_a_pipe_and_across_a_seam_says_so_beside_its_patch(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone, at=(300, 300), kind="hole", outline=HOLE)
    tube = {"kind": "copper tube", "size": "1/2"}
    place_penetrations(desk, cast.lead.id, zone.id, {**tube, "at": [303, 300]})
    a_seam(desk, cast, zone, ((200, 300), (600, 300)))
    page = page_of(cast.lead).get(path(zone)).text
    assert "B-01 is at B-P01: patch and collar together" in page and "Lies over B-P01" not in page
    assert "B-01 lies across seam B-S01: lap both sheets" in page


def test_what_film_does_not_mend_is_named_and_is_in_no_patch(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone = a_zone(desk, cast)
    a_mark(desk, cast, zone, kind="displaced sheet")
    page = words(page_of(cast.lead).get(path(zone)).text)
    assert "Nothing to plan" in page and "another than film laid over it: B-01." in page


def test_a_sealed_mark_is_in_no_patch(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    assert "Nothing to plan" in page_of(cast.lead).get(path(zone)).text


def test_two_hundred_marks_are_planned_and_drawn(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    mark_many(desk, cast.lead.id, zone, 200)
    found = together.plan_of(zone_view(desk, cast.lead.id, zone.id))
    page = page_of(cast.lead).get(path(zone))
    assert found is not None and page.text.count(">Log it<") == len(found.plan.groups) > 50
