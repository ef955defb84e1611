"""Film of a zone on the crew's phone: which lot was laid here, logged by one choice, taken back with why."""

from __future__ import annotations

import pytest

from service.actions.film import film
from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.domain.nouns.site import Zone
from tests.builders import a_laying, a_lot, a_material, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import actions_of, form_of


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def laid(desk: Desk, cast: Cast, zone: Zone) -> list[str]:
    view = zone_view(desk, cast.lead.id, zone.id)
    return [view.site.lots[x.lot_id].number for x in view.zone.laid if x.withdrawn is None]


def test_with_no_material_the_page_says_what_comes_first(cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    page = page_of(cast.lead).get(f"/zones/{zone.id}/film").text
    assert "No material is submitted on this project yet" in page
    assert "No lot is logged as laid here yet" in page


def test_a_lot_is_logged_by_one_choice_and_once(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    lot = a_lot(desk, cast, a_material(desk, cast))
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/film"
    sent = form_of(lead.get(path).text, path)
    assert lead.post(path, data=sent).status_code == 422, "nothing chosen"
    for _ in range(2):
        assert lead.post(path, data=sent | {"lot": lot.id, "note": "North half"}).status_code == 303
    assert laid(desk, cast, zone) == ["F-2207"]
    page = lead.get(path).text
    assert "Submittal 3, lot F-2207" in page and "North half" in page
    fresh = form_of(lead.get(path).text, f"{path}/received") | {"lot": lot.id, "request_key": "again"}
    answer = lead.post(path, data=fresh)
    assert answer.status_code == 409 and "already" in answer.text


def test_the_next_zone_starts_with_the_lot_logged_last(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    material = a_material(desk, cast)
    first, last = a_lot(desk, cast, material, "F-1"), a_lot(desk, cast, material, "F-2")
    next_door = a_zone(desk, cast, zone.sketch_id, "C", ((900, 100), (1700, 100), (1700, 700)))
    a_laying(desk, cast, zone, last)
    a_laying(desk, cast, zone, first)
    path = f"/zones/{next_door.id}/film"
    assert form_of(page_of(cast.lead).get(path).text, path)["lot"] == first.id


def test_a_lot_not_received_yet_is_received_and_laid_in_one_go(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    material = a_material(desk, cast)
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/film"
    sent = form_of(lead.get(path).text, f"{path}/received")
    wrong = lead.post(f"{path}/received", data=sent | {"rolls": "x", "lot_note": "wet"})
    assert wrong.status_code == 422
    kept = form_of(wrong.text, f"{path}/received")
    assert (kept["rolls"], kept["lot_note"], kept["material"]) == ("x", "wet", material.id)
    right = kept | {"rolls": "2", "number": "G-1"}
    assert [lead.post(f"{path}/received", data=right).status_code for _ in range(2)] == [303, 303]
    assert laid(desk, cast, zone) == ["G-1"]


def test_two_films_and_film_below_the_sheet_are_told_in_words(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast)))
    weak = a_material(desk, cast, name="Thin film", thickness="6 mil")
    a_laying(desk, cast, zone, a_lot(desk, cast, weak, "T-1"))
    page = page_of(cast.inspector).get(f"/zones/{zone.id}/film").text
    assert "Different film is laid here: Submittal 3, Thin film." in page
    assert "Below the rule sheet: it is thinner than the rule sheet asks" in page
    assert f"/zones/{zone.id}/film" not in actions_of(page)


def test_what_was_laid_next_door_is_taken_back_with_a_reason(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    laying = a_laying(desk, cast, zone, a_lot(desk, cast, a_material(desk, cast)))
    lead, path = page_of(cast.lead), f"/zones/{zone.id}/film/{laying.id}/withdraw"
    sent = form_of(lead.get(path).text, path)
    assert lead.post(path, data=sent).status_code == 422
    assert lead.post(path, data=sent | {"reason": "Next door"}).status_code == 303
    assert laid(desk, cast, zone) == []
    assert "Taken back: Next door" in lead.get(f"/zones/{zone.id}/film").text
    assert lead.get(f"/zones/{zone.id}/film/nothing/withdraw").status_code == 404


def test_words_that_people_write_stay_words(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    script = "<script>alert(1)</script>"
    material = a_material(desk, cast, name=script, note=script)
    lot = film.receive_lot(desk, cast.lead.id, material.id, script, 1, script)
    film.lay_lot(desk, cast.lead.id, zone.id, lot.id, script)
    for address in (f"/zones/{zone.id}/film", f"/projects/{cast.project_id}/film"):
        page = page_of(cast.lead).get(address).text
        assert script not in page and "&lt;script&gt;" in page
