"""What is installed, from the site's facts to its drawings: each thing's state, place and way to its page."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import ZoneView, zone_view
from service.actions.installed import penetrations, seams, terminations
from service.domain.nouns.site import Zone
from service.web.drawings.installed_shown import installed_shown
from service.web.drawings.shown import Shown
from tests.builders import SQUARE, a_zone
from tests.cast import Cast, assemble
from tests.conftest import ClientOf

# The zone is 80 by 60 ft from (100, 100), 10 px to the foot (tests/builders.py).
MASTIC = {"method": "mastic", "close_cut": True, "cleaned": True, "dry": True}
SEALED = {"sealed": True, "tape_width": "4 in", "cleaned": True, "dry": True}
WALKED = {"taped": True, "bonded": True, "tape_width": "4 in", "cleaned": True, "dry": True}


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def seen(desk: Desk, cast: Cast, zone: Zone) -> ZoneView:
    return zone_view(desk.fresh(), cast.lead.id, zone.id)


def place(desk: Desk, cast: Cast, zone: Zone, count: int) -> list[str]:
    """A row of conduit, one every foot."""
    row = {"from": [300, 300], "to": [290 + 10 * count, 300], "count": count}
    given = {"kind": "EMT conduit", "size": "3/4", **row}
    return [pipe.id for pipe in penetrations.place_penetrations(desk, cast.lead.id, zone.id, given)]


def walk(desk: Desk, cast: Cast, seam: str, lap: str) -> None:
    stations = [{"at": f"{far} ft", "lap": lap} for far in (5, 15, 25, 35, 40)]
    seams.walk_seam(desk, cast.lead.id, seam, {"stations": stations, **WALKED})


@pytest.mark.parametrize("demands", [(), ("penetrations", "seams", "terminations")])
def test_each_thing_is_drawn_by_how_it_stands_whether_or_not_the_gate_asks_for_it(
    desk: Desk, demands: tuple[str, ...]
) -> None:
    cast = assemble(desk, demands=demands)
    zone = a_zone(desk, cast)
    first, *_ = place(desk, cast, zone, 2)
    penetrations.log_seal(desk, cast.lead.id, first, MASTIC)
    drawn = [
        seams.draw_seams(desk, cast.lead.id, zone.id, {"path": [[100, y], [500, y]]})[0].id
        for y in (200, 300, 400)
    ]
    walk(desk, cast, drawn[0], "6 in")
    walk(desk, cast, drawn[1], "6 in")
    withdrawn = seams.draw_seams(desk, cast.lead.id, zone.id, {"path": [[100, 500], [500, 500]]})[0]
    seams.withdraw_seam(desk, cast.lead.id, withdrawn.id, "drawn twice")
    north, _ = terminations.describe_edge(
        desk, cast.lead.id, zone.id, {"kind": "sealed to the wall or grade beam", "edges": [1, 2]}
    )
    terminations.seal_edge(desk, cast.lead.id, north.id, SEALED)
    view = seen(desk, cast, zone)
    shown = installed_shown(view, Shown(view.seen.sketch))
    assert [(pipe.tag, pipe.state) for pipe in shown.penetrations] == [
        ("B-P01", "sealed"),
        ("B-P02", "not sealed"),
    ]
    assert [(seam.tag, seam.state) for seam in shown.seams] == [
        ("B-S01", "walked"),
        ("B-S02", "walked"),
        ("B-S03", "not walked"),
    ]
    assert [edge.state for edge in shown.edges] == ["sealed", "not sealed"]


def test_a_walked_seam_that_does_not_hold_is_told_from_one_that_does(
    desk: Desk, cast: Cast, zone: Zone
) -> None:
    seam = seams.draw_seams(desk, cast.lead.id, zone.id, {"path": [[100, 200], [500, 200]]})[0]
    given = {"stations": [{"at": "20 ft", "lap": "7 in"}], **WALKED, "cleaned": False}
    seams.walk_seam(desk, cast.lead.id, seam.id, given)
    view = seen(desk, cast, zone)
    (drawn,) = installed_shown(view, Shown(view.seen.sketch)).seams
    assert drawn.state == "at fault"
    assert drawn.readings == (((300_000, 200_000), 0),)


@pytest.mark.parametrize("corners", [SQUARE, SQUARE[::-1]], ids=["clockwise", "the other way"])
def test_the_outside_of_the_zone_is_at_the_left_of_every_stretch(
    desk: Desk, cast: Cast, corners: Sequence[Sequence[float]]
) -> None:
    """Left of a way (dx, dy) with y down is (dy, -dx); the zone is the box from 100 to 900 by 100 to 700."""
    zone = a_zone(desk, cast, outline=corners)
    terminations.describe_edge(desk, cast.lead.id, zone.id, {"kind": "free edge", "edges": [1, 2, 3, 4]})
    view = seen(desk, cast, zone)
    for edge in installed_shown(view, Shown(view.seen.sketch)).edges:
        (ax, ay), (bx, by) = edge.path
        x, y = (ax + bx) / 2 + (by - ay) / 100, (ay + by) / 2 - (bx - ax) / 100
        assert not (100_000 < x < 900_000 and 100_000 < y < 700_000)


def test_the_zones_page_draws_it_and_the_sketch_fetches_it_when_opened(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    (pipe,) = place(desk, cast, zone, 2)[:1]
    seams.draw_seams(desk, cast.lead.id, zone.id, {"path": [[100, 200], [500, 200]]})
    client = page_of(cast.lead)
    page = client.get(f"/zones/{zone.id}").text
    assert page.count('class="line pipe is-open"') == 2  # in the drawing and in its legend
    assert ">B-P01 to 02<" in page and "seam not walked" in page
    rows = client.get(f"/zones/{zone.id}/marks.json").json()
    assert rows["pipes"][0] == {
        "tag": "B-P01",
        "state": "not sealed",
        "href": f"/penetrations/{pipe}",
        "at": [300.0, 300.0],
        "radius": pytest.approx(0.922 / 2 / 1.2, abs=0.001),  # ANSI C80.3: 0.922 in; 1.2 in to the pixel
    }
    assert rows["seams"][0]["path"] == [[100.0, 200.0], [500.0, 200.0]] and rows["seams"][0]["readings"] == []
    assert set(rows) == {"marks", "pipes", "seams"}
