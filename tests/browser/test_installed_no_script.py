"""Edges, seams and pipes with JavaScript off: told, sealed and judged by forms and a pressed picture."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser import installed_steps as steps
from tests.browser.phones import Phone, Site
from tests.browser.test_no_script import MIDDLE
from tests.browser.test_whole_job import walk
from tests.builders import a_zone
from tests.cast import assemble
from tests.web.sketches.plans import a_plan

pytestmark = pytest.mark.browser


def press_near(phone: Phone, x: int, y: int) -> None:
    """Press the still picture at this dot, which brings it to the middle, then press the middle."""
    phone.press_still(x, y)
    phone.press_still(*MIDDLE)


def edge_without_scripts(lead: Phone, zone: str) -> None:
    steps.describe(lead, zone, "rest", "sealed to the wall or grade beam")
    steps.open_row(lead, f"{zone}/edges", "B-E01")
    steps.work(lead, "sealed", "cleaned", "dry")
    for other in lead.page.locator("[name=also]").all():
        other.check()
    lead.press("Log the seal")
    lead.open(f"{zone}/edges")
    assert "All of the edge is described and sealed" in lead.words()


def seam_without_scripts(lead: Phone, zone: str) -> None:
    """A seam walked with every lap alike and a fishmouth on it, which is taped anew."""
    lead.open(f"{zone}/seams")
    lead.follow("Draw a seam")
    press_near(lead, 120, 130)
    press_near(lead, 170, 130)
    assert "2 points so far." in lead.words()
    steps.answer(lead, "kind", "side lap")
    lead.press("Draw it")
    lead.follow("Walk it")
    lead.page.fill("#lap_0", "6 1/2")
    lead.press("The empty ones read as above")
    lead.page.locator("summary", has_text="A run at fault").click()
    lead.page.select_option("#fault_0", "fishmouth")
    for name, typed in (("from_0", "2"), ("to_0", "3"), ("opening_0", "1/2")):
        lead.page.fill(f"#{name}", typed)
    steps.walk_seam(lead, ())
    assert "To mend: B-01." in lead.words()
    with lead.page.expect_navigation():
        lead.page.locator(".schedule a", has_text="B-01").click()
    with lead.page.expect_navigation():
        lead.page.locator(".reasons li", has_text="Tape the seam").get_by_role("link").click()
    steps.work(lead, "cleaned", "dry", "taped")
    lead.page.fill("#lap", "6 1/2")
    lead.press("Log the repair")
    assert "B-01 is sealed" in lead.words()


def pipe_without_scripts(lead: Phone, zone: str) -> None:
    lead.open(f"{zone}/penetrations")
    lead.follow("Place a penetration")
    press_near(lead, 150, 190)
    lead.page.select_option("#what", "PVC pipe|NPS 4")
    lead.press("Place it")
    lead.follow("Log the seal")
    steps.seal_by_collar(lead, "21 3/16")  # 1.5 times round 4.500 in is 21.206 in
    assert "B-P01 is not sealed: the collar is cut shorter" in lead.words()
    lead.follow("Log the seal anew")
    steps.seal_by_collar(lead, "21 1/4")
    assert "B-P01 is sealed" in lead.words()


def test_edge_seam_and_pipe_are_told_and_sealed_with_javascript_off(site: Site, tmp_path: Path) -> None:
    desk = site.desk
    cast = assemble(desk, demands=("penetrations", "seams", "terminations"))
    zone = f"/zones/{a_zone(desk, cast, a_plan(desk, cast, tmp_path).id).id}"
    lead = site.signed(cast.lead, scripts=False)
    edge_without_scripts(lead, zone)
    seam_without_scripts(lead, zone)
    pipe_without_scripts(lead, zone)
    walk(lead, zone)
    manager = site.signed(cast.manager, scripts=False)
    manager.open(f"{zone}/release")
    assert "Nothing stands against it." in manager.words()
