"""The parts' scripts in a real browser: places on the sketch, the live patch, forms kept and sent once."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from service.domain.words.measures import BadLength, parse_length
from tests.browser.conftest import served
from tests.browser.ground import BODIES, PX_PER_M, Ground, app_of
from tests.browser.waiting import until

pytestmark = pytest.mark.browser


@pytest.fixture
def ground() -> Ground:
    return Ground()


@pytest.fixture
def address(ground: Ground) -> Iterator[str]:
    with served(app_of(ground)) as opened:
        yield opened


@pytest.fixture
def phone(chromium: Browser) -> Iterator[BrowserContext]:
    context = chromium.new_context(viewport={"width": 360, "height": 740}, has_touch=True)
    yield context
    context.close()


@pytest.fixture
def page(phone: BrowserContext) -> Iterator[Page]:
    """A phone's page; anything the browser complains about, the content policy included, fails the test."""
    opened = phone.new_page()
    trouble: list[str] = []
    opened.on("console", lambda m: trouble.append(m.text) if m.type in ("error", "warning") else None)
    opened.on("pageerror", lambda e: trouble.append(str(e)))
    yield opened
    assert trouble == []


def open_sketch(page: Page, url: str) -> None:
    page.goto(url)
    page.wait_for_selector(".sketch-tools")


def value(page: Page, name: str) -> float:
    return float(page.eval_on_selector(f"#{name}", "field => field.value"))


def on_screen(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a pixel of the sketch stands on the screen, by the viewer's own map."""
    found = page.evaluate(
        """([x, y]) => { const el = document.querySelector(".sketch"), box = el.getBoundingClientRect();
           const at = el.sketch.map.latLngToContainerPoint(el.sketch.at(x, y));
           return [at.x + box.left + el.clientLeft, at.y + box.top + el.clientTop]; }""",
        [x, y],
    )
    return found[0], found[1]


def test_a_press_from_far_out_brings_the_ground_closer_and_the_next_press_places(
    page: Page, address: str
) -> None:
    open_sketch(page, f"{address}/point")
    page.touchscreen.tap(*on_screen(page, 700, 600))
    page.wait_for_timeout(600)
    assert page.eval_on_selector("#x", "field => field.value") == ""
    page.touchscreen.tap(*on_screen(page, 705, 610))
    until(page, "document.querySelector('#x').value !== ''")
    metre = PX_PER_M
    assert abs(value(page, "x") - 705) <= 0.0508 * metre and abs(value(page, "y") - 610) <= 0.0508 * metre


def test_a_nudge_moves_the_place_by_the_inch_or_the_foot_it_says(page: Page, address: str) -> None:
    open_sketch(page, f"{address}/point")
    page.evaluate("document.querySelector('.sketch').sketch.map.setView([-600, 700], 1, {animate: false})")
    page.click("[data-middle]")
    x, y = value(page, "x"), value(page, "y")
    page.click("[data-nudge=right]")
    assert value(page, "x") - x == pytest.approx(0.0254 * PX_PER_M, abs=0.002)
    page.click("[data-nudge=size]")
    assert page.inner_text("[data-nudge=size]") == "1 ft"
    page.click("[data-nudge=up]")
    assert y - value(page, "y") == pytest.approx(0.3048 * PX_PER_M, abs=0.002)


def test_a_place_is_chosen_by_keyboard_alone(page: Page, address: str) -> None:
    open_sketch(page, f"{address}/point")
    page.focus(".sketch")
    for _ in range(2):
        page.keyboard.press("Enter")
        page.wait_for_timeout(600)
    assert value(page, "x") == pytest.approx(1000, abs=6)


def test_two_points_are_pressed_one_after_the_other(page: Page, address: str) -> None:
    open_sketch(page, f"{address}/pair")
    page.evaluate("document.querySelector('.sketch').sketch.map.setView([-600, 700], 1, {animate: false})")
    page.touchscreen.tap(*on_screen(page, 680, 600))
    page.touchscreen.tap(*on_screen(page, 720, 590))
    until(page, "document.querySelector('#x2').value !== ''")
    assert [value(page, n) for n in ("x1", "y1", "x2", "y2")] == pytest.approx([680, 600, 720, 590], abs=1)


@pytest.mark.parametrize(("x", "y", "there"), [(700, 600, "/pipe"), (900, 900, "/seam")])
def test_a_penetration_or_a_seam_pressed_on_the_sketch_opens_its_page(
    page: Page, address: str, x: float, y: float, there: str
) -> None:
    open_sketch(page, f"{address}/laid")
    page.mouse.click(*on_screen(page, x, y))
    page.wait_for_url(f"{address}{there}")


def dark_at(page: Page, *places: tuple[float, float, float]) -> list[bool]:
    """Whether ink lies over the map so many screen pixels below each pixel of the sketch: x, y, how many."""
    found: list[bool] = page.evaluate(
        """(places) => { const el = document.querySelector(".sketch"), dots = devicePixelRatio || 1;
           const seen = el.querySelector(".labels"), wide = seen.width;
           const ink = seen.getContext("2d").getImageData(0, 0, wide, seen.height).data;
           return places.map(([x, y, down]) => {
             const at = el.sketch.map.latLngToContainerPoint(el.sketch.at(x, y)), near = [-1, 0, 1];
             return near.some((dx) => near.some((dy) => ink[4 * (Math.round((at.y + down + dy) * dots) * wide
               + Math.round((at.x + dx) * dots)) + 3] > 128)); }); }""",
        [list(place) for place in places],
    )
    return found


def test_a_sealed_edge_is_drawn_outside_the_zone_and_a_reading_across_its_seam(
    page: Page, address: str
) -> None:
    """Their size is the screen's: 9 pixels outside the edge, 5 either side of the seam."""
    open_sketch(page, f"{address}/laid")
    edge = (1_450, 400, -9), (1_450, 400, 9)
    reading = (1_250, 900, -4), (1_250, 900, 4), (1_400, 900, -4)
    assert dark_at(page, *edge, *reading) == [True, False, True, True, False]


def test_a_corner_is_dragged_undone_and_taken_away(page: Page, address: str) -> None:
    open_sketch(page, f"{address}/ring")

    def corners() -> list[list[float]]:
        found: list[list[float]] = json.loads(page.eval_on_selector("#outline", "field => field.value"))
        return found

    start, end = on_screen(page, 1500, 1200), on_screen(page, 1300, 1000)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=5)
    page.mouse.up()
    page.wait_for_timeout(150)
    assert corners()[2] == pytest.approx([1300, 1000], abs=12) and len(corners()) == 3
    page.click("summary")
    page.click("[data-drop='0']")
    assert corners()[0] == [1500, 500]
    page.click("[data-undo]")
    assert len(corners()) == 1


