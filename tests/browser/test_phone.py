"""The phone without signal: taken along, worked on, closed and opened again, and everything lands once."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

from service.actions.entrance import accounts
from service.actions.frame.reading import ZoneView, zone_view
from service.domain.patches.repair import SEALED
from tests.browser.no_signal import (
    hold,
    items,
    keep_signed,
    kept_by_worker,
    no_signal,
    outbox_words,
    own_browser,
    settled,
    states,
    take_along,
)
from tests.browser.phones import Phone, Site
from tests.browser.test_manners import AXE, all_faults
from tests.browser.test_whole_job import ENOUGH, patch
from tests.browser.waiting import until
from tests.builders import a_zone
from tests.cast import Cast, assemble
from tests.web.sketches.plans import a_plan

pytestmark = pytest.mark.browser


@dataclass(frozen=True)
class Film:
    """A zone to work in; `path` is its page."""

    site: Site
    cast: Cast
    zone_id: str

    @property
    def path(self) -> str:
        return f"/zones/{self.zone_id}"

    def view(self) -> ZoneView:
        return zone_view(self.site.desk.fresh(), self.cast.manager.id, self.zone_id)

    def reasons(self) -> list[str]:
        """What the holds in the history say, first recorded first."""
        return [one.reason for one in sorted(self.view().site.holds.values(), key=lambda one: one.at)]


@pytest.fixture
def film(site: Site, tmp_path: Path) -> Film:
    cast = assemble(site.desk)
    return Film(site, cast, a_zone(site.desk, cast, a_plan(site.desk, cast, tmp_path).id).id)


def all_faults_of(phone: Phone) -> list[str]:
    """What the page that is open is at fault in, by the same rules as every page."""
    phone.page.evaluate(f"() => {{ globalThis.checkerReady = () => {{ {AXE}\n }}; }}")
    return all_faults(phone)


def mark_here(phone: Phone, film: Film, place: tuple[float, float], photo: Path | None = None) -> None:
    phone.open(f"{film.path}/mark")
    phone.sketch_ready()
    phone.tap_place(*place, zoom=phone.fine())
    until(phone.page, "document.querySelector('#x')?.value > ''")
    phone.choose("Hole")
    phone.choose("Round")
    phone.page.fill("#diameter", "1/2")
    if photo:
        phone.page.locator("summary", has_text="Photo").click()
        phone.page.set_input_files("#picture", photo)
    phone.press("Mark it")


def test_a_day_without_signal_is_kept_through_a_restart_and_lands_once(film: Film, tmp_path: Path) -> None:
    photo = tmp_path / "photo.jpg"
    Image.effect_noise((2400, 1800), 60).save(photo, quality=95)
    with own_browser(film.site, tmp_path / "phone") as phone:
        keep_signed(film.site, phone.page.context, film.cast.lead)
        assert "Taken along as of" in take_along(phone, film.path)
        phone.page.context.set_offline(True)
        phone.open(film.path)
        assert "Shown from this phone, as of" in phone.page.inner_text(".bar")
        mark_here(phone, film, (400, 300), photo)
        told = outbox_words(phone)
        assert "On this phone" in told and "Received" not in told
        phone.follow("Log its patch")
        assert patch(phone, ENOUGH) == "Holds: least overlap 7 in"
        phone.open(film.path)
        until(phone.page, "document.querySelector('[data-on-phone] li')")
        told = phone.page.inner_text("[data-on-phone]")
        assert "Its tag comes when it is received." in told
        assert "Patched, on this phone. The preview says: Holds: least overlap 7 in" in told
        assert "sealed" not in told.lower() and "B-01" not in told
        phone.page.check("#looked")
        phone.press("Finish the walk")
        assert outbox_words(phone).count("On this phone") == 4  # its title and each
    assert film.view().defects() == []  # nothing reached the service
    with own_browser(film.site, tmp_path / "phone") as phone:
        phone.page.context.set_offline(True)
        phone.open("/outbox")
        assert states(phone) == ["waiting"] * 3
        assert phone.page.evaluate("outbox.items().then(([first]) => first.photos.length)") == 1
        phone.page.context.set_offline(False)
        settled(phone, "received", "received", "received")
        received = phone.page.inner_text("[data-received]")
        assert received.count("entry") == 3 and "Nothing waits on this phone." in outbox_words(phone)
        phone.page.evaluate("outbox.flush()")
    view = film.view()
    (hole,) = view.defects()
    (laid,) = view.patches_on(hole.id)
    assert hole.tag == "B-01" and view.verdict(hole).state == SEALED
    (kept,) = view.photos_of(hole.id)
    assert kept and laid.by == film.cast.lead.id and view.zone.walked_at is not None


def test_what_the_service_refuses_is_parked_in_its_words_and_holds_up_nothing_else(film: Film) -> None:
    phone = film.site.signed(film.cast.lead)
    take_along(phone, film.path)
    with no_signal(phone):
        mark_here(phone, film, (400, 300))
        phone.follow("Log its patch")
        patch(phone, {**ENOUGH, "left": "a hand"})
        phone.open("/outbox")
    settled(phone, "received", "parked")
    (_, parked) = items(phone)
    slip = phone.page.locator(".slip.is-parked")
    assert "It was refused" in slip.inner_text() and parked["trouble"]["status"] == 422
    assert all(words in slip.inner_text() for words in parked["trouble"]["fields"].values())
    hold(phone, film.path, "Water by the door.")
    settled(phone, "received", "parked", "received")
    phone.open("/outbox")
    phone.follow("Put it right")
    until(phone.page, "document.querySelector('#right')?.value === '7'")
    assert phone.page.input_value("#left") == "a hand"
    phone.page.fill("#left", "8")
    phone.press("Log the patch")
    settled(phone, "received", "received", "received")
    (hole,) = film.view().defects()
    assert len(film.view().patches_on(hole.id)) == 1


def test_what_is_dropped_is_dropped_with_a_reason_and_never_sent(film: Film) -> None:
    phone = film.site.signed(film.cast.lead)
    kept_by_worker(phone, f"{film.path}/hold")
    with no_signal(phone):
        phone.choose("Standing water")
        phone.press("Put the zone on hold")
        outbox_words(phone)
    settled(phone, "parked")
    phone.page.locator("summary", has_text="Drop it").click()
    phone.page.get_by_role("button", name="Drop it").click()
    assert states(phone) == ["parked"]  # not without a reason
    phone.page.fill(".slip textarea", "Pressed by mistake.")
    phone.page.get_by_role("button", name="Drop it").click()
    settled(phone, "dropped")
    until(phone.page, "document.querySelector('[data-dropped]').innerText.includes('Pressed by mistake.')")
    assert film.reasons() == []


def test_a_sign_in_that_ended_keeps_the_queue_and_says_what_to_do(film: Film) -> None:
    phone = film.site.phone()
    token = keep_signed(film.site, phone.page.context, film.cast.lead)
    kept_by_worker(phone, f"{film.path}/hold")
    accounts.sign_out(film.site.desk.fresh(), token)
    phone.choose("Standing water")
    phone.page.fill("#reason", "Water by the door.")
    phone.press("Put the zone on hold")
    assert "Received" not in outbox_words(phone) and states(phone) == ["waiting"]
    phone.follow("Sign in to send 1 thing")
    phone.sign_in(film.cast.lead.email)
    settled(phone, "received")
    assert film.reasons() == ["Water by the door."]


def test_nothing_is_sent_under_another_persons_sign_in(film: Film) -> None:
    phone = film.site.phone()
    keep_signed(film.site, phone.page.context, film.cast.lead)
    take_along(phone, film.path)
    with no_signal(phone):
        phone.open(film.path)
        phone.page.check("#looked")
        phone.press("Finish the walk")
        keep_signed(film.site, phone.page.context, film.cast.manager)
    phone.page.evaluate("outbox.flush()")  # the phone does not know yet who is signed in; the service does
    assert states(phone) == ["waiting"] and film.view().zone.walked_at is None
    phone.open(film.path)
    phone.open("/outbox")
    until(phone.page, "document.querySelector('[data-notes]').innerText.includes('made by somebody else')")
    assert f"On this phone, made by {film.cast.lead.name}" in phone.page.inner_text("[data-waiting]")
    keep_signed(film.site, phone.page.context, film.cast.lead)
    phone.open(film.path)
    settled(phone, "received")
    assert film.view().zone.walked_at is not None


def test_two_tabs_send_one_thing_once(film: Film) -> None:
    phone = film.site.signed(film.cast.lead)
    take_along(phone, film.path)
    other = Phone(phone.page.context.new_page(), film.site.address)
    film.site.phones.append(other)
    with no_signal(phone, other):
        phone.open(film.path)
        phone.page.check("#looked")
        phone.press("Finish the walk")
        other.open(film.path)
        until(other.page, "document.querySelector('.outbox-line')?.innerText === '1 on this phone'")
    for one in (phone, other):
        one.page.evaluate("Promise.all([outbox.flush(), outbox.flush()])")
    settled(other, "received")
    assert film.view().zone.walked_at is not None and items(phone)[0]["receipt"]["again"] is False
    until(other.page, "!document.querySelector('.outbox-line')")


def test_a_cleared_place_is_reported_with_what_was_in_it(film: Film) -> None:
    phone = film.site.signed(film.cast.lead)
    take_along(phone, film.path)
    with no_signal(phone):
        mark_here(phone, film, (400, 300))
        phone.page.evaluate(
            "new Promise((done) => { indexedDB.deleteDatabase('laptight-outbox').onsuccess = done; })"
        )
        phone.open(film.path)
        until(phone.page, "document.querySelector('.bar.is-lost')")
        assert "1 thing made on this phone is gone" in phone.page.inner_text(".bar.is-lost")
        phone.open("/outbox")
        until(phone.page, "document.querySelector('[data-notes]').innerText.includes('Hole, 1/2 in across')")
        phone.page.get_by_role("button", name="I have read it").click()
        until(phone.page, "!document.querySelector('[data-notes]').innerText.includes('Hole')")


def test_signing_out_takes_the_pages_off_the_phone_and_leaves_the_queue(film: Film) -> None:
    phone = film.site.signed(film.cast.lead)
    take_along(phone, film.path)
    with no_signal(phone):
        phone.open(f"{film.path}/release")
        assert "needs the service" in outbox_words(phone)
        phone.open(film.path)
        phone.page.check("#looked")
        phone.press("Finish the walk")
        phone.open(film.path)
        phone.press("Sign out")
        assert phone.path == "/outbox" and "There was no answer" in outbox_words(phone)
        phone.open(film.path)
        assert "This page is not on this phone." in outbox_words(phone)
        caches = phone.page.evaluate("caches.keys()")
        assert not [name for name in caches if name.startswith(("pages-", "tiles-"))]
        assert states(phone) == ["waiting"]


def test_the_queue_goes_to_another_phone_in_a_file(film: Film, tmp_path: Path) -> None:
    first, second = film.site.signed(film.cast.lead), film.site.signed(film.cast.lead)
    take_along(first, film.path)
    photo = tmp_path / "photo.jpg"
    Image.new("RGB", (300, 200), "gray").save(photo)
    kept_by_worker(second, "/outbox")
    with no_signal(first):
        mark_here(first, film, (400, 300), photo)
        with first.page.expect_download() as handed:
            first.page.get_by_role("button", name="Save the queue to a file").click()
        saved = tmp_path / "queue.json"
        handed.value.save_as(saved)
        assert json.loads(saved.read_text())["format"] == "laptight-queue-1"
        second.open(film.path)  # who is signed in there is known by a page of theirs
        second.open("/outbox")
        for told in ("1 thing taken in.", "0 things taken in."):
            second.page.set_input_files("#saved", saved)
            until(second.page, f"document.querySelector('[data-file-said]').innerText === '{told}'")
        settled(second, "received")
    settled(first, "received")
    assert items(first)[0]["receipt"]["again"] is True
    (hole,) = film.view().defects()
    assert len(film.view().photos_of(hole.id)) == 1


def test_a_zone_that_finds_no_room_is_not_claimed_to_be_taken_along(film: Film) -> None:
    phone = film.site.signed(film.cast.lead)
    kept_by_worker(phone, film.path)
    phone.page.evaluate(
        "(() => { let left = 3; const put = Cache.prototype.put; Cache.prototype.put = function (...given) {"
        " if (left-- > 0) return put.apply(this, given);"
        " return Promise.reject(new DOMException('full', 'QuotaExceededError')); }; })()"
    )
    told = take_along(phone, film.path, opened=True)
    assert "This phone has no room for the zone." in told and "Not on this phone." in told
    with no_signal(phone):
        phone.open(film.path)
        assert "This page is not on this phone." in outbox_words(phone)


def test_the_worker_does_not_pass_another_sites_form_off_as_ours(film: Film) -> None:
    """A worker's own requests say `Sec-Fetch-Site: same-origin`, whoever caused them (W3C Fetch Metadata)."""
    phone = film.site.signed(film.cast.lead)
    kept_by_worker(phone, film.path)
    action = f"{film.site.address}{film.path}/hold"
    phone.page.goto(
        f"data:text/html,<form method=post action='{action}'><input name=cause value=storm>"
        "<input name=reason value=theirs><button>go</button></form>"
    )
    with phone.page.expect_navigation() as went:
        phone.page.click("button")
    assert went.value is not None and went.value.status == 403
    assert not went.value.from_service_worker
    assert film.reasons() == []


