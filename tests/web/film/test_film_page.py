"""Film and lots in the office: submitted with everything typed kept, judged in words, received, withdrawn."""

from __future__ import annotations

from typing import Any

import pytest

from service.actions.film import film
from service.actions.frame.desk import Desk
from tests.builders import FILM_A, a_laying, a_lot, a_material, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import actions_of, form_of


def path(cast: Cast) -> str:
    return f"/projects/{cast.project_id}/film"


def test_a_material_below_the_sheet_says_why_and_what_nobody_stated(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    a_material(desk, cast)
    weak = {"tensile": "40 lbf/in", "claimed_class": "", "thickness": "", "name": "Submittal 4"}
    a_material(desk, cast, **weak)
    for person in (cast.manager, cast.lead, cast.inspector):
        page = page_of(person).get(path(cast)).text
        for words in (
            "class A, 10 mil, at most 0.1 perm", "Meets the rule sheet", "Its numbers show class A.",
            "Below the rule sheet", "Its numbers show class B.", "40 lbf/in",
            "Its numbers do not reach the class that the rule sheet asks for", "Its thickness is not stated",
            "Not stated: thickness and the maker&#39;s own least lap.",
        ):  # fmt: skip
            assert words in page, words


def test_a_submittal_with_a_fault_comes_back_as_typed(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    manager, submit = page_of(cast.manager), f"{path(cast)}/submit"
    sent = form_of(manager.get(submit).text, submit) | FILM_A
    answer = manager.post(submit, data=sent | {"permeance": "0.01", "note": "Third try"})
    assert answer.status_code == 422 and "That has no unit" in answer.text
    kept = form_of(answer.text, submit)
    assert (kept["permeance"], kept["note"], kept["tensile"]) == ("0.01", "Third try", "50 lbf/in")
    assert (kept["claimed_class"], kept["kind"]) == ("A", "film")
    done = [manager.post(submit, data=kept | {"permeance": "0.01 perm"}) for _ in range(2)]
    assert {answer.status_code for answer in done} == {303}
    assert len(film.film_view(desk, cast.lead.id, cast.project_id).materials()) == 1


def test_a_crew_lead_receives_a_lot_and_a_number_given_twice_is_told(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    material = a_material(desk, cast)
    lead = page_of(cast.lead)
    sent = form_of(lead.get(path(cast)).text, path(cast))
    assert sent["material"] == material.id, "the only one is chosen beforehand"
    assert lead.post(path(cast), data=sent | {"number": "F-1", "rolls": "3"}).status_code == 303
    fresh = form_of(lead.get(path(cast)).text, path(cast))
    again = lead.post(path(cast), data=fresh | {"number": "f-1", "rolls": "2", "note": "wet"})
    assert again.status_code == 422 and "was received already" in again.text
    kept = form_of(again.text, path(cast))
    assert (kept["number"], kept["rolls"], kept["note"]) == ("f-1", "2", "wet")
    for typed in ("none", "0", "-1", "10001"):
        assert lead.post(path(cast), data=fresh | {"number": "F-2", "rolls": typed}).status_code == 422
    assert [lot.rolls for lot in film.film_view(desk, cast.lead.id, cast.project_id).lots()] == [3]


def test_a_lot_says_in_which_zones_it_was_laid(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    lot = a_lot(desk, cast, a_material(desk, cast))
    assert "not laid yet" in page_of(cast.lead).get(path(cast)).text
    for letter in ("B", "C"):
        a_laying(desk, cast, a_zone(desk, cast, letter=letter), lot)
    assert "laid in zones B, C" in page_of(cast.lead).get(path(cast)).text


@pytest.mark.parametrize("what", ["materials", "lots"])
def test_what_is_withdrawn_stays_with_its_reason(
    desk: Desk, cast: Cast, page_of: ClientOf, what: str
) -> None:
    lot = a_lot(desk, cast, a_material(desk, cast))
    address = f"/{what}/{lot.material_id if what == 'materials' else lot.id}/withdraw"
    manager = page_of(cast.manager)
    sent = form_of(manager.get(address).text, address)
    assert manager.post(address, data=sent | {"reason": " "}).status_code == 422
    assert manager.post(address, data=sent | {"reason": "Rejected in May"}).status_code == 303
    assert "Rejected in May" in manager.get(path(cast)).text
    assert "Withdrawn already: Rejected in May" in manager.get(address).text


def test_the_office_tells_film_among_its_numbers(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    office = f"/projects/{cast.project_id}/office"
    assert "No material is submitted yet" in page_of(cast.manager).get(office).text
    a_lot(desk, cast, a_material(desk, cast))
    page = page_of(cast.manager).get(office).text
    assert "1 material submitted, 1 lot received" in page and "class A, 10 mil" in page


def test_who_may_not_sees_no_button(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    a_lot(desk, cast, a_material(desk, cast))
    seen: dict[str, Any] = {
        name: page_of(getattr(cast, name)).get(path(cast)).text for name in ("manager", "lead", "inspector")
    }
    assert "/film/submit" in seen["manager"] and "/film/submit" not in seen["lead"]
    assert path(cast) in actions_of(seen["lead"]) and path(cast) not in actions_of(seen["inspector"])
    assert "/withdraw" not in seen["inspector"]
