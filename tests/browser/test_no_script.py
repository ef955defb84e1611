"""The main job with JavaScript off, by pressing the picture twice; the keyboard alone; typed values kept."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from service.actions.frame.reading import zone_view
from service.web.serving.guards import PLAIN_COOKIE
from tests.browser.phones import Phone, Site, draw_plan
from tests.browser.waiting import until
from tests.builders import HOLE, a_mark, a_zone
from tests.cast import assemble
from tests.web.sketches.plans import a_plan

pytestmark = pytest.mark.browser
# The whole sketch of 2,400 by 1,600 px stands in the middle of the still picture's 288 by 320 dots.
DOTS, MIDDLE = 2400 / 288, (144, 160)


def press_twice(phone: Phone, x: float, y: float) -> None:
    """Press the whole picture where this pixel of the sketch stands, then the middle of what came closer."""
    phone.press_still(round(MIDDLE[0] + (x - 1200) / DOTS), round(MIDDLE[1] + (y - 800) / DOTS))
    phone.press_still(*MIDDLE)


def enter(phone: Phone, name: str, role: str = "button") -> None:
    """Reach a button or link by keyboard and press Enter: what is not in the Tab order cannot be reached."""
    found = phone.page.get_by_role("link" if role == "link" else "button", name=name, exact=True).last
    assert found.evaluate("e => e.tabIndex") == 0
    found.focus()
    with phone.page.expect_navigation():
        phone.page.keyboard.press("Enter")


def test_the_main_job_is_done_with_javascript_off(site: Site, tmp_path: Path) -> None:
    manager = site.phone(scripts=False)
    manager.sign_in("max@example.com")
    manager.follow("Start a project")
    manager.page.fill("#name", "North warehouse slab")
    manager.choose("Feet and inches")
    manager.page.select_option("#time_zone", "America/Chicago")
    enter(manager, "Start the project")
    manager.follow("Add a sketch")
    manager.page.set_input_files("#file", draw_plan(tmp_path / "plan.png"))
    manager.press("Take it in")
    manager.follow("Set the scale")
    press_twice(manager, 200, 200)
    press_twice(manager, 2200, 200)
    manager.page.fill("#distance", "200 ft")
    manager.press("See what follows")
    manager.press("Yes, set the scale")
    manager.follow("Outline a zone")
    for corner in ((200, 200), (1000, 200), (1000, 800), (200, 800)):
        press_twice(manager, *corner)
    told = re.search(r"([\d,]+) sq ft", manager.words())
    assert told and abs(int(told[1].replace(",", "")) - 4800) <= 200  # a dot of the whole picture is 10 in
    manager.page.fill("#letter", "B")
    manager.page.fill("#name", "North bay")
    manager.press("Outline the zone")
    manager.open("/")
    manager.follow("Open North warehouse slab")
    project = manager.path.removesuffix("/office")
    site.ask_for_marks_only("max@example.com", project)
    manager.page.get_by_role("link", name="B North bay").first.click()
    zone = manager.path.removesuffix("/release")

    lead = site.phone(scripts=False)
    manager.open(f"{project}/people")
    manager.page.fill("#email", "lou@example.com")
    manager.choose("crew lead")
    manager.press("Invite")
    lead.page.goto(manager.page.input_value("#shown-link"))
    lead.page.fill("#name", "Lou Lead")
    lead.page.fill("#password", "seven lazy floats")
    lead.press("Join")
    mark_patch_and_walk(lead, zone)

    manager.open(f"{zone}/release")
    enter(manager, "Release zone B")
    assert "Zone B is ready to place" in manager.words()
    manager.follow("Pull the release back")
    manager.page.fill("#reason", "The pump is late.")
    enter(manager, "Pull the release back")
    assert "The release is pulled back" in manager.words()
    manager.open(f"{project}/history")
    assert "The pump is late" in manager.words()


def mark_patch_and_walk(lead: Phone, zone: str) -> None:
    lead.open(zone)
    enter(lead, "Mark a defect", "link")
    lead.press_still(*MIDDLE)
    lead.press_still(*MIDDLE)
    lead.choose("Tear")
    lead.choose("Four-cornered")
    lead.page.fill("#length", "4")
    lead.page.fill("#width", "2")
    enter(lead, "Mark it")
    assert lead.page.inner_text(".chalk .tag") == "B-01"
    assert "Cut 18 by 16 in (least 16 by 14 in)" in lead.words()
    lead.follow("Log the patch")
    for read, last in (("5 3/4", "is not sealed: short by 1/4 in"), ("7", "is sealed: least overlap 7 in")):
        for side in ("left", "right", "far", "near"):
            lead.page.fill(f"#{side}", read)
        lead.press("Work it out first")
        assert ("Short by 1/4 in" if read == "5 3/4" else "Holds") in lead.words()
        for question in ("cleaned", "dry", "edges_taped"):
            lead.page.check(f"[name={question}][value=yes]")
        lead.page.fill("#tape_width", "4")
        enter(lead, "Log the patch")
        assert last in lead.words()
        if read == "5 3/4":
            lead.follow("Log another patch")
    lead.open(zone)
    lead.page.check("#looked")
    enter(lead, "Finish the walk")
    assert "The punch walk is recorded." in lead.words()


def test_on_the_keyboard_alone_a_defect_is_marked_on_the_pan_and_zoom_sketch(
    site: Site, tmp_path: Path
) -> None:
    desk = site.desk
    cast = assemble(desk)
    zone = a_zone(desk, cast, a_plan(desk, cast, tmp_path).id)
    lead = site.signed(cast.lead)
    lead.open(f"/zones/{zone.id}/mark")
    lead.sketch_ready()
    lead.page.focus(".sketch")
    for _ in range(8):  # Enter comes closer to the middle until a press is fine enough to place
        lead.page.keyboard.press("Enter")
        lead.page.wait_for_timeout(350)
        if lead.page.input_value("#x"):
            break
    lead.page.focus("[name=kind][value=hole]")
    lead.page.keyboard.press("Space")
    lead.page.focus("[name=shape][value=circle]")
    lead.page.keyboard.press("Space")
    lead.page.focus("#diameter")
    lead.page.keyboard.type("1/2")
    enter(lead, "Mark it")
    assert lead.page.inner_text(".chalk .tag") == "B-01"
    assert zone_view(desk.fresh(), cast.lead.id, zone.id).standing.verdicts


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_a_form_kept_open_across_a_sign_out_gets_its_typed_values_back(
    site: Site, tmp_path: Path, scripts: bool
) -> None:
    desk = site.desk
    cast = assemble(desk)
    zone = a_zone(desk, cast, a_plan(desk, cast, tmp_path).id)
    mark = a_mark(desk, cast, zone, outline=HOLE)
    lead = site.signed(cast.lead, scripts=scripts)
    lead.open(f"/defects/{mark.id}/patch")
    for side in ("left", "right", "far", "near"):
        lead.page.fill(f"#{side}", "6 1/2")
    for question in ("cleaned", "dry", "edges_taped"):
        lead.page.check(f"[name={question}][value=yes]")
    lead.page.fill("#tape_width", "4")
    lead.page.fill("#lot", "L-88")
    lead.page.context.clear_cookies(name=PLAIN_COOKIE)
    lead.press("Log the patch")
    if scripts:  # it waits in the outbox, is never dropped, and goes by itself once its author is there again
        assert lead.path == "/outbox"
        until(lead.page, "document.querySelector('[data-outbox-page][data-shown]')")
        assert "On this phone" in lead.words()
        lead.open("/sign-in")
        lead.sign_in(cast.lead.email)
        until(lead.page, "globalThis.outbox")
        lead.page.evaluate("outbox.flush()")
        until(lead.page, "outbox.items().then((all) => all.every((one) => one.state === 'received'))")
        lead.open(f"/defects/{mark.id}")
    else:
        assert lead.path == "/sign-in"
        lead.sign_in(cast.lead.email)
        assert "L-88" in lead.words() and "6 1/2" in lead.words()
        lead.press("Send it now")
    assert "least overlap 6 1/2 in" in lead.words()
