"""What a mark's page says of its neighbours: one patch over both, what stands beside it, why it matters."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest

from service.actions.frame.desk import Desk
from service.actions.installed.penetrations import place_penetrations
from service.actions.installed.terminations import describe_edge
from service.domain.nouns.site import Defect, Zone
from service.domain.patches.repair import SEALED
from service.domain.rule_sheet.vapor import LIMITS_IN_WORDS
from tests.builders import HOLE, a_laying, a_lot, a_mark, a_material, a_patch, a_seam, a_zone, an_edge, sides
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.together.test_together_page import links, log, states, two_holes, words


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    """80 by 60 ft, its first side along y = 100 px; 1 px is 1.2 in."""
    return a_zone(desk, cast)


def page_at(page_of: ClientOf, cast: Cast, mark: Defect) -> str:
    return page_of(cast.lead).get(f"/defects/{mark.id}").text


def slit(length: str, angle_deg: int) -> dict[str, Any]:
    return {"shape": "slit", "length": length, "angle_deg": angle_deg}


# --- one patch over both ---------------------------------------------------------------------------------


def test_a_mark_is_offered_one_patch_with_its_neighbour_and_what_that_saves(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    """Holes of 1/2 in, 4.8 in apart: 19.3 by 14 1/2 in, 279.85 sq in where two patches take 420.5, so 0.97 sq
    ft less; tape 67.6 in where two take 116, 48.4 in less. Rounded down, so that nothing is promised."""
    one, two = two_holes(desk, cast, zone, x=304)
    page = page_at(page_of, cast, one)
    assert "One patch over B-01 and B-02" in page and "Cut 19 5/16 by 14 1/2 in, its length level" in page
    assert "Uses 0.9 sq ft less film and 4 ft less tape than two patches." in page
    client = page_of(cast.lead)
    (href,) = (href for href in links(client.get(f"/defects/{two.id}").text) if "by=size" in href)
    log(client, href)
    assert states(desk, cast, zone, [one, two]) == [SEALED, SEALED]


def test_an_offer_that_takes_more_film_says_so(desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf) -> None:
    """Two closed cuts of 5 ft that meet at a right angle: 74 by 74 in, 5,476 sq in, where two of 74 by 14 in
    take 2,072 (a leaner turned rectangle over both, 60 by 30 root 2 in the damage, takes over 4,300)."""
    one = a_mark(desk, cast, zone, (300, 300), "tear", slit("5 ft", 0))
    a_mark(desk, cast, zone, (325, 325), "tear", slit("5 ft", 90))
    page = page_at(page_of, cast, one)
    told = re.search(r"Uses ([0-9.]+) sq ft more film and", page)
    assert told and (4300 - 2072) / 144 < float(told[1]) <= (5476 - 2072) / 144 + 0.1


def test_a_mark_that_stands_alone_is_offered_nothing(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    one, _ = two_holes(desk, cast, zone, x=320)
    assert "One patch over" not in page_at(page_of, cast, one)


def test_a_sealed_neighbour_is_not_offered(desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf) -> None:
    """Its patch reaches so far that its tape crosses no damage that is open."""
    one, two = two_holes(desk, cast, zone, x=304)
    a_patch(desk, cast, two, sides(*("14 in",) * 4))
    assert states(desk, cast, zone, [one, two]) == ["open", SEALED]
    assert "One patch over" not in page_at(page_of, cast, one)


def test_who_logs_no_patch_reads_the_offer_without_the_way_to_log_it(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    one, _ = two_holes(desk, cast, zone, x=304)
    page = page_of(cast.inspector).get(f"/defects/{one.id}").text
    assert "One patch over B-01 and B-02" in page and "by=size" not in page


def test_an_offer_that_reaches_past_a_sealed_edge_is_logged_by_the_tape(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    """Film cannot lie past the edge, so a size filled in would tell what nobody laid."""
    an_edge(desk, cast, zone)
    one, two = (a_mark(desk, cast, zone, at, "hole", HOLE) for at in ((300, 104), (304, 104)))
    page = unescape(page_at(page_of, cast, one))
    assert f"/defects/{one.id}/patch?also={two.id}" in page and "by=size" not in page


# --- what stands beside it -------------------------------------------------------------------------------


def test_damage_across_a_seam_has_to_lap_both_sheets(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    seam = a_seam(desk, cast, zone, ((200, 300), (600, 300)))
    page = page_at(page_of, cast, a_mark(desk, cast, zone))
    assert "the patch has to lap both sheets" in page and f"/seams/{seam.id}" in page
    aside = page_at(page_of, cast, a_mark(desk, cast, zone, at=(300, 304)))
    assert "lap both sheets" not in aside


def test_damage_at_a_pipe_needs_patch_and_collar_together(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    tube = {"kind": "copper tube", "size": "1/2"}
    (pipe,) = place_penetrations(desk, cast.lead.id, zone.id, {**tube, "at": [304, 300]})
    mark = a_mark(desk, cast, zone)
    page = page_at(page_of, cast, mark)
    assert page.count("patch and collar together") == 1 and f"/penetrations/{pipe.id}" in page
    a_patch(desk, cast, mark)
    page = page_at(page_of, cast, mark)
    assert "sealed anew, together with the patch" in page and "comes through the film here" not in page


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"kind": "construction joint"}, "film goes on past it, and so does the patch"),
        ({"kind": "free edge"}, "nothing stands there to seal the patch to"),
        ({"kind": "sealed to the wall or grade beam"}, "not sealed: film goes on there until it is"),
    ],
)
def test_near_an_edge_where_film_does_not_end_the_whole_overlap_is_asked(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf, given: dict[str, str], told: str
) -> None:
    describe_edge(desk, cast.lead.id, zone.id, {**given, "edges": [1]})
    page = page_at(page_of, cast, a_mark(desk, cast, zone, at=(300, 104)))
    assert told in page and "The whole overlap is asked" in page and "the patch may end" not in page


def test_at_a_sealed_edge_the_patch_may_end_and_past_its_overlap_nothing_is_said(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    """The damage is 2 in high: at 104 px its edge lies 3.8 in from the side, at 107 px 7.4 in."""
    an_edge(desk, cast, zone)
    page = words(page_at(page_of, cast, a_mark(desk, cast, zone, at=(300, 104))))
    assert "On the far side film ends at B-E01 (sealed to the wall or grade beam): the patch may end" in page
    assert "B-E01" not in page_at(page_of, cast, a_mark(desk, cast, zone, at=(500, 107)))


# --- why a hole matters ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("diameter", "permeance", "area"),
    [  # calculated: a disc in still air passes 2 δ r; the areas in sq ft to two figures
        ("5/8 in", "", "about 5.9 sq ft"),
        ("1/8 in", "", "about 1.2 sq ft"),
        ("2 in", "", "about 19 sq ft"),
        ("5/8 in", "0.01 perm", "about 59 sq ft"),
        ("1/8 in", "0.01 perm", "about 12 sq ft"),
        ("2 in", "0.01 perm", "about 190 sq ft"),
    ],
)
def test_a_hole_is_told_as_the_film_that_passes_as_much(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf, diameter: str, permeance: str, area: str
) -> None:
    if permeance:
        a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast, permeance=permeance)))
    hole = a_mark(desk, cast, zone, kind="hole", outline={"shape": "circle", "diameter": diameter})
    page = unescape(page_at(page_of, cast, hole))
    assert f"passes as much vapor by itself as {area} of whole film." in page
    assert ("Submittal 3 (0.01 perm)" if permeance else "Nobody stated the permeance") in page


def test_its_limits_are_told_in_full_and_never_as_an_excuse(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    page = page_at(page_of, cast, a_mark(desk, cast, zone, kind="hole", outline=HOLE))
    assert LIMITS_IN_WORDS in unescape(page) and "never a reason to leave a hole" in page


def test_of_a_closed_cut_nobody_knows_how_far_it_opens(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf
) -> None:
    page = page_at(page_of, cast, a_mark(desk, cast, zone, outline=slit("1 ft", 0)))
    assert "up to about 110 sq ft of whole film: nobody knows how far it opens" in page


@pytest.mark.parametrize("kind", ["open seam", "short lap", "unsealed termination", "displaced sheet"])
def test_what_is_no_hole_is_told_no_area(
    desk: Desk, cast: Cast, zone: Zone, page_of: ClientOf, kind: str
) -> None:
    assert "Why a hole matters" not in page_at(page_of, cast, a_mark(desk, cast, zone, kind=kind))
