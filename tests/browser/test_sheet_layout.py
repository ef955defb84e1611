"""Sheets dragged across with scripts, and an arrow pressed and a layout kept without any."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.actions.film.layout_ground import ground_of_zone
from service.domain.nouns.site import Zone
from tests.browser.phones import Phone, Site
from tests.browser.test_no_script import MIDDLE
from tests.builders import FOOT_NM, a_zone
from tests.cast import Cast, assemble
from tests.web.sketches.plans import a_plan

pytestmark = pytest.mark.browser
ASKED = "?ask=yes&film=typed&roll_width=15&roll_length=200&way=0&starts=left"


def set_up(site: Site, folder: Path) -> tuple[Cast, Zone]:
    desk = site.desk.fresh()
    cast = assemble(desk)
    return cast, a_zone(desk, cast, a_plan(desk, cast, folder).id)


def shown(phone: Phone, name: str) -> str:
    return phone.page.locator(f"[data-mover] [data-{name}]").inner_text()


def settled(phone: Phone, film: str) -> None:
    phone.page.locator("[data-film]", has_text=film).wait_for()
    phone.page.locator(".told-cost:not([data-busy])").wait_for()


def test_sheets_dragged_or_stepped_tell_what_that_costs_and_are_kept_where_they_were_put(
    site: Site, tmp_path: Path
) -> None:
    cast, zone = set_up(site, tmp_path)
    lead = site.signed(cast.lead)
    lead.open(f"/zones/{zone.id}/layout{ASKED}")
    # Five rows cover 73 ft of the 60: until the first edge lies more than 13 ft outside nothing is lost.
    assert (shown(lead, "film"), shown(lead, "told")) == ("6,000 sq ft", "as little film as can be")
    drawing = lead.page.locator("svg[data-cost]")
    before = drawing.locator("[data-path=sheets]").get_attribute("d")
    lead.page.locator("[data-by]").first.click()  # six inches less is a row less six inches: 14 ft
    settled(lead, "7,200 sq ft")
    assert (shown(lead, "offset"), shown(lead, "told")) == ("14 ft", "20.0 % more film than the least")
    assert drawing.locator("[data-path=sheets]").get_attribute("d") != before
    drawing.press("ArrowDown")  # the sheets go down by an inch
    lead.page.locator("[data-offset]", has_text="13 ft 11 in").wait_for()
    drawing.scroll_into_view_if_needed()
    box = drawing.bounding_box()
    assert box is not None
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    lead.page.mouse.move(*middle)
    lead.page.mouse.down()
    lead.page.mouse.move(middle[0], middle[1] + box["height"] / 8, steps=3)
    lead.page.mouse.up()
    settled(lead, "6,000 sq ft")
    lead.press("Keep this layout")
    (kept,) = ground_of_zone(site.desk.fresh(), cast.lead.id, zone.id).standing_layouts()
    assert kept.by_hand and FOOT_NM < kept.offset_nm < 6 * FOOT_NM and len(kept.sheets) == 5


def test_without_scripts_an_arrow_is_pressed_and_the_layout_kept_by_a_button(
    site: Site, tmp_path: Path
) -> None:
    cast, zone = set_up(site, tmp_path)
    lead = site.signed(cast.lead, scripts=False)
    lead.open(f"/zones/{zone.id}/layout")
    lead.page.locator("label", has_text="Another roll").click()
    lead.page.fill("#roll_width", "15")
    lead.page.fill("#roll_length", "200")
    arrow = lead.page.locator("details", has_text="Draw the arrow on the sketch")
    arrow.locator("summary").first.click()
    for across in (60, 220):
        for place in ((across, 130), MIDDLE):  # the dot is brought to the middle, and the middle settles it
            with lead.page.expect_navigation():
                lead.page.locator("[name=waypress]").click(position={"x": place[0], "y": place[1]})
    lead.press("Show the sheets")
    assert "5 sheets, " in lead.words()
    lead.press("Keep this layout")
    (kept,) = ground_of_zone(site.desk.fresh(), cast.lead.id, zone.id).standing_layouts()
    assert abs((kept.direction_udeg + 180_000_000) % 360_000_000 - 180_000_000) < 8_000_000
    assert len(kept.seams) >= 4
