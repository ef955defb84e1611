"""Sketches in a real browser: zones pressed with scripts and without, by touch and by keyboard."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser, Page

from service.actions.entrance import accounts
from service.actions.frame.desk import Desk
from service.actions.frame.reading import sketch_view
from service.actions.sketches import zones
from service.domain.nouns.site import Sketch
from service.web.serving.guards import PLAIN_COOKIE
from tests.browser.conftest import served
from tests.cast import NOON, Cast, Clock
from tests.web.sketches.plans import a_plan

pytestmark = pytest.mark.browser


@pytest.fixture
def address(app: FastAPI) -> Iterator[str]:
    with served(app) as opened:
        yield opened


@pytest.fixture
def plan(desk: Desk, cast: Cast, tmp_path: Path) -> Sketch:
    return a_plan(desk, cast, tmp_path)


def opened(chromium: Browser, address: str, desk: Desk, cast: Cast, clock: Clock, *, scripts: bool) -> Page:
    """The manager's phone, signed in."""
    assert clock() == NOON
    context = chromium.new_context(
        viewport={"width": 360, "height": 740}, has_touch=True, java_script_enabled=scripts
    )
    token, _ = accounts.open_sign_in(desk.fresh(), cast.manager.id, accounts.PAGE)
    context.add_cookies([{"name": PLAIN_COOKIE, "value": token, "url": address}])
    return context.new_page()


def corners_of(desk: Desk, cast: Cast, plan: Sketch) -> list[tuple[float, float]]:
    (standing,) = sketch_view(desk.fresh(), cast.manager.id, plan.id).standings
    return [(x / 1000, y / 1000) for x, y in standing.zone.outline]


def test_a_zone_is_outlined_by_pressing_with_its_size_told_as_it_grows(
    chromium: Browser, address: str, desk: Desk, cast: Cast, clock: Clock, plan: Sketch
) -> None:
    page = opened(chromium, address, desk, cast, clock, scripts=True)
    trouble: list[str] = []
    page.on("console", lambda m: trouble.append(m.text) if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda e: trouble.append(str(e)))
    page.goto(f"{address}/sketches/{plan.id}/zones/new")
    page.wait_for_selector(".sketch-tools")
    at = """(place) => {
        const { map, at } = document.getElementById("plan").sketch;
        map.fire("click", { latlng: at(...place) });
    }"""
    page.evaluate(
        "() => { const s = document.getElementById('plan').sketch; s.map.setZoom(0, {animate: false}) }"
    )
    for corner in ([200, 200], [800, 200], [800, 600], [200, 600]):
        page.evaluate(at, corner)
        page.evaluate(at, corner)  # the first press may only have come closer
    corners = json.loads(page.input_value("#outline"))
    sides = [c for n, c in enumerate(corners) if c != corners[n - 1]]
    page.evaluate(
        "(ring) => { const f = document.getElementById('outline'); f.value = JSON.stringify(ring);"
        " f.form.dispatchEvent(new CustomEvent('typed-back')); }",
        sides,
    )
    assert page.text_content("[data-size]") == "2,400 sq ft, 200 ft round"  # 60 by 40 ft
    page.get_by_role("button", name="Outline the zone").last.click()
    page.wait_for_url("**said=zone")
    assert corners_of(desk, cast, plan) == [(200, 200), (800, 200), (800, 600), (200, 600)]
    assert trouble == []


def test_without_scripts_a_zone_is_outlined_by_touch_and_enter_in_a_field_presses_nothing(
    chromium: Browser, address: str, desk: Desk, cast: Cast, clock: Clock, plan: Sketch
) -> None:
    page = opened(chromium, address, desk, cast, clock, scripts=False)
    page.goto(f"{address}/sketches/{plan.id}/zones/new")
    page.fill("#letter", "K")
    for x, y in ((100, 120), (180, 120), (180, 190)):
        page.locator("input[type=image]").click(position={"x": x, "y": y})
        assert page.url.endswith("#still")
        page.locator("input[type=image]").click(position={"x": 144, "y": 160})
    page.press("#name", "Enter")
    page.wait_for_url("**said=zone")
    corners = corners_of(desk, cast, plan)
    assert len(corners) == 3
    # The whole sketch of 1,200 by 900 px stands in the middle of 288 by 320 dots, 8 px to a dot.
    for (left, top), (px, py) in zip(corners, ((100, 120), (180, 120), (180, 190)), strict=True):
        assert abs(left - (600 + (px - 144) * 8)) <= 16 and abs(top - (450 + (py - 160) * 8)) <= 16


def test_without_scripts_a_wall_is_drawn_by_keyboard_alone(
    chromium: Browser, address: str, desk: Desk, cast: Cast, clock: Clock, plan: Sketch
) -> None:
    zone = zones.outline_zone(
        desk, cast.manager.id, plan.id, "A", "", [(200, 200), (800, 200), (800, 600), (200, 600)]
    )
    page = opened(chromium, address, desk, cast, clock, scripts=False)
    page.goto(f"{address}/zones/{zone.id}/walls")

    def enter(locator: str) -> None:
        page.locator(locator).focus()
        with page.expect_navigation():
            page.keyboard.press("Enter")

    enter("input[type=image]")
    enter("input[type=image]")
    enter("button[value=see-right]")
    enter("input[type=image]")
    enter("input[type=image]")
    assert "Both points are placed." in (page.text_content(".still") or "")
    page.get_by_role("button", name="Draw the wall").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**said=drawn")
    site = sketch_view(desk.fresh(), cast.manager.id, plan.id).site
    assert len(site.walls) == 1
