"""A picture drawn on before it is sent: the service has what was drawn by drag, by presses and by keys."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Locator

from service.actions.frame.reading import defect_view
from service.actions.marks.defects import photo_bytes
from service.domain.nouns.site import Defect
from tests.browser.phones import Phone, Site
from tests.browser.test_manners import AXE, faults
from tests.browser.waiting import until
from tests.builders import a_mark, a_zone
from tests.cast import Cast, assemble
from tests.media.test_heic import corners, heic

pytestmark = pytest.mark.browser
GREY = (128, 128, 128)
Shares = tuple[float, float]


def picture(path: Path) -> Path:
    Image.new("RGB", (400, 300), GREY).save(path / "film.png")
    return path / "film.png"


def opened(site: Site, cast: Cast, file: Path, width: int = 360) -> tuple[Phone, Defect]:
    """The page of a mark on a phone, with this picture chosen for it."""
    mark = a_mark(site.desk, cast, a_zone(site.desk, cast))
    phone = site.signed(cast.lead, size={"width": width, "height": 740})
    phone.open(f"/defects/{mark.id}")
    phone.page.wait_for_load_state("networkidle")
    phone.page.get_by_text("Add a photo", exact=True).click()
    phone.page.set_input_files("#picture", file)
    phone.page.locator(".draw canvas, [data-draw-not]").wait_for()
    return phone, mark


def point(canvas: Locator, at: Shares) -> tuple[float, float]:
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    assert box is not None
    return box["x"] + at[0] * box["width"], box["y"] + at[1] * box["height"]


def drag(phone: Phone, start: Shares, end: Shares) -> None:
    canvas, mouse = phone.page.locator(".draw canvas"), phone.page.mouse
    mouse.move(*point(canvas, start))
    mouse.down()
    mouse.move(*point(canvas, end), steps=3)
    mouse.up()


def tap(phone: Phone, at: Shares) -> None:
    phone.page.touchscreen.tap(*point(phone.page.locator(".draw canvas"), at))


def kept(phone: Phone, site: Site, cast: Cast, mark: Defect) -> Image.Image:
    """The photo as the service has it, once the form was sent."""
    phone.press("Keep the photo")
    until(phone.page, "location.search.includes('said=photo')")
    (photo,) = defect_view(site.desk.fresh(), cast.lead.id, mark.id)[0].photos_of(mark.id)
    _, body = photo_bytes(site.desk.fresh(), cast.lead.id, photo.id, small=False)
    return Image.open(io.BytesIO(body)).convert("L")


def drawn(image: Image.Image, at: Shares) -> bool:
    """Whether a dark line in a light edge passes within 8 dots of here: the ground alone is grey."""
    x, y = round(at[0] * image.width), round(at[1] * image.height)
    low, high = image.crop((x - 8, y - 8, x + 9, y + 9)).getextrema()
    return bool(low < 70 and high > 190)  # type: ignore[operator]  # one band: two whole numbers


def test_a_circle_by_drag_and_an_arrow_by_two_presses_are_in_the_photo_that_is_kept(
    site: Site, tmp_path: Path
) -> None:
    cast = assemble(site.desk)
    phone, mark = opened(site, cast, picture(tmp_path))
    drag(phone, (0.3, 0.4), (0.45, 0.4))
    phone.page.click("text='Arrow'")
    tap(phone, (0.9, 0.9))
    assert "Now press the tip." in phone.words()
    tap(phone, (0.7, 0.6))
    image = kept(phone, site, cast, mark)
    assert image.size == (400, 300)
    for at in ((0.45, 0.4), (0.15, 0.4), (0.3, 0.6), (0.3, 0.2), (0.8, 0.75), (0.7, 0.6)):
        assert drawn(image, at), f"nothing is drawn at {at}"
    for at in ((0.3, 0.4), (0.6, 0.2), (0.2, 0.85)):
        assert not drawn(image, at), f"the ground is to be bare at {at}"


def test_the_keys_draw_too_and_undo_takes_back_the_last_alone(site: Site, tmp_path: Path) -> None:
    cast = assemble(site.desk)
    phone, mark = opened(site, cast, picture(tmp_path))
    canvas = phone.page.locator(".draw canvas")
    canvas.focus()
    for key in (*["ArrowLeft"] * 8, "Enter", *["ArrowDown"] * 6, "Enter"):
        canvas.press(key)
    drag(phone, (0.75, 0.3), (0.85, 0.3))
    phone.page.click("text='Undo'")
    image = kept(phone, site, cast, mark)
    # 8 steps of a fortieth of 400 dots to the left of the middle, and a rim 6 such steps below it.
    assert drawn(image, (0.3, 0.7)) and drawn(image, (0.3, 0.3)) and drawn(image, (0.45, 0.5))
    assert not drawn(image, (0.85, 0.3)) and not drawn(image, (0.65, 0.3))


def test_a_picture_as_it_was_is_sent_with_nothing_on_it(site: Site, tmp_path: Path) -> None:
    cast = assemble(site.desk)
    phone, mark = opened(site, cast, picture(tmp_path))
    drag(phone, (0.3, 0.5), (0.5, 0.5))
    phone.page.click("text='As it was'")
    tap(phone, (0.8, 0.8))  # one point alone is nothing drawn, and no part of the picture
    low, high = kept(phone, site, cast, mark).getextrema()
    assert 120 <= low <= high <= 136, "grey all over"  # type: ignore[operator]  # one band, as above


def test_the_tools_keep_the_manners_of_every_page(site: Site, tmp_path: Path) -> None:
    cast = assemble(site.desk)
    phone, _ = opened(site, cast, picture(tmp_path), width=320)
    drag(phone, (0.3, 0.5), (0.5, 0.5))
    phone.page.evaluate(AXE)
    assert faults(phone) == []
    assert phone.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    sizes = phone.page.locator(".draw button").evaluate_all("all => all.map((one) => one.offsetHeight)")
    assert len(sizes) == 4 and min(sizes) >= 60


def test_a_picture_that_the_phone_cannot_read_is_said_to_be_sent_as_it_is(site: Site, tmp_path: Path) -> None:
    cast, file = assemble(site.desk), tmp_path / "film.heic"
    file.write_bytes(heic(corners()))
    phone, mark = opened(site, cast, file)
    assert "This picture can be sent, but this phone cannot show it to be drawn on." in phone.words()
    assert phone.page.locator(".draw").count() == 0
    assert kept(phone, site, cast, mark).size == (480, 320)
