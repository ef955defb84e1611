"""Starting to place a zone from the phone, and what every page says while it goes on and afterwards."""

from __future__ import annotations

import pytest

from service.actions.frame.desk import Desk
from service.actions.frame.reading import zone_view
from service.actions.office import release
from service.actions.office.placing_start import start_placing
from service.actions.sketches import zones
from service.domain.nouns.site import Zone
from tests.builders import a_mark, a_patch, a_release, a_walk, a_zone, state_of
from tests.cast import Cast, Clock
from tests.conftest import ClientOf
from tests.web.office.forms import form_of

SINCE = "Wed 25 Nov 2026, 6:00 am"  # noon UTC in Chicago, which keeps UTC-6 in November (tz database)


@pytest.fixture
def ready(desk: Desk, cast: Cast) -> Zone:
    zone = a_zone(desk, cast)
    a_patch(desk, cast, a_mark(desk, cast, zone))
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    return zone


def path(zone: Zone) -> str:
    return f"/zones/{zone.id}/start-placing"


def test_it_takes_two_steps_and_then_every_page_says_since_when(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    lead = page_of(cast.lead)
    assert f'href="{path(ready)}"' in lead.get(f"/zones/{ready.id}").text
    shown = lead.get(path(ready)).text
    for words in ("Max Manager", "I have seen this zone.", "Wet concrete is caustic", "Release mark"):
        assert words in shown, words
    sent = form_of(shown, path(ready))
    answers = [lead.post(path(ready), data=sent) for _ in range(2)]
    assert {answer.status_code for answer in answers} == {303}, "a double tap lands once"
    page = lead.get(answers[0].headers["location"]).text
    assert f"Placing since {SINCE}" in page and path(ready) not in page
    assert "Ready to place" in page
    project = f"/projects/{cast.project_id}"
    for where in (f"/zones/{ready.id}/release", f"{project}/office", f"{project}/crew"):
        assert f"lacing since {SINCE}" in page_of(cast.manager).get(where).text, where


def test_a_zone_that_is_not_ready_says_do_not_place_and_why(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    lead = page_of(cast.lead)
    sent = form_of(lead.get(path(ready)).text, path(ready))
    zones.hold_zone(desk, cast.inspector.id, ready.id, "storm", "lightning to the west")
    answer = lead.post(path(ready), data=sent)
    assert answer.status_code == 409
    for page in (answer.text, lead.get(path(ready)).text):
        assert "Do not place zone B now" in page and "storm" in page
        assert f'action="{path(ready)}"' not in page
    assert path(ready) not in lead.get(f"/zones/{ready.id}").text
    placing = zone_view(desk, cast.lead.id, ready.id).zone.placing
    assert placing is None


def test_a_time_before_the_release_is_refused_beside_its_field(
    cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    lead = page_of(cast.lead)
    sent = form_of(lead.get(path(ready)).text, path(ready)) | {"at": "2026-11-25T05:30"}
    answer = lead.post(path(ready), data=sent)
    assert answer.status_code == 422
    assert "The zone was not released yet at that time." in answer.text and "2026-11-25T05:30" in answer.text


@pytest.mark.parametrize(("who", "status"), [("inspector", 403), ("outsider", 404), ("other_manager", 404)])
def test_who_places_nothing_may_not(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone, who: str, status: int
) -> None:
    other = page_of(getattr(cast, who))
    assert other.get(path(ready)).status_code == status
    assert other.post(path(ready)).status_code == status
    assert path(ready) not in other.get(f"/zones/{ready.id}").text


def test_a_mark_made_meanwhile_says_so_wherever_it_is_told(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    start_placing(desk, cast.lead.id, ready.id)
    lead = page_of(cast.lead)
    assert "A mark now is kept as found during placing." in lead.get(f"/zones/{ready.id}/mark").text
    mark = a_mark(desk, cast, ready, (500, 500))
    assert "mend it before the concrete covers it" in lead.get(f"/defects/{mark.id}/marked").text
    assert "during placing" in lead.get(f"/defects/{mark.id}").text
    for where in ("", "/release", "/punch-list"):
        assert "found during placing" in lead.get(f"/zones/{ready.id}{where}").text, where
    assert state_of(desk, cast, ready) == "ready to place"


def test_marking_it_placed_shows_what_is_not_mended_and_keeps_it(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone, clock: Clock
) -> None:
    start_placing(desk, cast.lead.id, ready.id)
    mark = a_mark(desk, cast, ready, (500, 500))
    clock.go_on(hours=3)
    manager, where = page_of(cast.manager), f"/zones/{ready.id}/placed"
    shown = manager.get(where).text
    assert "is not mended" in shown and mark.tag in shown
    sent = form_of(shown, where)
    assert sent["at"] == "2026-11-25T06:00", "when placing was started"
    answer = manager.post(where, data=sent)
    assert answer.status_code == 303
    for page in (f"/zones/{ready.id}/release", f"/zones/{ready.id}/as-it-stood"):
        told = manager.get(page).text
        assert "Found during placing, not mended before it was covered" in told, page
        assert "B-02 is open: tear" in told, page
    zone = manager.get(f"/zones/{ready.id}").text
    assert "not mended before the concrete covered it: B-02 is open: tear." in zone


def test_a_release_that_fell_while_placing_is_told_to_whoever_stands_there(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    start_placing(desk, cast.lead.id, ready.id)
    zones.hold_zone(desk, cast.inspector.id, ready.id, "storm", "lightning")
    told = page_of(cast.lead).get(f"/zones/{ready.id}").text
    assert f"Placing began {SINCE}, and the release it began under does not stand any more." in told


def test_the_certificate_and_the_closeout_tell_what_was_found(
    desk: Desk, cast: Cast, page_of: ClientOf, ready: Zone
) -> None:
    start_placing(desk, cast.lead.id, ready.id)
    a_mark(desk, cast, ready, (500, 500))
    release.mark_placed(desk, cast.manager.id, ready.id)
    eye = page_of(cast.inspector)
    [made] = zone_view(desk, cast.manager.id, ready.id).site.releases
    paper = eye.get(f"/releases/{made}").text
    assert "Found during placing" in paper and "Not mended before the concrete covered it:" in paper
    closeout = eye.get(f"/projects/{cast.project_id}/closeout").text
    assert "Placing began" in closeout and "found during placing" in closeout
    assert "Found during placing, not mended before it was covered" in closeout
    timeline = eye.get(f"/zones/{ready.id}/timeline").text
    assert "placing started" in timeline
