"""Draws pages of a PDF small, so that the right one can be chosen by looking."""

from __future__ import annotations

import base64
import io
from pathlib import Path
from typing import Any

import pypdfium2

from service.media.confine import run_apart
from service.media.limits import SKETCH, check_file
from service.media.pages import open_document

GLANCE_PX = 240
_QUALITY = 60


def glances(source: Path, first: int, count: int) -> dict[int, bytes]:
    """Small WebP pictures of `count` pages from number `first` (from 1) on, each at most 240 px either way.

    A page that cannot be drawn is left out. Raises BadPicture as `pdf_pages` does.
    """
    check_file(source, SKETCH)
    order = {"job": "glances", "source": str(source.absolute()), "first": first, "count": count}
    answer = run_apart(order, SKETCH)
    return {int(number): base64.b64decode(text) for number, text in answer["glances"].items()}


def draw(source: Path, first: int, count: int) -> dict[str, str]:
    """Number of a page to its picture in Base64: what the decoding process answers."""
    document = open_document(source)
    found = {}
    for number in range(max(first, 1), min(first + count, len(document) + 1)):
        small = _small(document, number)
        if small:
            found[str(number)] = base64.b64encode(small).decode()
    return found


def _small(document: Any, number: int) -> bytes:
    try:
        page = document[number - 1]
        longest = max(page.get_size())
        # A page of no size, or one so long that its other side would vanish, has nothing to show.
        if not longest > 0:
            return b""
        image = page.render(scale=GLANCE_PX / longest, rev_byteorder=True).to_pil().convert("RGB")
    except (pypdfium2.PdfiumError, ValueError):
        return b""
    image.thumbnail((GLANCE_PX, GLANCE_PX))
    out = io.BytesIO()
    image.save(out, "WEBP", quality=_QUALITY)
    return out.getvalue()