def test_both_sides_stand_beside_each_other_and_a_person_says_what_holds(film: Film) -> None:
    phone = film.site.signed(film.cast.lead)
    take_along(phone, film.path)
    theirs = {"what": "The scale was set anew", "by": "Max Manager", "at": "2026-11-26T10:00:00Z"}
    moved = {"error": {"code": "moved-since", "message": "Others changed it.", "fields": {}}}
    answer = json.dumps({**moved, "theirs": {**theirs, "seq": 7, "href": film.path}})
    with no_signal(phone):
        phone.open(film.path)
        phone.page.check("#looked")
        phone.press("Finish the walk")
        outbox_words(phone)
        phone.page.context.route("**/walks", lambda route: route.fulfill(status=409, body=answer))
    settled(phone, "parked")
    until(phone.page, "document.querySelector('.sides')")
    sides = phone.page.inner_text(".sides")
    assert "On this phone" in sides and "Lou Lead" in sides
    assert "In the history" in sides and "The scale was set anew" in sides and "Max Manager" in sides
    assert all_faults_of(phone) == []
    phone.page.context.unroute("**/walks")
    phone.page.get_by_role("button", name="I have seen it: send mine as well").click()
    settled(phone, "received")
    assert items(phone)[0]["known"] == 7 and film.view().zone.walked_at is not None