READ = """async (t) => { const n = (await import("/static/patch.js")).parseLength(t, "in");
                      return isNaN(n) ? 0 : n; }"""
LENGTHS = (
    "6 in",
    "6 1/2 in",
    "6-1/2 in",
    '6.5"',
    "1 ft 3 in",
    "1'-3 1/2\"",
    "150 mm",
    "15 cm",
    "0,15 m",
    "½ in",
    "20 ft",
)
NO_LENGTHS = ("six", "-3 in", "5'13\"", "6 miles", "", "1/0 in", "6 1", "6 7/5 in")


def test_the_page_reads_a_length_exactly_as_the_service_does(page: Page, address: str) -> None:
    page.goto(f"{address}/patch")
    assert {t: page.evaluate(READ, t) for t in LENGTHS} == {t: parse_length(t) for t in LENGTHS}


def test_the_page_reads_no_length_where_the_service_reads_none(page: Page, address: str) -> None:
    page.goto(f"{address}/patch")
    for text in NO_LENGTHS:
        with pytest.raises(BadLength):
            parse_length(text)
        assert page.evaluate(READ, text) == 0, text


def test_the_sentence_follows_the_typing_and_names_the_short_side(page: Page, address: str) -> None:
    page.goto(f"{address}/patch")
    for side in ("far", "left", "near"):
        page.fill(f"#{side}", "6 1/4")
    page.fill("#right", "5 3/4")
    assert page.inner_text("[data-words]") == "Short by 1/4 in on the right"
    assert page.locator(".dim.low").count() == 1
    page.click(".read.right [data-step='1']")
    assert (page.input_value("#right"), page.inner_text("[data-words]")) == ("6", "Holds: least overlap 6 in")
    page.fill("#right", "5 15/16")
    assert page.inner_text("[data-words]") == "Short by 1/16 in on the right"
    page.fill("#near", "")
    assert page.inner_text("[data-words]") == "Read the tape on all four sides."
    page.check("[data-wall=near]")
    assert page.inner_text("[data-words]") == "Short by 1/16 in on the right"
    assert page.locator(".walls .wall").count() == 1


def test_what_was_typed_comes_back_after_signing_in_again(page: Page, address: str, ground: Ground) -> None:
    page.goto(f"{address}/note")
    page.fill("#lot", "L-88")
    page.fill("#note", "by the drain")
    ground.signed_in = False
    page.click("text=Send it")
    page.click("text=Sign in")
    page.wait_for_selector("#lot")
    assert (page.input_value("#lot"), page.input_value("#note")) == ("L-88", "by the drain")
    page.click("text=Send it")
    page.wait_for_selector("text=Sent")
    assert [s["note"] for s in ground.sent] == ["by the drain"]
    page.goto(f"{address}/note")
    assert page.input_value("#note") == ""


def test_a_form_pressed_twice_is_sent_once(page: Page, address: str, ground: Ground) -> None:
    page.goto(f"{address}/note")
    page.eval_on_selector("button.act", "b => { b.click(); setTimeout(() => b.click(), 60); }")
    page.wait_for_selector("text=Sent")
    assert len(ground.sent) == 1


@pytest.mark.parametrize("width", [320, 360, 1240])
@pytest.mark.parametrize("name", sorted(BODIES))
def test_every_target_is_48_px_and_nothing_runs_off_the_page(
    page: Page, address: str, name: str, width: int
) -> None:
    """48 px is the figure of Android's accessibility help; WCAG 2.2 asks for 24 (2.5.8) and 44 (2.5.5)."""
    page.set_viewport_size({"width": width, "height": 740})
    page.goto(f"{address}/{name}")
    if name in ("point", "pair", "ring"):
        page.wait_for_selector(".sketch-tools")
    small = page.evaluate(
        """() => [...document.querySelectorAll("a, button, input:not([type=hidden]), textarea, summary")]
             .filter((e) => e.offsetParent && !e.classList.contains("skip"))
             .map((e) => [e.outerHTML.slice(0, 90), (e.closest("label.choice") || e).getBoundingClientRect()])
             .filter(([, r]) => r.width < 48 || r.height < 48).map(([html]) => html)"""
    )
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
