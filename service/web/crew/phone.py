"""What a phone keeps to go on without signal: the worker, the manifest, the outbox and a patch form.

The worker and the two pages hold nothing of anybody: what they show comes from what the phone itself kept.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import cache

from fastapi import APIRouter
from starlette.responses import HTMLResponse, JSONResponse, Response

from service.domain.shapes.outlines import Circle, Sides
from service.domain.shapes.sides import SIDE_WORDS
from service.domain.words.speech import spoken, tr
from service.web.drawings.drawing import PatchDrawing, Reading
from service.web.drawings.patch_drawing import draw_patch
from service.web.marks.patch_form import ANSWERS
from service.web.serving.render import STATIC, TEMPLATES, render
from service.web.shared.crew_words import CAUTION_PATCH, CAUTION_WEATHER

router = APIRouter(include_in_schema=False)

PAPER = "#fbfaf5"
SHELLS = ("/outbox", "/phone/patch")
ICONS = (
    ("icon-192.png", "192x192", "any"),
    ("icon-512.png", "512x512", "any"),
    ("icon-maskable-512.png", "512x512", "maskable"),
)
SHORT_NAME = "Laptight"
# What stands in the drawing until the script knows the damage.
PLACEHOLDER, SIX_INCHES, NOTHING_LAID = Circle(25_400_000), 152_400_000, Sides(0, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class OutboxPage:
    """`templates/phone/outbox.html`: a shell that the script fills with what lies on the phone."""


@dataclass(frozen=True, slots=True)
class PhonePatchPage:
    """`templates/phone/patch.html`. The script puts the mark's own damage and unit in the place of these."""

    drawing: PatchDrawing
    rows: tuple[Reading, ...]
    answers: tuple[tuple[str, str], ...]
    unit: str


@router.get("/worker.js")
def worker() -> Response:
    """The worker of all pages. Its bytes change with every file it keeps, so a browser sees a new one."""
    return Response(
        worker_script(),
        media_type="text/javascript",
        headers={"Cache-Control": "no-cache", "Service-Worker-Allowed": "/"},
    )


@cache
def worker_script() -> bytes:
    """`worker.js` with what it keeps written above it, and what shows messages below."""
    files = kept_files()
    body = STATIC.files["worker.js"].body + STATIC.files["worker-push.js"].body
    told = hashlib.sha256(body)
    for address in files:
        told.update(address.encode())
    for name in sorted(STATIC.files):
        told.update(STATIC.files[name].version.encode())
    for template in sorted(TEMPLATES.rglob("*.html")):
        told.update(template.read_bytes())
    stated = {"VERSION": told.hexdigest()[:16], "FILES": files, "SHELLS": SHELLS}
    head = "".join(f"const {name} = {json.dumps(value)};\n" for name, value in stated.items())
    return head.encode() + body


def kept_files() -> list[str]:
    """Addresses of the files that pages ask for one by one. What they ask for together is kept with them."""
    return [
        STATIC.url(name) for name in STATIC.files if name.startswith(("vendor/", "icons/")) and _asked(name)
    ]


def _asked(name: str) -> bool:
    return name.endswith((".js", ".css", ".woff2", ".png"))


@router.get("/manifest.webmanifest")
def manifest() -> Response:
    """What a browser asks for to put the service on a phone's first screen."""
    told = {
        "id": "/",
        "name": SHORT_NAME,
        "short_name": SHORT_NAME,
        "description": tr("The pre-pour punch list for under-slab vapor-retarder film"),
        "lang": spoken().code,
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": PAPER,
        "icons": [
            {"src": STATIC.url(f"icons/{name}"), "sizes": sizes, "type": "image/png", "purpose": purpose}
            for name, sizes, purpose in ICONS
        ],
        "shortcuts": [{"name": tr("Outbox"), "url": "/outbox"}],
    }
    return JSONResponse(told, media_type="application/manifest+json")


@router.get("/outbox")
def outbox() -> Response:
    """What is on this phone and what was received; nobody's name is in it."""
    return HTMLResponse(render("phone/outbox.html", OutboxPage(), phone=True))


@router.get("/phone/patch")
def phone_patch() -> Response:
    """The patch form of a mark that is on the phone alone: its damage and numbers come from there."""
    page = PhonePatchPage(
        drawing=draw_patch(PLACEHOLDER, SIX_INCHES, NOTHING_LAID, label=tr("The patch over the damage")),
        rows=tuple(Reading(side) for side in SIDE_WORDS),
        answers=tuple((name, tr(question)) for name, question in ANSWERS),
        unit="in",
    )
    return HTMLResponse(
        render("phone/patch.html", page, phone=True, cautions=(CAUTION_PATCH, CAUTION_WEATHER))
    )
