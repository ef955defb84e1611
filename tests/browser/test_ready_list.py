"""The ready list in a phone left open: asked again while it is looked at, and honest where it cannot be."""

from __future__ import annotations

import pytest

from service.actions.office import ready_lists
from tests.browser.phones import Phone, Site
from tests.browser.waiting import until
from tests.builders import HOLE, a_mark, a_release, a_walk, a_zone
from tests.cast import assemble

pytestmark = pytest.mark.browser

TAKEN_OUT_OF_THE_POCKET = "document.dispatchEvent(new Event('visibilitychange'))"
OLD_IS_SAID = "!document.querySelector('[data-old]').hidden"


def reads(phone: Phone, words: str) -> None:
    """Wait until the page reads so."""
    until(phone.page, f"document.querySelector('main').innerText.includes({words!r})")


def test_an_open_list_turns_not_ready_by_itself_says_when_it_is_old_and_ends_with_its_link(
    site: Site,
) -> None:
    desk = site.desk.fresh()
    cast = assemble(desk)
    zone = a_zone(desk, cast)
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    opened = ready_lists.open_ready_list(desk, cast.manager.id, cast.project_id, "concrete sub")
    phone = site.phone()
    phone.open(f"/ready/{opened.token}")
    assert "Ready to place: B" in phone.words() and "NOT READY" not in phone.words()
    phone.page.context.set_offline(True)
    phone.page.evaluate(TAKEN_OUT_OF_THE_POCKET)
    until(phone.page, OLD_IS_SAID)
    assert "This phone could not ask again." in phone.words()
    phone.page.context.set_offline(False)
    phone.trouble.clear()  # the browser says that it was offline
    phone.page.evaluate(TAKEN_OUT_OF_THE_POCKET)
    until(phone.page, f"!({OLD_IS_SAID})")
    a_mark(desk, cast, zone, (300, 300), "hole", HOLE)
    phone.page.evaluate(TAKEN_OUT_OF_THE_POCKET)
    reads(phone, "No zone is ready to place")
    assert "NOT READY" in phone.words() and "Ready to place: B" not in phone.words()
    ready_lists.withdraw_ready_list(desk, cast.manager.id, opened.link.id, "Sent astray")
    phone.page.evaluate(TAKEN_OUT_OF_THE_POCKET)
    reads(phone, "This link opens nothing")
    phone.trouble[:] = [said for said in phone.trouble if "404" not in said]


def test_without_scripts_it_is_whole_and_looking_again_is_a_press(site: Site) -> None:
    desk = site.desk.fresh()
    cast = assemble(desk)
    zone = a_zone(desk, cast)
    opened = ready_lists.open_ready_list(desk, cast.manager.id, cast.project_id, "concrete sub")
    phone = site.phone(scripts=False)
    phone.open(f"/ready/{opened.token}")
    assert "No zone is ready to place" in phone.words() and "could not ask" not in phone.words()
    a_walk(desk, cast, zone)
    a_release(desk, cast, zone)
    phone.follow("Look again")
    assert "Ready to place: B" in phone.words()
