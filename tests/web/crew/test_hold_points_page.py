"""The hold points as a signed sheet: who signed what and when, the next to sign, and why one cannot."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.installed.hold_points import sign_hold_point
from service.actions.office.release import mark_placed
from service.actions.sketches.zones import change_zone, withdraw_zone
from service.domain.nouns.rules import LOOK_STEP, STEPS, WALK_STEP
from service.domain.nouns.site import Zone
from tests.builders import a_mark, a_patch, a_walk, a_zone
from tests.cast import Cast, assemble
from tests.conftest import ClientOf
from tests.web.office.forms import form_of


@pytest.fixture
def cast(desk: Desk) -> Cast:
    return assemble(desk, demands=("hold points",))


@pytest.fixture
def zone(desk: Desk, cast: Cast) -> Zone:
    return a_zone(desk, cast)


def test_the_next_step_is_offered_and_signed_with_ones_name(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.inspector), f"/zones/{zone.id}/hold-points"
    page = client.get(path).text
    assert f"Next: {STEPS[0]}." in page and page.count("not signed</span>") == len(STEPS)
    form = form_of(page, path)
    assert form["step"] == STEPS[0] and "answer" not in form
    assert client.post(path, data=form).status_code == 422, "no answer is no signature"
    sent = client.post(path, data=form | {"answer": "sign", "note": "proof rolled"})
    assert sent.headers["location"] == f"{path}?said=signed"
    page = client.get(sent.headers["location"]).text
    assert "The hold point is signed." in page
    assert "Signed by Ina Inspector, inspector, Wed 25 Nov 2026, 6:00 am: proof rolled" in page
    assert form_of(page, path)["step"] == STEPS[1]
    assert "Hold points: 1 of 9 signed" in client.get(f"/zones/{zone.id}").text


def test_a_step_out_of_order_is_refused_naming_the_step_before_it(
    cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.lead), f"/zones/{zone.id}/hold-points"
    form = form_of(client.get(path).text, path)
    answer = client.post(path, data=form | {"step": "laps", "answer": "sign", "note": "kept"})
    assert answer.status_code == 422
    assert f"Before it comes another step, which is not signed: {STEPS[0]}." in answer.text
    assert form_of(answer.text, path)["note"] == "kept"


def test_a_refusal_needs_its_reason_and_is_told_with_it(cast: Cast, page_of: ClientOf, zone: Zone) -> None:
    client, path = page_of(cast.lead), f"/zones/{zone.id}/hold-points"
    form = form_of(client.get(path).text, path) | {"answer": "refuse"}
    blank = client.post(path, data=form)
    assert blank.status_code == 422 and 'id="note-wrong"' in blank.text
    sent = client.post(path, data=form | {"note": "stone at the north wall"})
    page = client.get(sent.headers["location"]).text
    assert "The refusal is kept." in page and "stone at the north wall" in page
    assert ">refused</span>" in page and f"Next: {STEPS[0]}." in page


def test_the_walk_is_finished_on_the_zones_page_and_ones_own_work_is_told(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    a_patch(desk, cast, a_mark(desk, cast, zone))
    client, path = page_of(cast.lead), f"/zones/{zone.id}/hold-points"
    for step in STEPS[: STEPS.index(WALK_STEP)]:
        sign_hold_point(desk, cast.lead.id, zone.id, step, True)
    page = client.get(path).text
    assert f'href="/zones/{zone.id}#walk"' in page and f'<option value="{WALK_STEP}"' not in page
    a_walk(desk, cast, zone)
    page = client.get(path).text
    assert "Walk finished Wed 25 Nov 2026, 6:00 am" in page
    assert "signed by somebody who logged no patch, repair or seal" in page
    assert f'<option value="{LOOK_STEP}"' not in page
    refused = client.post(path, data={"step": LOOK_STEP, "answer": "sign"})
    assert refused.status_code == 422 and "There is a problem" in refused.text
    assert f'<option value="{LOOK_STEP}" selected' in page_of(cast.inspector).get(path).text


def test_a_signature_for_an_older_outline_is_shown_as_lapsed(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    sign_hold_point(desk, cast.lead.id, zone.id, STEPS[0], True)
    client, path = page_of(cast.lead), f"/zones/{zone.id}/hold-points"
    assert "(lapsed" not in client.get(path).text
    change_zone(desk, cast.manager.id, zone.id, outline=((100, 100), (950, 100), (950, 700), (100, 700)))
    page = client.get(path).text
    assert "(lapsed: the outline or the scale is a newer one)" in page
    assert form_of(page, path)["step"] == STEPS[0]


def test_once_concrete_is_in_or_the_zone_is_off_nothing_is_signed(
    desk: Desk, cast: Cast, page_of: ClientOf, zone: Zone
) -> None:
    client, path = page_of(cast.lead), f"/zones/{zone.id}/hold-points"
    mark_placed(desk, cast.manager.id, zone.id)
    page = client.get(path).text
    assert "what it covers can be signed no more" in page and "Sign with my name" not in page
    assert client.post(path, data={"step": STEPS[0], "answer": "sign"}).status_code == 422
    off = a_zone(desk, cast, zone.sketch_id, "C", ((100, 800), (900, 800), (900, 1400)))
    withdraw_zone(desk, cast.manager.id, off.id, "Redrawn")
    assert client.get(f"/zones/{off.id}/hold-points").status_code == 409
    assert page_of(cast.outsider).get(path).status_code == 404
