"""A phone that is told to wait waits, and sends everything in its order afterwards."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Route

from tests.browser.no_signal import hold, no_signal, outbox_words, settled, take_along
from tests.browser.phones import Site
from tests.browser.test_phone import Film, mark_here
from tests.builders import a_zone
from tests.cast import assemble
from tests.web.sketches.plans import a_plan

pytestmark = pytest.mark.browser


@pytest.fixture
def film(site: Site, tmp_path: Path) -> Film:
    cast = assemble(site.desk)
    return Film(site, cast, a_zone(site.desk, cast, a_plan(site.desk, cast, tmp_path).id).id)


def test_told_to_wait_when_it_asks_for_a_photo_it_sends_nothing_else_until_then(
    film: Film, tmp_path: Path
) -> None:
    """RFC 6585 section 4: 429, with Retry-After. A photo's first question has no body to say why."""
    photo = tmp_path / "photo.jpg"
    Image.new("RGB", (300, 200), "gray").save(photo)
    phone = film.site.signed(film.cast.lead)
    take_along(phone, film.path)
    sent: list[str] = []

    def watched(route: Route) -> None:
        asked = route.request
        sent.append(f"{asked.method} {asked.url.split('/')[3 if '/blobs/' in asked.url else -1]}")
        if len(sent) == 1:
            route.fulfill(status=429, headers={"Retry-After": "3"})
        else:
            route.continue_()

    with no_signal(phone):
        mark_here(phone, film, (400, 300), photo)
        hold(phone, film.path, "Water by the door.")
        outbox_words(phone)
        for path in ("**/blobs/*", "**/mark", "**/hold"):
            phone.page.context.route(path, watched)
    settled(phone, "received", "received")
    assert sent == ["HEAD blobs", "HEAD blobs", "PUT blobs", "POST mark", "POST hold"]
    assert film.reasons() == ["Water by the door."] and len(film.view().defects()) == 1


def test_what_was_given_up_as_too_slow_stays_on_the_phone_and_is_sent_again(film: Film) -> None:
    """RFC 9110, 15.5.9: a request answered with 408 may be repeated. It is nobody's to put right."""
    phone = film.site.signed(film.cast.lead)
    take_along(phone, film.path)
    statuses: list[int] = []

    def slow_once(route: Route) -> None:
        if statuses:
            statuses.append(0)
            route.continue_()
            return
        statuses.append(408)
        error = {"code": "too-slow", "message": "Too slow.", "fields": {}}
        route.fulfill(status=408, json={"error": error})

    with no_signal(phone):
        mark_here(phone, film, (400, 300))
        outbox_words(phone)
        phone.page.context.route("**/mark", slow_once)
    settled(phone, "received")
    assert statuses == [408, 0] and len(film.view().defects()) == 1
