"""Pages made of the parts alone, on invented ground, served to a browser with the real content policy."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from io import BytesIO

from PIL import Image
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Mount, Route

from service.domain.shapes.outlines import Circle, Rectangle
from service.domain.shapes.sides import Sides
from service.web.drawings.drawing import (
    EdgeToDraw,
    InstalledToDraw,
    PenetrationToDraw,
    Reading,
    SeamToDraw,
    SketchDrawing,
)
from service.web.drawings.patch_drawing import draw_patch, live_rows
from service.web.drawings.sketch_drawing import sketch_rows
from service.web.serving.render import BARE, STATIC, environment

IN = 25_400_000
PX_PER_M = 100.0
CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
# What every page is told beside its own: `render` gives it, and these pages are not rendered by it.
IN_ENGLISH_ALONE = {"lang": "en", "other_languages": [], "words_name": "", "larger": False}
HEAD = (
    '{% extends "page.html" %}{% import "parts/fields.html" as f %}{% import "parts/sketch.html" as s %}'
    '{% import "parts/patch.html" as p %}{% import "parts/blocks.html" as b %}{% block main %}<h1>Try</h1>'
    '{{ f.form_start("/sent", "key-1") }}'
)
TAIL = '{{ b.act("Send it") }}{{ f.form_end() }}{% endblock %}'
TAIL += "{% block scripts %}{{ s.viewer_scripts(true) }}"
TAIL += '<script type="module" src="{{ static("patch.js") }}"></script>{% endblock %}'
BODIES = {
    "point": "{{ s.place_point(page.sketch) }}",
    "pair": "{{ s.place_pair(page.sketch) }}",
    "ring": "{{ s.place_ring(page.sketch, '[[500,500],[1500,500],[1500,1200]]') }}",
    "laid": "{{ s.sketch_view(page.laid) }}",
    "patch": '{{ p.readings(page.patch, page.readings, "in") }}{{ p.live_verdict() }}',
    "note": '{{ f.text("lot", "Lot") }}{{ f.area("note", "Note") }}',
}

# 10 mm to a pixel: a pipe of 500 mm, a seam with one lap read at its middle, and the north edge of a zone.
LAID = sketch_rows(
    10_000_000,
    zones=[("B", ((400_000, 400_000), (1_600_000, 400_000), (1_600_000, 1_200_000)), "held")],
    installed=InstalledToDraw(
        (PenetrationToDraw("B-P01", "not sealed", (700_000, 600_000), Circle(500_000_000), "/pipe"),),
        (
            SeamToDraw(
                "B-S01",
                "walked",
                ((500_000, 900_000), (1_500_000, 900_000)),
                (((1_250_000, 900_000), 0),),
                "/seam",
            ),
        ),
        (EdgeToDraw("sealed", ((400_000, 400_000), (1_600_000, 400_000))),),
    ),
)


@dataclass
class Ground:
    """What the pages are about, and what was sent from them."""

    sent: list[dict[str, str]] = field(default_factory=list)
    signed_in: bool = True
    sketch = SketchDrawing("sketch", "The sketch", "/tiles/", 2000, 1600, 4, PX_PER_M)
    laid = SketchDrawing("sketch", "The film as laid", "/tiles/", 2000, 1600, 4, PX_PER_M, rows=LAID)
    patch = draw_patch(
        Rectangle(4 * IN, 2 * IN),
        6 * IN,
        Sides(6 * IN, 6 * IN, 6 * IN, 6 * IN),
        label="Patch",
        live=live_rows(Rectangle(4 * IN, 2 * IN), 6 * IN, 0, "us"),
    )
    readings = tuple(Reading(side, may_wall=side == "near") for side in ("far", "left", "right", "near"))


def white_tile() -> bytes:
    made = BytesIO()
    Image.new("RGB", (256, 256), "white").save(made, "WEBP")
    return made.getvalue()


def app_of(ground: Ground) -> Starlette:
    tile = white_tile()

    async def page(request: Request) -> Response:
        name = request.path_params["name"]
        shell = {**BARE, "person": "Ada", "person_id": "p1"}
        if not ground.signed_in:
            html = '{% extends "page.html" %}{% block main %}<form method="post" action="/in" data-sign-in>'
            html += (
                '<input type="hidden" name="next" value="NEXT"><button>Sign in</button></form>{% endblock %}'
            )
            html, shell = html.replace("NEXT", f"/{name}"), {**BARE}
        else:
            html = HEAD + BODIES[name] + TAIL
        text = environment().from_string(html).render(page=ground, shell=shell, **IN_ENGLISH_ALONE)
        return HTMLResponse(text, headers={"Content-Security-Policy": CSP})

    async def sent(request: Request) -> Response:
        form = await request.form()
        if not ground.signed_in:
            return Response(status_code=303, headers={"Location": "/note"})
        ground.sent.append({k: str(v) for k, v in form.items()})
        time.sleep(0.2)  # long enough for a second press to arrive before the answer
        return HTMLResponse('<link rel="icon" href="data:,"><h1>Sent</h1>')

    async def worker(request: Request) -> Response:
        return Response("", media_type="text/javascript")  # it keeps nothing: these pages stand alone

    async def there(request: Request) -> Response:
        return HTMLResponse('<link rel="icon" href="data:,"><h1>There</h1>')

    async def sign_in(request: Request) -> Response:
        ground.signed_in = True
        return Response(status_code=303, headers={"Location": str((await request.form())["next"])})

    async def tiles(request: Request) -> Response:
        return Response(tile, media_type="image/webp")

    return Starlette(
        routes=[
            Mount("/static", STATIC),
            Route("/tiles/{rest:path}", tiles),
            Route("/sent", sent, methods=["POST"]),
            Route("/worker.js", worker),
            Route("/pipe", there),
            Route("/seam", there),
            Route("/in", sign_in, methods=["POST"]),
            Route("/{name}", page),
        ]
    )
