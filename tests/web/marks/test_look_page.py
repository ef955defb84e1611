"""The page of a second look: offered to everybody but the maker, an answer given, a refusal explained."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.marks import looks
from service.domain.nouns.site import Defect, Zone
from tests.builders import SLIT, a_mark, a_patch, a_repair, a_zone
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


@pytest.fixture
def mark(desk: Desk, cast: Cast, zone: Zone) -> Defect:
    return a_mark(desk, cast, zone)


def test_it_is_offered_to_others_and_not_to_the_maker(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    path = f"/patches/{a_patch(desk, cast, mark).id}/look"
    for person, offered in ((cast.lead, False), (cast.manager, True), (cast.inspector, True)):
        client = page_of(person)
        assert (f'href="{path}"' in client.get(f"/defects/{mark.id}").text) is offered
        assert client.get(path).status_code == (200 if offered else 403)
    assert page_of(cast.outsider).get(path).status_code == 404


def test_neither_answer_is_given_beforehand_and_none_is_no_look(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    path, client = f"/patches/{a_patch(desk, cast, mark).id}/look", page_of(cast.manager)
    form = form_of(client.get(path).text, path)
    assert "answer" not in form
    answer = client.post(path, data=form | {"note": "seen"})
    assert answer.status_code == 422 and 'id="answer-wrong"' in answer.text
    assert form_of(answer.text, path)["note"] == "seen"
    assert "Accepted at a second look" not in client.get(f"/defects/{mark.id}").text


def test_a_refusal_needs_its_reason_and_holds_in_words(
    desk: Desk, cast: Cast, page_of: ClientOf, mark: Defect
) -> None:
    patch = a_patch(desk, cast, mark)
    path, client = f"/patches/{patch.id}/look", page_of(cast.inspector)
    form = form_of(client.get(path).text, path) | {"answer": "refuse"}
    blank = client.post(path, data=form)
    assert blank.status_code == 422 and "Say what is wrong with it" in blank.text
    sent = client.post(path, data=form | {"note": "The far edge stands off."})
    assert sent.headers["location"] == f"/defects/{mark.id}?said=look"
    page = page_of(cast.lead).get(f"/defects/{mark.id}").text
    assert "B-01 is not sealed: a second look refused it" in page
    assert "Refused at a second look by Ina Inspector, inspector, " in page
    assert "The far edge stands off. " not in page and ": The far edge stands off.</p>" in page
    assert "An inspector&#39;s refusal stands until an inspector accepts it, or it is withdrawn." in page
    looks.look_at_patch(desk, cast.inspector.id, patch.id, True)
    page = page_of(cast.lead).get(f"/defects/{mark.id}").text
    assert "B-01 is sealed" in page and "refusal stands" not in page


def test_a_repair_is_looked_at_like_a_patch(desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    lapped = a_mark(desk, cast, zone, (400, 300), "short lap", SLIT)
    path = f"/defects/{lapped.id}/repairs/{a_repair(desk, cast, lapped).id}/look"
    client = page_of(cast.manager)
    page = client.get(path).text
    assert "Lap again: it holds." in page and "Least lap" in page
    sent = client.post(path, data=form_of(page, path) | {"answer": "accept"})
    assert "Accepted at a second look by Max Manager" in client.get(sent.headers["location"]).text
    assert page_of(cast.lead).get(path).status_code == 403
    stranger = path.replace(lapped.id, a_mark(desk, cast, zone, (500, 300)).id)
    assert client.get(stranger).status_code == 404, "a repair of another mark"
