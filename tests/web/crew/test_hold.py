"""Holding a whole zone, and lifting the hold with a reason."""

from __future__ import annotations

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.sketches import zones
from tests.builders import a_walk, a_zone, blockers_of
from tests.cast import Cast
from tests.conftest import ClientOf
from tests.web.office.forms import form_of


def test_every_role_may_hold_a_zone_and_say_why(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    for letter, person in zip("BCD", cast.roles.values(), strict=True):
        zone, client = a_zone(desk, cast, letter=letter), page_of(person)
        path = f"/zones/{zone.id}/hold"
        form = form_of(client.get(path).text, path) | {"cause": "storm", "reason": "hail at noon"}
        held = client.post(path, data=form)
        assert held.status_code == 303
        assert client.post(path, data=form).headers["location"] == held.headers["location"]
        page = client.get(held.headers["location"]).text
        assert "On hold for storm." in page and "hail at noon" in page
        assert blockers_of(desk, cast, zone).count("zone-hold") == 1


def test_a_hold_without_cause_or_reason_keeps_what_was_typed(
    desk: Desk, cast: Cast, page_of: ClientOf
) -> None:
    zone, client = a_zone(desk, cast), page_of(cast.lead)
    path = f"/zones/{zone.id}/hold"
    form = form_of(client.get(path).text, path)
    assert "cause" not in form
    answer = client.post(path, data=form | {"reason": "two inches"})
    assert answer.status_code == 422
    assert form_of(answer.text, path)["reason"] == "two inches"
    assert client.post(path, data=form | {"cause": "frost"}).status_code == 422
    assert "zone-hold" not in blockers_of(desk, cast, zone)


def test_a_hold_is_lifted_with_what_was_done(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    hold = zones.hold_zone(desk, cast.inspector.id, zone.id, "standing water", "two inches")
    client, path = page_of(cast.lead), f"/holds/{hold.id}/lift"
    assert f'href="{path}"' in client.get(f"/zones/{zone.id}").text
    assert client.post(path, data=form_of(client.get(path).text, path)).status_code == 422
    assert zone_view(desk, cast.lead.id, zone.id).standing.state == "held"
    lifted = client.post(path, data=form_of(client.get(path).text, path) | {"reason": "pumped dry"})
    assert lifted.status_code == 303
    assert "This hold is lifted already: pumped dry" in client.get(path).text
    assert zone_view(desk, cast.lead.id, zone.id).standing.state == "clear"


def test_an_outsider_neither_holds_nor_lifts(desk: Desk, cast: Cast, page_of: ClientOf) -> None:
    zone = a_zone(desk, cast)
    hold = zones.hold_zone(desk, cast.lead.id, zone.id, "frost", "white")
    for path in (f"/zones/{zone.id}/hold", f"/holds/{hold.id}/lift"):
        assert page_of(cast.outsider).get(path).status_code == 404
        data = {"cause": "frost", "reason": "x"}
        assert page_of(cast.outsider).post(path, data=data).status_code == 404
