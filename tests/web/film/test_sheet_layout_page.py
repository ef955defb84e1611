"""Sheets laid out in the office: asked for by GET, moved, kept once, logged as laid by a crew in gloves.

The zone is 80 by 60 ft at 10 px to the foot: 15 ft rolls that lap 6 in take 1 + ceil((60 - 15) / 14.5) = 5
rows (arithmetic of a row, common practice, no source).
"""

from __future__ import annotations

import json
import re

import pytest

from service.actions.film.layout_ground import ground_of_zone
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.domain.nouns.placing import Layout
from service.domain.nouns.site import Zone
from tests import builders
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of

ROLL = {"film": "typed", "roll_width": "15", "roll_length": "200", "starts": "left"}
ASKED = ROLL | {"ask": "yes", "way": "0"}


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return builders.a_zone(desk, cast)


def layouts(desk: Desk, cast: Cast, zone: Zone) -> list[Layout]:
    return ground_of_zone(desk, cast.lead.id, zone.id).standing_layouts()


def test_a_look_tells_film_seams_and_sheets_and_records_nothing(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    page = page_of(cast.inspector).get(f"/zones/{zone.id}/layout", params=ASKED)
    assert page.status_code == 200
    for told in (
        "6,000 sq ft",
        "5 sheets, 400 ft off the roll",
        "25.0 %",
        "4 side laps and 0 end laps, 320 ft",
    ):
        assert told in page.text
    assert "Keep this layout" not in page.text, "an inspector keeps none"
    assert layouts(desk, cast, zone) == []


def test_a_direction_not_given_is_asked_for_and_nothing_typed_is_lost(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    page = page_of(cast.lead).get(f"/zones/{zone.id}/layout", params=ROLL | {"ask": "yes", "side_lap": "8"})
    assert page.status_code == 422
    assert "Say which way the concrete will be placed" in page.text
    form = form_of(page.text, f"/zones/{zone.id}/layout")
    assert (form["roll_width"], form["side_lap"], form["film"]) == ("15", "8", "typed")


@pytest.mark.parametrize(
    ("typed", "field", "told"),
    [
        ({"roll_width": "11 in"}, "roll_width", "no wider than twice the lap"),
        ({"side_lap": "5"}, "side_lap", "Film laps by 6 in at least here"),
        ({"roll_width": "15 fathoms"}, "roll_width", "That is no length"),
        ({"offset": "20 ft"}, "offset", "outside the floor"),
    ],
)
def test_what_cannot_be_laid_is_told_at_its_field(
    cast: Cast, page_of: ClientOf, zone: Zone, typed: dict[str, str], field: str, told: str
) -> None:
    page = page_of(cast.lead).get(f"/zones/{zone.id}/layout", params=ASKED | typed)
    assert page.status_code == 422
    wrong = re.search(rf'id="{field}-wrong">(.*?)</span>\n', page.text)
    assert wrong is not None and told in wrong[0]


def test_an_arrow_drawn_the_other_way_lays_the_same_rows_from_the_other_side(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    arrow = {"wayx1": "800", "wayy1": "400", "wayx2": "200", "wayy2": "400"}
    asked = ROLL | {"ask": "yes", "way": "drawn"} | arrow
    page = page_of(cast.lead).get(f"/zones/{zone.id}/layout", params=asked)
    assert page.status_code == 200 and "5 sheets, 400 ft off the roll" in page.text


def test_an_opening_that_is_drawn_is_left_out_and_can_be_taken_out_again(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/layout"
    ring = json.dumps([[300, 245], [700, 245], [700, 390], [300, 390]])  # 40 ft of a row of 14 ft 6 in
    added = lead.get(path, params=ASKED | {"outline": ring, "do_opening": "add"})
    assert "Keep this layout" not in added.text
    openings = form_of(added.text, path)["openings"]
    assert json.loads(openings) == [json.loads(ring)]
    assert "the floor is 4,220 sq ft" in lead.get(path, params=ASKED | {"openings": openings}).text
    dropped = lead.get(path, params=ASKED | {"openings": openings, "do_opening": "drop-0"})
    assert form_of(dropped.text, path)["openings"] == "[]"


def test_moving_the_first_sheet_tells_its_cost_beside_the_best(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/layout/cost.json"
    best = lead.get(path, params=ASKED).json()
    assert (best["film"], best["told"]) == ("6,000 sq ft", "as little film as can be")
    moved = lead.get(path, params=ASKED | {"offset": "14 ft"}).json()
    assert (moved["film"], moved["sheets"]) == ("7,200 sq ft", "6 sheets")
    assert moved["told"] == "20.0 % more film than the least"
    assert moved["offset"] == "14 ft" and moved["paths"]["sheets"] != best["paths"]["sheets"]
    assert lead.get(path, params=ASKED | {"offset": "x"}).status_code == 422


def test_a_layout_is_kept_once_as_it_was_looked_at(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/layout"
    form = form_of(lead.get(path, params=ASKED | {"offset": "2 ft"}).text, path)
    landed = [lead.post(path, data=form).headers["location"] for _ in range(2)]
    (kept,) = layouts(desk, cast, zone)
    assert set(landed) == {f"/layouts/{kept.id}?said=kept"}
    assert kept.by_hand and kept.offset_nm == 2 * builders.FOOT_NM
    assert len(zone_view(desk, cast.lead.id, zone.id).seams()) == 4
    again = lead.post(path, data=form | {"request_key": "another", "reason": ""})
    assert again.status_code == 422 and "Say why the layout that stands here is replaced" in again.text


def test_a_slab_asks_which_zones(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    builders.a_zone(desk, cast, zone.sketch_id, "C", builders.NEXT_DOOR)
    lead, path = page_of(cast.lead), f"/sketches/{zone.sketch_id}/layout"
    assert "Choose the zones that the sheets lie over" in lead.get(path, params=ASKED).text
    one = lead.get(path, params=ASKED | {f"zone-{zone.id}": "yes"}).text
    assert "5 sheets, 400 ft off the roll" in one
    form = form_of(one, path)
    assert lead.post(path, data=form).status_code == 303
    assert [layout.zone_ids for layout in layouts(desk, cast, zone)] == [(zone.id,)]


def test_sheets_are_logged_off_the_last_lot_and_taken_back_with_a_reason(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lot = builders.a_lot(desk, cast, builders.a_material(desk, cast))
    layout = builders.a_layout(desk, cast, zone, lot)
    lead, root = page_of(cast.lead), f"/layouts/{layout.id}"
    form = form_of(lead.get(f"{root}/laid").text, f"{root}/laid")
    assert form["lot"] == lot.id
    assert lead.post(f"{root}/laid", data=form).status_code == 422, "no sheet chosen"
    done = lead.post(f"{root}/laid", data=form | {"sheet-2": "yes", "sheet-3": "yes"})
    assert done.headers["location"] == f"{root}?said=laid"
    assert "3 of 5 sheets" in lead.get(root).text and "sheets 1-3" in lead.get(root).text
    twice = lead.post(f"{root}/laid", data=form | {"sheet-3": "yes", "request_key": "later"})
    assert twice.status_code == 409 and "Sheet 3 is logged as laid already" in twice.text
    laying = layouts(desk, cast, zone)[0].laid[-1]
    back = f"{root}/laid/{laying.id}/withdraw"
    assert lead.post(back, data={"reason": ""}).status_code == 422
    assert lead.post(back, data={"reason": "wrong bay"}).headers["location"] == f"{root}?said=back"
    assert "1 of 5 sheets" in lead.get(root).text
