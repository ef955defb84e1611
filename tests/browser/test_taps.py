"""How many presses a mark and a patch take, counted by the browser, with no keyboard."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Locator

from tests.browser.phones import Phone, Site
from tests.browser.waiting import until
from tests.builders import HOLE, a_mark, a_zone
from tests.cast import assemble
from tests.web.sketches.plans import a_plan

pytestmark = pytest.mark.browser
MOST_TO_MARK, MOST_TO_PATCH = 4, 8
COUNT = """() => { sessionStorage.setItem("taps", "0"); sessionStorage.setItem("keys", "0");
  const more = (name) => sessionStorage.setItem(name, Number(sessionStorage.getItem(name)) + 1);
  addEventListener("pointerdown", () => more("taps"), true);
  addEventListener("keydown", () => more("keys"), true); }"""


class Hand:
    """A thumb on one page: every press is a tap, and what the page itself saw of them is what counts."""

    def __init__(self, phone: Phone) -> None:
        self.phone = phone
        phone.page.evaluate(COUNT)

    def tap(self, found: Locator) -> None:
        found.tap()

    def button(self, words: str) -> None:
        self.phone.page.get_by_role("button", name=words, exact=True).last.tap()

    def choice(self, words: str) -> None:
        self.phone.page.locator("label.choice:visible", has_text=words).first.tap()

    def last(self, words: str) -> tuple[int, int]:
        """The press that sends it: (taps, keys) from the page until the answer is there."""
        with self.phone.page.expect_navigation():
            self.button(words)
        count = "name => Number(sessionStorage.getItem(name))"
        return int(self.phone.page.evaluate(count, "taps")), int(self.phone.page.evaluate(count, "keys"))


def pressed_place(phone: Phone, zone: str, x: float, y: float) -> Hand:
    phone.open(f"/zones/{zone}/mark")
    phone.sketch_ready()
    phone.tap_place(x, y, zoom=phone.fine())
    until(phone.page, "document.querySelector('#x')?.value > ''")
    return Hand(phone)


def test_a_common_hole_takes_at_most_four_taps_and_no_typing(site: Site, tmp_path: Path) -> None:
    cast = assemble(site.desk)
    zone = a_zone(site.desk, cast, a_plan(site.desk, cast, tmp_path).id).id
    phone = site.signed(cast.lead)
    hand = pressed_place(phone, zone, 400, 300)
    hand.choice("Hole")
    hand.tap(phone.page.locator("[data-fill=diameter][value='1/2']"))
    taps, keys = hand.last("Mark it")
    assert phone.page.inner_text(".chalk .tag") == "B-01" and "1/2 in across" in phone.words()
    assert (taps, keys) == (3, 0) and taps <= MOST_TO_MARK

    hand = pressed_place(phone, zone, 500, 300)
    hand.button("Same as last: Hole, 1/2 in across")
    hand.tap(phone.page.locator("[data-add=diameter][value='2']"))
    taps, keys = hand.last("Mark it")
    assert "B-02" in phone.words() and "5/8 in across" in phone.words()
    assert (taps, keys) == (3, 0)

    taps, keys = pressed_place(phone, zone, 600, 300).last("Mark it")
    assert "B-03" in phone.words() and "5/8 in across" in phone.words()
    assert (taps, keys) == (1, 0)


def test_a_patch_with_four_overlaps_takes_at_most_eight_taps_and_no_typing(
    site: Site, tmp_path: Path
) -> None:
    cast = assemble(site.desk)
    zone = a_zone(site.desk, cast, a_plan(site.desk, cast, tmp_path).id)
    marks = [a_mark(site.desk, cast, zone, (300 + 200 * i, 300), "hole", HOLE) for i in range(2)]
    phone = site.signed(cast.lead)
    page = phone.page
    phone.open(f"/defects/{marks[0].id}/patch")
    assert page.locator(".read input").evaluate_all("all => all.map((one) => one.value)") == [""] * 4
    assert page.locator("[name=dry]:checked").count() == 0, "no answer is there beforehand"
    hand = Hand(phone)
    hand.button("All four 6 in")
    hand.button("right more")
    hand.button("far more")
    hand.button("far more")
    hand.button("Clean, dry, taped all round")
    hand.tap(page.locator("[data-add=tape_width][value='8']"))
    assert page.inner_text(".by-readings [data-words]") == "Holds: least overlap 6 in"
    taps, keys = hand.last("Log the patch")
    told = phone.words()
    assert "far 6 1/2 in, left 6 in, right 6 1/4 in, near 6 in" in told
    assert "cleaned, dry, all edges taped" in told and "4 in wide" in told
    assert (taps, keys) == (7, 0) and taps <= MOST_TO_PATCH

    phone.open(f"/defects/{marks[1].id}/patch")
    hand = Hand(phone)
    for words in ("All four 6 in", "left more", "right more", "near more", "Clean, dry, taped all round"):
        hand.button(words)
    taps, keys = hand.last("Log the patch")
    assert "far 6 in, left 6 1/4 in, right 6 1/4 in, near 6 1/4 in" in phone.words()
    assert (taps, keys) == (6, 0)


def test_a_patch_that_would_not_count_is_told_so_with_no_signal(site: Site, tmp_path: Path) -> None:
    cast = assemble(site.desk)
    zone = a_zone(site.desk, cast, a_plan(site.desk, cast, tmp_path).id)
    mark = a_mark(site.desk, cast, zone, (300, 300), "hole", HOLE)
    phone = site.signed(cast.lead)
    phone.open(f"/defects/{mark.id}/patch")
    phone.page.wait_for_load_state("networkidle")
    phone.page.context.set_offline(True)
    phone.page.get_by_role("button", name="All four 6 in").tap()
    phone.page.locator("[name=dry][value=no]").check()
    told = phone.page.locator("[data-would]").inner_text()
    assert "Logged like this it does not count: the film was not dry" in told
    phone.choose("By its size")
    phone.page.locator("[name=shape][value=circle]").check()
    phone.page.fill("#diameter", "12")
    # A hole of 1/2 in under a round patch of 12 in: (12 - 1/2) / 2 = 5 3/4 in past it.
    assert "Short by 1/4 in on the" in phone.page.locator("[data-preview]").inner_text()
    phone.page.fill("#diameter", "12 1/2")
    assert "Holds: least overlap 6 in" in phone.page.locator("[data-preview]").inner_text()
    phone.page.context.set_offline(False)
