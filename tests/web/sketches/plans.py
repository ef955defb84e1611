"""A small plan with a real picture behind it, and presses on the still picture of a page."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path

import httpx
from PIL import Image, ImageDraw

from service.actions.frame.desk import Desk
from service.actions.sketches import sketches
from service.domain.nouns.site import Sketch
from tests.cast import Cast
from tests.web.office.forms import form_of

WIDTH_PX, HEIGHT_PX = 1200, 900


def plan_png(width: int = WIDTH_PX, height: int = HEIGHT_PX) -> bytes:
    """White ground, a black frame, a red cross in its middle: enough to tell one place from another."""
    image = Image.new("RGB", (width, height), "white")
    pen = ImageDraw.Draw(image)
    pen.rectangle((100, 100, width - 100, height - 100), outline="black", width=6)
    pen.line((width // 2 - 40, height // 2, width // 2 + 40, height // 2), fill="red", width=4)
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def plan_pdf(pages: int) -> bytes:
    """Pages of one inch, each of another grey."""
    shades = [Image.new("RGB", (72, 72), (40 * n, 40 * n, 40 * n)) for n in range(pages)]
    out = io.BytesIO()
    shades[0].save(out, "PDF", save_all=True, append_images=shades[1:], resolution=72)
    return out.getvalue()


def a_plan(desk: Desk, cast: Cast, folder: Path, *, scaled: bool = True) -> Sketch:
    """A sketch with its picture; 10 px to the foot when scaled."""
    source = folder / "plan.png"
    source.write_bytes(plan_png())
    made = sketches.add_sketch(desk, cast.manager.id, cast.project_id, source, "Level 1")
    if scaled:
        made = sketches.set_scale(desk, cast.manager.id, made.id, (0, 0), (1000, 0), "100 ft")
    return made


def press(
    client: httpx.Client,
    answer: httpx.Response,
    path: str,
    x: int,
    y: int,
    *,
    prefix: str = "",
    typed: Mapping[str, str] | None = None,
) -> httpx.Response:
    """Send the page's form as a browser does when its still picture is pressed at this dot."""
    sent = form_of(answer.text, path) | dict(typed or {})
    return client.post(path, data=sent | {f"{prefix}press.x": str(x), f"{prefix}press.y": str(y)})


def button(
    client: httpx.Client, answer: httpx.Response, path: str, value: str, *, prefix: str = ""
) -> httpx.Response:
    """Send the page's form with one of the buttons under the still picture."""
    return client.post(path, data=form_of(answer.text, path) | {f"{prefix}do": value})
